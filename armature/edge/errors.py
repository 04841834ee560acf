"""Errors that a user can mend: one line each, saying where, which rule and what was found."""

from __future__ import annotations

from typing import Any

# An error is read at a glance, in a terminal or a log: no value or name makes it longer, characters.
_LONGEST, _VALUE, _PLACE = 299, 66, 170


def _line(text: str) -> str:
    """Return a text as one line of at most 299 characters."""
    # What is cut away is not looked through either: a value may be megabytes long.
    line = " ".join(text[: 8 * _LONGEST].split())
    # Half of a pair of code units, as a path may hold, can be printed nowhere.
    line = line.encode("utf-8", "backslashreplace").decode("utf-8")
    return line if len(line) <= _LONGEST else f"{line[: _LONGEST - 1]}…"


def _shown(value: object) -> str:
    """Return a value as it is shown in an error, its middle left out where it is long."""
    return _short(repr(value[:1000] if isinstance(value, str | bytes | list | tuple) else value), _VALUE)


def _short(text: str, most: int) -> str:
    if len(text) <= most:
        return text
    head = max(2 * most // 3, 1)
    return f"{text[:head]}…{text[head + 1 - most :]}"


def _again(kind: type[BaseException], args: tuple[Any, ...], values: dict[str, Any]) -> BaseException:
    """Return an error that has come from another process."""
    error = kind.__new__(kind)
    error.args = args
    error.__dict__.update(values)
    return error


class ArmatureError(Exception):
    """Base of every error that comes from the input and not from a fault in the program.

    The command line prints `str(error)` on one line and leaves with exit code 2.
    """

    def __str__(self) -> str:
        return _line(super().__str__())

    def __reduce__(self) -> tuple[Any, ...]:
        # By itself an error is made again from its text alone, which those with a place and a rule do not take.
        return _again, (type(self), self.args, self.__dict__)


class CommissionError(ArmatureError, ValueError):
    """A commission key, or a value given by the user, breaks a rule.

    `where` is the file and key (`tree.toml: canopy.height`), `rule` what must hold, `value` what was found.
    """

    def __init__(self, where: str, rule: str, value: object = None) -> None:
        self.where, self.rule, self.value = where, rule, value
        got = "" if value is None else f" (got {_shown(value)})"
        place = _short(where, _PLACE)
        super().__init__(f"{place}: {_short(rule, _LONGEST - len(place) - len(got) - 2)}{got}")


class UnitError(ArmatureError, ValueError):
    """A quantity cannot be read: no number, no unit, a unit of another kind, or a spelling with two readings."""


class FileError(ArmatureError, OSError):
    """A file or folder cannot be read or written as asked."""

    def __init__(self, path: object, rule: str) -> None:
        self.path, self.rule = path, rule
        super().__init__(f"{_short(str(path), _PLACE)}: {rule}")


class GrowthError(ArmatureError, RuntimeError):
    """The asked members do not fit; says how many, where, and what would help."""


class StockError(ArmatureError, LookupError):
    """No bar, sheet or grade on hand serves; says which one is missing and what is on hand."""
