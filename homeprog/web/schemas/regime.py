"""What the forms for regimes, releases, holds and visits take."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from marshmallow import EXCLUDE, Schema, ValidationError, fields, post_load, pre_load, validate

from ...domain.regime import Reason

NEEDED = "This is needed."
HOW = ("note", "letter", "spoken")


class Form(Schema):
    """An HTML form: a field left empty is not there."""

    class Meta:
        unknown = EXCLUDE

    @pre_load
    def _leave_out_empty(self, told: Any, **_: Any) -> dict[str, Any]:
        return {key: value for key, value in dict(told).items() if value not in ("", [])}


def _words(**more: Any) -> fields.String:
    return fields.String(validate=validate.Length(1, 2000, error=NEEDED), **more)


def _tick() -> fields.Boolean:
    return fields.Boolean(load_default=False, truthy={"yes", True}, falsy={"no", False})


class ReasonSchema(Form):
    """A reason for a rule: whose, and how it was given."""

    text = _words(required=True)
    surgeon = fields.String(load_default="", validate=validate.Length(max=200))
    how = fields.String(load_default=None, validate=validate.OneOf(HOW))
    given_on = fields.Date(load_default=None)

    @post_load
    def _make(self, told: dict[str, Any], **_: Any) -> Reason:
        return Reason(**told)


class RegimeSchema(Form):
    """A new revision. `structure` is the regime as JSON whose fields the form has edited."""

    template_id = fields.UUID(load_default=None)
    structure = fields.String(required=True, validate=validate.Length(max=400_000))
    reason = fields.String(load_default="", validate=validate.Length(max=2000))
    limits = fields.List(fields.String(), load_default=list)

    @post_load
    def _read(self, told: dict[str, Any], **_: Any) -> dict[str, Any]:
        return {**told, "structure": read_structure(told["structure"])}


def read_structure(text: str) -> dict[str, Any]:
    """The regime a form was made from; only its shape is looked at here."""
    try:
        body = json.loads(text)
    except ValueError:
        body = None
    if not isinstance(body, dict) or not isinstance(body.get("phases"), list):
        raise ValidationError("This form is broken: start again from a template.", "structure")
    return body


def read_reasons(form: Mapping[str, str]) -> tuple[dict[str, Reason], dict[str, list[str]]]:
    """Reasons typed as reason.<rule>.<field>, and what is wrong with them."""
    parts: dict[str, dict[str, str]] = {}
    for name, value in form.items():
        head, _, rest = name.partition(".")
        if head == "reason" and rest and value.strip():
            rule, _, field = rest.rpartition(".")
            parts.setdefault(rule, {})[field] = value
    reasons: dict[str, Reason] = {}
    errors: dict[str, list[str]] = {}
    for rule, told in parts.items():
        try:
            reasons[rule] = ReasonSchema().load(told)
        except ValidationError as wrong:
            errors |= {f"reason.{rule}.{field}": m for field, m in wrong.messages_dict.items()}
    return reasons, errors


class ReleaseSchema(Form):
    phase = fields.String(required=True, error_messages={"required": NEEDED})
    exercise = fields.String(load_default=None)
    revision_id = fields.UUID(load_default=None)
    splint_fitted = _tick()
    hand_examined = _tick()
    not_before = fields.Date(load_default=None)
    reason = fields.String(load_default="", validate=validate.Length(max=2000))


class HoldSchema(Form):
    kind = fields.String(
        required=True,
        validate=validate.OneOf(["pause", "stop_flag", "hospital", "until_release"]),
        error_messages={"required": NEEDED},
    )
    exercise = fields.String(load_default=None)
    reason = _words(required=True, error_messages={"required": NEEDED})
    planned_end = fields.Date(load_default=None)


class HoldEndSchema(Form):
    reason = _words(required=True, error_messages={"required": NEEDED})


class VisitSchema(Form):
    planned = fields.Date(required=True, error_messages={"required": NEEDED})
    planned_time = fields.String(
        load_default=None,
        validate=validate.Regexp(r"^([01]?\d|2[0-3]):[0-5]\d$", error="Like 10:30."),
    )
    for_phase = fields.String(load_default=None)


class ApprovalSchema(Form):
    reason = fields.String(load_default="", validate=validate.Length(max=2000))
