"""Routes: templates."""

from flask import Blueprint

bp = Blueprint("templates", __name__)
