"""A reminder on its way to one phone, whoever carries it."""

from __future__ import annotations

import json
import uuid
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Literal, Protocol

PAYLOAD_OCTETS = 512  # every payload has this length, so that its size tells nothing
TITLE = "Homeprog"
DECLARATIVE = 8030
Kind = Literal["reminder", "question", "test"]


@dataclass(frozen=True, slots=True)
class Address:
    """Where a phone's push service takes messages, as the phone's browser gave it."""

    endpoint: str
    p256dh: str  # base64url, uncompressed P-256 point
    auth: str  # base64url, 16 octets


@dataclass(frozen=True, slots=True)
class Push:
    """One message. `address` is None for an invented phone, which only the recorder serves."""

    send: uuid.UUID
    patient: uuid.UUID  # to staff: the alert. Never leaves the house: the topic is a hash of it
    address: Address | None
    payload: bytes
    ttl: int  # seconds the push service may keep it


class Sender(Protocol):
    """Carries a push away or raises DeliveryError."""

    def send(self, push: Push) -> None: ...


def payload(
    send: uuid.UUID,
    body: str,
    expires_at: datetime,
    silent: bool = False,
    origin: str = "",
    kind: Kind = "reminder",
) -> bytes:
    """The JSON of one notification, padded to PAYLOAD_OCTETS. No health words.

    `body` is in the phone's language, of the phrase push.<kind>.

    In the shape of a declarative push (Push API, editor's draft, 'Declarative push message';
    8030 marks it): a browser that knows it shows it even where the worker is gone, `mutable` has
    the worker run first, and older browsers hand it to the worker whole. `origin` makes the
    address absolute, as such a browser wants it. `silent`: shown without a sound. A question
    opens the phone's page on reminders.
    """
    page = "/phone/#reminders" if kind == "question" else "/phone/"
    expires = expires_at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    content: dict[str, object] = {
        "web_push": DECLARATIVE,
        "notification": {
            "title": TITLE,
            "body": body,
            "navigate": origin.rstrip("/") + page,
            "tag": "test" if kind == "test" else "due",
            "silent": silent,
            "data": {"send": str(send), "kind": kind, "expires_at": expires},
        },
        "mutable": True,
        "pad": "",
    }
    room = PAYLOAD_OCTETS - len(_encoded(content))
    if room < 0:
        raise ValueError("the payload is longer than its fixed length")
    return _encoded(content | {"pad": "0" * room})


def ttl(now: datetime, ends_at: datetime) -> int:
    """Whole seconds until `ends_at`, at least 1: a late reminder is worse than none."""
    return max(1, int((ends_at - now) / timedelta(seconds=1)))


def _encoded(content: dict[str, object]) -> bytes:
    return json.dumps(content, separators=(",", ":"), ensure_ascii=False).encode()
