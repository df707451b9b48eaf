"""Commands: templates."""

from flask import Flask


def register(app: Flask) -> None:
    """Add the commands."""
