"""Routes: caseload."""

from flask import Blueprint

bp = Blueprint("caseload", __name__)
