"""Routes: who works here; a manager changes a role or profession, and ends an employment."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from ..clock import clock
from ..domain.errors import Conflict, Invalid
from ..extensions import db
from ..services.add_staff import PROFESSIONS
from ..services.change_staff import change_staff
from ..services.end_staff import end_staff, said
from ..storage import alerts, caseloads, scope
from ..storage import staff as stored
from ..storage.caseload_choice import NOBODY, Choice
from ..storage.models import Staff
from .guard import ROLE_WORDS, current_actor, staff_only

bp = Blueprint("staff", __name__)


@bp.get("/staff")
@staff_only("manager")
def index() -> ResponseReturnValue:
    """Everybody who works here, and how many patients have no responsible therapist who does."""
    by, now, session = current_actor(), clock().now(), db.session()
    working = [each.id for each in stored.clinicians(session, by.clinic_id, now)]
    left = Choice(therapist=NOBODY, working=working)
    return render_template(
        "staff/index.html",
        people=[_line(each) for each in stored.members(session, by.clinic_id, now)],
        without=caseloads.page(session, by.clinic_id, 1, now, left).total,
    )


def _line(who: Staff) -> dict[str, Any]:
    now, session = clock().now(), db.session()
    theirs = caseloads.page(session, who.clinic_id, 1, now, Choice(therapist=who.id))
    return {
        "person": who,
        "profession": stored.profession(session, who.id, now),
        "courses": theirs.total,
        "alerts": len(alerts.taken_up_by(session, who)),
    }


@bp.get("/staff/<staff_id>")
@staff_only("manager")
def member(staff_id: str) -> ResponseReturnValue:
    return _member(staff_id, {}, 200)


def _member(staff_id: str, errors: dict[str, list[str]], status: int) -> ResponseReturnValue:
    line = _line(scope.get(db.session(), Staff, current_actor().clinic_id, staff_id))
    form = {"role": line["person"].role, "profession": line["profession"] or ""}
    page = render_template(
        "staff/member.html", form=form | request.form.to_dict(), errors=errors,
        roles=list(ROLE_WORDS.items()),
        professions=[(each, each.replace("_", " ")) for each in PROFESSIONS],
        ended=(gone := line["person"].ended_at) is not None and gone <= clock().now(), **line,
    )  # fmt: skip
    return page, status


@bp.post("/staff/<staff_id>/place")
@staff_only("manager")
def change(staff_id: str) -> ResponseReturnValue:
    """Role and profession anew."""
    role, profession = (request.form.get(name, "") for name in ("role", "profession"))
    try:
        who = change_staff(
            db.session(), current_actor(), staff_id, role, profession or None, clock().now(),
            clock().real(),
        )  # fmt: skip
    except Invalid as wrong:
        db.session.rollback()
        return _member(staff_id, wrong.fields, 422)
    except Conflict as wrong:
        db.session.rollback()
        return _member(staff_id, {"role": [wrong.message]}, 409)
    db.session.commit()
    flash(f"Saved. {who.name} must sign in again.", "kept")
    return redirect(url_for("staff.index"), 303)


@bp.post("/staff/<staff_id>/ending")
@staff_only("manager")
def end(staff_id: str) -> ResponseReturnValue:
    """The end of an employment, once it was ticked."""
    if not request.form.get("sure"):
        return _member(staff_id, {"sure": ["Tick that this is meant."]}, 422)
    try:
        told = end_staff(db.session(), current_actor(), staff_id, clock().now(), clock().real())
    except Conflict as wrong:
        db.session.rollback()
        return _member(staff_id, {"sure": [wrong.message]}, 409)
    db.session.commit()
    for line in said(told):
        flash(line, "kept")
    return redirect(url_for("staff.index"), 303)
