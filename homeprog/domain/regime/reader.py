"""Reads JSON field by field, noting every fault under its path instead of stopping at one."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import time
from typing import Any, TypeVar

T = TypeVar("T")


class Faults:
    """The faults found so far: field path -> messages."""

    def __init__(self) -> None:
        self.fields: dict[str, list[str]] = {}

    def add(self, path: str, message: str) -> None:
        self.fields.setdefault(path, []).append(message)


class Reader:
    """One JSON object at a path. A faulty field gives a harmless stand-in and a fault."""

    def __init__(self, value: object, path: str, faults: Faults, allowed: Sequence[str]) -> None:
        self.path = path
        self.faults = faults
        self.body: Mapping[str, Any] = value if isinstance(value, Mapping) else {}
        if not isinstance(value, Mapping):
            faults.add(path or "body", "Must be an object.")
        for key in self.body:
            if key not in allowed:
                faults.add(self.at(str(key)), "Not a field known here.")

    def at(self, key: str) -> str:
        """The path of a field of this object."""
        return f"{self.path}.{key}" if self.path else key

    def fault(self, key: str, message: str) -> None:
        self.faults.add(self.at(key), message)

    def text(self, key: str, *, needed: bool = False) -> str:
        value = self.body.get(key, "")
        if not isinstance(value, str):
            self.fault(key, "Must be words.")
            return ""
        if needed and not value.strip():
            self.fault(key, "Must not be empty.")
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        found = self.items(key)
        for index, value in enumerate(found):
            if not isinstance(value, str) or not value.strip():
                self.fault(f"{key}.{index}", "Must be words, not empty.")
        return tuple(value for value in found if isinstance(value, str))

    def items(self, key: str) -> list[Any]:
        value = self.body.get(key, [])
        if isinstance(value, list):
            return value
        self.fault(key, "Must be a list.")
        return []

    def flag(self, key: str, default: bool) -> bool:
        value = self.body.get(key, default)
        if isinstance(value, bool):
            return value
        self.fault(key, "Must be yes or no.")
        return default

    def number(self, key: str, low: int, high: int) -> int:
        """A whole number of [low, high]; faulty: low."""
        value = self.body.get(key)
        if isinstance(value, bool) or not isinstance(value, int):
            self.fault(key, "Must be a whole number.")
            return low
        if not low <= value <= high:
            self.fault(key, f"Must be {low} to {high}.")
            return low
        return value

    def number_or_none(self, key: str, low: int, high: int) -> int | None:
        return None if self.body.get(key) is None else self.number(key, low, high)

    def choice(self, key: str, choices: Sequence[T]) -> T:
        value = self.body.get(key)
        for known in choices:
            if value == known:
                return known
        self.fault(key, _one_of(value, choices))
        return choices[0]

    def choices(self, key: str, choices: Sequence[T]) -> tuple[T, ...]:
        """A list of known words, none of them twice."""
        found: list[T] = []
        for index, value in enumerate(self.items(key)):
            known = next((each for each in choices if each == value), None)
            if known is None:
                self.fault(f"{key}.{index}", _one_of(value, choices))
            elif known in found:
                self.fault(f"{key}.{index}", f"'{value}' stands here twice.")
            else:
                found.append(known)
        return tuple(found)

    def each(self, key: str, read: Callable[[object, str, Faults], T]) -> tuple[T, ...]:
        """Every item of a list, read by `read`."""
        return tuple(
            read(value, self.at(f"{key}.{index}"), self.faults)
            for index, value in enumerate(self.items(key))
        )

    def times(self, key: str) -> tuple[time, ...]:
        """Times of day 'HH:MM', ascending."""
        found: list[time] = []
        for index, value in enumerate(self.items(key)):
            at = _time(value)
            if at is None:
                self.fault(f"{key}.{index}", "Must be a time of day, like 08:00.")
            elif found and at <= found[-1]:
                self.fault(f"{key}.{index}", "Must be later than the time before it.")
            else:
                found.append(at)
        if not found:
            self.fault(key, "Name at least one time of day.")
        return tuple(found)


def _time(value: object) -> time | None:
    if not isinstance(value, str) or len(value) != len("08:00"):
        return None
    try:
        return time.fromisoformat(value)
    except ValueError:
        return None


def _one_of(value: object, choices: Sequence[object]) -> str:
    known = ", ".join(str(each) for each in choices)
    return f"'{value}' is not known here. Known: {known}."
