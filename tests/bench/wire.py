"""A proxy that counts what a server sends: bytes of heads and of bodies, by path."""

from __future__ import annotations

import re
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

LENGTH = re.compile(rb"\r\ncontent-length:\s*(\d+)", re.IGNORECASE)
BODILESS = (b"204", b"304")


@dataclass
class Wire:
    """What went over it, in order: (path, bytes of the head, bytes of the body)."""

    port: int = 0
    answers: list[tuple[str, int, int]] = field(default_factory=list)

    def bodies(self, prefix: str = "", but: str = "\0") -> int:
        """Bytes of bodies of paths that begin so, but for those that begin as `but`."""
        return sum(n for path, _, n in self.answers if path.startswith(prefix) and but not in path)

    def heads(self) -> int:
        return sum(head for _, head, _ in self.answers)


@contextmanager
def counted(port: int) -> Iterator[Wire]:
    """A wire to the server on a port of this machine; HTTP/1.1 with lengths, as gunicorn speaks."""
    wire = Wire()
    listener = socket.create_server(("127.0.0.1", 0))
    wire.port = listener.getsockname()[1]
    threading.Thread(target=_accept, args=(listener, port, wire), daemon=True).start()
    try:
        yield wire
    finally:
        listener.close()


def _accept(listener: socket.socket, port: int, wire: Wire) -> None:
    while True:
        try:
            near, _ = listener.accept()
        except OSError:
            return
        threading.Thread(target=_carry, args=(near, port, wire), daemon=True).start()


def _carry(near: socket.socket, port: int, wire: Wire) -> None:
    """One connection: a request, its answer, and so on; browsers do not pipeline."""
    with near, socket.create_connection(("127.0.0.1", port)) as far:
        while request := _message(near, far):
            head, _ = request
            path = head.split(b" ", 2)[1].decode()
            answer = _message(far, near)
            if not answer:
                return
            wire.answers.append((path, len(answer[0]), answer[1]))


def _message(source: socket.socket, to: socket.socket) -> tuple[bytes, int] | None:
    """Pass one message on: its head, and how long its body was; None at the end."""
    held = b""
    while b"\r\n\r\n" not in held:
        try:
            part = source.recv(65536)
        except OSError:
            return None
        if not part:
            return None
        held += part
    head, _, body = held.partition(b"\r\n\r\n")
    found = LENGTH.search(b"\r\n" + head)
    length = int(found[1]) if found and head.split(b" ", 2)[1] not in BODILESS else 0
    to.sendall(held)
    left = length - len(body)
    while left > 0:
        part = source.recv(65536)
        if not part:
            return None
        to.sendall(part)
        left -= len(part)
    return head + b"\r\n\r\n", length
