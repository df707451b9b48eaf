"""The JSON under /api/v1: flask-smorest blueprints and their OpenAPI description."""

from flask import Flask
from flask_smorest import Api

from ..extensions import csrf
from . import measures_api, phone_api, phone_setup, phone_words, staff_api


def register(app: Flask) -> None:
    """Phone calls carry their own CSRF header; staff calls are under Flask-WTF's."""
    api = Api(app)
    for bp in (phone_api.pairing_bp, phone_api.bp, phone_setup.bp, phone_words.bp):
        csrf.exempt(bp)
        api.register_blueprint(bp)
    for staff_bp in (staff_api.bp, measures_api.bp):
        api.register_blueprint(staff_bp)
