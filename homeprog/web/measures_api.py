"""JSON for staff: the measures of a course over any window."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from flask_smorest import Blueprint

from ..clock import clock
from ..domain.adherence import Bounds
from ..domain.adherence.pattern import Share
from ..extensions import db
from ..storage import courses
from ..storage.measures import material
from . import measure_words as say
from .guard import current_actor, staff_only
from .measured import Measured, OfExercise, PainRead, measured
from .measures import exercise, presets, rules
from .schemas.measures import MeasuredWindowSchema, MeasuresSchema
from .staff_api import NOT_SHOWN

bp = Blueprint("measures_api", __name__, url_prefix="/api/v1")

MINUTE = timedelta(minutes=1)


@bp.get("/courses/<course_id>/measures")
@bp.arguments(MeasuredWindowSchema, location="query")
@bp.response(200, MeasuresSchema)
@staff_only()
def measures(asked: dict[str, Any], course_id: str) -> dict[str, Any]:
    """A course's measures: by default the last 7 whole days of the leading exercise."""
    now = clock().now()
    course = courses.by_id(db.session(), current_actor().clinic_id, course_id)
    read = material(db.session(), course, now)
    offered = presets(read)
    named = offered.get(asked["window"], offered["week"])[1]
    days = (asked["first"], asked["last"]) if asked["first"] else named
    key = exercise(read, {"exercise": asked["exercise"] or ""})
    return _told(measured(read, days, key, rules(course, now)))


def _told(told: Measured) -> dict[str, Any]:
    of = told.exercise
    return {
        "first": told.days[0],
        "last": told.days[1],
        "exercise": of.key if of else None,
        "lines": _lines(told),
        **(_exercise(of) if of else {}),
        "rehearsed": {name: str(line) for name, line in told.rehearsed.items()},
        "pain": _pain(told.pain),
        "not_shown": NOT_SHOWN,
    }


def _lines(told: Measured) -> list[dict[str, Any]]:
    bounds = {"splint_wear": told.wear.bounds}
    if of := told.exercise:
        figures = of.figures
        bounds |= {"dose": figures.dose, "on_time": figures.on_time, "days_covered": figures.days}
        bounds |= {"entered_later": Bounds(None, figures.later, None), "excess": of.excess}
    return [
        {"key": line.key, "name": line.name, "behind": line.behind} | _per_cent(bounds[line.key])
        for line in say.lines(told) if line.key in bounds
    ]  # fmt: skip


def _per_cent(bounds: Bounds) -> dict[str, int | None]:
    lowest, shown, highest = say.whole(bounds)
    return {"lowest": lowest, "shown": shown, "highest": highest}


def _exercise(of: OfExercise) -> dict[str, Any]:
    return {
        "verdict": of.verdict,
        "longest_gap": _gap(of),
        "hours": _shares(of.hours),
        "weekdays": _shares(of.weekdays),
        "starting": dict(say.starting_lines(of.starting)),
        "ways": of.ways,
    }


def _gap(of: OfExercise) -> dict[str, Any] | None:
    if of.gap is None:
        return None
    shown = None if of.gap.shown is None else of.gap.shown // MINUTE
    return {
        "lowest": of.gap.lowest // MINUTE, "shown": shown, "highest": of.gap.highest // MINUTE,
        "slots": of.gap.slots,
    }  # fmt: skip


def _shares(shares: Mapping[int, Share]) -> list[dict[str, Any]]:
    return [
        {"at": at, "slots": each.slots, "not_asked": each.not_asked} | _per_cent(each.bounds)
        for at, each in shares.items()
    ]


def _pain(pain: PainRead) -> dict[str, Any]:
    now = pain.change.now if pain.change else None
    return {
        "last": pain.last.pain if pain.last else None,
        "baseline": _number(pain.baseline),
        "now": _number(now),
        "daily": {day: float(each) for day, each in pain.daily.items()},
        "pairs": pain.relation.pairs,
        "rank": pain.relation.rank,
        "enough": pain.relation.enough,
    }


def _number(exact: Any) -> float | None:
    return None if exact is None else float(exact)
