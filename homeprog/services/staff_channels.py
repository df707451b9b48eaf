"""Which channels to staff this house has, as the pages ask it."""

from __future__ import annotations

from pathlib import Path

from ..delivery.push_keys import public_key
from ..delivery.staff_post import Channel


def staff_channels(instance: Path, smtp_host: str, webhook_url: str) -> frozenset[Channel]:
    """The same channels as the dispatcher's carriers, from the same configuration."""
    found: dict[Channel, object] = {
        "push": public_key(instance), "email": smtp_host, "webhook": webhook_url,
    }  # fmt: skip
    return frozenset(name for name, there in found.items() if there)
