"""What the enrolment forms take; JSON would take the same."""

from __future__ import annotations

from datetime import date
from typing import Any

from marshmallow import EXCLUDE, Schema, fields, post_load, validate

from ...services.check_facts import ONE_OF, SOME_OF, RepairEntry
from ...services.enrol_patient import ClerksPart
from ...storage.patients import read_day

NEEDED = "This is needed."
TICKED = ("yes", "on", "true", "1")


class Day(fields.Field[date]):
    """2026-05-28, 28.5.2026 or 28/5/2026."""

    def _deserialize(self, value: Any, *_args: Any, **_more: Any) -> date:
        day = value if isinstance(value, date) else read_day(str(value).strip())
        if day is None:
            raise self.make_error("invalid") from None
        return day

    default_error_messages = {"invalid": "Say the date as 28/5/2026 or 2026-05-28."}  # noqa: RUF012


class Tick(fields.Field[bool]):
    """A ticked box; one that is not sent is not ticked."""

    def _deserialize(self, value: Any, *_args: Any, **_more: Any) -> bool:
        return value is True or str(value).lower() in TICKED


def line(most: int = 200, needed: bool = False) -> fields.String:
    """One line of text; `needed` ones must hold something."""
    bounds = validate.Length(1 if needed else 0, most, error=NEEDED if needed else "Too long.")
    missing: dict[str, Any] = {"required": NEEDED}
    if needed:
        return fields.String(required=True, validate=bounds, error_messages=missing)
    return fields.String(load_default="", validate=bounds)


class FormSchema(Schema):
    class Meta:
        unknown = EXCLUDE


class ClerksSchema(FormSchema):
    name = line(needed=True)
    born = Day(required=True, error_messages={"required": NEEDED})
    operation_date = Day(required=True, error_messages={"required": NEEDED})
    operation_date_reason = line()
    number = line(40)
    side = fields.String(load_default="", validate=validate.OneOf(["", *ONE_OF["side"]]))
    tel = fields.String(
        load_default="",
        validate=validate.Regexp(r"^$|^\+?[0-9][0-9 ()\-/]{3,24}$", error="Not a number to ring."),
    )
    best_times = line()
    language = fields.String(
        load_default="en", validate=validate.Regexp(r"^[a-z]{2,3}$", error="Such as en or pl.")
    )
    interpreter = Tick(load_default=False)
    carer_name = line()
    carer_tel = fields.String(
        load_default="",
        validate=validate.Regexp(r"^$|^\+?[0-9][0-9 ()\-/]{3,24}$", error="Not a number to ring."),
    )
    consent = line()

    @post_load
    def part(self, given: dict[str, Any], **_more: Any) -> ClerksPart:
        return ClerksPart(**given)


class RepairSchema(FormSchema):
    digit = fields.String(load_default="")
    structure = fields.String(load_default="")
    zone = fields.String(load_default="")
    joint = fields.String(load_default="")
    wired = Tick(load_default=False)
    nerve = Tick(load_default=False)
    cut = Tick(load_default=False)
    cut_percent = fields.String(load_default="")

    @post_load
    def entry(self, given: dict[str, Any], **_more: Any) -> RepairEntry:
        typed = given["cut_percent"].strip().rstrip("%").strip()
        percent = (int(typed) if typed.isdigit() else -1) if typed else 0
        return RepairEntry(
            structure=given["structure"], zone=given["zone"], digit=given["digit"] or None,
            joint=given["joint"] or None, wired=given["wired"], nerve=given["nerve"],
            cut_in_part=percent if given["cut"] or typed else None,
        )  # fmt: skip


class FactsSchema(FormSchema):
    """The clinician's part; what is left empty is not said and stays missing."""

    operation_date = Day(required=True, error_messages={"required": NEEDED})
    operation_date_reason = line()
    side = fields.String(load_default="")
    handedness = fields.String(load_default="")
    worn = fields.String(load_default="")
    age_group = fields.String(load_default="")
    follows_plan = fields.String(load_default="")
    therapist = fields.String(load_default="")
    surgeon = line()
    restrictions = line(1000)
    with_it = fields.List(fields.String(), load_default=list)
    weakens = fields.List(fields.String(), load_default=list)
    reason = line(500)
    repairs = fields.List(fields.Nested(RepairSchema), load_default=list)


def typed_repairs(form: Any, rows: int) -> list[dict[str, str]]:
    """The rows of 'repairs.0.zone' fields as typed, empty ones too, so that faults keep place."""
    names = ("digit", "structure", "zone", "joint", "wired", "nerve", "cut", "cut_percent")
    return [{k: form.get(f"repairs.{n}.{k}", "") for k in names} for n in range(rows)]


class CourseSchema(FormSchema):
    operation_date = Day(required=True, error_messages={"required": NEEDED})
    side = fields.String(load_default="", validate=validate.OneOf(["", *ONE_OF["side"]]))
    previous_id = fields.String(load_default="")
    reason = line(500)


class ConfirmationSchema(FormSchema):
    source = line(needed=True)
    source_words = line(300, needed=True)


class ClosingSchema(FormSchema):
    reason = line(needed=True)
    words = line(500)


MANY = tuple(SOME_OF)  # fields of which several may be ticked
