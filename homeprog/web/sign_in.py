"""Routes: sign in, sign out, change a one-time password."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, make_response, redirect, render_template, request, session, url_for
from flask.typing import ResponseReturnValue
from flask_login import current_user
from marshmallow import ValidationError

from ..clock import clock
from ..domain.errors import Invalid
from ..extensions import db, limiter
from ..services.sign_in import change_password, end_sign_in, sign_in
from . import guard
from .schemas.staff import PasswordSchema, SignInSchema

bp = Blueprint("sign_in", __name__)
bp.before_app_request(guard.refuse_strangers)
bp.app_context_processor(guard.for_templates)


def _typed_name() -> str:
    return "name:" + request.form.get("name", "").strip().lower()[:200]


def _page(name: str, errors: dict[str, Any], status: int, **given: Any) -> ResponseReturnValue:
    typed = {k: v for k, v in request.form.items() if "password" not in k}
    page = render_template(f"sign_in/{name}.html", form=typed, errors=errors, **given)
    return page, status


@bp.get("/sign-in")
def form() -> ResponseReturnValue:
    if current_user.is_authenticated:
        return redirect(guard.local_path(request.args.get("next")), 303)
    return _page("sign_in", {}, 200, next=request.args.get("next", ""))


@bp.post("/sign-in")
@limiter.limit("20/minute;100/hour")
@limiter.limit("10/15 minutes", key_func=_typed_name)
def enter() -> ResponseReturnValue:
    wanted = request.form.get("next", "")
    try:
        given = SignInSchema().load(request.form.to_dict())
        replacing = request.cookies.get(guard.cookie_name())
        _row, token = sign_in(
            db.session(), given["name"], given["password"], clock().real(), replacing
        )
    except ValidationError as wrong:
        return _page("sign_in", wrong.messages_dict, 422, next=wanted)
    except Invalid as wrong:
        return _page("sign_in", {"name": [wrong.message]}, 422, next=wanted)
    db.session.commit()
    return _signed_in(token, guard.local_path(wanted))


def _signed_in(token: str, wanted: str) -> ResponseReturnValue:
    session.clear()  # a new CSRF word with the new sign-in
    return guard.give_cookie(make_response(redirect(wanted, 303)), token)


@bp.post("/sign-out")
def leave() -> ResponseReturnValue:
    if token := request.cookies.get(guard.cookie_name()):
        end_sign_in(db.session(), token, clock().real())
        db.session.commit()
    session.clear()
    return guard.take_cookie(make_response(redirect(url_for("sign_in.form"), 303)))


@bp.get("/password")
def password_form() -> ResponseReturnValue:
    guard.current_actor()
    return _page("password", {}, 200)


@bp.post("/password")
@limiter.limit("20/minute")
def change() -> ResponseReturnValue:
    guard.current_actor()
    try:
        given = PasswordSchema().load(request.form.to_dict())
        _row, token = change_password(
            db.session(), current_user.staff, **given, real_now=clock().real()
        )
    except ValidationError as wrong:
        return _page("password", wrong.messages_dict, 422)
    except Invalid as wrong:
        return _page("password", wrong.fields, 422)
    db.session.commit()
    return _signed_in(token, "/caseload")
