"""The measures of a course as JSON for staff."""

from __future__ import annotations

from marshmallow import EXCLUDE, Schema, ValidationError, fields, validate, validates_schema


class MeasuredWindowSchema(Schema):
    """Two dates of course days, both included, or a named window; the exercise by its key."""

    class Meta:
        unknown = EXCLUDE

    first = fields.Date(load_default=None)
    last = fields.Date(load_default=None)
    window = fields.String(load_default="week", validate=validate.OneOf(["week", "stage", "all"]))
    exercise = fields.String(load_default=None)

    @validates_schema
    def _in_order(self, told: dict[str, object], **_: object) -> None:
        first, last = told.get("first"), told.get("last")
        if (first is None) != (last is None) or (first and last and first > last):  # type: ignore[operator]
            raise ValidationError("Give two dates, the first not after the last.", "first")


class BoundsSchema(Schema):
    """Whole per cents, lowest down, shown to the nearest, highest up; null: not known."""

    lowest = fields.Integer(allow_none=True)
    shown = fields.Integer(allow_none=True)
    highest = fields.Integer(allow_none=True)


class MeasureSchema(BoundsSchema):
    """One measure; `behind` says what it is made of."""

    key = fields.String()
    name = fields.String()
    behind = fields.String()


class ShareSchema(BoundsSchema):
    """The slots of one hour (24 and more: after midnight) or weekday (Monday 0)."""

    at = fields.Integer()
    slots = fields.Integer()
    not_asked = fields.Integer()


class GapSchema(Schema):
    """The longest waking time without a logged go, in minutes."""

    lowest = fields.Integer()
    shown = fields.Integer(allow_none=True)
    highest = fields.Integer()
    slots = fields.Integer()


class PainSchema(Schema):
    """Pain over the window; the baseline is of the stage in force."""

    last = fields.Integer(allow_none=True)
    baseline = fields.Float(allow_none=True)
    now = fields.Float(allow_none=True)
    daily = fields.Dict(keys=fields.Date(), values=fields.Float())
    pairs = fields.Integer()
    rank = fields.Float(allow_none=True)
    enough = fields.Boolean()


class MeasuresSchema(Schema):
    """Everything the page shows."""

    first = fields.Date()
    last = fields.Date()
    exercise = fields.String(allow_none=True)
    lines = fields.List(fields.Nested(MeasureSchema))
    verdict = fields.String(allow_none=True)
    longest_gap = fields.Nested(GapSchema, allow_none=True)
    hours = fields.List(fields.Nested(ShareSchema))
    weekdays = fields.List(fields.Nested(ShareSchema))
    starting = fields.Dict(keys=fields.String(), values=fields.String())
    ways = fields.Dict(keys=fields.String(), values=fields.Integer())
    rehearsed = fields.Dict(keys=fields.String(), values=fields.String())
    pain = fields.Nested(PainSchema)
    not_shown = fields.String()
