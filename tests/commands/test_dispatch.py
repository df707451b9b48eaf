"""`flask vapid keys` and `flask dispatch --once`, as far as a receiver on loopback."""

import json
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import http_ece
import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from flask import Flask
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from homeprog.clock import clock
from homeprog.config import Config
from homeprog.extensions import db as extension
from homeprog.factory import create_app
from homeprog.services.actor import Actor
from homeprog.services.subscribe_phone import subscribe_phone
from tests.delivery.receiver import Service, base64url, point, running
from tests.services.prompt_cast import hourly, phone, therapist

PHONE_KEY = ec.generate_private_key(ec.SECP256R1())
SECRET = b"sixteen octets.."


@pytest.fixture
def service() -> Iterator[Service]:
    with running() as service:
        yield service


@pytest.fixture
def house(database_url: str, engine: Engine, tmp_path: Path, service: Service) -> Iterator[Flask]:
    """The app, which may send to the receiver."""
    app = create_app(
        Config(
            mode="test", instance=tmp_path / "instance", secret_key="s" * 40,
            database_url=database_url, origin="http://localhost",
            push_extra_origins=(service.origin,),
        )
    )  # fmt: skip
    with app.app_context():
        yield app
        extension.session.remove()
        extension.engine.dispose()


def subscribed(house: Flask, db: Session, service: Service) -> None:
    """A phone that has just subscribed, whose test reminder is due."""
    now = clock().real() - timedelta(minutes=1)
    course = hourly(db, therapist(db, now - timedelta(days=2)), now=now - timedelta(days=2))
    device = phone(db, course, endpoint="")
    subscribe_phone(
        db, Actor(device.clinic_id, "device", device.id), f"{service.origin}/phone/1",
        point(PHONE_KEY), base64url(SECRET), now, (service.origin,),
    )  # fmt: skip
    db.commit()


def test_keys_are_made_once_and_a_due_reminder_reaches_the_phone(
    house: Flask, db: Session, service: Service
) -> None:
    runner = house.test_cli_runner()
    first, again = runner.invoke(args=["vapid", "keys"]), runner.invoke(args=["vapid", "keys"])
    assert first.output.startswith("Made the key pair.")
    assert again.output.splitlines()[1] == first.output.splitlines()[1]
    subscribed(house, db, service)
    for _ in range(2):
        assert runner.invoke(args=["dispatch", "--once"]).exit_code == 0
    tests = [body for _, _, body in service.came if b"test" in opened(body)]
    assert len(tests) == 1
    assert json.loads(opened(tests[0]))["notification"]["title"] == "Homeprog"


def opened(body: bytes) -> bytes:
    return bytes(
        http_ece.decrypt(body, private_key=PHONE_KEY, auth_secret=SECRET, version="aes128gcm")
    )


def test_without_keys_dispatch_says_so_and_sends_nothing(
    house: Flask, db: Session, service: Service
) -> None:
    subscribed(house, db, service)
    done = house.test_cli_runner().invoke(args=["dispatch", "--once"])
    assert (done.exit_code, service.came) == (0, [])
    assert "No VAPID keys" in done.output
