"""Silence: when the phone asks 'All well?', and when staff hear that nobody answered.

Docs/METHODS.md, 'Silence'. How long a row must be is worked out in `row`.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import ceil
from typing import Literal

from ..clock import local, wall_to_utc

Reminder = Literal["shown", "not_shown", "muted", "not_known"]
Answer = Literal["busy", "sore", "phone", "something_wrong"]

UNANSWERED = timedelta(hours=1)  # so long 'All well?' waits before staff hear
BACK = 14  # days the patient's own habit is read from
LOG_DAYS = 5  # of them with a log, at least
OWN = 90  # per cent of the patient's own days on which it was no longer since the last bout


@dataclass(frozen=True, slots=True)
class AskRule:
    """When the phone asks 'All well?': numbers the plan carries."""

    waking_hours: float = 6  # since the last log
    slots: int = 2  # due, unmuted and ended in a row without one


@dataclass(frozen=True, slots=True)
class Asked:
    """One 'All well?' of a phone, and its answer."""

    at: datetime
    answered_at: datetime | None = None
    answer: Answer | None = None


def ask_all_well(
    now: datetime,
    last_log: datetime,
    waking: Iterable[tuple[datetime, datetime]],
    ended: int,
    asked_today: Asked | None,
    rule: AskRule,
) -> bool:
    """Whether the phone asks 'All well?' now; only in a phase with a leading exercise.

    `last_log`: when the last log was entered, or, before any, when the phase began. `waking`: the
    patient's waking spans since then. `ended`: due, unmuted slots that have ended since. Once a
    course day; again on the same day only after 'something is wrong', and then not before as many
    waking hours have gone by since that answer too.
    """
    since = last_log
    if asked_today is not None:
        if asked_today.answer != "something_wrong" or asked_today.answered_at is None:
            return False
        since = max(since, asked_today.answered_at)
    awake = awake_between(since, now, waking)
    return ended >= rule.slots and awake >= timedelta(hours=rule.waking_hours)


def awake_between(
    since: datetime, until: datetime, waking: Iterable[tuple[datetime, datetime]]
) -> timedelta:
    """The waking time between two instants; the night does not count."""
    spans = ((max(wake, since), min(sleep, until)) for wake, sleep in waking)
    return sum((end - start for start, end in spans if start < end), timedelta(0))


@dataclass(frozen=True, slots=True)
class DueSlot:
    """A slot of the leading exercise that was asked for (not excused) and is past."""

    start: datetime
    end: datetime
    credited: bool
    reminder: Reminder | None  # None: the patient has no push
    contact: bool = False  # contact since; asked only where there is no push

    @property
    def counts(self) -> bool:
        """Whether it is of the row: others neither break nor lengthen it."""
        if self.reminder is None:
            return self.contact
        return self.reminder in ("shown", "not_known")


def silent_since(slots: Iterable[DueSlot], r: int, last_bout: datetime | None) -> datetime | None:
    """When the last r slots of the row began, if nothing was done or entered since; else None.

    `last_bout`: the latest instant at which any bout of the patient was done or entered.
    """
    row = sorted((slot for slot in slots if slot.counts), key=lambda slot: (slot.end, slot.start))
    row = row[-r:]
    if len(row) < r or any(slot.credited for slot in row):
        return None
    first = min(slot.start for slot in row)
    return None if last_bout is not None and last_bout >= first else first


def waiting_since(questions: Iterable[Asked], last_bout: datetime | None) -> datetime | None:
    """When the earliest 'All well?' was asked that still waits; a bout answers it too."""
    asked = tuple(questions)
    heard = [each.answered_at for each in asked if each.answered_at is not None]
    if last_bout is not None:
        heard.append(last_bout)
    return min((each.at for each in asked if not heard or each.at > max(heard)), default=None)


def own_gap(bouts: Iterable[datetime], now: datetime, zone: str) -> timedelta | None:
    """The patient's own 90th percentile of time since the last bout at this clock hour.

    Looked at on each of the 14 days before, at the time the wall clock in `zone` shows now; a day
    before the first bout is left out. It is the smallest of these times that 90 % of them do not
    pass. None until 5 of the days have a bout.
    """
    done = sorted(bout for bout in bouts if bout < now)
    wall = local(now, zone).replace(tzinfo=None)
    looks = [wall_to_utc(wall - timedelta(days=n), zone) for n in range(1, BACK + 1)]
    recent = {local(bout, zone).date() for bout in done if bout >= looks[-1]}
    if len(recent) < LOG_DAYS:
        return None
    gaps = sorted(look - done[n - 1] for look in looks if (n := bisect_right(done, look)))
    return gaps[ceil(OWN * len(gaps) / 100) - 1] if gaps else None


def silent(
    slots: Iterable[DueSlot],
    r: int,
    last_bout: datetime | None,
    questions: Iterable[Asked],
    own: timedelta | None,
    now: datetime,
    wait: timedelta = UNANSWERED,
) -> datetime | None:
    """Since when the patient is silent, if staff are to hear of it now; otherwise None.

    `r` from `silence_row`, `own` from `own_gap`. Clinic hours are the caller's to keep.
    """
    since = silent_since(slots, r, last_bout)
    asked = waiting_since(questions, last_bout)
    if since is None or asked is None or now - asked < wait:
        return None
    if own is not None and last_bout is not None and now - last_bout < own:
        return None
    return since
