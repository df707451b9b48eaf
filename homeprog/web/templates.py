"""Routes: templates of the clinic, adopted from what is shipped and approved by another."""

from __future__ import annotations

import uuid
from typing import Any

from flask import Blueprint, flash, redirect, render_template, request
from flask.typing import ResponseReturnValue

from ..clock import clock
from ..domain.errors import Invalid
from ..domain.regime import Regime, to_json
from ..extensions import db
from ..services.adopt_template import (
    adopt_template,
    approve_template,
    starting_point,
    starting_points,
)
from ..services.draw_figures import Hand
from ..storage import regimes, scope
from ..storage.models import Template
from ..storage.staff import names
from .figures import ANY_HAND, answer, pictures_at
from .guard import current_actor, staff_only
from .schemas.regime import ApprovalSchema

bp = Blueprint("templates", __name__)


@bp.get("/templates")
@staff_only()
def listing() -> ResponseReturnValue:
    there = regimes.templates(db.session(), current_actor().clinic_id)
    kept = {each.template.key for each in there if not each.withdrawn}
    shipped = [each for key, each in starting_points().items() if key not in kept]
    return render_template("templates/list.html", standings=there, shipped=shipped)


@bp.get("/templates/<template_id>")
@staff_only()
def show(template_id: str) -> ResponseReturnValue:
    """A template of the clinic by its id, or a starting point by its key."""
    return _page(template_id)


def _page(template_id: str, errors: Any = None, status: int = 200) -> ResponseReturnValue:
    if not _is_uuid(template_id):
        start = starting_point(template_id)
        return _render(start.regime, start.name, start.sources, None, template_id, errors, status)
    row = scope.get(db.session(), Template, current_actor().clinic_id, template_id)
    stands, regime = regimes.standing(db.session(), row), regimes.regime_of(row.body)
    sources = row.sources.get("fields", {})
    return _render(regime, row.name, sources, stands, str(row.id), errors, status)


def _render(
    regime: Regime, name: str, sources: Any, stands: Any, template_id: str, errors: Any, status: int
) -> ResponseReturnValue:
    steps = (stands.adopted, stands.approved) if stands else ()
    who = names(db.session(), current_actor().clinic_id, [step.by_id for step in steps if step])
    page = render_template(
        "templates/show.html", regime=regime, name=name, sources=sources, standing=stands,
        template_id=template_id, names=who, errors=errors or {}, form=request.form or {},
        own=bool(stands and stands.adopted and stands.adopted.by_id == current_actor().id),
        pictures=pictures_at(to_json(regime), template_id),
    )  # fmt: skip
    return page, status


@bp.get("/templates/<template_id>/figure")
@staff_only()
def figure(template_id: str) -> ResponseReturnValue:
    """?stage= and key= choose the picture, side= the hand; without them the first one."""
    if _is_uuid(template_id):
        row = scope.get(db.session(), Template, current_actor().clinic_id, template_id)
        regime = regimes.regime_of(row.body)
    else:
        regime = starting_point(template_id).regime
    return answer(regime, Hand("left") if request.args.get("side") == "left" else ANY_HAND)


def _is_uuid(text: str) -> bool:
    try:
        uuid.UUID(text)
    except ValueError:
        return False
    return True


@bp.post("/templates/<template_id>/adoption")
@staff_only()
def adoption(template_id: str) -> ResponseReturnValue:
    """Adopt a starting point; `template_id` is its key."""
    row = adopt_template(db.session(), current_actor(), template_id, clock().now())
    db.session.commit()
    flash(f"{row.name}: adopted. Another clinician must approve it before use.")
    return redirect(f"/templates/{row.id}", 303)


@bp.post("/templates/<template_id>/approval")
@staff_only()
def approval(template_id: str) -> ResponseReturnValue:
    told = ApprovalSchema().load(request.form.to_dict())
    try:
        approve_template(db.session(), current_actor(), template_id, clock().now(), told["reason"])
    except Invalid as wrong:
        db.session.rollback()
        return _page(template_id, wrong.fields, 422)
    db.session.commit()
    flash("Approved: it may be prescribed from now.")
    return redirect(f"/templates/{template_id}", 303)
