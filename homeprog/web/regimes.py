"""Routes: a course's regime, its releases, holds and next visit."""

from __future__ import annotations

import json
import uuid
from collections.abc import Mapping
from datetime import time, timedelta
from typing import Any

from flask import Blueprint, flash, redirect, render_template, request
from flask.typing import ResponseReturnValue
from marshmallow import ValidationError

from ..clock import clock
from ..domain.clock import to_utc
from ..domain.errors import Invalid
from ..domain.regime import Finding
from ..extensions import db
from ..services.begin_release import begin_by_telephone
from ..services.hold_course import hold_course, pause_days, resume
from ..services.mark_visit import mark_visit
from ..services.plan_visit import plan_visit
from ..services.release_phase import Signed, release_phase
from ..services.set_regime import Saved, Wanted, regime_findings, set_regime
from ..storage import courses, regimes, scope, timelines, visits
from ..storage.models import Course, HoldRow, Patient, Release, Template, Visit
from . import figures
from .guard import current_actor, staff_only
from .regime_form import edited, parts_of, placed, typed
from .schemas.regime import (
    HoldEndSchema,
    HoldSchema,
    RegimeSchema,
    ReleaseSchema,
    VisitSchema,
    read_reasons,
)
from .words import moment

bp = Blueprint("regimes", __name__)
Errors = Mapping[str, list[str]]
NO_ERRORS: Errors = {}
BROKEN = "This form is broken: start again from a template."


def _course(course_id: str) -> Course:
    return scope.get(db.session(), Course, current_actor().clinic_id, course_id)


def _page(name: str, course: Course, status: int = 200, **given: Any) -> ResponseReturnValue:
    """A page of one course; its head names patient, hand and finger."""
    now = clock().now()
    hand, finger = courses.hand_and_finger(db.session(), course, now)
    patient = db.session().get_one(Patient, course.patient_id)
    found = timelines.regime_in_force(db.session(), course, now)
    zone = timelines.zone_at(db.session(), course.patient_id, now)
    return (
        render_template(
            f"regimes/{name}.html", course=course, patient=patient, hand=hand, finger=finger,
            regime=found[1] if found else None, revision=found[0] if found else None,
            phase=timelines.phase_in_force(db.session(), course, now), zone=zone, **given,
        ),
        status,
    )  # fmt: skip


def _back(course_id: uuid.UUID, *said: str) -> ResponseReturnValue:
    db.session.commit()
    for words in said:
        flash(words)
    return redirect(f"/courses/{course_id}", 303)


# --- the regime


@bp.get("/courses/<course_id>/regime")
@staff_only()
def regime_form(course_id: str) -> ResponseReturnValue:
    course = _course(course_id)
    start = _start(course, request.args.get("template"))
    return _regime_page(course, *start)


def _start(
    course: Course, template_id: str | None
) -> tuple[Any, uuid.UUID | None, figures.Pictures]:
    """The body to adapt, of the template chosen or else the course's regime; its pictures."""
    if template_id:
        row = scope.get(db.session(), Template, course.clinic_id, template_id)
        return row.body, row.id, figures.pictures_of_template(row, course)
    kept = regimes.revisions(db.session(), course, clock().now())
    standing = [row for row in kept if row.cancelled_by_id is None]
    if not standing:
        return None, None, {}
    return standing[-1].body, standing[-1].template_id, figures.pictures_of(course, standing[-1])


def _regime_page(
    course: Course,
    body: Any,
    template_id: uuid.UUID | None,
    pictures: figures.Pictures,
    errors: Errors = NO_ERRORS,
    findings: list[Finding] | None = None,
) -> ResponseReturnValue:
    parts, shown = (parts_of(body), typed(body)) if body else ([], {})
    templates = [s.template for s in regimes.templates(db.session(), course.clinic_id) if s.usable]
    row = db.session().get(Template, template_id) if template_id else None
    return _page(
        "regime", course, 422 if errors else 200, parts=parts, body=json.dumps(body),
        form={**shown, **request.form.to_dict()}, chosen=shown,
        ticked=request.form.getlist("limits"), errors=placed(errors, parts), templates=templates,
        template=row, exercises=_exercises(body), rules=_rules(findings or []),
        pictures={f"phases.{n}": pictures.get(key) for n, key in enumerate(_stages(body))},
        pending=regimes.pending(db.session(), course, clock().now()),
    )  # fmt: skip


def _stages(body: Any) -> list[str]:
    return [phase.get("key", "") for phase in body["phases"]] if body else []


def _exercises(body: Any) -> list[tuple[str, str]]:
    phases = body["phases"] if body else []
    found = {e.get("key", ""): e.get("name", "") for p in phases for e in p["exercises"]}
    return sorted(found.items())


def _rules(findings: list[Finding]) -> dict[str, list[Finding]]:
    """Findings that a reason lets pass, by rule."""
    found: dict[str, list[Finding]] = {}
    for each in findings:
        if each.severity in ("reason", "surgeon_reason"):
            found.setdefault(each.rule, []).append(each)
    return found


@bp.post("/courses/<course_id>/regime")
@staff_only()
def save_regime(course_id: str) -> ResponseReturnValue:
    course, now = _course(course_id), clock().now()
    head, body = _typed_regime()
    template_id = head["template_id"]
    reasons, errors = read_reasons(request.form)
    wanted = Wanted(template_id, body, head["reason"], reasons, tuple(head["limits"]))
    try:
        saved = set_regime(db.session(), current_actor(), course.id, wanted, now)
    except Invalid as wrong:
        db.session.rollback()
        findings = _findings(course.id, wanted)
        drawn = figures.pictures_of_typed(course, body)
        return _regime_page(course, body, template_id, drawn, {**wrong.fields, **errors}, findings)
    return _back(course.id, *_said(saved, course))


def _typed_regime() -> tuple[dict[str, Any], dict[str, Any]]:
    """The head of the form and the body it means; Invalid for a form that is not one of ours."""
    told = {**request.form.to_dict(), "limits": request.form.getlist("limits")}
    try:
        head: dict[str, Any] = RegimeSchema().load(told)
        return head, edited(head["structure"], request.form)
    except ValidationError as wrong:
        raise Invalid("form_broken", BROKEN, wrong.messages_dict) from wrong
    except (AttributeError, IndexError, KeyError, TypeError, ValueError) as wrong:
        raise Invalid("form_broken", BROKEN) from wrong  # its hidden part was changed


def _findings(course_id: uuid.UUID, wanted: Wanted) -> list[Finding]:
    try:
        return regime_findings(db.session(), current_actor(), course_id, wanted, clock().now())
    except Invalid:
        return []  # no template, so nothing to hold it against


def _said(saved: Saved, course: Course) -> list[str]:
    """What the clinician is told of a saved revision."""
    number, starts = saved.revision.number, saved.revision.effective_from
    zone = timelines.zone_at(db.session(), course.patient_id, clock().now())
    if starts is None:
        said = [f"Revision {number} is saved and waits: release the stage under it."]
    else:
        said = [f"Revision {number} is saved, in force from {moment(starts, zone)}."]
    if saved.cancelled is not None:
        said.append(f"Revision {saved.cancelled.number}, which was pending, is cancelled.")
    return said + [finding.message for finding in saved.warnings]


# --- releases


@bp.get("/courses/<course_id>/releases")
@staff_only()
def release_form(course_id: str) -> ResponseReturnValue:
    return _release_page(_course(course_id))


def _release_page(course: Course, errors: Errors = NO_ERRORS) -> ResponseReturnValue:
    now = clock().now()
    found = timelines.regime_in_force(db.session(), course, now)
    waits = regimes.pending(db.session(), course, now)
    waits = waits if waits and waits.effective_from is None else None
    bodies = [regimes.regime_of(waits.body)] if waits else [found[1]] if found else []
    phases = [(p.key, _phase_words(p)) for each in bodies for p in each.phases]
    return _page(
        "releases", course, 422 if errors else 200, form=request.form or {}, errors=errors,
        phases=phases, waits=waits, held=_held(course), rows=regimes.releases(
            db.session(), course, now)[::-1],
    )  # fmt: skip


def _phase_words(phase: Any) -> str:
    day = "the surgeon's day" if phase.earliest_day is None else f"day {phase.earliest_day}"
    return f"{phase.name}, from {day}"


def _held(course: Course) -> list[tuple[str, str]]:
    """Exercises of the phase in force that wait for a release of their own."""
    now = clock().now()
    phase = timelines.phase_in_force(db.session(), course, now)
    asked = {each.key for each in timelines.exercises_in_force(db.session(), course, now)}
    stopped = {hold.exercise for hold in timelines.open_holds(db.session(), course, now)}
    there = phase.exercises if phase else ()
    return [(e.key, e.name) for e in there if e.key not in asked or e.key in stopped]


@bp.post("/courses/<course_id>/releases")
@staff_only()
def release(course_id: str) -> ResponseReturnValue:
    course = _course(course_id)
    try:
        signed = Signed(**ReleaseSchema().load(request.form.to_dict()))
        row = release_phase(db.session(), current_actor(), course.id, signed, clock().now())
    except (Invalid, ValidationError) as wrong:
        db.session.rollback()
        return _release_page(course, _fields(wrong))
    if row.starts is None:
        return _back(course.id, "Signed ahead: it begins when the phone has answered.")
    zone = timelines.zone_at(db.session(), course.patient_id, clock().now())
    return _back(course.id, f"Released from {moment(row.starts, zone)}.")


@bp.post("/releases/<release_id>/beginning")
@staff_only()
def begin(release_id: str) -> ResponseReturnValue:
    """Asked by telephone: nothing wrong."""
    row = scope.get(db.session(), Release, current_actor().clinic_id, release_id)
    begin_by_telephone(db.session(), current_actor(), row.id, clock().now())
    zone = timelines.zone_at(db.session(), _course(str(row.course_id)).patient_id, clock().now())
    return _back(row.course_id, f"Asked by telephone. The stage begins {moment(row.starts, zone)}.")


def _fields(wrong: Invalid | ValidationError) -> Errors:
    if isinstance(wrong, Invalid):
        return wrong.fields or {"form": [wrong.message]}
    fields: Errors = wrong.messages_dict
    return fields


# --- holds


@bp.get("/courses/<course_id>/holds")
@staff_only()
def hold_form(course_id: str) -> ResponseReturnValue:
    return _hold_page(_course(course_id))


def _hold_page(course: Course, errors: Errors = NO_ERRORS) -> ResponseReturnValue:
    now = clock().now()
    phase = timelines.phase_in_force(db.session(), course, now)
    return _page(
        "holds", course, 422 if errors else 200, form=request.form or {}, errors=errors,
        rows=timelines.open_holds(db.session(), course, now),
        days=pause_days(db.session(), course.clinic_id, now),
        exercises=[(e.key, e.name) for e in (phase.exercises if phase else ())],
    )  # fmt: skip


@bp.post("/courses/<course_id>/holds")
@staff_only()
def hold(course_id: str) -> ResponseReturnValue:
    course, now = _course(course_id), clock().now()
    try:
        told = HoldSchema().load(request.form.to_dict())
        told["planned_end"] = _end_of(course, told["planned_end"])
        hold_course(db.session(), current_actor(), course.id, now=now, **told)
    except (Invalid, ValidationError) as wrong:
        db.session.rollback()
        return _hold_page(course, _fields(wrong))
    return _back(course.id, "Held: no reminders, and its hours are not asked for.")


def _end_of(course: Course, day: Any) -> Any:
    """A pause ends with its last day in the patient's zone."""
    if day is None:
        return None
    zone = timelines.zone_at(db.session(), course.patient_id, clock().now())
    return to_utc(day + timedelta(days=1), time(0), zone)


@bp.get("/holds/<hold_id>/end")
@staff_only()
def resume_form(hold_id: str) -> ResponseReturnValue:
    row = scope.get(db.session(), HoldRow, current_actor().clinic_id, hold_id)
    return _page("resume", _course(str(row.course_id)), form={}, errors=NO_ERRORS, hold=row)


@bp.post("/holds/<hold_id>/end")
@staff_only()
def end_hold(hold_id: str) -> ResponseReturnValue:
    row = scope.get(db.session(), HoldRow, current_actor().clinic_id, hold_id)
    course = _course(str(row.course_id))
    try:
        told = HoldEndSchema().load(request.form.to_dict())
        resume(db.session(), current_actor(), row.id, told["reason"], clock().now())
    except (Invalid, ValidationError) as wrong:
        db.session.rollback()
        errors = _fields(wrong)
        return _page("resume", course, 422, form=request.form, errors=errors, hold=row)
    return _back(course.id, "Resumed.")


# --- the next visit


@bp.get("/courses/<course_id>/visit")
@staff_only()
def visit_form(course_id: str) -> ResponseReturnValue:
    return _visit_page(_course(course_id))


def _visit_page(course: Course, errors: Errors = NO_ERRORS) -> ResponseReturnValue:
    now = clock().now()
    found = timelines.regime_in_force(db.session(), course, now)
    phases = [(p.key, p.name) for p in found[1].phases] if found else []
    return _page(
        "visit", course, 422 if errors else 200, form=request.form or {}, errors=errors,
        phases=phases, visit=visits.next_visit(db.session(), course, now),
    )  # fmt: skip


@bp.post("/courses/<course_id>/visit")
@staff_only()
def visit(course_id: str) -> ResponseReturnValue:
    course = _course(course_id)
    try:
        told = VisitSchema().load(request.form.to_dict())
        plan_visit(
            db.session(), current_actor(), course.id, told["planned"], clock().now(),
            told["for_phase"], told["planned_time"],
        )  # fmt: skip
    except (Invalid, ValidationError) as wrong:
        db.session.rollback()
        return _visit_page(course, _fields(wrong))
    return _back(course.id, "The next visit is entered. The phone shows its date.")


@bp.post("/visits/<visit_id>/marking")
@staff_only()
def marking(visit_id: str) -> ResponseReturnValue:
    """What became of a visit; the course's page follows, with the fault if there is one."""
    visit = scope.get(db.session(), Visit, current_actor().clinic_id, visit_id)
    what = request.form.get("what", "")
    try:
        examined = request.form.get("examined") == "yes"
        mark_visit(db.session(), current_actor(), visit.id, what, clock().now(), examined)
    except Invalid as wrong:
        db.session.rollback()
        flash(" ".join(words for field in wrong.fields.values() for words in field))
        return redirect(f"/courses/{visit.course_id}#visit", 303)
    return _back(visit.course_id, f"The visit is marked: {what}.")
