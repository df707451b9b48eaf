"""JSON for the phone: the words of its language, and the language that is chosen on it."""

from __future__ import annotations

from typing import Any

from flask import jsonify
from flask.typing import ResponseReturnValue
from flask_smorest import Blueprint
from marshmallow import Schema, fields

from ..clock import clock
from ..extensions import db
from ..services.choose_language import choose_language
from ..services.words_of import words_of
from ..storage.languages import language_of
from .device_guard import current_device, device_actor, device_only
from .phone_api import tell_the_time

bp = Blueprint("phone_words", __name__, url_prefix="/api/v1/phone")
bp.after_request(tell_the_time)


class LanguageSchema(Schema):
    """A language by its code."""

    language = fields.String(required=True)


class WordsSchema(Schema):
    """The phrases a clinic signed off, by key; a key that is not here is in English."""

    language = fields.String()
    version = fields.String(allow_none=True)
    phrases = fields.Dict()


@bp.get("/words")
@device_only
@bp.response(200, WordsSchema)
def words() -> ResponseReturnValue:
    """The words of the plan's `words`; none for English, which is in the app's shell."""
    now, device = clock().now(), current_device()
    told = words_of(db.session(), device.clinic_id, language_of(db.session(), device, now), now)
    phrases = dict(told.phrases)
    return jsonify(language=told.language, version=told.version, phrases=phrases)


@bp.put("/language")
@device_only
@bp.arguments(LanguageSchema)
@bp.response(204)
def language(told: dict[str, Any]) -> ResponseReturnValue:
    """Choose what this phone speaks, of what is on."""
    choose_language(db.session(), device_actor(), current_device(), told["language"], clock().now())
    db.session.commit()
    return "", 204
