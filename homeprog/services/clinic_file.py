"""Read the clinic's file: numbers, hours, closing days, duty, waking hours, settings."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, time
from typing import Any

from ..domain.errors import Invalid
from ..domain.hours import WEEKDAYS, WeekHours, missing_hours, overlapping
from ..domain.settings import fault

PARTS = ("numbers", "emergency", "hours", "closing_days", "duty", "waking", "settings")
TEL = re.compile(r"\+?[0-9][0-9 ()\-/]{1,24}")
NOBODY = "nobody"


@dataclass(frozen=True, slots=True)
class Line:
    """Hours of one weekday with what was said of them (label and tel, or who)."""

    hours: WeekHours
    said: Mapping[str, str]


@dataclass(slots=True)
class ClinicFile:
    """What the file sets; a part that is None was not in it and stays as it is."""

    numbers: list[Line] | None = None
    emergency: Mapping[str, str] | None = None
    hours: list[Line] | None = None
    closing_days: Mapping[date, str] | None = None
    duty: list[Line] | None = None
    settings: dict[str, Any] = field(default_factory=dict)


class _Reader:
    def __init__(self) -> None:
        self.faults: dict[str, list[str]] = {}

    def wrong(self, path: str, message: str) -> None:
        self.faults.setdefault(path, []).append(message)

    def text(self, given: Mapping[str, Any], path: str, key: str) -> str:
        value = given.get(key)
        if not isinstance(value, str) or not value.strip():
            self.wrong(f"{path}.{key}", "This is needed, as text.")
            return ""
        return value.strip()

    def tel(self, given: Mapping[str, Any], path: str) -> str:
        value = self.text(given, path, "tel")
        if value and not TEL.fullmatch(value):
            self.wrong(f"{path}.tel", f"{value!r} is not a telephone number.")
        return value

    def at(self, value: object, path: str) -> time | None:
        if value == "24:00":
            return time(0)
        try:
            if not isinstance(value, str) or not re.fullmatch(r"\d{2}:\d{2}", value):
                raise ValueError
            return time.fromisoformat(value)
        except ValueError:
            self.wrong(path, f"{value!r} is not a time such as 08:00.")
            return None

    def day(self, value: object, path: str) -> date | None:
        try:
            return date.fromisoformat(str(value))
        except ValueError:
            self.wrong(path, f"{value!r} is not a date such as 2026-12-25.")
            return None

    def weekdays(self, value: object, path: str) -> list[int]:
        """'every day', 'Monday', 'Monday to Friday', or a list of weekdays."""
        names = [name.lower() for name in WEEKDAYS]
        if value == "every day":
            return list(range(7))
        said = value if isinstance(value, list) else str(value).lower().split(" to ")
        known = [names.index(str(s).lower()) for s in said if str(s).lower() in names]
        if len(known) != len(said) or not said or (isinstance(value, str) and len(said) > 2):
            self.wrong(path, f"{value!r} is not a weekday, 'Monday to Friday' or 'every day'.")
            return []
        if isinstance(value, str) and len(known) == 2:
            return [(known[0] + k) % 7 for k in range((known[1] - known[0]) % 7 + 1)]
        return known

    def week(
        self, given: object, path: str, said: Callable[[Mapping[str, Any], str], dict[str, str]]
    ) -> list[Line]:
        """Lines of days, from, to; hours past midnight are cut in two."""
        lines: list[Line] = []
        for n, item in enumerate(self.items(given, path)):
            here = f"{path}.{n}"
            days = self.weekdays(item.get("days"), f"{here}.days")
            opens = self.at(item.get("from"), f"{here}.from")
            closes = self.at(item.get("to"), f"{here}.to")
            words = said(item, here)
            if opens is not None and closes is not None:
                lines += [Line(h, words) for d in days for h in _hours(d, opens, closes)]
        return lines

    def items(self, given: object, path: str) -> list[Mapping[str, Any]]:
        if not isinstance(given, list):
            self.wrong(path, "This is a list.")
            return []
        for n, item in enumerate(given):
            if not isinstance(item, Mapping):
                self.wrong(f"{path}.{n}", "This is an object.")
        return [item for item in given if isinstance(item, Mapping)]


def _hours(weekday: int, opens: time, closes: time) -> list[WeekHours]:
    if closes == time(0) or opens < closes:
        return [WeekHours(weekday, opens, closes)]
    return [WeekHours(weekday, opens, time(0)), WeekHours((weekday + 1) % 7, time(0), closes)]


def read_clinic_file(given: object) -> ClinicFile:
    """The file's parts. Invalid with a message per fault; nothing of a faulty file is used."""
    if not isinstance(given, Mapping):
        raise Invalid("clinic_file", "The file is not a JSON object.", {})
    reader = _Reader()
    for key in given:
        if key not in PARTS:
            reader.wrong(str(key), f"There is no part of this name: use {', '.join(PARTS)}.")
    read = ClinicFile()
    _numbers(reader, given, read)
    _hours_and_duty(reader, given, read)
    _settings(reader, given, read)
    if reader.faults:
        raise Invalid("clinic_file", "The file was not used.", reader.faults)
    return read


def _numbers(reader: _Reader, given: Mapping[str, Any], read: ClinicFile) -> None:
    def said(item: Mapping[str, Any], path: str) -> dict[str, str]:
        return {"label": reader.text(item, path, "label"), "tel": reader.tel(item, path)}

    if "numbers" in given:
        read.numbers = reader.week(given["numbers"], "numbers", said)
        for gap in missing_hours(line.hours for line in read.numbers):
            reader.wrong("numbers", f"No number to ring: {gap.words}.")
        for twice in overlapping([line.hours for line in read.numbers]):
            reader.wrong("numbers", f"Two numbers at one time: {twice.words}.")
    if "emergency" in given:
        item = given["emergency"]
        if isinstance(item, Mapping):
            read.emergency = said(item, "emergency")
        else:
            reader.wrong("emergency", 'Say {"label": ..., "tel": ...}.')


def _hours_and_duty(reader: _Reader, given: Mapping[str, Any], read: ClinicFile) -> None:
    if "hours" in given:
        read.hours = reader.week(given["hours"], "hours", lambda item, path: {})
        if not read.hours:
            reader.wrong("hours", "Say at least one day on which the clinic is open.")
    if "duty" in given:
        read.duty = reader.week(
            given["duty"], "duty", lambda item, path: {"who": reader.text(item, path, "who")}
        )
    if "closing_days" in given:
        closed: dict[date, str] = {}
        for n, item in enumerate(reader.items(given["closing_days"], "closing_days")):
            path = f"closing_days.{n}"
            day, why = reader.day(item.get("day"), f"{path}.day"), reader.text(item, path, "why")
            if day:
                closed[day] = why
        read.closing_days = closed


def _settings(reader: _Reader, given: Mapping[str, Any], read: ClinicFile) -> None:
    waking, own = given.get("waking", {}), given.get("settings", {})
    if not isinstance(waking, Mapping) or not isinstance(own, Mapping):
        reader.wrong("settings", "This is an object.")
        return
    for key, value in waking.items():
        if key not in ("wake", "sleep"):
            reader.wrong(f"waking.{key}", "Say wake and sleep.")
        elif reader.at(value, f"waking.{key}") is not None:
            read.settings[f"waking.{key}"] = value
    for key, value in own.items():
        if message := fault(key, value):
            reader.wrong(f"settings.{key}", message)
        else:
            read.settings[key] = value
