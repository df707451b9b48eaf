"""What a manager sets of alerts: by kind, and for the whole clinic. Trouble stands outside it."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import time, timedelta
from typing import Any, cast

from ..errors import Invalid
from .kinds import KINDS, LEVEL, LEVELS, Kind, Level, is_trouble

WHOLE_CLINIC = "*"  # stands in place of a kind
FALLBACK: Level = "today"  # of a kind this version does not know: heard, but nobody is woken
LONGEST_LIST = 6  # people on a list
CLOCK = re.compile(r"([01]\d|2[0-3]):[0-5]\d")
LEVEL_WORDS: Mapping[Level, str] = {"now": "now", "today": "today", "this_week": "this week"}


@dataclass(frozen=True, slots=True)
class KindSetting:
    """How a kind is told. Quiet hours are wall clock in the clinic's zone and may pass midnight."""

    on: bool
    level: Level
    therapist_first: bool = True  # the course's responsible therapist, or whoever covers
    people: tuple[str, ...] | None = None  # staff ids in order; None: the clinic's list
    quiet: tuple[time, time] | None = None  # half-open; nobody is told in it


@dataclass(frozen=True, slots=True)
class ClinicSetting:
    """What holds for every kind of a clinic."""

    people: tuple[str, ...] = ()  # staff ids, in the order in which they are told
    now_minutes: int = 15  # of clinic hours, after which the next person is told of a 'now'
    today_hours: int = 4  # of clinic hours, after which the next person is told of a 'today'
    digest_at: time = field(default=time(7, 45))  # clinic's wall clock, on clinic days
    webhook_wakes: bool = False  # whoever takes the webhook rings the person on duty

    def allowed(self, level: str) -> timedelta:
        """How long one may take to take an alert up before the next person is told."""
        if level == "now":
            return timedelta(minutes=self.now_minutes)
        return timedelta(hours=self.today_hours)


BOUNDS = {"now_minutes": (5, 120), "today_hours": (1, 16)}  # least and most


def kind_setting(kind: str, kept: Mapping[str, Any] | None) -> KindSetting:
    """The setting in force, from what was kept; a part that was never set has its default.

    Of trouble nothing that was kept counts: always on, told at once, in no quiet hour.
    """
    if is_trouble(kind):
        return KindSetting(True, "now", therapist_first=False)
    kept = kept or {}
    people, quiet = kept.get("people"), kept.get("quiet")
    return KindSetting(
        on=kept.get("on", True),
        level=kept.get("level", LEVEL.get(cast(Kind, kind), FALLBACK)),
        therapist_first=kept.get("therapist_first", True),
        people=None if people is None else tuple(people),
        quiet=(_at(quiet[0]), _at(quiet[1])) if quiet else None,
    )


def clinic_setting(kept: Mapping[str, Any] | None) -> ClinicSetting:
    """As `kind_setting`, for the whole clinic."""
    kept, own = kept or {}, ClinicSetting()
    return ClinicSetting(
        people=tuple(kept.get("people", ())),
        now_minutes=kept.get("now_minutes", own.now_minutes),
        today_hours=kept.get("today_hours", own.today_hours),
        digest_at=_at(kept["digest_at"]) if "digest_at" in kept else own.digest_at,
        webhook_wakes=kept.get("webhook_wakes", False),
    )


def read_kind(kind: str, given: Mapping[str, Any], staff: Collection[str]) -> dict[str, Any]:
    """What is kept of a kind's form. Invalid, by field; for trouble always."""
    if kind not in KINDS:
        raise Invalid("alert_kind", "There is no alert of this kind.", {"kind": ["Choose one."]})
    if is_trouble(kind):
        said = "Trouble is always told, at once, to whoever is on duty."
        raise Invalid("alert_trouble", said, {"kind": [said]})
    faults: dict[str, list[str]] = {}
    if given.get("level") not in LEVELS:
        faults["level"] = ["Choose now, today or this week."]
    quiet = _read_quiet(given.get("quiet_from") or "", given.get("quiet_to") or "", faults)
    people = _read_people(given.get("people"), staff, faults)
    if faults:
        raise Invalid("alert_setting", "Please mend the form.", faults)
    return {
        "on": bool(given.get("on")), "level": given["level"], "quiet": quiet, "people": people,
        "therapist_first": bool(given.get("therapist_first")),
    }  # fmt: skip


def read_clinic(given: Mapping[str, Any], staff: Collection[str]) -> dict[str, Any]:
    """What is kept of the clinic's form. Invalid, by field."""
    faults: dict[str, list[str]] = {}
    read: dict[str, Any] = {"people": _read_people(given.get("people"), staff, faults) or []}
    for name, (least, most) in BOUNDS.items():
        said = str(given.get(name, "")).strip()
        if not said.isdecimal() or not least <= int(said) <= most:
            faults[name] = [f"A whole number from {least} to {most}."]
        else:
            read[name] = int(said)
    read["digest_at"] = str(given.get("digest_at", ""))
    if not CLOCK.fullmatch(read["digest_at"]):
        faults["digest_at"] = ["A time such as 07:45."]
    read["webhook_wakes"] = bool(given.get("webhook_wakes"))
    if faults:
        raise Invalid("alert_setting", "Please mend the form.", faults)
    return read


def in_quiet(setting: KindSetting, wall: time) -> bool:
    """Whether a wall-clock time lies in the quiet hours."""
    if setting.quiet is None:
        return False
    starts, ends = setting.quiet
    if starts <= ends:
        return starts <= wall < ends
    return wall >= starts or wall < ends


def _read_quiet(since: str, until: str, faults: dict[str, list[str]]) -> list[str] | None:
    if not since and not until:
        return None
    for name, said in (("quiet_from", since), ("quiet_to", until)):
        if not CLOCK.fullmatch(said):
            faults[name] = ["A time such as 12:00; leave both empty for none."]
    if since == until and CLOCK.fullmatch(since):
        faults["quiet_to"] = ["Another time: these hours are empty. To tell nobody, switch it off."]
    return [since, until]


def _read_people(
    given: Any, staff: Collection[str], faults: dict[str, list[str]]
) -> list[str] | None:
    """Staff ids in order, each once; None where none is named."""
    named = list(dict.fromkeys(each for each in given or () if each))
    if len(named) > LONGEST_LIST:
        faults["people"] = [f"At most {LONGEST_LIST} people."]
    if set(named) - set(staff):
        faults["people"] = ["Choose people who work here."]
    return named or None


def _at(said: str) -> time:
    return time.fromisoformat(said)
