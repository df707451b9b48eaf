"""Grounds of silence: due times in a row without a log, and 'All well?' not answered."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta

from ...domain import monitor
from ...domain.monitor import Asked, AskRule, DueSlot, own_gap, silence_row
from ...domain.monitor.silence import BACK, Reminder, silent_since
from ...domain.timetable.course_day import waking
from ...domain.timetable.grid import hours_awake
from ...storage import grounds
from ...storage.grounds import Standing
from ...storage.reminders import reminder_states
from .few import most_slots
from .seen import ONE, Found, Watch

ROW_DAYS = 8  # course days the row may reach back; muted times neither break nor lengthen it
NOT_COUNTED = ("excused", "ahead")


def silent(watch: Watch) -> Found:
    """The patient is silent: told in clinic hours, which is the caller's to keep.

    Before anything was logged in the course it is 'not started' that tells.
    """
    slots, exercise = most_slots(watch), watch.leading
    last = grounds.last_bout(watch.db, watch.course.patient_id, _back(watch), watch.now)
    if not slots or exercise is None or last is None:
        return {}
    own = watch.own
    r = silence_row(
        slots, own["few_logged.p0"], own["few_logged.rho"], own["silence.false_in_days"]
    )
    due = _due(watch, exercise)
    if silent_since([_counted(slot) for slot in due], r, last) is None:
        return {}
    row = list(_with_reminders(watch, exercise, due))
    questions = _questions(watch, last, due)
    since = monitor.silent(row, r, last, questions, _own_gap(watch), watch.now, _wait(watch))
    if since is None:
        return {}
    return {"silence": _told(watch, row, since, last, r, questions)}


def _told(
    watch: Watch,
    row: Iterable[DueSlot],
    since: datetime,
    last: datetime,
    r: int,
    questions: Iterable[Asked],
) -> dict[str, object]:
    asked = min((each.at for each in questions if each.at > last), default=None)
    own = watch.own
    return {
        "exercise": watch.leading, "since": since.isoformat(), "last_bout": last.isoformat(),
        "slots": sum(slot.counts and slot.start >= since for slot in row), "r": r,
        "asked_at": asked.isoformat() if asked else None, "p0": own["few_logged.p0"],
        "rho": own["few_logged.rho"], "false_in_days": own["silence.false_in_days"],
        "first": watch.day_of(since).isoformat(), "last": watch.today.isoformat(),
    }  # fmt: skip


def _back(watch: Watch) -> datetime:
    return watch.now - (BACK + 1) * ONE


def _wait(watch: Watch) -> timedelta:
    return timedelta(hours=watch.own["silence.answer_hours"])


def _due(watch: Watch, exercise: str) -> list[Standing]:
    """The slots of the last days that were asked for and are past."""
    first = watch.today - (ROW_DAYS - 1) * ONE
    rows = grounds.standings_since(watch.db, watch.course.id, exercise, first)
    every = (grounds.standing(told) for _, day in rows for told in day)
    return [s for s in every if s.stands not in NOT_COUNTED and s.end < watch.now - watch.timely]


def _counted(slot: Standing, reminder: Reminder | None = "not_known") -> DueSlot:
    contact = slot.stands in ("not_logged", "logged", "later", "part")
    return DueSlot(slot.start, slot.end, slot.credited > 0, reminder, contact)


def _with_reminders(watch: Watch, exercise: str, due: list[Standing]) -> Iterator[DueSlot]:
    """With what became of each reminder; a patient without push needs contact instead."""
    push = grounds.has_push(watch.db, watch.course.patient_id, watch.now)
    states = {}
    if push and due:
        until = due[-1].start + timedelta(seconds=1)
        states = reminder_states(watch.db, watch.course.id, due[0].start, until, watch.now)
    for slot in due:
        state = states.get((exercise, slot.start), "not_known") if push else None
        yield _counted(slot, state)


def _questions(watch: Watch, last: datetime, due: list[Standing]) -> list[Asked]:
    """When 'All well?' was due since the last log, once a course day, and the answers that came.

    A phone in a drawer asks nothing and says nothing: that it would have asked is what counts.
    """
    asked = []
    if (first := _first_due(watch, last, due)) is not None:
        days = (watch.today - watch.day_of(first)).days
        later = (watch.waking(watch.day_of(first) + n * ONE) for n in range(1, days + 1))
        asked = [Asked(at) for at in (first, *later)]
    answers = grounds.all_well_answers(watch.db, watch.course.patient_id, last, watch.now)
    return [*asked, *(Asked(at, at) for at in answers)]


def _first_due(watch: Watch, last: datetime, due: list[Standing]) -> datetime | None:
    """When the phone's rule was first met: 6 waking hours, and 2 due times ended without a log."""
    rule = AskRule(watch.own["silence.waking_hours"])
    ended = [slot.end for slot in due if slot.end > last][: rule.slots]
    awake = _awake_for(timedelta(hours=rule.waking_hours), _waking_spans(watch, last))
    if len(ended) < rule.slots or awake is None:
        return None
    return max(awake, ended[-1])


def _awake_for(wanted: timedelta, spans: Iterable[tuple[datetime, datetime]]) -> datetime | None:
    """When the spans have come to `wanted`."""
    for start, end in spans:
        if start + wanted <= end:
            return start + wanted
        wanted -= end - start
    return None


def _waking_spans(watch: Watch, since: datetime) -> Iterator[tuple[datetime, datetime]]:
    """The patient's waking spans over [since, now], by the hours in force."""
    setting, day = watch.setting_now, watch.day_of(since)
    while setting is not None and day <= watch.today:
        wakes = waking(setting, day)
        sleeps = wakes + timedelta(minutes=hours_awake(setting.week[day.weekday()]))
        if max(wakes, since) < min(sleeps, watch.now):
            yield max(wakes, since), min(sleeps, watch.now)
        day += ONE


def _own_gap(watch: Watch) -> timedelta | None:
    """The patient's own habit at this hour."""
    bouts = grounds.bouts_since(watch.db, watch.course.patient_id, _back(watch), watch.now)
    zone = watch.setting_now.zone if watch.setting_now else watch.clinic_zone
    return own_gap(bouts, watch.now, zone)
