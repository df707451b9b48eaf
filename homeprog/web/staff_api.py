"""JSON for staff: caseload, courses and alerts."""

from flask_smorest import Blueprint

bp = Blueprint("staff_api", __name__, url_prefix="/api/v1")
