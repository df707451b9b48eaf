"""Routes: phone_shell."""

from flask import Blueprint

bp = Blueprint("phone_shell", __name__)
