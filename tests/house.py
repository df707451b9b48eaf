"""A real server on 127.0.0.1 over a database of its own, for benchmarks and for being killed."""

from __future__ import annotations

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import time
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, create_engine
from sqlalchemy.orm import Session

from homeprog.services.pair_phone import csrf_for, hashed
from homeprog.storage.engine import set_up
from homeprog.storage.models import Course, Device

from . import cast
from .regime_cast import on_regime
from .upload_cast import Raw, bout, send

ROOT = Path(__file__).resolve().parent.parent
SECRET = "s" * 40
PATIENCE = 30.0  # s until a server answers


@dataclass(frozen=True)
class Paired:
    """A paired phone, as the one who holds it knows it."""

    course: uuid.UUID
    device: uuid.UUID
    token: str

    def headers(self) -> dict[str, str]:
        return {
            "Content-Type": "application/json",
            "Cookie": f"__Host-homeprog={self.token}",
            "X-CSRF-Token": csrf_for(hashed(self.token), SECRET),
        }


class House:
    """Production settings over SQLite in a folder; `app` names what gunicorn serves."""

    def __init__(self, folder: Path, app: str = "app:app") -> None:
        self.folder, self.app = folder, app
        self.database = folder / "homeprog.sqlite3"
        self.log = folder / f"{app.partition(':')[0]}.log"
        self.port = free_port()
        self.process: subprocess.Popen[bytes] | None = None

    def env(self) -> dict[str, str]:
        return os.environ | {
            "HOMEPROG_MODE": "production",
            "HOMEPROG_INSTANCE": str(self.folder),
            "HOMEPROG_SECRET_KEY": SECRET,
            "HOMEPROG_ORIGIN": f"https://127.0.0.1:{self.port}",
            "HOMEPROG_VAPID_SUBJECT": "mailto:ops@clinic.example",
            "HOMEPROG_DATABASE_URL": "",
        }

    def lay(self) -> None:
        """The schema, by the migrations."""
        flask = [sys.executable, "-m", "flask", "--app", "app", "db", "upgrade"]
        done = subprocess.run(flask, cwd=ROOT, env=self.env(), capture_output=True, text=True)
        if done.returncode:
            raise RuntimeError(f"the schema was not laid: {done.stderr[-1000:]}")

    def engine(self) -> Engine:
        engine = create_engine(f"sqlite:///{self.database}")
        set_up(engine)
        return engine

    def start(self, *options: str) -> None:
        command = [
            *(sys.executable, "-m", "gunicorn", self.app, "--workers", "1", "--threads", "8"),
            *("--bind", f"127.0.0.1:{self.port}", "--log-level", "warning", *options),
        ]
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(
                command, cwd=ROOT, env=self.env(), start_new_session=True,
                stdout=subprocess.DEVNULL, stderr=log,
            )  # fmt: skip
        self.wait()

    def wait(self) -> None:
        """Until it answers; RuntimeError if it does not within PATIENCE."""
        until = time.monotonic() + PATIENCE
        while time.monotonic() < until:
            try:
                with socket.create_connection(("127.0.0.1", self.port), 0.2):
                    self.call("GET", "/healthz")
                    return
            except OSError:
                time.sleep(0.05)
        self.kill()
        said = self.log.read_text()[-2000:]
        raise RuntimeError(f"{self.app} did not answer within {PATIENCE} s: {said}")

    def kill(self) -> None:
        """SIGKILL for the server and its workers: no time to finish anything."""
        if self.process is not None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
            self.process = None

    def connect(self) -> http.client.HTTPConnection:
        return http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)

    def call(self, method: str, path: str, headers: dict[str, str] | None = None) -> int:
        connection = self.connect()
        try:
            connection.request(method, path, headers=headers or {})
            answer = connection.getresponse()
            answer.read()
            return answer.status
        except http.client.HTTPException as error:
            raise OSError from error
        finally:
            connection.close()


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def served(house: House) -> Iterator[House]:
    house.start()
    try:
        yield house
    finally:
        house.kill()


def post(
    connection: http.client.HTTPConnection, path: str, body: Any, headers: dict[str, str]
) -> tuple[int, Any]:
    """One call over a connection that is kept; status and JSON."""
    connection.request("POST", path, json.dumps(body), headers)
    answer = connection.getresponse()
    text = answer.read()
    return answer.status, json.loads(text) if text else None


def upload_of(items: list[Raw], left: int = 0) -> dict[str, Any]:
    return {"outbox_left_after": left, "plan_version": None, "items": items}


def paired_with_history(db: Session, now: datetime, days: int) -> Paired:
    """A phone on its patient's course, opened `days` ago, fifteen bouts logged on each day."""
    opened = (now - timedelta(days=days)).replace(minute=0, second=0, microsecond=0)
    course = on_regime(db, opened).course
    device = cast.phone(db, course, opened)
    token = uuid.uuid4().hex
    device.token_hash = hashed(token)
    db.commit()
    for day in range(days):
        _log_day(db, course, device, opened + timedelta(days=day), now)
    return Paired(course.id, device.id, token)


def _log_day(db: Session, course: Course, device: Device, begun: datetime, now: datetime) -> None:
    times = [begun + timedelta(hours=hour, minutes=20) for hour in range(23)]
    awake = [at for at in times if 7 <= at.hour < 22 and at < now]
    if awake:
        send(db, device, [bout(course, at) for at in awake], min(now, begun + timedelta(days=1)))
