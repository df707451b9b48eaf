"""Routes: patients."""

from flask import Blueprint

bp = Blueprint("patients", __name__)
