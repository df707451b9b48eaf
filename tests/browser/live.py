"""A live Homeprog for the browser: gunicorn on a free port, its own instance and clock."""

from __future__ import annotations

import atexit
import os
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from pathlib import Path

from sqlalchemy import Engine, create_engine
from sqlalchemy.orm import Session

from homeprog.jobs import run_minute
from homeprog.storage.demo_clock import demo_offset
from homeprog.storage.engine import READS_ONLY, set_up
from seed_demo.demo_time import set_demo_now

ROOT = Path(__file__).resolve().parents[2]
STARTS_WITHIN_S = ENDS_WITHIN_S = 60
PATIENCE_MS = 20_000  # for what a page does on a busy machine; alone it takes a fraction of it


@dataclass
class Live:
    """A running server."""

    origin: str
    environ: dict[str, str]
    engine: Engine

    @contextmanager
    def db(self) -> Iterator[Session]:
        """The server's database; committed when the block ends."""
        with Session(self.engine) as session, session.begin():
            yield session

    @contextmanager
    def reads(self) -> Iterator[Session]:
        """The server's database, to look at while it writes."""
        with self.engine.connect().execution_options(**{READS_ONLY: True}) as connection:
            yield Session(connection)

    def flask(self, *words: str) -> str:
        """Run `flask --app app ...` beside the server; its output."""
        return run_flask(self.environ, *words)

    def now(self) -> datetime:
        """What the server's clock shows."""
        with self.reads() as session:
            return datetime.now(UTC) + demo_offset(session)

    def tick(self) -> None:
        """The jobs of a minute, as `flask dispatch` runs them beside the server."""
        now = self.now()
        with Session(self.engine) as session:
            run_minute(session, now)

    def set_now(self, instant: datetime) -> None:
        """Move the server's clock; it goes on from there."""
        with self.db() as session:
            set_demo_now(session, instant, datetime.now(UTC))


def run_flask(environ: dict[str, str], *words: str) -> str:
    """The output of `flask --app app ...`. Fails with what it said."""
    command = [sys.executable, "-m", "flask", "--app", "app", *words]
    done = subprocess.run(
        command, env=environ, cwd=ROOT, capture_output=True, text=True, timeout=300
    )
    said = done.stdout + done.stderr
    assert done.returncode == 0, f"flask {' '.join(words)} ended with {done.returncode}:\n{said}"
    return done.stdout


@contextmanager
def running(instance: Path, push_origin: str = "") -> Iterator[Live]:
    """A server on an empty, migrated database, with VAPID keys; stopped when the block ends."""
    shutil.copytree(_migrated(), instance, dirs_exist_ok=True)
    doors = _doors()
    port = doors[0].getsockname()[1]
    environ = _environ(instance, f"http://localhost:{port}", push_origin)
    engine = create_engine(environ["HOMEPROG_DATABASE_URL"])
    set_up(engine)
    live = Live(environ["HOMEPROG_ORIGIN"], environ, engine)
    web = _start(environ, doors, instance / "web.log")
    try:
        _wait(web, port, instance / "web.log")
        yield live
    finally:
        os.killpg(web.pid, signal.SIGTERM)
        web.wait(ENDS_WITHIN_S)
        engine.dispose()


def _environ(instance: Path, origin: str, push_origin: str = "") -> dict[str, str]:
    return os.environ | {
        "HOMEPROG_MODE": "test",
        "HOMEPROG_INSTANCE": str(instance),
        "HOMEPROG_DATABASE_URL": f"sqlite:///{instance / 'live.sqlite3'}",
        "HOMEPROG_SECRET_KEY": "browser-" * 6,
        "HOMEPROG_ORIGIN": origin,
        "HOMEPROG_VAPID_SUBJECT": "mailto:ops@clinic.example",
        "HOMEPROG_PUSH_EXTRA_ORIGINS": push_origin,
    }


@lru_cache(maxsize=1)
def _migrated() -> Path:
    """An instance with a migrated, empty database and VAPID keys, made once and copied after."""
    instance = Path(tempfile.mkdtemp(prefix="homeprog-"))
    atexit.register(shutil.rmtree, instance)
    environ = _environ(instance, "http://localhost")
    run_flask(environ, "db", "upgrade")
    run_flask(environ, "vapid", "keys")
    return instance


def _doors() -> list[socket.socket]:
    """One free port on both loopback addresses, because the browser picks one for `localhost`.

    Held from here on: of a port only looked up, another test's process might be the first.
    """
    four = socket.create_server(("127.0.0.1", 0))
    if not socket.has_ipv6:
        return [four]
    return [four, socket.create_server(("::1", four.getsockname()[1]), family=socket.AF_INET6)]


def _start(
    environ: dict[str, str], doors: list[socket.socket], log: Path
) -> subprocess.Popen[bytes]:
    fds = [door.fileno() for door in doors]
    command = [sys.executable, "-m", "gunicorn", "app:app", "--workers", "1", "--threads", "8"]
    with log.open("wb") as out:
        web = subprocess.Popen(
            [*command, *(f"--bind=fd://{fd}" for fd in fds), "--log-level=info", "--timeout=300"],
            env=environ, cwd=ROOT, stdout=out, stderr=out, start_new_session=True, pass_fds=fds,
        )  # fmt: skip
    for door in doors:
        door.close()
    return web


def _wait(web: subprocess.Popen[bytes], port: int, log: Path) -> None:
    deadline = time.monotonic() + STARTS_WITHIN_S
    while time.monotonic() < deadline and web.poll() is None:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/healthz", timeout=2):
                return
        except OSError:
            time.sleep(0.1)
    raise AssertionError(f"The web process does not answer:\n{log.read_text()[-4000:]}")
