"""Routes: alerts."""

from flask import Blueprint

bp = Blueprint("alerts", __name__)
