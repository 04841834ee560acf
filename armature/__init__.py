"""Forged-steel trees: grow, judge, check and build them from one commission file.

import armature as am

commission = am.read("garden.toml")
tree = am.grow(commission)
am.judge(tree), am.assess(tree, commission)
am.make(commission, "jobs/garden")
"""

from __future__ import annotations

import sys
from types import ModuleType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from armature.front import ArmatureError as ArmatureError
    from armature.front import assess as assess
    from armature.front import grow as grow
    from armature.front import judge as judge
    from armature.front import load as load
    from armature.front import make as make
    from armature.front import plan as plan
    from armature.front import read as read
    from armature.front import refine as refine
    from armature.front import save as save

__version__ = "0.1.0"
__all__ = ["ArmatureError", "assess", "grow", "judge", "load", "make", "plan", "read", "refine", "save"]
_DOORS = frozenset(__all__)


class _Front(ModuleType):
    """The package as its users see it: `armature.grow` and `armature.make` are the verbs, not the rooms of that name.

    The import system writes a room's module over the verb when the room is first imported; that is left undone.
    """

    def __setattr__(self, name: str, value: object) -> None:
        if not (name in _DOORS and isinstance(value, ModuleType)):
            super().__setattr__(name, value)

    def __dir__(self) -> list[str]:
        return sorted({*super().__dir__(), *_DOORS})


def __getattr__(name: str) -> object:
    """Return a door that would make `import armature` slow, opened when it is asked for."""
    if name in _DOORS:
        from armature import front

        return getattr(front, name)
    raise AttributeError(f"module 'armature' has no attribute {name!r}")


sys.modules[__name__].__class__ = _Front
