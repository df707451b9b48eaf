"""Web push: encrypted by pywebpush, signed by py_vapid, carried by our own careful sender."""

from __future__ import annotations

import base64
import hashlib
import hmac
import logging
import re
import uuid
from collections.abc import Callable, Collection
from datetime import datetime, timedelta
from email.utils import parsedate_to_datetime

import requests
from py_vapid import Vapid02
from pywebpush import WebPusher, WebPushException

from .errors import DeliveryError
from .push import Address, Push
from .push_hosts import allowed, origin_of

TIMEOUT = (3.05, 10)  # seconds to connect, and between two octets of the answer
LONGEST_PLAINTEXT = 3993  # octets: what fits one record of 4096 (RFC 8291 section 4)
READ_AT_MOST = 512  # octets of an answer's body
TOKEN_LASTS = timedelta(hours=12)  # the standard allows 24 h
TOKEN_KEPT = timedelta(hours=11)
GONE, NOT_OURS = (404, 410), (401, 403)
PASSING = (408, 429)

log = logging.getLogger(__name__)


class WebPush:
    """Carries pushes to the push services. `real` gives real time, also in the demo."""

    def __init__(
        self,
        keys: Vapid02,
        subject: str,
        real: Callable[[], datetime],
        extra_origins: Collection[str] = (),
    ) -> None:
        self._keys = keys
        self._subject = subject
        self._real = real
        self._extra_origins = extra_origins
        self._tokens: dict[str, tuple[datetime, str]] = {}  # origin -> (made at, header)
        self._http = requests.Session()
        self._http.trust_env = False  # a .netrc would overwrite our Authorization

    def send(self, push: Push) -> None:
        """Send one push. Raises DeliveryError when the service has not taken it."""
        address = push.address
        if address is None or not allowed(address.endpoint, self._extra_origins):
            raise DeliveryError("address not allowed", permanent=True)
        self._post(address.endpoint, encrypted(address, push.payload), self._headers(push, address))

    def close(self) -> None:
        """Let go of the open connections."""
        self._http.close()

    def _headers(self, push: Push, address: Address) -> dict[str, str]:
        return {
            "Authorization": self._token(origin_of(address.endpoint)),
            "Content-Encoding": "aes128gcm",
            "Content-Type": "application/octet-stream",
            "TTL": str(push.ttl),
            "Topic": topic(self._keys, push.patient),
            "Urgency": "high",  # time-bound and seen by the patient; normal waits in Doze
        }

    def _token(self, origin: str) -> str:
        """The VAPID header for an origin, with fresh claims: py_vapid may keep what it is given."""
        now = self._real()
        made, header = self._tokens.get(origin, (None, ""))
        if made is None or not made <= now < made + TOKEN_KEPT:
            exp = int((now + TOKEN_LASTS).timestamp())
            claims = {"aud": origin, "exp": exp, "sub": self._subject}
            header = str(self._keys.sign(claims)["Authorization"])
            self._tokens[origin] = (now, header)
        return header

    def _post(self, endpoint: str, body: bytes, headers: dict[str, str]) -> None:
        try:
            answer = self._http.post(
                endpoint,
                data=body,
                headers=headers,
                timeout=TIMEOUT,
                allow_redirects=False,
                stream=True,
            )
            with answer:
                said = next(answer.iter_content(READ_AT_MOST), b"")
        except requests.RequestException as error:
            raise DeliveryError(type(error).__name__, permanent=False) from error
        if not 200 <= answer.status_code < 300:
            raise self._refusal(answer, said, origin_of(endpoint))

    def _refusal(self, answer: requests.Response, said: bytes, origin: str) -> DeliveryError:
        status = answer.status_code
        reason = f"{status} {_plain(said)}".strip()
        if status in GONE:
            return DeliveryError(reason, permanent=True, gone=True)
        if status in PASSING or status >= 500:
            wait = retry_after(answer.headers.get("Retry-After"), self._real())
            return DeliveryError(reason, permanent=False, retry_after=wait)
        if status in NOT_OURS:
            log.error("%s does not take our VAPID key or claims: %s", origin, reason)
        else:
            log.error("%s refused a push: %s", origin, reason)
        return DeliveryError(reason, permanent=True)


def encrypted(address: Address, payload: bytes) -> bytes:
    """The aes128gcm body for one phone (RFC 8291), a single record."""
    if len(payload) > LONGEST_PLAINTEXT:
        raise DeliveryError("payload too long", permanent=True)
    subscription = {
        "endpoint": address.endpoint,
        "keys": {"p256dh": address.p256dh, "auth": address.auth},
    }
    try:
        return bytes(WebPusher(subscription).encode(payload)["body"])
    except (WebPushException, ValueError, IndexError) as error:
        raise DeliveryError("keys cannot be used", permanent=True) from error


def topic(keys: Vapid02, patient: uuid.UUID) -> str:
    """16 characters that mean nothing to others; one patient's newer reminder replaces the older.

    Its length divides by 4: one service decodes it as base64url.
    """
    secret = keys.private_key.private_numbers().private_value.to_bytes(32, "big")
    digest = hmac.new(secret, b"topic" + patient.bytes, hashlib.sha256).digest()
    return base64.urlsafe_b64encode(digest[:12]).decode()


def retry_after(header: str | None, now: datetime) -> timedelta | None:
    """How long a Retry-After asks to wait, be it seconds or an HTTP date; None if unreadable."""
    if header is None:
        return None
    if header.strip().isdecimal():
        return timedelta(seconds=min(int(header), 86_400))
    try:
        return max(timedelta(), parsedate_to_datetime(header) - now)
    except (ValueError, TypeError):  # not a date, or one without a zone
        return None


def _plain(said: bytes) -> str:
    """What an answer said, short and without anything that could forge a log line."""
    return re.sub(r"[^A-Za-z0-9 _.,:-]", "", said.decode("ascii", "ignore"))[:80]
