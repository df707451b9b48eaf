"""What phones send: the envelopes of the routes, and each type of item on its own."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from marshmallow import EXCLUDE, RAISE, Schema, ValidationError, fields, validate, validates_schema

from ...domain.clock import zone_of
from ...domain.trouble import KINDS
from ...services.phone_item import Item, Outcome, refused

MOST_ITEMS = 100
MOST_AMOUNT = 10_000
CENTURY_MS = 3_153_600_000_000  # no clock is wrong by more
MOST_DETAILS = 4_000  # characters of JSON


NEEDED_OF_QUIET: Mapping[str, tuple[str, ...]] = {
    "in_15_minutes": ("until",),
    "until": ("until",),
    "weekly": ("weekday", "opens", "closes"),
    "fewer": ("fewer",),
    "end": ("ends",),
}


class Instant(fields.Field[datetime]):
    """An ISO 8601 instant with its offset, as UTC."""

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> datetime:
        try:
            instant = datetime.fromisoformat(value)
        except (TypeError, ValueError):
            raise ValidationError("An instant like 2026-11-27T14:10:00Z.") from None
        if instant.tzinfo is None or not 1970 <= instant.year <= 2200:
            raise ValidationError("An instant with its offset, between 1970 and 2200.")
        return instant.astimezone(UTC)


def known_zone(name: str) -> None:
    """Raises ValidationError for a name that is no IANA zone."""
    try:
        zone_of(name)
    except (KeyError, ValueError, OSError):
        raise ValidationError("Not a known time zone.") from None


def short_enough(value: Any) -> None:
    """Raises ValidationError for more than a patient can have said."""
    if len(json.dumps(value)) > MOST_DETAILS:
        raise ValidationError("Too long.")


def _printable(most: int, least: int = 0) -> list[validate.Validator]:
    """PostgreSQL keeps no NUL in a text, and no key has a control character."""
    return [validate.Length(least, most), validate.Regexp(r"[^\x00-\x1f]*\Z", error="Not a text.")]


def _key() -> fields.String:
    return fields.String(required=True, validate=_printable(80, 1))


def _plan_version() -> fields.String:
    return fields.String(load_default=None, allow_none=True, validate=_printable(200))


def _wall_clock() -> fields.Time:
    return fields.Time("%H:%M", load_default=None, allow_none=True)


def _pain() -> fields.Integer:
    return fields.Integer(
        load_default=None, allow_none=True, strict=True, validate=validate.Range(0, 10)
    )


class ItemSchema(Schema):
    """What every item has. A field that a newer phone adds is left out, not refused."""

    class Meta:
        unknown = EXCLUDE

    id = fields.UUID(required=True)
    type = fields.String(required=True)
    course = fields.UUID(required=True)
    entered_at = Instant(required=True)
    offset_ms = fields.Integer(
        required=True, strict=True, validate=validate.Range(-CENTURY_MS, CENTURY_MS)
    )
    zone = fields.String(required=True, validate=_printable(64, 1))


class BoutSchema(ItemSchema):
    exercise = _key()
    amount = fields.Integer(
        required=True, strict=True, validate=validate.Range(min=0, max=MOST_AMOUNT)
    )
    unit = fields.String(required=True, validate=validate.OneOf(["times", "minutes"]))
    how = fields.String(
        required=True, validate=validate.OneOf(["paced", "counted", "one_tap", "later"])
    )
    pain = _pain()
    pain_asked = fields.Boolean(required=True)
    done_at = Instant(load_default=None, allow_none=True)
    slot_start = Instant(load_default=None, allow_none=True)
    plan_version = _plan_version()
    supersedes = fields.UUID(load_default=None, allow_none=True)
    logged_by = fields.String(required=True, validate=validate.OneOf(["patient", "carer"]))

    @validates_schema
    def _names_its_time(self, told: Mapping[str, Any], **_: Any) -> None:
        if told.get("done_at") is None and told.get("slot_start") is None:
            raise ValidationError("Either when it was done or the slot it fills in.", "done_at")
        if told.get("supersedes") is not None and told.get("supersedes") == told.get("id"):
            raise ValidationError("A bout cannot take its own place.", "supersedes")
        if told.get("amount") == 0 and told.get("supersedes") is None:
            raise ValidationError("Nothing done takes something logged back.", "amount")


class DailyCheckSchema(ItemSchema):
    day = fields.Date(required=True)
    answers = fields.Dict(
        required=True,
        keys=fields.String(validate=validate.Length(1, 80)),
        values=fields.String(validate=validate.OneOf(["yes", "no", "cannot_see"])),
        validate=short_enough,
    )
    details = fields.Dict(load_default=dict, validate=short_enough)
    average_pain = _pain()


class TroubleSchema(ItemSchema):
    kind = fields.String(required=True, validate=validate.OneOf(KINDS))
    details = fields.Dict(load_default=dict, validate=short_enough)


class TakenBackSchema(ItemSchema):
    trouble = fields.UUID(required=True)


class HandAnswerSchema(ItemSchema):
    question = fields.UUID(required=True)
    answer = fields.String(required=True, validate=validate.OneOf(["yes", "no"]))


class ReleaseAnswerSchema(ItemSchema):
    release = fields.UUID(required=True)
    answer = fields.String(required=True, validate=validate.OneOf(["nothing", "something"]))


class AllWellSchema(ItemSchema):
    """'All well?': first that it was asked (its own id, no answer), then what was answered."""

    asked = fields.UUID(required=True)
    answer = fields.String(
        load_default=None,
        allow_none=True,
        validate=validate.OneOf(["busy", "sore", "phone", "something_wrong"]),
    )
    pain = _pain()

    @validates_schema
    def _asks_or_answers(self, told: Mapping[str, Any], **_: Any) -> None:
        if (told.get("answer") is None) != (told.get("asked") == told.get("id")):
            raise ValidationError("That it was asked, or an answer to an earlier asking.", "asked")


class QuietSchema(ItemSchema):
    """A wish for quiet, or the end of one; each kind has fields of its own."""

    kind = fields.String(required=True, validate=validate.OneOf(list(NEEDED_OF_QUIET)))
    until = Instant(load_default=None, allow_none=True)
    weekday = fields.Integer(
        load_default=None, allow_none=True, strict=True, validate=validate.Range(0, 6)
    )
    opens = _wall_clock()
    closes = _wall_clock()
    fewer = fields.String(
        load_default=None, allow_none=True, validate=validate.OneOf(["every_second", "four_a_day"])
    )
    ends = fields.UUID(load_default=None, allow_none=True)

    @validates_schema
    def _says_what_its_kind_needs(self, told: Mapping[str, Any], **_: Any) -> None:
        for name in NEEDED_OF_QUIET[told["kind"]]:
            if told.get(name) is None:
                raise ValidationError("This kind of quiet needs it.", name)
        if told["kind"] == "weekly" and told["opens"] == told["closes"]:
            raise ValidationError("It ends when it begins.", "closes")


class ReadSchema(ItemSchema):
    what = fields.String(required=True, validate=validate.Equal("cautions"))
    phase = _key()
    plan_version = _plan_version()


class ZoneSaidSchema(ItemSchema):
    zone = fields.String(required=True, validate=[validate.Length(1, 64), known_zone])


ITEMS: Mapping[str, ItemSchema] = {
    "bout": BoutSchema(),
    "daily_check": DailyCheckSchema(),
    "trouble": TroubleSchema(),
    "taken_back": TakenBackSchema(),
    "hand_answer": HandAnswerSchema(),
    "release_answer": ReleaseAnswerSchema(),
    "all_well": AllWellSchema(),
    "quiet": QuietSchema(),
    "read": ReadSchema(),
    "zone_said": ZoneSaidSchema(),
}
_IN_ORDER = json.JSONEncoder(sort_keys=True, separators=(",", ":")).encode
COMMON = ("id", "type", "course", "entered_at", "offset_ms", "zone")


def read_item(raw: Any) -> Item | Outcome:
    """An item as the services take it, or the refusal of this one alone."""
    told = raw if isinstance(raw, dict) else {}
    item_id = told.get("id", "")
    schema = ITEMS.get(str(told.get("type")))
    if schema is None:
        return refused(item_id, "type_unknown", "This server does not know such an entry.")
    try:
        loaded: dict[str, Any] = schema.load(told)
    except ValidationError as error:
        return refused(item_id, "invalid", _sentence(error.messages_dict))
    common = {key: loaded.pop(key) for key in COMMON}
    return Item(**common, told=loaded, digest=digest_of(told))


def digest_of(raw: Mapping[str, Any]) -> str:
    """SHA-256 of the item as sent, whatever the order of its fields."""
    return hashlib.sha256(_IN_ORDER(raw).encode()).hexdigest()


def _sentence(messages: Mapping[str, Any]) -> str:
    return "; ".join(f"{field}: {json.dumps(said)}" for field, said in messages.items())[:500]


class Envelope(Schema):
    class Meta:
        unknown = EXCLUDE


class UploadSchema(Envelope):
    """Items are checked one by one, so that a bad one never loses the others."""

    outbox_left_after = fields.Integer(required=True, strict=True, validate=validate.Range(min=0))
    plan_version = _plan_version()
    items = fields.List(
        fields.Raw(metadata={"type": "object"}),
        required=True,
        validate=validate.Length(1, MOST_ITEMS),
    )


class OutcomeSchema(Schema):
    id = fields.String()
    result = fields.String(validate=validate.OneOf(["stored", "already", "refused"]))
    code = fields.String(allow_none=True)
    message = fields.String(allow_none=True)


class UploadAnswerSchema(Schema):
    server_time = fields.String()
    plan_version = fields.String(allow_none=True)
    results = fields.List(fields.Nested(OutcomeSchema))


class ContactSchema(Envelope):
    outbox_left = fields.Integer(required=True, strict=True, validate=validate.Range(min=0))
    plan_version = _plan_version()
    push = fields.String(
        load_default=None,
        allow_none=True,
        validate=validate.OneOf(["granted", "denied", "default", "unsupported", "failed"]),
    )
    reminding = fields.String(
        load_default=None,
        allow_none=True,
        validate=validate.OneOf(["push", "calendar", "in_app", "none"]),
    )
    zone = fields.String(load_default=None, allow_none=True, validate=validate.Length(max=64))
    via = fields.String(load_default="page", validate=validate.OneOf(["page", "worker"]))


class ContactAnswerSchema(Schema):
    """`calendar` is told to a phone that is reminded by a calendar file."""

    server_time = fields.String()
    plan_version = fields.String(allow_none=True)
    calendar = fields.String(allow_none=True)


class KeysSchema(Envelope):
    p256dh = fields.String(required=True, validate=validate.Length(1, 200))
    auth = fields.String(required=True, validate=validate.Length(1, 100))


class SubscriptionSchema(Envelope):
    endpoint = fields.Url(
        required=True, schemes={"https", "http"}, require_tld=False,
        validate=validate.Length(max=2000),
    )  # fmt: skip
    keys = fields.Nested(KeysSchema, required=True)


class ReceiptSchema(Envelope):
    send = fields.UUID(required=True)
    what = fields.String(required=True, validate=validate.OneOf(["shown", "tapped"]))
    at = Instant(required=True)
    outbox_left = fields.Integer(required=True, strict=True, validate=validate.Range(min=0))


class ClaimSchema(Schema):
    """The link's secret, a typed code with its number, or the code of a phone's own app alone."""

    class Meta:
        unknown = RAISE

    secret = fields.String(load_default=None, allow_none=True, validate=validate.Length(1, 200))
    code = fields.String(load_default=None, allow_none=True, validate=validate.Length(1, 40))
    number = fields.String(load_default=None, allow_none=True, validate=validate.Length(1, 80))
    device_name = fields.String(load_default="", validate=_printable(120))
    whose = fields.String(load_default="patient", validate=validate.OneOf(["patient", "carer"]))

    @validates_schema
    def _one_proof(self, told: Mapping[str, Any], **_: Any) -> None:
        if not told.get("secret") and not told.get("code"):
            raise ValidationError("Give the link's secret, or the code and the number.", "code")


class ClaimAnswerSchema(Schema):
    csrf = fields.String()
    device = fields.UUID()
    whose = fields.String()
    courses = fields.List(fields.UUID())  # all of the patient's: what is of others is kept apart
    server_time = fields.String()


class HandOverSchema(Schema):
    code = fields.String()
    minutes = fields.Integer()
    server_time = fields.String()


class TrialQuerySchema(Envelope):
    send = fields.UUID(required=True)


class TrialSchema(Schema):
    """A test reminder and how far it has come."""

    send = fields.UUID()
    state = fields.String(validate=validate.OneOf(["waiting", "sent", "arrived", "not_sent"]))
    server_time = fields.String()


class CalendarSchema(Schema):
    """A calendar file, its last day, and a mark that changes with its times."""

    file = fields.String()
    last = fields.Date()
    mark = fields.String()
    server_time = fields.String()
