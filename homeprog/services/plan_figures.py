"""The pictures in the phone's plan: of the stage in force, from the row that prescribes it."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy.orm import Session

from ..domain.figure import Figure
from ..phrases import Say
from ..storage.courses import confirmation
from .draw_figures import draw_stage, hand_of
from .plan_slots import Json
from .see_course import Seen


def plan_figures(db: Session, seen: Seen, say: Say) -> list[Json]:
    """What the phone draws, while a confirmation holds: before it nothing tells whose hand it is.

    Of the exercises only those that are asked for.
    """
    if seen.phase is None or confirmation(db, seen.course, seen.now) is None:
        return []
    hand = hand_of(db, seen.course, seen.now)
    asked = {each.key for each in seen.exercises}
    if seen.phase.rehearsal:
        asked.add(seen.phase.rehearsal.key)
    asked -= seen.held
    drawn = draw_stage(seen.phase, hand, say) if hand else ()
    return [_told(each) for each in drawn if each.exercise is None or each.exercise in asked]


def without_held(course: Json, held: Collection[str]) -> Json:
    """A course of the plan without the drawings that the phone has, by their hashes.

    They are most of a plan, and a plan is fetched after every log.
    """
    told = [each | {"svg": None} if each["hash"] in held else each for each in course["figures"]]
    return course | {"figures": told}


def _told(figure: Figure) -> Json:
    return {
        "key": figure.key,
        "purpose": figure.purpose,
        "exercise": figure.exercise,
        "digits": list(figure.digits),
        "title": figure.title,
        "description": figure.description,
        "svg": figure.svg,
        "hash": figure.hash,
    }
