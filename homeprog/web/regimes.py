"""Routes: regimes."""

from flask import Blueprint

bp = Blueprint("regimes", __name__)
