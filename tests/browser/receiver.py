"""A push service of our own on loopback: keeps what is posted to it, answers 201."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

PATIENCE_S = 20


@dataclass
class Received:
    path: str
    headers: dict[str, str]  # names in lower case
    body: bytes


@dataclass
class Receiver:
    origin: str
    posts: list[Received] = field(default_factory=list)

    def take(self) -> Received:
        """The oldest post not yet taken; waits for it."""
        deadline = time.monotonic() + PATIENCE_S
        while not self.posts and time.monotonic() < deadline:
            time.sleep(0.05)
        assert self.posts, "nothing was posted to the push service"
        return self.posts.pop(0)


@contextmanager
def listening() -> Iterator[Receiver]:
    """A receiver on a free port of 127.0.0.1."""
    receiver = Receiver("")

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            headers = {name.lower(): value for name, value in self.headers.items()}
            receiver.posts.append(Received(self.path, headers, body))
            self.send_response(201)
            self.end_headers()

        def log_message(self, *_said: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    receiver.origin = f"http://127.0.0.1:{server.server_port}"
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield receiver
    finally:
        server.shutdown()
        server.server_close()
        thread.join(5)
