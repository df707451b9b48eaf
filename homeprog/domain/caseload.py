"""The caseload: which group a course stands in, how far up, and why, in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import Literal

from .clock import local

Group = Literal["not_watched", "now", "today", "this_week", "nothing"]
Level = Literal["now", "today", "this_week"]
AlertState = Literal["open", "taken_up"]
ReasonCode = Literal[
    "stopped", "no_contact", "paused", "in_hospital", "held", "no_phone", "not_confirmed",
    "no_regime", "no_release",
]  # fmt: skip

GROUPS: tuple[Group, ...] = ("not_watched", "now", "today", "this_week", "nothing")
GROUP_WORDS: dict[Group, str] = {
    "not_watched": "Not watched by phone",
    "now": "Now",
    "today": "Today",
    "this_week": "This week",
    "nothing": "Nothing asks for you",
}
LEVELS: tuple[Level, ...] = ("now", "today", "this_week")
NOT_WATCHED: frozenset[ReasonCode] = frozenset(
    {"stopped", "no_contact", "paused", "in_hospital", "held", "no_phone"}
)
NO_CONTACT = "no_contact"  # the kind of alert that says no phone has spoken

LEAST = 7  # the last degree of need

EPOCH = datetime(2000, 1, 1, tzinfo=UTC)
GROUP_STEP = 400_000_000  # minutes; a rank is a 32-bit whole number
NEED_STEP = 50_000_000  # within a group: one step for each degree of need
LATEST = 49_999_999  # 95 years after 2000


@dataclass(frozen=True, slots=True)
class OpenAlert:
    """An unsettled alert of a course."""

    id: str
    kind: str
    level: Level
    state: AlertState
    clock_starts: datetime
    emergency: bool = False  # a report whose text sends the patient to an emergency department


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a course stands where it does, apart from its alerts."""

    code: ReasonCode
    since: datetime | None = None
    until: datetime | None = None  # the planned end of a pause
    said: str = ""  # the reason as staff or the phone gave it


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What the caseload must know of one open course."""

    opened: datetime
    phones: int  # paired phones of the patient
    holds: Sequence[Reason] = ()  # open holds of the whole course, as reasons
    alerts: Sequence[OpenAlert] = ()
    last_word: datetime | None = None  # from any phone
    silent: bool = False  # staff settled 'no contact', and no phone has spoken since
    last_seen: datetime | None = None  # when a person last saw or spoke to the patient
    next_visit: date | None = None
    confirmed: bool = True
    has_regime: bool = True
    released: bool = True  # a phase with exercises has been released, or none is asked for


@dataclass(frozen=True, slots=True)
class Place:
    """Where a course stands: rank ascends, most in need first."""

    group: Group
    rank: int
    reasons: tuple[Reason, ...]
    alerts: tuple[OpenAlert, ...]  # most urgent first


def place(course: Circumstances) -> Place:
    """The group and rank of an open course, with its reasons.

    'Not watched by phone' comes first; in it, and in each group, what nobody has taken up yet
    comes before what somebody has, 'now' before 'today'. Then: longest unseen first where no
    phone watches, the oldest alert first among alerts, the next visit first where nothing asks.
    """
    alerts = tuple(sorted(course.alerts, key=_urgency))
    reasons = tuple(_reasons(course))
    group = _group(alerts, reasons)
    rank = GROUPS.index(group) * GROUP_STEP + _need(group, alerts) * NEED_STEP
    return Place(group, rank + _minutes(_instant(group, course, alerts)), reasons, alerts)


def _urgency(alert: OpenAlert) -> tuple[int, bool, bool, datetime, str]:
    taken_up = alert.state != "open"
    return (
        LEVELS.index(alert.level), taken_up, not alert.emergency, alert.clock_starts, alert.id
    )  # fmt: skip


def _reasons(course: Circumstances) -> Iterable[Reason]:
    yield from course.holds
    if course.silent or any(alert.kind == NO_CONTACT for alert in course.alerts):
        yield Reason("no_contact", since=course.last_word)
    if course.phones == 0:
        yield Reason("no_phone")
    if not course.confirmed:
        yield Reason("not_confirmed", since=course.opened)
    elif not course.has_regime:
        yield Reason("no_regime")
    elif not course.released:
        yield Reason("no_release")


def _group(alerts: Sequence[OpenAlert], reasons: Sequence[Reason]) -> Group:
    if any(reason.code in NOT_WATCHED for reason in reasons):
        return "not_watched"
    if alerts:
        return alerts[0].level
    return "this_week" if any(reason.code != "no_release" for reason in reasons) else "nothing"


def _need(group: Group, alerts: Sequence[OpenAlert]) -> int:
    """0 to 7: an emergency not taken up yet first, then 'now'; no alert last."""
    if not alerts:
        return LEAST
    first = alerts[0]
    if group == "not_watched" and first.level != "now":
        return LEAST  # among the unwatched only 'now' goes before the longest unseen
    if first.emergency and first.state == "open":
        return 0
    return 1 + 2 * LEVELS.index(first.level) + (first.state != "open")


def _instant(group: Group, course: Circumstances, alerts: Sequence[OpenAlert]) -> datetime | None:
    if group == "nothing":
        visit = course.next_visit
        return datetime.combine(visit, time(), UTC) if visit else None
    if group == "not_watched" and _need(group, alerts) == LEAST:
        return course.last_seen or course.opened
    return alerts[0].clock_starts if alerts else course.opened


def _minutes(instant: datetime | None) -> int:
    """Whole minutes since 2000; what has no instant comes last."""
    if instant is None:
        return LATEST
    return max(0, min(LATEST, int((instant - EPOCH).total_seconds() // 60)))


def reason_words(reason: Reason, zone: str) -> str:
    """Why, in a sentence; times are told in `zone`, the clinic's."""
    since = f" since {_moment(reason.since, zone)}" if reason.since else ""
    said = f": {reason.said.rstrip('.')}" if reason.said else ""
    if reason.code == "paused" and reason.until:
        return f"Paused until {_moment(reason.until, zone)}{said}."
    return SAID[reason.code].format(since=since, said=said)


SAID: dict[ReasonCode, str] = {
    "stopped": "Exercises are stopped{since}{said}.",
    "no_contact": "No word from the phone{since}.",
    "paused": "Paused{since}{said}.",
    "in_hospital": "In hospital{since}{said}.",
    "held": "Held until a clinician releases{since}{said}.",
    "no_phone": "No phone is paired.",
    "not_confirmed": "Not confirmed by a clinician: no exercise reaches the phone.",
    "no_regime": "No regime is set.",
    "no_release": "No exercise stage is released yet.",
}


def _moment(instant: datetime, zone: str) -> str:
    wall = local(instant, zone)
    return f"{wall:%A} {wall.day} {wall:%B} {wall:%H:%M}"
