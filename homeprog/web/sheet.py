"""The sheet that staff print at the fitting: the stage in force, with its pictures, on paper."""

from __future__ import annotations

from flask import Blueprint, render_template
from flask.typing import ResponseReturnValue

from ..clock import clock
from ..domain.course import day_number
from ..domain.regime import Phase
from ..domain.timetable import course_day
from ..domain.trouble import Kind, text_key
from ..extensions import db
from ..services.see_course import BARE
from ..storage import clinics, courses, timelines
from ..storage.models import Course, SignedText
from .courses import course_of, header
from .figures import pictures_of
from .guard import staff_only

SHOWN: tuple[tuple[Kind, str], ...] = (
    ("splint_gone", "pillow"),
    ("white_blue_cold", "open_splint"),
)

bp = Blueprint("sheet", __name__)


@bp.get("/courses/<course_id>/sheet")
@staff_only()
def sheet(course_id: str) -> ResponseReturnValue:
    """Empty of a plan until a clinician has confirmed the course. No pairing code stands on it."""
    course, now = course_of(course_id), clock().now()
    found = timelines.regime_in_force(db.session(), course, now)
    phase = timelines.phase_in_force(db.session(), course, now)
    rings = clinics.rings(db.session(), course.clinic_id, now)
    if courses.confirmation(db.session(), course, now) is None:
        found = phase = None
    return render_template(
        "courses/sheet.html",
        revision=found[0] if found else None,
        phase=phase,
        asked=timelines.exercises_in_force(db.session(), course, now) if phase else (),
        pictures=pictures_of(course, found[0], phase.key)[phase.key] if found and phase else None,
        day=_day(course),
        now=now,
        zone=clinics.clinic_of(db.session(), course.clinic_id).zone,
        rings=dict.fromkeys((each.label, each.tel) for each in rings),
        wrong=_wrong(course, phase) if phase else [],
        emergency=clinics.emergency(db.session(), course.clinic_id, now),
        **header(course),
    )


def _wrong(course: Course, phase: Phase) -> list[tuple[SignedText | None, str]]:
    """The clinic's signed text of each trouble that has a picture, with the picture's purpose."""
    texts = clinics.signed_texts(db.session(), course.clinic_id, "en", clock().now())
    worn = phase.splint.worn or BARE
    return [(texts.get(text_key(kind, worn)), purpose) for kind, purpose in SHOWN]


def _day(course: Course) -> int:
    """The post-operative day in progress."""
    now = clock().now()
    today = course_day(timelines.settings_of(db.session(), course, now), now)
    return day_number(today, courses.facts_in_force(db.session(), course, now)["operation_date"])
