"""A notice on its way to staff: that an alert waits and how urgent it is, and nothing else."""

from __future__ import annotations

import json
import uuid
from dataclasses import dataclass
from datetime import datetime

from .push import PAYLOAD_OCTETS

LEVELS = {"now": "now", "today": "today", "this_week": "this week"}
WHY_SO_SHORT = "This message says no more on purpose: it names nobody. Sign in to read."
NEVER = "A message does not replace the telephone: patients are told to ring."


@dataclass(frozen=True, slots=True)
class Notice:
    """Ids and a level. Whatever could name a patient or a condition has no place here."""

    id: uuid.UUID
    clinic: uuid.UUID
    staff: uuid.UUID
    level: str | None  # None: a test
    alert: uuid.UUID | None  # None: a digest or a test
    count: int  # alerts it tells of
    at: datetime  # when it was decided on

    @property
    def heading(self) -> str:
        """'Homeprog: an alert (now) is waiting'."""
        if self.level is None:
            return "Homeprog: this is a test"
        level = LEVELS.get(self.level, "today")
        if self.count == 1:
            return f"Homeprog: an alert ({level}) is waiting"
        return f"Homeprog: {self.count} alerts ({level}) are waiting"

    @property
    def path(self) -> str:
        """Where it is read, behind sign-in."""
        if self.level is None:
            return "/staff/devices"
        return f"/alerts/{self.alert}" if self.alert else "/caseload"

    @property
    def topic_of(self) -> uuid.UUID:
        """What a newer push replaces the older one of."""
        return self.alert or self.staff


def payload(notice: Notice) -> bytes:
    """The JSON the staff worker reads, as long as any push."""
    content = {"v": 1, "title": notice.heading, "url": notice.path, "pad": ""}
    room = PAYLOAD_OCTETS - len(_encoded(content))
    return _encoded(content | {"pad": "0" * room})


def _encoded(content: dict[str, object]) -> bytes:
    return json.dumps(content, separators=(",", ":")).encode()
