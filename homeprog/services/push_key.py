"""The key by which a phone's push service knows this house."""

from __future__ import annotations

from pathlib import Path

from ..delivery.push_keys import public_key


def push_key(instance: Path) -> str | None:
    """The public VAPID key, base64url; None until `flask vapid keys` has made one."""
    return public_key(instance)
