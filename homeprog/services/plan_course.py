"""One course in the phone's plan."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from datetime import date, datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from ..domain.adherence import from_row, total
from ..domain.course import weeks_and_days
from ..domain.hours import MONTHS, WEEKDAYS
from ..domain.regime import Exercise, Phase, Rehearsal
from ..storage import courses
from ..storage.clinics import setting
from ..storage.models import Course, DailyCheck
from ..storage.releases import waiting
from ..storage.rules import rules_of
from ..storage.summaries import summaries
from ..storage.timelines import (
    holds_of,
    settings_of,
)
from ..storage.visits import visit_ahead
from .begin_release import earliest, phase_name
from .mute_slots import Muted
from .plan_checks import questions
from .plan_slots import Json, Timeline, check_span, iso, plan_days, plan_slots
from .plan_troubles import told_seen, told_stop, told_troubles
from .see_course import Seen, Texts

CHECK_DAYS = 14  # days ahead for which the phone holds the check
CARRY_ON = "Carry on with this stage. Your therapist will tell you when to change."


def _standing_content(db: Session, seen: Seen, texts: Texts) -> Json:
    """What the phone shows of a course that does not move with the clock alone."""
    hand, finger = courses.hand_for_phone(db, seen.course, seen.now)
    return {
        "id": str(seen.course.id),
        "state": seen.state,
        "hand": hand,
        "finger": finger,
        "working_side": _working_side(seen) if hand else "right",
        "hand_question": _hand_question(db, seen, hand, finger),
        "stop": told_stop(db, seen, texts),
        "troubles": told_troubles(db, [seen], texts),
        "seen": told_seen(db, seen),
        "phase": _phase(seen.phase, texts),
        "exercises": _exercises(seen),
    }


def plan_course(db: Session, seen: Seen, texts: Texts, muted: Muted = frozenset()) -> Json:
    """The course whole; before confirmation without day, slots, checks and pain."""
    told = _standing_content(db, seen, texts)
    if seen.phase is None:
        return told | {
            "day": None, "next_visit": None, "release_question": None, "slots": [], "days": [],
            "checks": [], "pain": _pain(db, seen, None),
        }  # fmt: skip
    timeline = _timeline(db, seen, muted)
    return told | {
        "day": _day(timeline),
        "next_visit": visit_words(db, seen.course, timeline.today, seen.now),
        "release_question": _release_question(db, seen),
        "slots": plan_slots(db, timeline),
        "days": plan_days(timeline),
        "checks": _checks(db, seen, timeline),
        "pain": _pain(db, seen, timeline),
    }


def _timeline(db: Session, seen: Seen, muted: Muted) -> Timeline:
    return Timeline(
        seen.course,
        settings_of(db, seen.course, seen.now),
        holds_of(db, seen.course, seen.now),
        seen.facts["operation_date"],
        seen.now,
        rules_of(db, seen.course.clinic_id, seen.now),
        muted,
        seen.phase.leading if seen.phase else None,
        bool(setting(db, seen.course.clinic_id, "pain.each_bout", seen.now)),
    )


def _working_side(seen: Seen) -> str:
    """Where the thumb is that holds the phone: that of the hand not operated."""
    return "right" if seen.facts.get("side") == "left" else "left"


def _hand_question(db: Session, seen: Seen, hand: str | None, finger: str | None) -> Json | None:
    asked = courses.hand_question(db, seen.course, seen.now)
    if asked is None or hand is None or seen.state != "confirmed":
        return None
    splint = seen.phase.splint.words if seen.phase else None
    return {"id": str(asked.id), "hand": hand, "finger": finger, "splint": splint}


def _release_question(db: Session, seen: Seen) -> Json | None:
    """'Anything wrong since your visit?', to be asked from the day of a release signed ahead."""
    waits = waiting(db, seen.course.id, seen.now)
    if waits is None or seen.state != "confirmed":
        return None
    start = earliest(db, seen.course, waits, seen.now)
    return {"id": str(waits.id), "phase": phase_name(db, waits), "from": iso(start)}


def _phase(phase: Phase | None, texts: Texts) -> Json | None:
    if phase is None:
        return None
    carry_on = texts.get("screen.carry_on")
    return {
        "key": phase.key,
        "name": phase.name,
        "caution_version": _version(phase.cautions),
        "cautions": list(phase.cautions),
        "splint": phase.splint.words,
        "wear": [phase.wear.words] if phase.wear.words else [],
        "forbidden": list(phase.forbidden),
        "carry_on": " ".join(carry_on.lines) if carry_on else CARRY_ON,
    }


def _version(cautions: Sequence[str]) -> str:
    """Changes with the words: a new one asks once to be read."""
    return hashlib.sha256(json.dumps(list(cautions)).encode()).hexdigest()[:12]


def _exercises(seen: Seen) -> list[Json]:
    leading = seen.phase.leading if seen.phase else None
    told = [
        {
            "key": each.key,
            "name": each.name,
            "steps": _steps(each),
            "amount": each.dose.amount,
            "unit": each.dose.unit,
            "leading": each.key == leading,
            "rehearsal": False,
        }
        for each in seen.exercises
    ]
    rehearsed = seen.phase.rehearsal if seen.phase else None
    return [*told, _rehearsal(rehearsed)] if rehearsed else told


def _rehearsal(each: Rehearsal) -> Json:
    """Logged with one tap; never counted."""
    return {
        "key": each.key, "name": each.name, "steps": list(each.steps), "leading": False,
        "amount": each.dose.amount, "unit": each.dose.unit, "rehearsal": True,
    }  # fmt: skip


def _steps(exercise: Exercise) -> list[str]:
    """Its steps, with what the splint does before them where they do not say it themselves."""
    first, *rest = exercise.steps
    if exercise.with_splint in first:
        return [first, *rest]
    return [f"{exercise.with_splint} {first}".strip(), *rest]


def day_words(number: int) -> str:
    """'day 23 (3 weeks 2 days)', 'day 5' in the first week."""
    weeks, days = weeks_and_days(number)
    counted = ((weeks, "week"), (days, "day"))
    parts = [f"{n} {word}{'' if n == 1 else 's'}" for n, word in counted if n > 0]
    return f"day {number} ({' '.join(parts)})" if weeks > 0 else f"day {number}"


def _day(timeline: Timeline) -> Json:
    number = timeline.number(timeline.today)
    return {"number": number, "words": day_words(number)}


def visit_words(db: Session, course: Course, today: date, now: datetime) -> Json | None:
    """The next visit as the phone tells it: a date, never a later stage's."""
    visit = visit_ahead(db, course, today, now)
    if visit is None:
        return None
    planned = visit.planned
    words = f"{WEEKDAYS[planned.weekday()]} {planned.day} {MONTHS[planned.month - 1]}"
    at = f", {visit.planned_time}" if visit.planned_time else ""
    return {"date": visit.planned.isoformat(), "words": words + at}


def _checks(db: Session, seen: Seen, timeline: Timeline) -> list[Json]:
    """The check of today and of the coming days, by the phase in force now."""
    assert seen.phase is not None
    asked = questions(seen.phase, seen.texts_worn)
    answered = set(
        db.scalars(
            select(DailyCheck.day).where(
                DailyCheck.course_id == seen.course.id,
                DailyCheck.day >= timeline.today,
                DailyCheck.at <= seen.now,
            )
        )
    )
    found = []
    for ahead in range(CHECK_DAYS + 1):
        day = timeline.today + timedelta(days=ahead)
        start, end = check_span(timeline, day)
        found.append(
            {
                "day": day.isoformat(),
                "from": start,
                "until": end,
                "answered": day in answered,
                "questions": asked,
            }
        )
    return found


def _pain(db: Session, seen: Seen, timeline: Timeline | None) -> Json:
    """Thresholds of the clinic and yesterday's median over all exercises."""
    own = {
        key: setting(db, seen.course.clinic_id, f"pain.{key}", seen.now)
        for key in ("red_flag_at", "rise", "rise_floor")
    }
    return {"ask": timeline is not None, "yesterday": _yesterday(db, timeline), **own}


def _yesterday(db: Session, timeline: Timeline | None) -> float | None:
    """Median of yesterday's answers, if there are 2, or all that were asked."""
    if timeline is None:
        return None
    day = timeline.today - timedelta(days=1)
    rows = summaries(db, timeline.course.id, day, day)
    summed = total(from_row(row.figures) for row in rows)
    doubled = summed.pain_median_doubled
    enough = summed.pain_answers >= min(2, summed.pain_asked)
    return None if doubled is None or not enough else doubled / 2
