"""Routes: the clinic's numbers, hours, duty and texts; a manager replaces them by a file."""

from __future__ import annotations

import json
from typing import Any

from flask import Blueprint, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from ..clock import clock
from ..domain.errors import Invalid
from ..domain.hours import WeekHours, missing_hours
from ..domain.settings import SETTINGS
from ..extensions import db
from ..services.set_clinic import set_clinic
from ..services.sign_text import standing_of_texts
from ..storage import clinics, staff
from .guard import current_actor, staff_only

bp = Blueprint("clinic", __name__)


@bp.get("/clinic")
@staff_only()
def page() -> ResponseReturnValue:
    return _page("", {}, 200)


def _page(typed: str, errors: dict[str, list[str]], status: int) -> ResponseReturnValue:
    actor, now, session = current_actor(), clock().now(), db.session()
    where = actor.clinic_id
    numbers, rota = clinics.numbers(session, where, now), clinics.duty(session, where, now)
    members = staff.members(session, where, now)
    names = {str(s.id): s.name for s in members}
    settings = [
        (bound.words, clinics.setting(session, where, key, now)) for key, bound in SETTINGS.items()
    ]
    page = render_template(
        "clinic/clinic.html",
        numbers=[(n.words, n.label, n.tel) for n in numbers],
        gaps=[gap.words for gap in missing_hours(numbers)],
        emergency=clinics.emergency(session, where, now),
        hours=_words(clinics.hours(session, where, now)),
        duty=[(d.words, names.get(d.who or "", "nobody")) for d in rota],
        closing_days=sorted(clinics.closing_days(session, where, now)),
        members=[(s, staff.profession(session, s.id, now)) for s in members],
        texts=standing_of_texts(session, where, now),
        settings=settings,
        zone=clinics.clinic_of(session, where).zone,
        may=actor.role == "manager",
        form={"file": typed},
        errors=errors,
    )  # fmt: skip
    return page, status


def _words(hours: list[WeekHours]) -> list[str]:
    return [h.words for h in hours]


@bp.post("/clinic")
@staff_only("manager")
def replace() -> ResponseReturnValue:
    typed = request.form.get("file", "")
    try:
        done = set_clinic(db.session(), current_actor(), _json(typed), clock().now())
    except Invalid as wrong:
        db.session.rollback()
        return _page(typed, _one_field(wrong), 422)
    db.session.commit()
    flash(f"Set: {', '.join(done) or 'nothing'}.", "kept")
    return redirect(url_for("clinic.page"), 303)


def _json(typed: str) -> Any:
    try:
        return json.loads(typed)
    except ValueError as wrong:
        raise Invalid("file", f"This is not JSON: {wrong}.") from None


def _one_field(wrong: Invalid) -> dict[str, list[str]]:
    """Every fault under the one field they were typed in, each with its path."""
    said = [f"{path}: {m}" for path, messages in wrong.fields.items() for m in messages]
    return {"file": said or [wrong.message]}
