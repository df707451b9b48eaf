"""How staff are reached: by which channels, and one notice by one of them."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Literal, Protocol

from .email import Email, Server
from .errors import DeliveryError
from .notice import Notice, payload
from .post import sender_for
from .push import Address, Push, Sender
from .push_keys import public_key
from .webhook import Webhook

Channel = Literal["push", "email", "webhook"]
PUSH_LASTS = 4 * 3600  # seconds the push service may keep it; it is sent again by who is next


class Mail(Protocol):
    def send(self, to: str, notice: Notice) -> None: ...


class Hook(Protocol):
    def send(self, notice: Notice) -> None: ...


@dataclass(frozen=True, slots=True)
class Carriers:
    """The channels this house has; None: it does not have that one."""

    push: Sender | None = None
    email: Mail | None = None
    webhook: Hook | None = None

    @property
    def channels(self) -> frozenset[Channel]:
        found: dict[Channel, object] = {
            "push": self.push, "email": self.email, "webhook": self.webhook,
        }  # fmt: skip
        return frozenset(name for name, carrier in found.items() if carrier is not None)

    def carry(self, channel: str, to: Address | str | None, notice: Notice) -> None:
        """Send it. Raises DeliveryError where the channel or the address is gone, too."""
        if channel == "push" and self.push and isinstance(to, Address):
            self.push.send(Push(notice.id, notice.topic_of, to, payload(notice), PUSH_LASTS))
        elif channel == "email" and self.email and isinstance(to, str):
            self.email.send(to, notice)
        elif channel == "webhook" and self.webhook:
            self.webhook.send(notice)
        else:
            raise DeliveryError("no way to this address any more", permanent=True)


def push_to_staff(
    instance: Path, subject: str, real: Callable[[], datetime], extra_origins: Collection[str]
) -> Sender | None:
    """The sender of web push; None until the VAPID keys have been made."""
    made = public_key(instance) is not None
    return sender_for(instance, subject, real, extra_origins) if made else None


def email_to_staff(server: Server, origin: str) -> Email | None:
    """The sender of e-mail; None where no server is named."""
    return Email(server, origin) if server.host else None


def webhook_to_staff(url: str, secret: str, real: Callable[[], datetime]) -> Webhook | None:
    """The webhook; None where no receiver is named."""
    return Webhook(url, secret, real) if url else None
