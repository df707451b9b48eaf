"""Whether a reminder that has fallen due is still wanted, and what is sent if it is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from ..delivery.push import Address, Kind, Push, payload, ttl
from ..domain.timetable import Setting, Slot, cut_slots, lay_out
from ..domain.timetable.quiet import soundless
from ..phrases import Say
from ..storage.bouts import bout_rows
from ..storage.clinics import settings
from ..storage.courses import state
from ..storage.languages import language_of
from ..storage.models import Course, PromptSlot
from ..storage.prompts import unanswered
from ..storage.quiet import muted, snoozed_until
from ..storage.rules import rules_of
from ..storage.sends import Due
from ..storage.summaries import summaries
from ..storage.timelines import holds_of, settings_of
from .catch_up import catch_up
from .mute_slots import thinned_out
from .words_of import words_of

LONGEST_GROUP = timedelta(minutes=11)  # a prompt's slots start within 10 min of the first


@dataclass(frozen=True, slots=True)
class Verdict:
    """Send `push`, wait until `later`, or drop it for `reason`."""

    ends_at: datetime  # nothing is sent from here on
    push: Push | None = None
    later: datetime | None = None
    reason: str | None = None


def judge_send(db: Session, due: Due, now: datetime, origin: str = "") -> Verdict:
    """Judge a claimed send by what holds at `now`, not by what held when it was planned.

    `origin` is where a tap on the reminder leads.
    """
    if reason := _unreachable(due, now):
        return Verdict(due.prompt.ends_at, reason=reason)
    ends, reasons = _wanted_until(db, due, now)
    if ends is None:
        return Verdict(due.prompt.ends_at, reason=", ".join(sorted(reasons)))
    if due.slots and (wait := snoozed_until(db, due.prompt.patient_id, now)) and wait < ends:
        return Verdict(ends, later=wait)
    if due.slots and _muted(db, due, now):
        return Verdict(ends, reason="muted")
    words = words_of(db, due.device.clinic_id, language_of(db, due.device, now), now)
    return Verdict(ends, push=_push(due, ends, now, _tone(db, due, now), origin, words.say))


def _muted(db: Session, due: Due, now: datetime) -> bool:
    patient = due.prompt.patient_id
    return muted(db, patient, now) or thinned_out(db, patient, due.prompt.due_at, now)


@dataclass(frozen=True, slots=True)
class Tone:
    """How a reminder is shown."""

    silent: bool
    asks: bool  # the one question whether reminders suit


def _tone(db: Session, due: Due, now: datetime) -> Tone:
    """Without a sound near waking and sleep, and after some unanswered in a row: never louder."""
    if not due.slots:
        return Tone(silent=False, asks=False)
    own = settings(db, due.prompt.clinic_id, now)
    in_a_row = unanswered(db, due.prompt.patient_id, due.prompt.due_at)
    edge = timedelta(minutes=own["reminders.soundless_minutes"])
    near = soundless(settings_of(db, due.slots[0][1], now), now, edge)
    enough = own["reminders.unanswered"]
    return Tone(silent=near or in_a_row >= enough, asks=in_a_row == enough)


def _unreachable(due: Due, now: datetime) -> str | None:
    if due.prompt.withdrawn_at is not None:
        return "withdrawn"
    if due.prompt.ends_at <= now:
        return "expired"
    if due.device.ended_at is not None:
        return "unpaired"
    if due.subscription is None and not due.device.invented:
        return "no subscription"
    return None


def _wanted_until(db: Session, due: Due, now: datetime) -> tuple[datetime | None, set[str]]:
    """The last end of the slots still to be asked for; why the others are not."""
    if not due.slots:
        return due.prompt.ends_at, set()
    ends, reasons = [], set()
    for kept, course in due.slots:
        slot, reason = _judge_slot(db, kept, course, due.prompt.due_at, now)
        if reason:
            reasons.add(reason)
        elif slot:
            ends.append(slot.end)
    return max(ends, default=None), reasons


def _judge_slot(
    db: Session, kept: PromptSlot, course: Course, since: datetime, now: datetime
) -> tuple[Slot | None, str | None]:
    """The slot as it is laid out now, and why it is not to be asked for, if so."""
    if state(db, course, now) != "confirmed":
        return None, "closed"
    laid_from = settings_of(db, course, now)
    laid = {slot.key: slot for slot in lay_out(laid_from, since + LONGEST_GROUP, since=since)}
    slot = laid.get((kept.exercise, kept.slot_start))
    if slot is None or _cut(laid_from, slot):
        return None, "not asked for"
    if slot.end <= now:
        return slot, "expired"
    if _held(db, course, slot, now):
        return slot, "held"
    return slot, "logged" if _logged(db, course, slot, now) else None


def _cut(laid_from: tuple[Setting, ...], slot: Slot) -> bool:
    """Whether a change takes the slot back while it is in progress, or within the minute."""
    return bool(cut_slots(laid_from, [slot]))


def _held(db: Session, course: Course, slot: Slot, now: datetime) -> bool:
    holds = holds_of(db, course, now)
    return any(h.covers(slot.exercise) and h.meets(slot.start, slot.end) for h in holds)


def _logged(db: Session, course: Course, slot: Slot, now: datetime) -> bool:
    """Whether a go was logged in the slot, or one at its edge earned it its share of the dose."""
    rows = bout_rows(db, course.id, slot.start, slot.end, now)
    if any(row.exercise == slot.exercise for row in rows):
        return True
    catch_up(db, course.patient_id, now)  # what was logged within the minute may have earned it
    rules = rules_of(db, course.clinic_id, now)
    return rules.reached(_credited(db, course, slot), slot.dose.amount)


def _credited(db: Session, course: Course, slot: Slot) -> int:
    """What the day's summary gave the slot, in the unit of its dose."""
    days = summaries(db, course.id, slot.date, slot.date, slot.exercise)
    given = (
        credited
        for day in days
        for start, _end, _standing, credited, _asked in day.standings
        if datetime.fromisoformat(start) == slot.start
    )
    return next(given, 0)


def _push(due: Due, ends: datetime, now: datetime, tone: Tone, origin: str, say: Say) -> Push:
    kind: Kind = ("question" if tone.asks else "reminder") if due.slots else "test"
    body = say(f"push.{kind}")
    kept = due.subscription
    invented = due.device.invented or kept is None
    return Push(
        send=due.send.id,
        patient=due.prompt.patient_id if due.slots else due.send.id,  # a test replaces no reminder
        address=None
        if invented or kept is None
        else Address(kept.endpoint, kept.p256dh, kept.auth),
        payload=payload(due.send.id, body, ends, tone.silent, origin, kind),
        ttl=ttl(now, ends),
    )
