"""Forms: load what was typed, or say what is wrong beside each field and keep it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import request
from marshmallow import Schema, ValidationError

from ..domain.errors import Invalid


def typed() -> dict[str, Any]:
    """The form as typed; without the CSRF word."""
    return {k: v for k, v in request.form.items() if k != "csrf_token"}


def load(schema: Schema, given: Mapping[str, Any]) -> Any:
    """What the schema makes of it; Invalid with a message per field, paths joined by dots."""
    try:
        return schema.load(given)
    except ValidationError as wrong:
        raise Invalid("form", "Please mend the form.", flat(wrong.messages_dict)) from None


def flat(messages: Mapping[Any, Any], path: str = "") -> dict[str, list[str]]:
    """{'repairs': {0: {'zone': [...]}}} as {'repairs.0.zone': [...]}."""
    found: dict[str, list[str]] = {}
    for key, value in messages.items():
        here = f"{path}{key}"
        if isinstance(value, Mapping):
            found |= flat(value, f"{here}.")
        else:
            found[here] = [str(v) for v in value] if isinstance(value, list) else [str(value)]
    return found
