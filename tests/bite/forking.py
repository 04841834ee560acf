"""Tests in a process that is split off from this one, which holds the whole house already."""

from __future__ import annotations

import importlib
import os
import signal
import sys
import time
import traceback
from collections.abc import Callable, Iterator
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any

_BEYOND = (
    "pytest",
    "hypothesis",
    "pypdf",
    "openpyxl",
    "trimesh",
    "ezdxf",
    "shapely",
    "scipy.optimize",
    "scipy.spatial",
    "PIL.Image",
)
_QUIET = [
    "-q",
    "--no-header",
    "-n0",
    "-p",
    "no:cacheprovider",
    "--tb=no",
    "-W",
    "ignore::pytest.PytestAssertRewriteWarning",
]


def take_in(house: Path, root: Path) -> None:
    """Take a copy of the house in, and all that it stands on, so that a process split off has it already."""
    os.chdir(house)
    os.environ |= {"PYTHONPATH": str(house), "PYTHONPYCACHEPREFIX": str(house / ".compiled")}
    sys.pycache_prefix = os.environ["PYTHONPYCACHEPREFIX"]
    sys.path[:] = [str(house), *(each for each in sys.path if each not in (str(root), str(root / "tests"), ""))]
    for name in [each for each in sys.modules if each.split(".")[0] == "tests"]:
        del sys.modules[name]
    for path in sorted((house / "armature").rglob("*.py")):
        module = path.relative_to(house).with_suffix("").parts
        if module[-1] != "__main__":
            importlib.import_module(".".join(module).removesuffix(".__init__"))
    for name in _BEYOND:
        importlib.import_module(name)


def ran(tests: list[str], told: Path, patience_s: float, first: Callable[[], list[object]], more: list[str]) -> int:
    """Return how pytest ended in a process of its own, -1 where it took too long; `first` is done before, there.

    What is printed goes to the file `told`; `first` returns plugins.
    """
    child = os.fork()
    if child == 0:
        try:
            os.setsid()
            log = os.open(told, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
            os.dup2(log, 1)
            os.dup2(log, 2)
            import pytest

            os._exit(int(pytest.main([*_QUIET, *more, *tests], plugins=first())))
        except BaseException:
            traceback.print_exc()
        finally:
            os._exit(99)
    return _waited(child, patience_s)


def _waited(child: int, patience_s: float) -> int:
    until = time.monotonic() + patience_s
    while time.monotonic() < until:
        ended, status = os.waitpid(child, os.WNOHANG)
        if ended:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.02)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return -1


def exchange(path: str, source: str, changed: str) -> None:
    """Exchange the code of the function that a change lies in; where it lies in none, let all be taken in anew."""
    name = ".".join(Path(path).with_suffix("").parts).removesuffix(".__init__")
    module = sys.modules.get(name)
    if module is None or not _exchanged(module, source, changed):
        for each in [each for each in sys.modules if each.split(".")[0] == "armature"]:
            del sys.modules[each]


def _exchanged(module: Any, source: str, changed: str) -> bool:
    new = dict(_codes(compile(changed, str(module.__file__), "exec")))
    old = dict(_functions(module))
    was = dict(_codes(compile(source, str(module.__file__), "exec")))
    differ = [where for where, code in new.items() if code != was.get(where)]
    if not differ or any(where not in old for where in differ):
        return False
    for where in differ:
        old[where].__code__ = new[where]
    return True


def _codes(code: CodeType) -> Iterator[tuple[str, CodeType]]:
    """Yield the code of the module itself, under no name, and of each outermost function and method, by full name."""
    yield "", code.replace(co_consts=tuple(each for each in code.co_consts if not isinstance(each, CodeType)))
    for each in code.co_consts:
        if isinstance(each, CodeType):
            # A class is code with functions inside; its own lines run when the module is taken in.
            if each.co_flags & 0x1:
                yield each.co_qualname, each
            else:
                for name, inner in _codes(each):
                    yield name or f"{each.co_qualname}()", inner


def _functions(module: Any) -> Iterator[tuple[str, FunctionType]]:
    """Yield each function and method of a module with its full name, whatever it is wrapped in."""
    waiting = list(vars(module).values())
    while waiting:
        each = waiting.pop()
        each = getattr(each, "func", getattr(each, "fget", None)) or getattr(each, "__wrapped__", each)
        each = getattr(each, "__func__", each)
        if getattr(each, "__module__", None) != module.__name__:
            continue
        if isinstance(each, FunctionType):
            yield each.__qualname__, each
        elif isinstance(each, type):
            waiting += list(vars(each).values())
