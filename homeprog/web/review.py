"""Routes: review."""

from flask import Blueprint

bp = Blueprint("review", __name__)
