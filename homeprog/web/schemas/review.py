"""What staff say of an alert, and what the JSON for staff answers."""

from __future__ import annotations

from typing import Any

from marshmallow import EXCLUDE, Schema, fields, pre_load, validate

from ...domain.alert import DONE


class SettlementSchema(Schema):
    """How an alert was settled; a field left empty is not there."""

    class Meta:
        unknown = EXCLUDE

    done = fields.String(
        required=True,
        validate=validate.OneOf(DONE, error="Say what was done."),
        error_messages={"required": "Say what was done."},
    )
    words = fields.String(load_default="", validate=validate.Length(max=2000))
    not_again_before = fields.Date(
        load_default=None, error_messages={"invalid": "A date, like 2026-06-08."}
    )
    resume_reason = fields.String(load_default=None, validate=validate.Length(max=2000))
    false_alarm = fields.Boolean(load_default=False, truthy={"yes"}, falsy={"no"})
    accept = fields.Boolean(load_default=False, truthy={"yes"}, falsy={"no"})

    @pre_load
    def _leave_out_empty(self, told: Any, **_: Any) -> dict[str, Any]:
        return {key: value for key, value in dict(told).items() if value not in ("", None)}


class PageSchema(Schema):
    """Which page of fifty."""

    class Meta:
        unknown = EXCLUDE

    page = fields.Integer(load_default=1, validate=validate.Range(1, 10_000))


class AlertSchema(Schema):
    """An alert; its words are made from its figures, in the clinic's zone."""

    id = fields.UUID()
    course_id = fields.UUID()
    kind = fields.String()
    level = fields.String()
    state = fields.String()
    rule = fields.String()
    rule_version = fields.Integer()
    figures = fields.Dict()
    opened_at = fields.AwareDateTime()
    clock_starts = fields.AwareDateTime()
    not_again_before = fields.Date(allow_none=True)
    headline = fields.String()
    lines = fields.List(fields.String())
    why = fields.String()
    next_step = fields.String()


class AlertsSchema(Schema):
    alerts = fields.List(fields.Nested(AlertSchema))


class ReasonSchema(Schema):
    """Why a course stands where it does, apart from its alerts."""

    code = fields.String()
    since = fields.String(allow_none=True)
    until = fields.String(allow_none=True)
    said = fields.String()


class LineSchema(Schema):
    """A course in the caseload. `doses`: [days before today, lowest, shown, highest] in per cent;
    `pains`: [days before today, median]."""

    course_id = fields.UUID()
    patient_id = fields.UUID()
    name = fields.String()
    number = fields.String(allow_none=True)
    hand = fields.String(allow_none=True)
    finger = fields.String(allow_none=True)
    group = fields.String()
    rank = fields.Integer()
    as_of = fields.AwareDateTime()
    day = fields.Integer()
    phase = fields.String(allow_none=True)
    dose_3 = fields.String(allow_none=True)
    dose_7 = fields.String(allow_none=True)
    wear_3 = fields.String(allow_none=True)
    wear_7 = fields.String(allow_none=True)
    doses = fields.List(fields.List(fields.Integer()))
    pains = fields.List(fields.List(fields.Float()))
    reasons = fields.List(fields.Nested(ReasonSchema))
    visit = fields.Date(allow_none=True)
    last_word = fields.AwareDateTime(allow_none=True)
    alerts = fields.List(fields.Nested(AlertSchema))


class CaseloadSchema(Schema):
    """A page of the caseload. No one is woken by this system."""

    page = fields.Integer()
    pages = fields.Integer()
    counts = fields.Dict(keys=fields.String(), values=fields.Integer())
    lines = fields.List(fields.Nested(LineSchema))


class WindowSchema(Schema):
    """The leading exercise over a window: whole per cents, None where nothing is known."""

    window = fields.String()
    printed = fields.String()
    lowest = fields.Integer(allow_none=True)
    shown = fields.Integer(allow_none=True)
    highest = fields.Integer(allow_none=True)
    slots = fields.Integer()
    not_asked = fields.Integer()


class CourseSchema(Schema):
    """A course as its page shows it; `not_shown` is said wherever its figures are."""

    id = fields.UUID()
    patient_id = fields.UUID()
    state = fields.String()
    hand = fields.String(allow_none=True)
    finger = fields.String(allow_none=True)
    day = fields.Integer()
    operation_date = fields.Date()
    phase = fields.String(allow_none=True)
    leading = fields.String(allow_none=True)
    revision = fields.Integer(allow_none=True)
    not_read_back = fields.Boolean()
    examined_on_day = fields.Integer(allow_none=True)
    last_word = fields.AwareDateTime(allow_none=True)
    next_visit = fields.Date(allow_none=True)
    windows = fields.List(fields.Nested(WindowSchema))
    alerts = fields.List(fields.Nested(AlertSchema))
    not_shown = fields.String()


class DaySchema(Schema):
    """One course day of one exercise. `standings`: [start, end, standing, credited, asked]."""

    day = fields.Integer()
    date = fields.Date()
    exercise = fields.String()
    as_of = fields.AwareDateTime()
    figures = fields.Dict()
    standings = fields.List(fields.List(fields.Raw()))


class DaysSchema(Schema):
    days = fields.List(fields.Nested(DaySchema))
