"""The road between phone and clinic: passes requests on, and fails as networks do."""

from __future__ import annotations

import http.client
import json
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import urlsplit

LOGIN_PAGE = b"<!doctype html><title>Welcome</title><p>Sign in to use this network."
ASIDE = {"accept-encoding", "if-none-match", "if-modified-since"}
HOP = {"connection", "keep-alive", "transfer-encoding", "content-length", "date", "server"}


@dataclass(frozen=True)
class Asked:
    """One request as it reached the road."""

    method: str
    path: str
    body: bytes

    @property
    def items(self) -> list[str]:
        """Ids of the items of an upload."""
        return [each["id"] for each in json.loads(self.body)["items"]]


@dataclass(frozen=True)
class Answer:
    """An answer to give: as it is, or, from the clinic, as it is on its way back."""

    status: int
    body: bytes
    headers: dict[str, str] = field(default_factory=dict)


def told(status: int, said: object) -> Answer:
    """A JSON answer."""
    return Answer(status, json.dumps(said).encode(), {"Content-Type": "application/json"})


def page(status: int = 200, headers: dict[str, str] | None = None) -> Answer:
    """A page where an answer was asked for: of a network that wants a login, or of repairs."""
    return Answer(status, LOGIN_PAGE, {"Content-Type": "text/html"} | (headers or {}))


Before = Callable[[Asked], Answer | None]
After = Callable[[Asked, Answer], Answer | None]


@dataclass
class Road:
    """`before` answers in the clinic's place; `after` changes an answer or, by None, loses it.

    Not `packed`: the clinic answers in plain text, and whole.
    """

    origin: str
    clinic: str
    up: bool = True
    packed: bool = True
    slow_s: float = 0.0
    before: Before | None = None
    after: After | None = None
    asked: list[Asked] = field(default_factory=list)

    def clear(self) -> None:
        """As it was at the start."""
        self.up, self.packed, self.slow_s, self.before, self.after = True, True, 0.0, None, None
        self.asked.clear()

    def uploads(self) -> list[Asked]:
        return [each for each in self.asked if each.path.endswith("/phone/uploads")]

    def answer(self, asked: Asked, headers: dict[str, str]) -> Answer | None:
        """What comes back; None where nothing does."""
        up = self.up  # as it was when the request came, not when the test had seen it
        self.asked.append(asked)
        if not up:
            return None
        time.sleep(self.slow_s)
        instead = self.before(asked) if self.before else None
        if instead:
            return instead
        found = self._of_the_clinic(asked, headers)
        return self.after(asked, found) if self.after else found

    def _of_the_clinic(self, asked: Asked, headers: dict[str, str]) -> Answer:
        connection = http.client.HTTPConnection(urlsplit(self.clinic).netloc, timeout=20)
        try:
            if not self.packed:
                headers = {k: v for k, v in headers.items() if k.lower() not in ASIDE}
            connection.request(asked.method, asked.path, asked.body or None, headers)
            said = connection.getresponse()
            kept = {k: v for k, v in said.getheaders() if k.lower() not in HOP}
            return Answer(said.status, said.read(), kept)
        finally:
            connection.close()


@contextmanager
def leading_to(clinic: str) -> Iterator[Road]:
    """A road on a free port of localhost to a clinic's origin."""
    road = Road("", clinic)

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def _pass(self) -> None:
            body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
            plain = {k: v for k, v in self.headers.items() if k.lower() not in HOP}
            found = road.answer(Asked(self.command, self.path, body), plain)
            if found is None:
                self.close_connection = True
                return
            self.send_response(found.status)
            for name, value in found.headers.items():
                self.send_header(name, value)
            if found.status not in (204, 304):
                self.send_header("Content-Length", str(len(found.body)))
            self.end_headers()
            self.wfile.write(found.body if self.command != "HEAD" else b"")

        do_GET = do_POST = do_PUT = do_DELETE = do_HEAD = _pass

        def log_message(self, *_said: Any) -> None:
            pass

    class Server(ThreadingHTTPServer):
        daemon_threads = True

        def handle_error(self, *_who: Any) -> None:
            """A phone that was closed in the middle leaves its connection broken: no fault."""

    server = Server(("localhost", 0), Handler)
    road.origin = f"http://localhost:{server.server_port}"
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield road
    finally:
        server.shutdown()
        server.server_close()
