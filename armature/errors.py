"""Errors that a user can mend: one line each, saying where, which rule and what was found."""

from __future__ import annotations


class ArmatureError(Exception):
    """Base of every error that comes from the input and not from a fault in the program.

    The command line prints `str(error)` on one line and leaves with exit code 2.
    """


class CommissionError(ArmatureError, ValueError):
    """A commission key, or a value given by the user, breaks a rule.

    `where` is the file and key (`tree.toml: canopy.height`), `rule` what must hold, `value` what was found.
    """

    def __init__(self, where: str, rule: str, value: object = None) -> None:
        self.where, self.rule, self.value = where, rule, value
        found = "" if value is None else f" (got {value!r})"
        super().__init__(f"{where}: {rule}{found}")


class UnitError(ArmatureError, ValueError):
    """A quantity cannot be read: no number, no unit, a unit of another kind, or a spelling with two readings."""


class FileError(ArmatureError, OSError):
    """A file or folder cannot be read or written as asked."""

    def __init__(self, path: object, rule: str) -> None:
        self.path, self.rule = path, rule
        super().__init__(f"{path}: {rule}")


class GrowthError(ArmatureError, RuntimeError):
    """The asked members do not fit; says how many, where, and what would help."""


class StockError(ArmatureError, LookupError):
    """No bar, sheet or grade on hand serves; says which one is missing and what is on hand."""
