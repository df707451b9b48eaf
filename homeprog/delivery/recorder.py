"""Senders that stay in the house: a recorder, and the choice between it and the real one."""

from __future__ import annotations

from collections import deque

from .errors import DeliveryError
from .push import Push, Sender

KEPT = 1000  # pushes; a demo that runs for weeks must not grow


class Recorder:
    """Keeps what it was given; for tests and for the demo's invented phones.

    `fails` are errors raised, one a push, before anything is taken.
    """

    def __init__(self, *fails: DeliveryError) -> None:
        self.sent: deque[Push] = deque(maxlen=KEPT)
        self.fails = list(fails)

    def send(self, push: Push) -> None:
        if self.fails:
            raise self.fails.pop(0)
        self.sent.append(push)


class NoKeys:
    """Stands in where the VAPID keys have not been made."""

    def send(self, push: Push) -> None:
        raise DeliveryError("no VAPID keys", permanent=False)


class ByPhone:
    """Gives a push for an invented phone to one sender, any other to the other."""

    def __init__(self, real: Sender, invented: Sender) -> None:
        self._real, self._invented = real, invented

    def send(self, push: Push) -> None:
        (self._invented if push.address is None else self._real).send(push)
