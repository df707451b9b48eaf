"""Commands: flask --app app ..."""

from flask import Flask

from .commands import audit, check, clinic, dispatch, rebuild, staff, templates, vapid


def register_commands(app: Flask) -> None:
    for module in (clinic, staff, templates, dispatch, vapid, rebuild, check, audit):
        module.register(app)
