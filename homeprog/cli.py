"""Commands: flask --app app ..."""

from flask import Flask

from .commands import clinic, dispatch, staff, templates, vapid


def register_commands(app: Flask) -> None:
    for module in (clinic, staff, templates, dispatch, vapid):
        module.register(app)
