"""What the sign-in and password forms take."""

from __future__ import annotations

from marshmallow import EXCLUDE, Schema, fields, validate

NEEDED = "This is needed."


class SignInSchema(Schema):
    class Meta:
        unknown = EXCLUDE

    name = fields.String(required=True, validate=validate.Length(1, 200, error=NEEDED))
    password = fields.String(required=True, validate=validate.Length(1, 200, error=NEEDED))


class PasswordSchema(Schema):
    class Meta:
        unknown = EXCLUDE

    present = fields.String(required=True, validate=validate.Length(1, 200, error=NEEDED))
    new = fields.String(required=True, validate=validate.Length(1, 200, error=NEEDED))
    again = fields.String(required=True, validate=validate.Length(1, 200, error=NEEDED))
