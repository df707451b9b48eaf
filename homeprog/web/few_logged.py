"""Routes: the rule of few logged beside its settings, and the clinic's own figure for it."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, flash, redirect, render_template, request
from flask.typing import ResponseReturnValue

from ..clock import clock
from ..domain.errors import Conflict
from ..domain.monitor import operating, threshold
from ..domain.settings import SETTINGS
from ..extensions import db
from ..services.accept_rho import KEY, accept_rho, own_rho
from ..storage import clinics
from .guard import current_actor, staff_only

bp = Blueprint("few_logged", __name__)
SLOTS = (16, 12, 6, 4)  # a day
HERE = "/few-logged"


@bp.get("/few-logged")
@staff_only("manager")
def page() -> ResponseReturnValue:
    """Settings, the table by true level, and what the clinic's own days say."""
    by, now, session = current_actor(), clock().now(), db.session()
    slots = request.args.get("slots", 12, type=int)
    slots = slots if slots in SLOTS else 12
    own = {
        key.removeprefix("few_logged."): clinics.setting(session, by.clinic_id, key, now)
        for key in SETTINGS
        if key.startswith("few_logged.")
    }
    limit = _limit(own, slots)
    return render_template(
        "few_logged/few_logged.html",
        settings=[(SETTINGS[f"few_logged.{key}"].words, value) for key, value in own.items()],
        rho=own["rho"], limit=limit, rows=operating(limit, float(own["rho"])), slots=slots,
        choices=SLOTS, estimate=own_rho(session, by, now), most=SETTINGS[KEY].most,
    )  # fmt: skip


def _limit(own: dict[str, Any], slots: int) -> Any:
    return threshold(
        slots, own["p0"], own["p1"], own["rho"], own["false_in_days"], own["head_start"]
    )


@bp.post("/few-logged/acceptance")
@staff_only("manager")
def accept() -> ResponseReturnValue:
    """Use the clinic's own figure from now on."""
    try:
        value = accept_rho(db.session(), current_actor(), clock().now())
    except Conflict as wrong:
        db.session.rollback()
        flash(wrong.message, "error")
        return redirect(HERE, 303)
    db.session.commit()
    flash(f"From now on the rule takes {value:g}.")
    return redirect(HERE, 303)
