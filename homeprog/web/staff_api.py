"""JSON for staff: caseload, courses and alerts."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import Any

from flask_smorest import Blueprint

from ..clock import clock
from ..domain import alert
from ..domain.adherence import percents, printed
from ..domain.errors import Conflict
from ..extensions import db
from ..services.review_course import Review, review_course
from ..services.settle_alert import settle_alert
from ..services.take_up_alert import take_up_alert
from ..storage import alerts as stored
from ..storage import caseloads, clinics, scope
from ..storage.models import Alert, Course
from ..storage.summaries import summaries
from .alerts import stands
from .guard import current_actor, staff_only
from .schemas.review import (
    AlertSchema,
    AlertsSchema,
    CaseloadSchema,
    CourseSchema,
    DaysSchema,
    PageSchema,
    SettlementSchema,
)

bp = Blueprint("staff_api", __name__, url_prefix="/api/v1")

NOT_SHOWN = (
    "These figures cannot show that the tendon is whole. "
    "What was logged, not what was done. Diaries over-report."
)


@bp.get("/caseload")
@bp.arguments(PageSchema, location="query")
@bp.response(200, CaseloadSchema)
@staff_only()
def caseload(args: dict[str, Any]) -> dict[str, Any]:
    """Fifty open courses, most in need first."""
    by = current_actor()
    page = caseloads.page(db.session(), by.clinic_id, args["page"], clock().now())
    zone = _zone()
    lines = [_line(line, zone) for line in page.lines]
    return {"page": page.number, "pages": page.pages, "counts": page.counts, "lines": lines}


def _line(line: caseloads.Line, zone: str) -> dict[str, Any]:
    return line.line.figures | {
        "course_id": line.course.id,
        "patient_id": line.patient.id,
        "name": line.patient.name,
        "number": line.number,
        "group": line.line.group,
        "rank": line.line.rank,
        "as_of": line.line.as_of,
        "visit": _date(line.line.figures["visit"]),
        "last_word": line.last_word,
        "alerts": [_alert(each.alert, zone) for each in line.alerts],
    }


def _date(iso: str | None) -> Any:
    return datetime.fromisoformat(iso).date() if iso else None


def _zone() -> str:
    return clinics.clinic_of(db.session(), current_actor().clinic_id).zone


def _alert(row: Alert, zone: str) -> dict[str, Any]:
    headline, lines = alert.words(row.kind, row.figures, zone)
    names = (
        "id", "course_id", "kind", "level", "state", "rule", "rule_version", "figures",
        "clock_starts", "not_again_before",
    )  # fmt: skip
    told = {name: getattr(row, name) for name in names}
    words = {
        "why": alert.why(row.kind, row.figures),
        "next_step": alert.next_step(row.kind, row.figures),
    }
    return told | words | {"opened_at": row.at, "headline": headline, "lines": list(lines)}


@bp.get("/courses/<course_id>")
@bp.response(200, CourseSchema)
@staff_only()
def course(course_id: str) -> dict[str, Any]:
    """A course as it stands now, with its figures and their bounds."""
    found = scope.get(db.session(), Course, current_actor().clinic_id, course_id)
    review = review_course(db.session(), found, clock().now())
    leading = review.phase.leading if review.phase else None
    return {
        "id": found.id,
        "patient_id": found.patient_id,
        "state": review.state,
        "hand": review.hand,
        "finger": review.finger,
        "day": review.number(review.today),
        "operation_date": review.operation,
        "phase": review.phase.name if review.phase else None,
        "leading": leading,
        "revision": review.revision.number if review.revision else None,
        "not_read_back": review.not_read_back,
        "examined_on_day": review.day_of(review.examined.at) if review.examined else None,
        "last_word": review.last_word,
        "next_visit": review.visit.planned if review.visit else None,
        "windows": _windows(review, leading),
        "alerts": [_alert(row, _zone()) for row in review.alerts],
        "not_shown": NOT_SHOWN,
    }


def _windows(review: Review, leading: str | None) -> list[dict[str, Any]]:
    found = []
    for words, each in review.windows(leading) if leading else []:
        lowest, shown, highest = percents(each.dose) or (None, None, None)
        found.append(
            {"window": words, "printed": printed(each), "slots": each.slots,
             "not_asked": each.not_asked, "lowest": lowest, "shown": shown, "highest": highest}
        )  # fmt: skip
    return found


@bp.get("/courses/<course_id>/days")
@bp.response(200, DaysSchema)
@staff_only()
def days(course_id: str) -> dict[str, Any]:
    """Every course day of every exercise, as summed up last."""
    found = scope.get(db.session(), Course, current_actor().clinic_id, course_id)
    return {"days": summaries(db.session(), found.id)}


@bp.get("/alerts")
@bp.response(200, AlertsSchema)
@staff_only()
def unsettled() -> dict[str, Any]:
    """Alerts open or taken up, most urgent first."""
    rows = stored.unsettled(db.session(), current_actor().clinic_id)
    return {"alerts": [_alert(row, _zone()) for row in rows]}


@bp.post("/alerts/<alert_id>/taking-up")
@bp.response(200, AlertSchema)
@staff_only()
def take_up(alert_id: str) -> dict[str, Any]:
    """Take an alert up; 409 says who has it."""
    now, by = clock().now(), current_actor()
    with _saying_who(alert_id):
        row = take_up_alert(db.session(), by, alert_id, now)
    db.session.commit()
    return _alert(row, _zone())


@bp.post("/alerts/<alert_id>/settlement")
@bp.arguments(SettlementSchema)
@bp.response(200, AlertSchema)
@staff_only()
def settle(given: dict[str, Any], alert_id: str) -> dict[str, Any]:
    """Settle an alert with what was done; 409 says who has."""
    now, by = clock().now(), current_actor()
    with _saying_who(alert_id):
        row = settle_alert(db.session(), by, alert_id, now=now, **given)
    db.session.commit()
    return _alert(row, _zone())


@contextmanager
def _saying_who(alert_id: str) -> Iterator[None]:
    """Turn the conflict of a step that came second into who was first."""
    try:
        yield
    except Conflict as second:
        db.session.rollback()
        row = scope.get(db.session(), Alert, current_actor().clinic_id, alert_id)
        raise Conflict(second.code, stands(row, clock().now())) from second
