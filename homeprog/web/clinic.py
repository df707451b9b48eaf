"""Routes: clinic."""

from flask import Blueprint

bp = Blueprint("clinic", __name__)
