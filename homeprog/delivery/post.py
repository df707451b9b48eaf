"""Which sender reminders go by, from what the house is configured with."""

from __future__ import annotations

from collections.abc import Callable, Collection
from datetime import datetime
from pathlib import Path

from .push import Sender
from .push_keys import load
from .recorder import ByPhone, NoKeys, Recorder
from .web_push import WebPush

NOBODY = "mailto:nobody@homeprog.invalid"  # the demo has no operator; production names one


def sender_for(
    instance: Path,
    subject: str,
    real: Callable[[], datetime],
    extra_origins: Collection[str] = (),
) -> Sender:
    """Real web push for phones that were paired, the recorder for the demo's invented ones.

    `real` gives real time: a push service judges a VAPID token by it.
    """
    keys = load(instance)
    by_web = WebPush(keys, subject or NOBODY, real, extra_origins) if keys else NoKeys()
    return ByPhone(by_web, Recorder())
