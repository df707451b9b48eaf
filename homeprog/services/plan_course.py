"""One course in the phone's plan."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Sequence
from datetime import date, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from ..domain.adherence import from_row, total
from ..domain.regime import Exercise, Phase, Rehearsal
from ..storage import courses
from ..storage.clinics import setting
from ..storage.models import DailyCheck
from ..storage.releases import waiting
from ..storage.rules import rules_of
from ..storage.summaries import summaries
from ..storage.timelines import (
    holds_of,
    regime_in_force,
    settings_of,
)
from ..storage.visits import visit_ahead
from .begin_release import earliest, phase_name
from .mute_slots import Muted
from .plan_checks import questions
from .plan_figures import plan_figures
from .plan_slots import Json, Timeline, check_span, iso, plan_days, plan_slots
from .plan_troubles import told_seen, told_stop, told_troubles
from .put_in_words import day_words, finger_words, hand_words, visit_words
from .see_course import Seen, Texts
from .words_of import Words

CHECK_DAYS = 14  # days ahead for which the phone holds the check


def _standing_content(db: Session, seen: Seen, texts: Texts, words: Words) -> Json:
    """What the phone shows of a course that does not move with the clock alone."""
    hand, finger = _hand_and_finger(db, seen, words)
    return {
        "id": str(seen.course.id),
        "state": seen.state,
        "hand": hand,
        "finger": finger,
        "working_side": _working_side(seen) if hand else "right",
        "hand_question": _hand_question(db, seen, hand, finger, words),
        "stop": told_stop(db, seen, texts),
        "troubles": told_troubles(db, [seen], texts, words),
        "seen": told_seen(db, seen, words.say),
        "phase": _phase(db, seen, texts, words),
        "exercises": _exercises(seen, words),
        "figures": plan_figures(db, seen, words.say),
    }


def plan_course(
    db: Session, seen: Seen, texts: Texts, words: Words, muted: Muted = frozenset()
) -> Json:
    """The course whole; before confirmation without day, slots, checks and pain."""
    told = _standing_content(db, seen, texts, words)
    if seen.phase is None:
        return told | {
            "day": None, "next_visit": None, "release_question": None, "slots": [], "days": [],
            "checks": [], "pain": _pain(db, seen, None),
        }  # fmt: skip
    timeline = _timeline(db, seen, muted)
    return told | {
        "day": _day(timeline, words),
        "next_visit": _next_visit(db, seen, timeline.today, words),
        "release_question": _release_question(db, seen, words),
        "slots": plan_slots(db, timeline),
        "days": plan_days(timeline),
        "checks": _checks(db, seen, timeline, words),
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


def _hand_and_finger(db: Session, seen: Seen, words: Words) -> tuple[str | None, str | None]:
    """Both while a clinician's confirmation holds, otherwise neither."""
    side, digits = courses.hand_for_phone(db, seen.course, seen.now)
    return hand_words(words.say, side), finger_words(words.say, digits, words.language)


def _hand_question(
    db: Session, seen: Seen, hand: str | None, finger: str | None, words: Words
) -> Json | None:
    asked = courses.hand_question(db, seen.course, seen.now)
    if asked is None or hand is None or seen.state != "confirmed":
        return None
    splint = words.sentence(seen.phase.splint.words) if seen.phase else None
    return {"id": str(asked.id), "hand": hand, "finger": finger, "splint": splint}


def _release_question(db: Session, seen: Seen, words: Words) -> Json | None:
    """'Anything wrong since your visit?', to be asked from the day of a release signed ahead."""
    waits = waiting(db, seen.course.id, seen.now)
    if waits is None or seen.state != "confirmed":
        return None
    start = earliest(db, seen.course, waits, seen.now)
    stage = words.sentence(phase_name(db, waits))
    return {"id": str(waits.id), "phase": stage, "from": iso(start)}


def _phase(db: Session, seen: Seen, texts: Texts, words: Words) -> Json | None:
    phase = seen.phase
    if phase is None:
        return None
    carry_on = texts.get("screen.carry_on")
    cautions = [words.sentence(each) for each in phase.cautions]
    return {
        "key": phase.key,
        "name": words.sentence(phase.name),
        "caution_version": _version(cautions),
        "cautions": cautions,
        "splint": words.sentence(phase.splint.words),
        "wear": [words.sentence(phase.wear.words)] if phase.wear.words else [],
        "forbidden": [words.sentence(each) for each in phase.forbidden],
        "carry_on": " ".join(carry_on.lines) if carry_on else words.say("stage.carry_on"),
        "wearing": _wearing(phase),
        "later": _later(db, seen, phase, words),
    }


def _wearing(phase: Phase) -> Json | None:
    """When the splint is on and may come off; None where nothing is worn."""
    if phase.splint.worn is None:
        return None
    wear = phase.wear
    return {
        "by_day": wear.by_day, "by_night": wear.by_night, "outdoors": wear.outdoors,
        "comes_off": list(wear.comes_off),
    }  # fmt: skip


def _later(db: Session, seen: Seen, phase: Phase, words: Words) -> list[str]:
    """The stages after this one by name alone: no patient starts one by its date."""
    in_force = regime_in_force(db, seen.course, seen.now)
    if in_force is None:
        return []
    keys = [each.key for each in in_force[1].phases]
    after = in_force[1].phases[keys.index(phase.key) + 1 :] if phase.key in keys else ()
    return [words.sentence(each.name) for each in after]


def _version(cautions: Sequence[str]) -> str:
    """Changes with the words, and so with their language: a new one asks once to be read."""
    return hashlib.sha256(json.dumps(list(cautions)).encode()).hexdigest()[:12]


def _exercises(seen: Seen, words: Words) -> list[Json]:
    leading = seen.phase.leading if seen.phase else None
    told = [
        {
            "key": each.key,
            "name": words.sentence(each.name),
            "steps": _steps(each, words),
            "amount": each.dose.amount,
            "unit": each.dose.unit,
            "leading": each.key == leading,
            "rehearsal": False,
            "held": each.key in seen.held,
        }
        for each in seen.exercises
    ]
    rehearsed = seen.phase.rehearsal if seen.phase else None
    return [*told, _rehearsal(rehearsed, words, seen.held)] if rehearsed else told


def _rehearsal(each: Rehearsal, words: Words, held: Collection[str]) -> Json:
    """Logged with one tap; never counted."""
    steps = [words.sentence(step) for step in each.steps]
    return {
        "key": each.key, "name": words.sentence(each.name), "steps": steps, "leading": False,
        "amount": each.dose.amount, "unit": each.dose.unit, "rehearsal": True,
        "held": each.key in held,
    }  # fmt: skip


def _steps(exercise: Exercise, words: Words) -> list[str]:
    """Its steps, with what the splint does before them where they do not say it themselves."""
    first, *rest = (words.sentence(step) for step in exercise.steps)
    if exercise.with_splint in exercise.steps[0]:
        return [first, *rest]
    return [f"{words.sentence(exercise.with_splint)} {first}".strip(), *rest]


def _day(timeline: Timeline, words: Words) -> Json:
    number = timeline.number(timeline.today)
    return {"number": number, "words": day_words(words.say, number)}


def _next_visit(db: Session, seen: Seen, today: date, words: Words) -> Json | None:
    """The next visit as the phone tells it: a date, never a later stage's."""
    visit = visit_ahead(db, seen.course, today, seen.now)
    if visit is None:
        return None
    told = visit_words(words.say, visit.planned, visit.planned_time, words.language)
    return {"date": visit.planned.isoformat(), "words": told}


def _checks(db: Session, seen: Seen, timeline: Timeline, words: Words) -> list[Json]:
    """The check of today and of the coming days, by the phase in force now."""
    assert seen.phase is not None
    asked = questions(seen.phase, seen.texts_worn, words.say)
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
