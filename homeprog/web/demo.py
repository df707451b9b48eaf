"""The demo's banner: play the invented clinic on. There is no such route outside the demo."""

from __future__ import annotations

from flask import Blueprint, current_app, flash, redirect, request
from flask.typing import ResponseReturnValue

from ..domain.errors import NotFound

bp = Blueprint("demo", __name__)


@bp.post("/demo/advance")
def advance() -> ResponseReturnValue:
    """Advance by 1h or 1d, as `flask demo advance` does."""
    play_on = current_app.extensions.get("homeprog_demo_advance")
    if play_on is None:
        raise NotFound("page")
    try:
        words = play_on(request.form.get("by", "1h"))
    except ValueError as error:
        flash(str(error), "error")
    else:
        flash(words)
    back = request.form.get("back", "/caseload")
    inside = back.startswith("/") and not back.startswith(("//", "/\\"))
    return redirect(back if inside else "/caseload", 303)
