"""kill -9 of the web process during uploads: everything acknowledged is there, once."""

from __future__ import annotations

import http.client
import random
import threading
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.storage.models import BoutRow

from ..house import House, Paired, paired_with_history, post, upload_of
from ..upload_cast import Raw, bout

UPLOADS = "/api/v1/phone/uploads"
CLIENTS = 3


class Outbox:
    """A phone's outbox over one connection: an item goes only when it was acknowledged."""

    def __init__(self, house: House, phone: Paired, seed: int) -> None:
        self.house, self.phone = house, phone
        self.dice = random.Random(seed)
        self.waiting: list[Raw] = []
        self.acknowledged: list[str] = []
        self.sent_again = 0

    def send_until(self, stop: threading.Event) -> None:
        """Log and send until told to stop or cut off; what was not acknowledged stays."""
        connection = self.house.connect()
        try:
            while not stop.is_set():
                self.send(connection)
        except (OSError, http.client.HTTPException):
            self.sent_again += len(self.waiting)
        finally:
            connection.close()

    def send(self, connection: http.client.HTTPConnection) -> None:
        new = [bout(self.phone.course, datetime.now(UTC)) for _ in range(self.dice.choice((1, 4)))]
        self.waiting += new
        body = upload_of(self.waiting)
        status, told = post(connection, UPLOADS, body, self.phone.headers())
        assert status == 200, told
        gone = {each["id"] for each in told["results"] if each["result"] in ("stored", "already")}
        self.acknowledged += sorted(gone)
        self.waiting = [each for each in self.waiting if each["id"] not in gone]


def kept(house: House) -> Counter[str]:
    engine = house.engine()
    with Session(engine) as db:
        counted = Counter(str(key) for key in db.scalars(select(BoutRow.id)))
    engine.dispose()
    return counted


def survives(folder: Path, kills: int) -> None:
    house = House(folder)
    house.lay()
    engine = house.engine()
    with Session(engine) as db:
        phones = [paired_with_history(db, datetime.now(UTC), 1) for _ in range(2)]
    engine.dispose()
    before = kept(house)
    outboxes = [Outbox(house, phones[n % 2], n) for n in range(CLIENTS)]
    dice = random.Random(kills)
    for _ in range(kills):
        cut_off(house, outboxes, dice.uniform(0.3, 0.9))
        told = [key for outbox in outboxes for key in outbox.acknowledged]
        assert set(told) <= set(kept(house))
    finish(house, outboxes)
    ids = [key for outbox in outboxes for key in outbox.acknowledged]
    assert len(ids) == len(set(ids))
    assert kept(house) == before + Counter(ids)
    assert sum(outbox.sent_again for outbox in outboxes) > 0  # some were cut off in the middle


def cut_off(house: House, outboxes: list[Outbox], after: float) -> None:
    """Start the server, let the phones send, and kill it `after` s."""
    house.start()
    stop = threading.Event()
    threads = [threading.Thread(target=each.send_until, args=(stop,)) for each in outboxes]
    for thread in threads:
        thread.start()
    stop.wait(after)
    house.kill()
    stop.set()
    for thread in threads:
        thread.join(30)
    assert not any(thread.is_alive() for thread in threads)


def finish(house: House, outboxes: list[Outbox]) -> None:
    """Start once more and send what still waits."""
    house.start()
    try:
        for outbox in outboxes:
            connection = house.connect()
            outbox.send(connection)
            connection.close()
            assert outbox.waiting == []
    finally:
        house.kill()


def test_what_was_acknowledged_before_each_of_3_kills_is_there_once(tmp_path: Path) -> None:
    survives(tmp_path, 3)


@pytest.mark.full
def test_what_was_acknowledged_before_each_of_30_kills_is_there_once(tmp_path: Path) -> None:
    survives(tmp_path, 30)
