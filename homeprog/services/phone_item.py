"""One thing a phone sends, and what became of it."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from ..domain.bout import corrected
from ..storage.contacts import CallersCourse

Result = Literal["stored", "already", "refused"]


@dataclass(frozen=True, slots=True)
class Item:
    """One item of an upload, checked by itself. `told` holds the fields of its type."""

    id: uuid.UUID
    type: str
    course: uuid.UUID
    entered_at: datetime  # by the device's clock
    offset_ms: int  # the server's clock less the device's, as the phone knew it then
    zone: str
    told: Mapping[str, Any]
    digest: str  # of the item as sent

    def corrected(self, told: datetime, course: CallersCourse, now: datetime) -> datetime:
        """An instant of the device's clock, by the server's and held within the course."""
        return corrected(told, self.offset_ms, course.opened, now)

    def entered(self, course: CallersCourse, now: datetime) -> datetime:
        """When it was entered, likewise."""
        return self.corrected(self.entered_at, course, now)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one item; the phone forgets it on stored and already only."""

    id: str
    result: Result
    code: str | None = None
    message: str | None = None

    def as_json(self) -> dict[str, str | None]:
        return {
            "id": self.id, "result": self.result, "code": self.code, "message": self.message,
        }  # fmt: skip


def stored(item: Item) -> Outcome:
    return Outcome(str(item.id), "stored")


def already(item: Item) -> Outcome:
    return Outcome(str(item.id), "already")


def refused(item_id: object, code: str, message: str) -> Outcome:
    return Outcome(str(item_id), "refused", code, message)


def seen_before(item: Item, digest: str | None) -> Outcome:
    """The outcome of an item whose id was there before it: the same content, or refused."""
    if digest == item.digest:
        return already(item)
    return refused(item.id, "id_taken", "This was sent before with other content.")
