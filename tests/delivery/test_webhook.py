"""The signed webhook, posted to a real server on this machine."""

from __future__ import annotations

import hashlib
import json
import threading
import uuid
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler, HTTPServer

import pytest

from homeprog.delivery.errors import DeliveryError
from homeprog.delivery.notice import Notice
from homeprog.delivery.webhook import Webhook, signature

AT = datetime(2026, 6, 5, 13, 10, tzinfo=UTC)
REAL = datetime(2026, 6, 5, 13, 10, 20, tzinfo=UTC)
SECRET = "0123456789abcdef0123456789abcdef"
NOTICE = Notice(
    id=uuid.UUID(int=1), clinic=uuid.UUID(int=2), staff=uuid.UUID(int=3), level="now",
    alert=uuid.UUID(int=7), count=1, at=AT,
)  # fmt: skip


class Receiver(HTTPServer):
    """Keeps each call; answers with `status`, and with a Location."""

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), Handler)
        self.calls: list[tuple[str, dict[str, str], bytes]] = []
        self.status = 204

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.server_port}/hook"


class Handler(BaseHTTPRequestHandler):
    server: Receiver

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["Content-Length"]))
        self.server.calls.append((self.path, dict(self.headers), body))
        self.send_response(self.server.status)
        self.send_header("Location", self.server.url + "/elsewhere")
        self.send_header("Content-Length", "0")
        self.end_headers()

    def log_message(self, *said: object) -> None:
        """Quiet."""


@pytest.fixture
def receiver() -> Iterator[Receiver]:
    server = Receiver()
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield server
    server.shutdown()
    thread.join()
    server.server_close()


@pytest.fixture
def hook(receiver: Receiver) -> Iterator[Webhook]:
    made = Webhook(receiver.url, SECRET, lambda: REAL)
    yield made
    made.close()


def hmac_by_hand(secret: bytes, said: bytes) -> str:
    """HMAC by its definition (RFC 2104 section 2), without the library's hmac."""
    key = hashlib.sha256(secret).digest() if len(secret) > 64 else secret
    key = key.ljust(64, b"\0")
    inner = hashlib.sha256(bytes(octet ^ 0x36 for octet in key) + said).digest()
    return hashlib.sha256(bytes(octet ^ 0x5C for octet in key) + inner).hexdigest()


def test_the_body_is_level_ids_and_instant_and_nothing_else(
    receiver: Receiver, hook: Webhook
) -> None:
    hook.send(NOTICE)
    ((path, headers, body),) = receiver.calls
    assert path == "/hook"
    assert headers["Content-Type"] == "application/json"
    assert json.loads(body) == {
        "v": 1, "alert": str(NOTICE.alert), "clinic": str(NOTICE.clinic), "level": "now",
        "at": "2026-06-05T13:10:00Z",
    }  # fmt: skip


def test_its_signature_is_what_a_receiver_works_out_by_itself(
    receiver: Receiver, hook: Webhook
) -> None:
    hook.send(NOTICE)
    _, headers, body = receiver.calls[0]
    assert headers["Homeprog-Timestamp"] == str(int(REAL.timestamp()))
    signed = headers["Homeprog-Timestamp"].encode() + b"." + body
    assert headers["Homeprog-Signature"] == f"v1={hmac_by_hand(SECRET.encode(), signed)}"
    assert headers["Homeprog-Delivery"] == str(NOTICE.id)


def test_another_body_secret_or_time_gives_another_signature() -> None:
    given = (b"s" * 32, "1780665020", b'{"v":1}')
    others = [
        (b"t" * 32, *given[1:]),
        (given[0], "1780665021", given[2]),
        (*given[:2], b'{"v":2}'),
    ]
    assert signature(*given) not in {signature(*other) for other in others}


def test_a_redirect_is_not_followed(receiver: Receiver, hook: Webhook) -> None:
    receiver.status = 307
    with pytest.raises(DeliveryError) as refused:
        hook.send(NOTICE)
    assert refused.value.reason == "the receiver answered 307"
    assert len(receiver.calls) == 1


@pytest.mark.parametrize(("status", "permanent"), [(400, True), (401, True), (429, False)])
def test_a_refusal_is_final_and_too_many_is_not(
    receiver: Receiver, hook: Webhook, status: int, permanent: bool
) -> None:
    receiver.status = status
    with pytest.raises(DeliveryError) as refused:
        hook.send(NOTICE)
    assert refused.value.permanent is permanent


def test_a_receiver_in_trouble_or_not_there_is_tried_again(
    receiver: Receiver, hook: Webhook
) -> None:
    receiver.status = 503
    with pytest.raises(DeliveryError) as away:
        hook.send(NOTICE)
    gone = Webhook("http://127.0.0.1:1/hook", SECRET, lambda: REAL)
    with pytest.raises(DeliveryError) as nobody:
        gone.send(NOTICE)
    gone.close()
    assert (away.value.permanent, nobody.value.permanent) == (False, False)
    assert nobody.value.reason == "no connection"


def test_a_test_names_no_alert(receiver: Receiver, hook: Webhook) -> None:
    hook.send(replace(NOTICE, level=None, alert=None))
    said = json.loads(receiver.calls[0][2])
    assert (said["alert"], said["level"]) == (None, "test")
