"""Routes: find, enrol and see a patient; pair and end phones."""

from __future__ import annotations

from datetime import date
from typing import Any

import segno
from flask import Blueprint, current_app, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from ..clock import clock
from ..domain.errors import Conflict, Invalid
from ..extensions import db
from ..services import pair_phone
from ..services.enrol_patient import MaybeKnown, complete_enrolment, enrol_patient, open_course
from ..storage import clinics, courses, enrolments, patients
from ..storage.models import Course, Device, Patient
from ..storage.scope import get
from .forms import load, typed
from .guard import current_actor, staff_only
from .schemas.enrol import ClerksSchema, CourseSchema

bp = Blueprint("patients", __name__)


@bp.get("/patients")
@staff_only()
def found() -> ResponseReturnValue:
    words = request.args.get("find", "").strip()
    people = patients.find(db.session(), current_actor().clinic_id, words)
    if len(people) == 1:
        return redirect(url_for("patients.page", patient_id=people[0].id), 303)
    lines = [_line(person) for person in people]
    return render_template("patients/found.html", words=words, lines=lines)


def _line(person: Patient) -> dict[str, Any]:
    now = clock().now()
    hands = [courses.hand_and_finger(db.session(), c, now) for c in courses.courses_of(
        db.session(), person.id)]  # fmt: skip
    number = patients.number_of(db.session(), person.id)
    return {"person": person, "number": number, "hands": hands}


@bp.get("/patients/new")
@staff_only()
def new() -> ResponseReturnValue:
    return render_template(
        "patients/clerk.html", form={"language": "en"}, errors={}, people=[], course=None
    )


@bp.post("/patients/new")
@staff_only()
def enrol() -> ResponseReturnValue:
    people: list[dict[str, Any]] = []
    errors: dict[str, list[str]] = {}
    try:
        part = load(ClerksSchema(), typed())
        ticked = bool(request.form.get("another_person"))
        course = enrol_patient(db.session(), current_actor(), part, clock().now(), ticked)
    except MaybeKnown as known:
        people = [_line(person) for person in known.people]
    except Invalid as wrong:
        errors = wrong.fields
    else:
        db.session.commit()
        return _kept(course)
    page = render_template(
        "patients/clerk.html", form=typed(), errors=errors, people=people, course=None
    )
    return page, 422


def _kept(course: Course) -> ResponseReturnValue:
    flash("Saved. You can leave here and go on later.", "kept")
    if request.form.get("then") == "facts":
        return redirect(url_for("courses.facts", course_id=course.id), 303)
    return redirect(url_for("patients.page", patient_id=course.patient_id), 303)


@bp.get("/patients/<patient_id>")
@staff_only()
def page(patient_id: str) -> ResponseReturnValue:
    patient = _patient(patient_id)
    now, session = clock().now(), db.session()
    theirs = [_course_line(c) for c in courses.courses_of(session, patient.id)]
    return render_template(
        "patients/patient.html",
        patient=patient,
        number=patients.number_of(session, patient.id),
        contacts=patients.contacts(session, patient.id, now),
        consent=patients.consent(session, patient.id, now),
        phones=patients.devices(session, patient.id),
        reminded=reminded_by,
        courses=theirs,
        pairing_missing=pair_phone.missing_for_pairing(session, patient, now),
        zone=clinics.clinic_of(session, patient.clinic_id).zone,
        form={},
        errors={},
    )


REMINDED = {
    "push": "by push",
    "calendar": "by a calendar file, which cannot know what was logged",
    "in_app": "only while the app is open",
    "none": "not at all",
}


def reminded_by(phone: Device) -> str:
    """How this phone reminds, as it said itself, in words for staff."""
    words = REMINDED.get(phone.reminding or "", "not known yet")
    unproven = phone.reminding == "push" and not phone.receipt_proven
    return f"{words}; no test reminder has come back" if unproven else words


def _patient(patient_id: str) -> Patient:
    return get(db.session(), Patient, current_actor().clinic_id, patient_id)


def _course_line(course: Course) -> dict[str, Any]:
    now, session = clock().now(), db.session()
    closing = courses.closed(session, course, now)
    facts = courses.facts_in_force(session, course, now)
    return {
        "course": course,
        "hand": courses.hand_and_finger(session, course, now),
        "state": courses.state(session, course, now),
        "operation_date": facts["operation_date"],
        "facts": facts,
        "confirmed": courses.confirmation(session, course, now),
        "not_read_back": courses.not_read_back(session, course, now),
        "missing": enrolments.missing(session, course, now),
        "closed": closing.figures["reason"].replace("_", " ") if closing else None,
        "tasks": courses.open_tasks(session, course),
    }


@bp.get("/courses/<course_id>/letter")
@staff_only()
def letter(course_id: str) -> ResponseReturnValue:
    """The clerk's part of a course, resumed."""
    course = courses.by_id(db.session(), current_actor().clinic_id, course_id)
    return _clerks_page(course, _as_typed(course), {}, 200)


def _clerks_page(
    course: Course, form: dict[str, Any], errors: dict[str, list[str]], status: int
) -> ResponseReturnValue:
    now = clock().now()
    missing = enrolments.missing(db.session(), course, now)
    confirmed = courses.state(db.session(), course, now) == "confirmed"
    page = render_template(
        "patients/clerk.html", form=form, errors=errors, people=[], course=course,
        missing=missing, confirmed=confirmed,
    )  # fmt: skip
    return page, status


def _as_typed(course: Course) -> dict[str, Any]:
    session, now = db.session(), clock().now()
    patient = _patient(str(course.patient_id))
    facts = courses.facts_in_force(session, course, now)
    contacts = patients.contacts(session, patient.id, now)
    consent = patients.consent(session, patient.id, now)
    own, carer = contacts.get("patient"), contacts.get("carer")
    return {
        "name": patient.name, "born": patient.born.isoformat(),
        "number": patients.number_of(session, patient.id) or "",
        "operation_date": facts["operation_date"].isoformat(),
        "operation_date_reason": facts.get("operation_date_reason", ""),
        "side": facts.get("side", ""), "language": patient.language,
        "interpreter": patient.interpreter, "tel": own.tel if own else "",
        "best_times": (own.best_times or "") if own else "",
        "carer_name": (carer.name or "") if carer else "",
        "carer_tel": carer.tel if carer else "", "consent": consent.route if consent else "",
    }  # fmt: skip


@bp.post("/courses/<course_id>/letter")
@staff_only()
def resume_letter(course_id: str) -> ResponseReturnValue:
    actor = current_actor()
    course = courses.by_id(db.session(), actor.clinic_id, course_id)
    try:
        part = load(ClerksSchema(), typed())
        reason = request.form.get("reason", "")
        complete_enrolment(db.session(), actor, course.id, part, clock().now(), reason)
    except Invalid as wrong:
        db.session.rollback()
        return _clerks_page(course, typed(), wrong.fields, 422)
    db.session.commit()
    return _kept(course)


@bp.post("/patients/<patient_id>/courses")
@staff_only("therapist", "enroller")
def another_course(patient_id: str) -> ResponseReturnValue:
    patient = _patient(patient_id)
    try:
        given = load(CourseSchema(), typed())
        given["previous_id"] = given["previous_id"] or None
        course = open_course(db.session(), current_actor(), patient.id, **given, now=clock().now())
    except (Invalid, Conflict) as wrong:
        db.session.rollback()
        said = [m for messages in wrong.fields.values() for m in messages] or [wrong.message]
        flash(f"No course was opened: {' '.join(said)}", "fault")
        return redirect(url_for("patients.page", patient_id=patient.id), 303)
    db.session.commit()
    return _kept(course)


@bp.get("/patients/<patient_id>/pairing")
@staff_only()
def pairing(patient_id: str) -> ResponseReturnValue:
    patient = _patient(patient_id)
    missing = pair_phone.missing_for_pairing(db.session(), patient, clock().now())
    return render_template(
        "patients/pairing.html", patient=patient, missing=missing, invitation=None,
        courses=courses.open_courses_of(db.session(), patient.id),
    )  # fmt: skip


@bp.post("/patients/<patient_id>/pairing")
@staff_only()
def invite(patient_id: str) -> ResponseReturnValue:
    """Shows link and code in the answer itself: neither can be shown a second time."""
    patient = _patient(patient_id)
    try:
        invitation = pair_phone.create_pairing(
            db.session(), current_actor(), patient.id, clock().real(), clock().now()
        )
    except Conflict as wrong:
        db.session.rollback()
        return render_template(
            "patients/pairing.html", patient=patient, missing=wrong.fields["missing"],
            invitation=None, courses=courses.open_courses_of(db.session(), patient.id),
        ), 409  # fmt: skip
    db.session.commit()
    link = invitation.link(_origin())
    clinic = clinics.clinic_of(db.session(), patient.clinic_id)
    qr = segno.make(link, error="m").svg_inline(scale=6, border=4, dark="#000", light="#fff")
    page = render_template(
        "patients/pairing.html", patient=patient, missing=[], invitation=invitation, link=link,
        qr=qr, demo=clinic.demo or current_app.config["HOMEPROG"].mode == "demo",
        minutes=clinics.setting(db.session(), clinic.id, "pairing_minutes", clock().now()),
    )  # fmt: skip
    return page, 200, {"Cache-Control": "no-store"}


def _origin() -> str:
    """The address patients use; in the demo and in tests the one this page was asked at."""
    config = current_app.config["HOMEPROG"]
    return request.host_url.rstrip("/") if config.lenient else str(config.origin)


@bp.post("/courses/<course_id>/pairing-at-first-visit")
@staff_only()
def pairing_later(course_id: str) -> ResponseReturnValue:
    task = pair_phone.pair_at_first_visit(db.session(), current_actor(), course_id, clock().now())
    course = courses.by_id(db.session(), task.clinic_id, course_id)
    db.session.commit()
    flash("Noted: pair the phone at the first therapy visit.", "kept")
    return redirect(url_for("patients.page", patient_id=course.patient_id), 303)


@bp.post("/phones/<device_id>/ending")
@staff_only()
def end_phone(device_id: str) -> ResponseReturnValue:
    actor = current_actor()
    device = get(db.session(), Device, actor.clinic_id, device_id)
    pair_phone.end_device(db.session(), actor, device.id, "revoked", clock().now())
    db.session.commit()
    flash("The phone is no longer paired. What it had not sent stays on it.", "kept")
    return redirect(url_for("patients.page", patient_id=device.patient_id), 303)


@bp.app_template_filter("day")
def day_words(day: date) -> str:
    """'28 May 2026'."""
    return f"{day.day} {day:%B %Y}"
