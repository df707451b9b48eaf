"""A push service on loopback, and a phone's keys, for the tests of sending."""

from __future__ import annotations

import base64
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat


def base64url(octets: bytes) -> str:
    return base64.urlsafe_b64encode(octets).rstrip(b"=").decode()


def point(key: ec.EllipticCurvePrivateKey) -> str:
    """The public key as a browser gives it."""
    return base64url(key.public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint))


class Service(ThreadingHTTPServer):
    """A push service on loopback that answers as it is told and keeps what came."""

    block_on_close = False

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), Answering)
        self.answers: list[tuple[int, dict[str, str], bytes]] = []
        self.came: list[tuple[str, dict[str, str], bytes]] = []

    @property
    def origin(self) -> str:
        return f"http://127.0.0.1:{self.server_port}"


class Answering(BaseHTTPRequestHandler):
    server: Service
    protocol_version = "HTTP/1.1"

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["Content-Length"]))
        self.server.came.append((self.path, dict(self.headers), body))
        status, headers, said = (
            self.server.answers.pop(0) if self.server.answers else (201, {}, b"")
        )
        self.send_response(status)
        for name, value in ({"Content-Length": str(len(said))} | headers).items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(said)

    def log_message(self, *_: object) -> None:
        """Quiet."""


@contextmanager
def running() -> Iterator[Service]:
    service = Service()
    thread = Thread(target=service.serve_forever, args=(0.01,), daemon=True)
    thread.start()
    try:
        yield service
    finally:
        service.shutdown()
        thread.join()
        service.server_close()
