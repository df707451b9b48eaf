"""A signed webhook to a receiver the operator named; no words of health, ids only."""

from __future__ import annotations

import hashlib
import hmac
import json
from collections.abc import Callable
from datetime import UTC, datetime

import requests

from .errors import DeliveryError
from .notice import Notice

TIMEOUT = (3.05, 10)  # seconds to connect, and between two octets of the answer
TIMESTAMP, SIGNATURE, DELIVERY = (
    "Homeprog-Timestamp", "Homeprog-Signature", "Homeprog-Delivery",
)  # fmt: skip
PASSING = (408, 425, 429)


class Webhook:
    """Posts to one URL. `real` gives real time, also in the demo: a receiver judges by it."""

    def __init__(self, url: str, secret: str, real: Callable[[], datetime]) -> None:
        self._url, self._secret, self._real = url, secret.encode(), real
        self._http = requests.Session()
        self._http.trust_env = False  # a .netrc would add an Authorization

    def send(self, notice: Notice) -> None:
        """Raises DeliveryError unless the receiver answers 2xx; a redirect is not followed."""
        sent = body(notice)
        timestamp = str(int(self._real().timestamp()))
        headers = {
            "Content-Type": "application/json",
            DELIVERY: str(notice.id),  # the same on every retry
            TIMESTAMP: timestamp,
            SIGNATURE: f"v1={signature(self._secret, timestamp, sent)}",
        }
        try:
            with self._http.post(
                self._url, data=sent, headers=headers, timeout=TIMEOUT, allow_redirects=False,
                stream=True,
            ) as answer:  # fmt: skip
                status = answer.status_code
        except requests.RequestException as error:
            raise DeliveryError(_fault(error), permanent=False) from None
        if not 200 <= status < 300:
            passing = status in PASSING or status >= 500
            raise DeliveryError(f"the receiver answered {status}", permanent=not passing)

    def close(self) -> None:
        """Let go of the open connections."""
        self._http.close()


def body(notice: Notice) -> bytes:
    """{"v": 1, "alert": id, "clinic": id, "level": ..., "at": instant}; of a test no alert."""
    said = {
        "v": 1,
        "alert": str(notice.alert) if notice.alert else None,
        "clinic": str(notice.clinic),
        "level": notice.level or "test",
        "at": notice.at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
    }
    return json.dumps(said, separators=(",", ":")).encode()


def signature(secret: bytes, timestamp: str, sent: bytes) -> str:
    """The code of 'timestamp.body': a call cannot be changed, nor kept and sent again later."""
    return code(secret, timestamp.encode() + b"." + sent)


def code(secret: bytes, said: bytes) -> str:
    """HMAC-SHA256 (RFC 2104), in hex."""
    return hmac.new(secret, said, hashlib.sha256).hexdigest()


def _fault(error: requests.RequestException) -> str:
    if isinstance(error, requests.Timeout):
        return "no answer in time"
    if isinstance(error, requests.exceptions.SSLError):
        return "TLS failed"
    if isinstance(error, requests.ConnectionError):
        return "no connection"
    return type(error).__name__
