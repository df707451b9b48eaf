"""`make demo`: keys, migration, web, the demo clinic, the dispatcher; Ctrl-C stops all."""

from __future__ import annotations

import argparse
import os
import secrets
import signal
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

from flask import Flask

from homeprog.config import read_config
from homeprog.extensions import db as extension
from homeprog.factory import create_app

from .demo_time import note_seen, real_now

ROOT = Path(__file__).resolve().parent.parent
FLASK = [sys.executable, "-m", "flask", "--app", "app"]
HEARTBEAT_S = 5


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--port", type=int, default=8000)
    port = parser.parse_args().port
    os.chdir(ROOT)
    environ = demo_environ(Path(os.environ.get("HOMEPROG_INSTANCE", ROOT / "instance")), port)
    prepare(environ)
    running = Path(environ["HOMEPROG_INSTANCE"]) / "demo.running"
    running.write_text(str(os.getpid()))
    children = [start_web(environ, port)]
    try:
        return look_after(children, environ, port)
    except KeyboardInterrupt:
        return 0
    finally:
        stop(children)
        running.unlink(missing_ok=True)
        print("\nStopped. The demo's clock stands still until the next start.")


def demo_environ(instance: Path, port: int) -> dict[str, str]:
    """The environment of the demo: its own database, secret and loopback origin."""
    instance.mkdir(parents=True, exist_ok=True)
    secret = instance / "secret_key"
    if not secret.exists():
        secret.touch(mode=0o600)
        secret.write_text(secrets.token_urlsafe(48))
    return {
        **os.environ,
        "HOMEPROG_MODE": "demo",
        "HOMEPROG_INSTANCE": str(instance),
        "HOMEPROG_DATABASE_URL": "",  # never a real clinic's database
        "HOMEPROG_SECRET_KEY": secret.read_text().strip(),
        "HOMEPROG_ORIGIN": f"http://localhost:{port}",
        "HOMEPROG_VAPID_SUBJECT": os.environ.get(
            "HOMEPROG_VAPID_SUBJECT", "mailto:demo@homeprog.example"
        ),
    }


def flask(environ: dict[str, str], *words: str, check: bool = True) -> int:
    done = subprocess.run([*FLASK, *words], env=environ, check=False)
    if check and done.returncode:
        raise SystemExit(f"'flask {' '.join(words)}' failed; nothing else was started.")
    return done.returncode


def prepare(environ: dict[str, str]) -> None:
    """A load that was cut short starts again from nothing."""
    instance = Path(environ["HOMEPROG_INSTANCE"])
    if not (instance / "demo.loaded").exists():
        (instance / "demo.clock").unlink(missing_ok=True)
        for left_over in instance.glob("demo.sqlite3*"):
            left_over.unlink()
    flask(environ, "vapid", "keys")
    subprocess.run([*FLASK, "db", "upgrade"], env=environ, check=True, stderr=subprocess.DEVNULL)


def start_web(environ: dict[str, str], port: int) -> subprocess.Popen[bytes]:
    web = subprocess.Popen(
        [
            sys.executable,
            *("-m", "gunicorn", "app:app", "--workers", "1", "--threads", "8"),
            *("--bind", f"127.0.0.1:{port}", "--bind", f"[::1]:{port}"),
            *("--log-level", "warning"),
        ],
        env=environ,
        start_new_session=True,
    )
    wait_until_it_answers(web, port)
    print(f"Homeprog answers on http://localhost:{port}", flush=True)
    return web


def wait_until_it_answers(web: subprocess.Popen[bytes], port: int) -> None:
    for _ in range(200):
        if web.poll() is not None:
            raise SystemExit(
                f"The web process did not start. Is port {port} taken? Try: make demo PORT=8123"
            )
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/readyz", timeout=2):
                return
        except OSError:
            time.sleep(0.1)
    raise SystemExit("The web process did not answer within 20 s.")


def look_after(children: list[subprocess.Popen[bytes]], environ: dict[str, str], port: int) -> int:
    """Load if need be, start the dispatcher, then keep the clock's last instant until stopped."""
    instance = Path(environ["HOMEPROG_INSTANCE"])
    if (instance / "demo.loaded").exists():
        flask(environ, "demo", "started")
    else:
        flask(environ, "demo", "load")
    children.append(subprocess.Popen([*FLASK, "dispatch"], env=environ, start_new_session=True))
    flask(environ, "demo", "welcome", "--port", str(port))
    app = create_app(read_config(environ))
    try:
        while all(child.poll() is None for child in children):
            keep_time(app)
            time.sleep(HEARTBEAT_S)
    finally:
        keep_time(app)
    return 1


def keep_time(app: Flask) -> None:
    """Keep the instant that the demo's clock shows, for the next start."""
    with app.app_context():
        note_seen(extension.session(), app.config["HOMEPROG"].instance / "demo.clock", real_now())


def stop(children: list[subprocess.Popen[bytes]]) -> None:
    for child in children:
        if child.poll() is None:
            os.killpg(child.pid, signal.SIGTERM)
    for child in children:
        try:
            child.wait(10)
        except subprocess.TimeoutExpired:
            os.killpg(child.pid, signal.SIGKILL)


if __name__ == "__main__":
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    sys.exit(main())
