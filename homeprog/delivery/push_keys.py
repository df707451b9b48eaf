"""Keys of web push: the phone's, checked; our own VAPID pair, kept in one file."""

from __future__ import annotations

import base64
import binascii
import os
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from py_vapid import Vapid02

from .push import Address

FILE = "vapid_private.pem"
POINT_OCTETS, AUTH_OCTETS = 65, 16  # RFC 8291 sections 3.1 and 3.2


def faults(address: Address) -> dict[str, list[str]]:
    """What is wrong with a phone's keys, by field; empty when they can be used."""
    found = {}
    if not _is_point(_decoded(address.p256dh)):
        found["keys.p256dh"] = ["Not an uncompressed P-256 point in base64url."]
    if len(_decoded(address.auth)) != AUTH_OCTETS:
        found["keys.auth"] = ["Not 16 octets in base64url."]
    return found


def make_once(instance: Path) -> bool:
    """Write a VAPID key pair unless there is one; whether one was made."""
    instance.mkdir(parents=True, exist_ok=True)
    keys = Vapid02()
    keys.generate_keys()
    try:
        handle = os.open(instance / FILE, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return False
    with os.fdopen(handle, "wb") as file:
        file.write(keys.private_pem())
    return True


def load(instance: Path) -> Vapid02 | None:
    """Our VAPID pair; None where it has not been made."""
    file = instance / FILE
    return Vapid02.from_pem(file.read_bytes()) if file.exists() else None


def public_key(instance: Path) -> str | None:
    """What a phone subscribes with (base64url, no padding); None where there are no keys."""
    keys = load(instance)
    return _base64url(point_of(keys)) if keys else None


def point_of(keys: Vapid02) -> bytes:
    """The public key as an uncompressed point of 65 octets."""
    point: bytes = keys.public_key.public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)
    return point


def _decoded(text: str) -> bytes:
    try:
        return base64.b64decode(text + "=" * (-len(text) % 4), altchars=b"-_", validate=True)
    except (binascii.Error, ValueError):
        return b""


def _is_point(octets: bytes) -> bool:
    if len(octets) != POINT_OCTETS:
        return False
    try:
        ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), octets)
    except ValueError:
        return False
    return True


def _base64url(octets: bytes) -> str:
    return base64.urlsafe_b64encode(octets).rstrip(b"=").decode()
