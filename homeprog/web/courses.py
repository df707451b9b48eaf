"""Routes: courses."""

from flask import Blueprint

bp = Blueprint("courses", __name__)
