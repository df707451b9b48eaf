"""Whether the process is up (/healthz) and whether it can serve (/readyz)."""

from flask import Blueprint, jsonify
from flask.typing import ResponseReturnValue
from sqlalchemy import text
from sqlalchemy.exc import SQLAlchemyError

from ..extensions import db

bp = Blueprint("health", __name__)


@bp.get("/healthz")
def healthz() -> ResponseReturnValue:
    return jsonify(status="ok")


@bp.get("/readyz")
def readyz() -> ResponseReturnValue:
    try:
        db.session.execute(text("SELECT 1 FROM clinic LIMIT 1"))
    except SQLAlchemyError:
        return jsonify(status="no database"), 503
    return jsonify(status="ready")
