"""The one place where an error becomes a status, a JSON shape or a page."""

from __future__ import annotations

from flask import Flask, jsonify, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.exceptions import HTTPException

from ..domain.errors import Conflict, Forbidden, HomeprogError, Invalid, NotFound
from ..extensions import db

STATUS: dict[type[HomeprogError], int] = {
    Invalid: 422,
    NotFound: 404,
    Forbidden: 403,
    Conflict: 409,
}


def register(app: Flask) -> None:
    app.register_error_handler(HomeprogError, on_refusal)
    app.register_error_handler(HTTPException, on_http)


def on_refusal(error: HomeprogError) -> ResponseReturnValue:
    db.session.rollback()
    status = getattr(error, "status", None) or STATUS.get(type(error), 400)
    return answer(status, error.code, error.message, error.fields)


def on_http(error: HTTPException) -> ResponseReturnValue:
    status = error.code or 500
    if status < 400:
        return error
    code = (error.name or "error").lower().replace(" ", "_")
    data = getattr(error, "data", None) or {}
    fields = data.get("messages", {}) if isinstance(data, dict) else {}
    return answer(status, code, error.description or "", fields.get("json", fields))


def answer(status: int, code: str, message: str, fields: object) -> ResponseReturnValue:
    """The one error shape, as JSON under /api/ and as a page elsewhere."""
    if request.path.startswith("/api/"):
        return jsonify(error={"code": code, "message": message, "fields": fields or {}}), status
    return render_template("error.html", status=status, message=message, fields=fields), status
