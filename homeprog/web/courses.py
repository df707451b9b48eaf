"""Routes: a course's facts, its confirmation and its closing."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from ..clock import clock
from ..domain.course import DIGITS, JOINTS, STRUCTURES, ZONES
from ..domain.errors import Conflict, Invalid
from ..extensions import db
from ..services.check_facts import ONE_OF, SOME_OF
from ..services.close_course import REASONS, close_course
from ..services.confirm_course import SOURCES, confirm_course, missing_for_confirmation
from ..services.correct_fact import correct_facts, entries
from ..storage import clinics, courses, enrolments, patients, staff
from ..storage.models import Course, Patient
from ..storage.scope import get
from ..storage.timelines import regime_in_force
from .figures import pictures_of
from .forms import load, typed
from .guard import current_actor, staff_only
from .schemas.enrol import (
    MANY,
    ClosingSchema,
    ConfirmationSchema,
    FactsSchema,
    RepairSchema,
    typed_repairs,
)

bp = Blueprint("courses", __name__)
SPARE_ROWS = 3
MOST_ROWS = 24


def course_of(course_id: str) -> Course:
    """The course of that id in the clinic of whoever asks."""
    return courses.by_id(db.session(), current_actor().clinic_id, course_id)


def header(course: Course) -> dict[str, Any]:
    """Two identifiers, hand and finger: what every page of a course begins with."""
    session, now = db.session(), clock().now()
    patient = get(session, Patient, course.clinic_id, course.patient_id)
    hand, finger = courses.hand_and_finger(session, course, now)
    return {
        "course": course,
        "patient": patient,
        "number": patients.number_of(session, patient.id),
        "hand": hand,
        "finger": finger,
        "state": courses.state(session, course, now),
        "missing": enrolments.missing(session, course, now),
    }


@bp.get("/courses/<course_id>/facts")
@staff_only("therapist")
def facts(course_id: str) -> ResponseReturnValue:
    course = course_of(course_id)
    return _facts_page(course, _known(course), _known_repairs(course), {}, 200)


def _known(course: Course) -> dict[str, Any]:
    actor, now = current_actor(), clock().now()
    known = courses.facts_in_force(db.session(), course, now)
    form = {k: list(v) if isinstance(v, tuple) else v for k, v in known.items()}
    form["operation_date"] = known["operation_date"].isoformat()
    if actor.clinician:
        form.setdefault("therapist", str(actor.id))
    return form


def _known_repairs(course: Course) -> list[dict[str, Any]]:
    return [
        {
            "digit": r.digit, "structure": r.structure, "zone": r.zone, "joint": r.joint,
            "wired": r.wired, "nerve": r.nerve, "cut": r.cut_in_part is not None,
            "cut_percent": r.cut_in_part or "",
        }
        for r in entries(db.session(), course, clock().now())
    ]  # fmt: skip


def _facts_page(
    course: Course,
    form: dict[str, Any],
    repairs: list[dict[str, Any]],
    errors: dict[str, list[str]],
    status: int,
) -> ResponseReturnValue:
    now = clock().now()
    rows = repairs + [{}] * (SPARE_ROWS if not errors else 0)
    flat_repairs = {f"repairs.{n}.{k}": v for n, row in enumerate(rows) for k, v in row.items()}
    clinicians = staff.clinicians(db.session(), course.clinic_id, now)
    page = render_template(
        "courses/facts.html",
        form=form | flat_repairs,
        errors=errors,
        rows=len(rows),
        digits=_options(DIGITS),
        structures=_options(STRUCTURES),
        zones=_options(ZONES),
        joints=_options(JOINTS),
        one_of={k: _options(v) for k, v in ONE_OF.items()},
        some_of={k: _options(v) for k, v in SOME_OF.items()},
        clinicians=[(str(s.id), s.name) for s in clinicians],
        **header(course),
    )
    return page, status


def _options(words: Any) -> list[tuple[str, str]]:
    return [(word, str(word).replace("_", " ")) for word in words]


@bp.post("/courses/<course_id>/facts")
@staff_only("therapist")
def enter_facts(course_id: str) -> ResponseReturnValue:
    course = course_of(course_id)
    form = typed() | {name: request.form.getlist(name) for name in MANY}
    rows = min(int(request.form.get("rows", 0) or 0), MOST_ROWS)
    repairs = typed_repairs(request.form, rows)
    try:
        names = _enter(course, form, repairs)
    except Invalid as wrong:
        db.session.rollback()
        return _facts_page(course, form, list(repairs), wrong.fields, 422)
    db.session.commit()
    now = clock().now()
    stopped = courses.confirmation(db.session(), course, now) is None
    if names and stopped and courses.state(db.session(), course, now) == "confirmed":
        flash(
            "Saved. The exercises are stopped until the course is confirmed and released.", "fault"
        )
        return redirect(url_for("courses.confirmation", course_id=course.id), 303)
    flash("Saved. You can leave here and go on later.", "kept")
    return redirect(url_for("patients.page", patient_id=course.patient_id), 303)


def _enter(course: Course, form: dict[str, Any], repairs: list[dict[str, str]]) -> list[str]:
    """Empty rows are left out; a fault keeps the number of the row it was typed in."""
    filled = [n for n, row in enumerate(repairs) if any(row.values())]
    given = load(FactsSchema(exclude=("repairs",)), form)
    reason = given.pop("reason")
    known = courses.facts_in_force(db.session(), course, clock().now())
    said = {k: v for k, v in given.items() if v or k in known}
    wanted = [load(RepairSchema(), repairs[n]) for n in filled]
    try:
        return correct_facts(
            db.session(), current_actor(), course.id, said, clock().now(), wanted, reason
        )
    except Invalid as wrong:
        wrong.fields = {_in_place(path, filled): m for path, m in wrong.fields.items()}
        raise


def _in_place(path: str, filled: list[int]) -> str:
    parts = path.split(".")
    if parts[0] == "repairs" and len(parts) == 3:
        parts[1] = str(filled[int(parts[1])])
    return ".".join(parts)


@bp.get("/courses/<course_id>/confirmation")
@staff_only()
def confirmation(course_id: str) -> ResponseReturnValue:
    return _confirmation_page(course_of(course_id), {}, {}, 200)


def _confirmation_page(
    course: Course, form: dict[str, Any], errors: dict[str, list[str]], status: int
) -> ResponseReturnValue:
    now, session = clock().now(), db.session()
    held = courses.confirmation(session, course, now)
    regime = regime_in_force(session, course, now)
    page = render_template(
        "courses/confirmation.html",
        form=form,
        errors=errors,
        facts=courses.facts_in_force(session, course, now),
        repairs=courses.repairs_in_force(session, course, now),
        not_ready=missing_for_confirmation(session, course, now),
        regime=regime,
        pictures=pictures_of(course, regime[0]) if regime else {},
        zone=clinics.clinic_of(session, course.clinic_id).zone,
        held=held,
        held_by=staff.names(session, course.clinic_id, [held.by_id])[held.by_id]
        if held and held.by_id
        else None,
        not_read_back=courses.not_read_back(session, course, now),
        sources=list(SOURCES.items()),
        may=current_actor().clinician,
        **header(course),
    )
    return page, status


@bp.post("/courses/<course_id>/confirmation")
@staff_only()
def confirm(course_id: str) -> ResponseReturnValue:
    course = course_of(course_id)
    try:
        given = load(ConfirmationSchema(), typed())
        confirm_course(db.session(), current_actor(), course.id, **given, now=clock().now())
    except Invalid as wrong:
        db.session.rollback()
        return _confirmation_page(course, typed(), wrong.fields, 422)
    except Conflict as wrong:
        db.session.rollback()
        return _confirmation_page(course, typed(), {"source": [wrong.message]}, 409)
    db.session.commit()
    flash("Confirmed. The phone now asks: 'Is this your hand?'", "kept")
    return redirect(url_for("patients.page", patient_id=course.patient_id), 303)


@bp.get("/courses/<course_id>/closing")
@staff_only()
def closing(course_id: str) -> ResponseReturnValue:
    return _closing_page(course_of(course_id), {}, {}, 200)


def _closing_page(
    course: Course, form: dict[str, Any], errors: dict[str, list[str]], status: int
) -> ResponseReturnValue:
    page = render_template(
        "courses/closing.html",
        form=form,
        errors=errors,
        reasons=_options(REASONS),
        closed=courses.closed(db.session(), course, clock().now()),
        zone=clinics.clinic_of(db.session(), course.clinic_id).zone,
        **header(course),
    )
    return page, status


@bp.post("/courses/<course_id>/closing")
@staff_only()
def close(course_id: str) -> ResponseReturnValue:
    course = course_of(course_id)
    try:
        given = load(ClosingSchema(), typed())
        close_course(db.session(), current_actor(), course.id, **given, now=clock().now())
    except Invalid as wrong:
        db.session.rollback()
        return _closing_page(course, typed(), wrong.fields, 422)
    db.session.commit()
    flash("The course is closed. Reminders have stopped.", "kept")
    return redirect(url_for("patients.page", patient_id=course.patient_id), 303)
