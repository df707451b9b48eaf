"""Routes: sign_in."""

from flask import Blueprint

bp = Blueprint("sign_in", __name__)
