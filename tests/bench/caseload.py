"""The caseload page with 2,000 open courses over one with 200, by inserted rows."""

from __future__ import annotations

import time
import uuid
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from statistics import median
from typing import Any

from sqlalchemy import event, insert
from sqlalchemy.orm import Session

from homeprog.config import read_config
from homeprog.extensions import db as extension
from homeprog.factory import create_app
from homeprog.services.refresh_line import refresh_line
from homeprog.services.sign_in import sign_in
from homeprog.storage.models import (
    Alert,
    CaseloadLine,
    Contact,
    ContactMarkRow,
    Course,
    Device,
    Identifier,
    Patient,
    Staff,
)

from .. import cast
from ..house import House, served

FEW, MANY = 200, 2000
PAGES = 40  # of each, in turns
MARKS = 20  # words from each phone
COOKIE = "__Host-homeprog-staff"


def caseload_figures(folder: Path) -> Iterator[tuple[str, float, str, float]]:
    """(name, value, unit, most allowed)."""
    house = House(folder)
    house.lay()
    engine = house.engine()
    with Session(engine) as db:
        few, many = (a_clinic_with(db, count) for count in (FEW, MANY))
        db.commit()
    engine.dispose()
    with served(house):
        yield "caseload_2000_over_200", slower(house, many, few), "ratio", 1.5
    asked = [queries(house, token) for token in (few, many)]
    yield "caseload_queries_at_2000", asked[1], "queries", 10
    yield "caseload_queries_more_at_2000_than_at_200", asked[1] - asked[0], "queries", 0


def slower(house: House, many: str, few: str) -> float:
    """Median time of the one page over that of the other, asked for in turns."""
    taken: dict[str, list[float]] = {many: [], few: []}
    for _ in range(PAGES):
        for token in (many, few):
            begun = time.perf_counter()
            status = house.call("GET", "/caseload", {"Cookie": f"{COOKIE}={token}"})
            taken[token].append(time.perf_counter() - begun)
            assert status == 200, status
    return median(taken[many]) / median(taken[few])


def queries(house: House, token: str) -> int:
    """Statements that one page asks of the database, counted within this process."""
    app = create_app(read_config(house.env()))
    client = app.test_client()
    client.set_cookie(COOKIE, token, domain="127.0.0.1", secure=True)
    asked: list[str] = []

    def count(*given: Any) -> None:
        asked.append(given[2])

    with app.app_context():
        event.listen(extension.engine, "before_cursor_execute", count)
    answer = client.get("/caseload", base_url=f"https://127.0.0.1:{house.port}")
    assert answer.status_code == 200, answer.status
    return sum(each.startswith("SELECT") for each in asked)


def a_clinic_with(db: Session, count: int) -> str:
    """A clinic of so many open courses; the cookie of a therapist signed in there."""
    now = datetime.now(UTC)
    opened = now - timedelta(days=8)
    where = cast.clinic(db, opened, f"Clinic of {count}")
    who: Staff = cast.staff(db, where, opened)
    line = refresh_line(db, cast.confirmed(db, who, opened, number=f"FIRST {count}"), now)
    for number in range(count - 1):
        _copy(db, line, number, now)
    _, token = sign_in(db, who.sign_in, cast.PASSWORD, now)
    return token


def _copy(db: Session, line: CaseloadLine, number: int, now: datetime) -> None:
    """One more patient with phone, course and line; every tenth has an alert."""
    patient, course, device = uuid.uuid4(), uuid.uuid4(), uuid.uuid4()
    own = {"clinic_id": line.clinic_id, "at": line.at}
    theirs = own | {"patient_id": patient}
    rows: list[tuple[Any, dict[str, Any]]] = [
        (Patient, own | {"id": patient, "name": f"Invented {number}", "born": date(1970, 1, 1)}),
        (Identifier, theirs | {"kind": "hospital", "value": f"SH {number}"}),
        (Contact, theirs | {"whose": "patient", "tel": "07700 900123"}),
        (Device, theirs | {"id": device, "token_hash": device.bytes}),
        (Course, theirs | {"id": course, "day_zero": date(2026, 1, 1)}),
        (
            CaseloadLine,
            own | {
                "course_id": course, "as_of": now, "rank": line.rank + number,
                "group": line.group, "next_at": line.next_at, "figures": line.figures,
            },
        ),
    ]  # fmt: skip
    if number % 10 == 0:
        rows.append((Alert, own | _alert(course, now)))
    for model, row in rows:
        db.execute(insert(model), row)
    db.execute(insert(ContactMarkRow), [_mark(own, device, n, now) for n in range(MARKS)])


def _alert(course: uuid.UUID, now: datetime) -> dict[str, Any]:
    return {
        "course_id": course, "kind": "trouble", "level": "today", "state": "open",
        "rule": "trouble", "rule_version": 1, "clock_starts": now,
        "figures": {"trouble": "bump", "stop": False, "entered_at": now.isoformat()},
    }  # fmt: skip


def _mark(own: dict[str, Any], device: uuid.UUID, number: int, now: datetime) -> dict[str, Any]:
    at = now - timedelta(minutes=number)
    return own | {"device_id": device, "at": at, "kind": "ping", "outbox_empty": True}
