"""JSON for the phone: its own patient's plan, uploads, contacts and receipts."""

from flask_smorest import Blueprint

bp = Blueprint("phone_api", __name__, url_prefix="/api/v1/phone")
pairing_bp = Blueprint("pairings", __name__, url_prefix="/api/v1/pairings")
