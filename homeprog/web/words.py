"""How staff pages say days, instants and names of things; filters of every template."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from typing import Any

from flask.blueprints import BlueprintSetupState

from ..domain.clock import local
from ..domain.course import weeks_and_days

STANDINGS = {
    "logged": "logged",
    "part": "some logged",
    "later": "entered later",
    "not_logged": "not logged",
    "unknown": "not known yet",
    "excused": "not asked for",
    "ahead": "to come",
    "open": "open",
}
HOLDS = {
    "pause": "paused",
    "stop_flag": "stopped",
    "hospital": "in hospital",
    "until_release": "held until release",
}
WEEK = timedelta(days=6)


def on_register(state: BlueprintSetupState) -> None:
    """Make the words filters of every template."""
    for name, say in (
        ("day_words", day_words), ("moment", moment), ("short_moment", short_moment),
        ("day", day), ("iso_day", iso_day), ("clock", wall_clock), ("plural", plural),
        ("zip", zip_with), ("local_date", local_date), ("staff_name", staff_name),
    ):  # fmt: skip
        state.app.jinja_env.filters[name] = say


def day_words(number: int) -> str:
    """'day 23 (3 weeks 2 days)'; days alone in the first week."""
    weeks, days = weeks_and_days(number)
    if weeks < 1:
        return f"day {number}"
    parts = [plural(weeks, "week"), plural(days, "day")] if days else [plural(weeks, "week")]
    return f"day {number} ({' '.join(parts)})"


def plural(number: int, word: str) -> str:
    """'1 week', '2 weeks'."""
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def day(value: date, year: bool = False) -> str:
    """'Mon 8 June', '8 June 2026' with the year."""
    return f"{value.day} {value:%B %Y}" if year else f"{value:%a} {value.day} {value:%B}"


def iso_day(value: str) -> str:
    """As `day`, of a date kept as text."""
    return day(date.fromisoformat(value))


def local_date(instant: datetime, zone: str) -> date:
    """The date by the wall clock of `zone`: near midnight it is not that of UTC."""
    return local(instant, zone).date()


def moment(instant: datetime | None, zone: str) -> str:
    """'Fri 5 June, 14:10'; 'never' where there is none."""
    if instant is None:
        return "never"
    wall = local(instant, zone)
    return f"{day(wall.date())}, {wall:%H:%M}"


def short_moment(instant: datetime | None, zone: str, now: datetime) -> str:
    """'14:10' today, 'Thu 08:52' in the 6 days before, '28 May' earlier, 'never'."""
    if instant is None:
        return "never"
    wall, today = local(instant, zone), local(now, zone)
    if wall.date() == today.date():
        return f"{wall:%H:%M}"
    if today.date() - wall.date() <= WEEK:
        return f"{wall:%a %H:%M}"
    return f"{wall.day} {wall:%B}"


def wall_clock(instant: datetime, zone: str) -> str:
    """'08:52'."""
    return f"{local(instant, zone):%H:%M}"


def zip_with(first: Iterable[Any], second: Iterable[Any]) -> list[tuple[Any, Any]]:
    return list(zip(first, second, strict=True))


def staff_name(who: object, names: Mapping[uuid.UUID, str]) -> str | None:
    """The name of a staff id kept as text; words that are no id stand as they are."""
    try:
        return names.get(uuid.UUID(str(who)))
    except ValueError:
        return str(who) if who else None
