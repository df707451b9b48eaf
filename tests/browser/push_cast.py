"""What a browser does with push, as the tests need it: keys, a stub of subscribing, the worker."""

from __future__ import annotations

import base64
import json
import secrets
from dataclasses import dataclass, field
from typing import Any

import http_ece
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from playwright.sync_api import CDPSession, Page

from tests.browser.phone_hand import until

STUB = """(made) => {
  let there = null;
  const subscription = { endpoint: made.endpoint, toJSON: () => made };
  PushManager.prototype.getSubscription = async () => there;
  PushManager.prototype.subscribe = async (options) => {
    const key = String.fromCharCode(...new Uint8Array(options.applicationServerKey));
    window.askedFor = { visible: options.userVisibleOnly, key: btoa(key) };
    return there = subscription;
  };
}"""
NOTES = """navigator.serviceWorker.ready.then((r) => r.getNotifications())
  .then((all) => all.map((n) => ({ title: n.title, body: n.body, tag: n.tag })))"""
TAP = """async () => {
  const [notification] = await registration.getNotifications();
  self.dispatchEvent(new NotificationEvent("notificationclick", { notification }));
}"""


def base64url(octets: bytes) -> str:
    return base64.urlsafe_b64encode(octets).rstrip(b"=").decode()


@dataclass
class Keys:
    """What a browser makes when it subscribes."""

    private: Any = field(default_factory=lambda: ec.generate_private_key(ec.SECP256R1()))
    auth: bytes = field(default_factory=lambda: secrets.token_bytes(16))

    def told(self) -> dict[str, str]:
        point = self.private.public_key().public_bytes(
            Encoding.X962, PublicFormat.UncompressedPoint
        )
        return {"p256dh": base64url(point), "auth": base64url(self.auth)}

    def opened(self, body: bytes) -> dict[str, Any]:
        """The payload, decrypted as a browser would (RFC 8291, by http_ece)."""
        plain = http_ece.decrypt(
            body, private_key=self.private, auth_secret=self.auth, version="aes128gcm"
        )
        payload: dict[str, Any] = json.loads(plain)
        return payload


class Worker:
    """The real service worker, reached by the browser's own debugging protocol."""

    def __init__(self, page: Page, origin: str) -> None:
        self._page, self._origin = page, origin
        self._ids: list[str] = []
        page.evaluate("navigator.serviceWorker.ready.then(() => true)")
        self._cdp: CDPSession = page.context.new_cdp_session(page)
        self._cdp.on("ServiceWorker.workerRegistrationUpdated", self._note)
        self._cdp.send("ServiceWorker.enable")
        until(page, lambda: self._ids, "the browser tells of no worker")

    def _note(self, said: dict[str, Any]) -> None:
        self._ids += [each["registrationId"] for each in said["registrations"]]

    def push(self, payload: dict[str, Any]) -> None:
        told = {
            "origin": self._origin,
            "registrationId": self._ids[-1],
            "data": json.dumps(payload),
        }
        self._cdp.send("ServiceWorker.deliverPushMessage", told)

    def notes(self) -> list[dict[str, str]]:
        found: list[dict[str, str]] = self._page.evaluate(NOTES)
        return found

    def tap(self) -> None:
        self._page.context.service_workers[0].evaluate(TAP)


def send_of(payload: dict[str, Any]) -> str:
    """The id of the send a payload is of."""
    send: str = payload["notification"]["data"]["send"]
    return send
