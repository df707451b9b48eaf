"""Routes: demo."""

from flask import Blueprint

bp = Blueprint("demo", __name__)
