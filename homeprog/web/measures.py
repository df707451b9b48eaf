"""Routes: the measures of a course over any window."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from fractions import Fraction
from typing import Any

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue

from ..clock import clock
from ..domain.adherence.chance import ChanceRule
from ..extensions import db
from ..storage import clinics, courses, patients
from ..storage.measures import Days, Material, material
from ..storage.models import Course, Patient
from ..storage.scope import get
from . import measure_words as say
from .guard import current_actor, staff_only
from .measured import Rules, measured

bp = Blueprint("measures", __name__)

ONE = timedelta(days=1)
WEEK = 7  # whole course days before the one in progress
FAULT = "Give two dates, the first not after the last."


@dataclass(frozen=True, slots=True)
class Chosen:
    """The window asked for; `preset` is '' for two dates of one's own."""

    preset: str
    days: Days
    fault: str = ""


@bp.get("/courses/<course_id>/measures")
@staff_only()
def page(course_id: str) -> ResponseReturnValue:
    """The measures over a window: by default the last 7 whole days."""
    now, by = clock().now(), current_actor()
    course = courses.by_id(db.session(), by.clinic_id, course_id)
    read = material(db.session(), course, now)
    chosen = window(read, request.args)
    told = measured(read, chosen.days, exercise(read, request.args), rules(course, now))
    return render_template(
        "measures/measures.html",
        **_whose(course, now), read=read, told=told, chosen=chosen, presets=presets(read),
        lines=say.lines(told), say=say, phase=read.phase,
        exercises={key: name for key, name in read.exercises.items() if read.figures(key)},
    ), 422 if chosen.fault else 200  # fmt: skip


def _whose(course: Course, now: datetime) -> dict[str, Any]:
    """Two identifiers, hand and finger."""
    patient = get(db.session(), Patient, course.clinic_id, course.patient_id)
    hand, finger = courses.hand_and_finger(db.session(), course, now)
    number = patients.number_of(db.session(), patient.id)
    return {"course": course, "patient": patient, "number": number, "hand": hand, "finger": finger}


def presets(read: Material) -> dict[str, tuple[str, Days]]:
    """The windows offered: in words, and their days."""
    opening = read.day_of(read.settings[0].at)
    found = {"week": (f"Last {WEEK} whole days", (read.today - WEEK * ONE, read.today - ONE))}
    if read.phase_began is not None:
        found["stage"] = ("This stage, with today", (read.phase_began, read.today))
    return found | {"all": ("All, with today", (opening, read.today))}


def window(read: Material, args: Mapping[str, str]) -> Chosen:
    """The window of a query: `window` names one, `first` and `last` are dates of one's own."""
    offered = presets(read)
    if args.get("first") or args.get("last"):
        days = _dates(args)
        if days is not None:
            return Chosen("", days)
        return Chosen("week", offered["week"][1], FAULT)
    name = args.get("window", "week")
    name = name if name in offered else "week"
    return Chosen(name, offered[name][1])


def _dates(args: Mapping[str, str]) -> Days | None:
    try:
        first, last = (date.fromisoformat(args.get(name, "")) for name in ("first", "last"))
    except ValueError:
        return None
    return (first, last) if first <= last else None


def exercise(read: Material, args: Mapping[str, str]) -> str | None:
    """The exercise asked for, else the leading one of the phase in force; None: none leads."""
    asked = args.get("exercise")
    if asked in read.exercises:
        return asked
    return read.phase.leading if read.phase else None


def rules(course: Course, now: datetime) -> Rules:
    """The clinic's own settings."""

    def own(key: str) -> Any:
        return clinics.setting(db.session(), course.clinic_id, key, now)

    against = Fraction(str(own("chance.against")))
    chance = ChanceRule(float(own("few_logged.rho")), float(own("chance.level")), against)
    return Rules(chance, int(own("persistence.days")))
