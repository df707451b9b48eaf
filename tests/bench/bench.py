"""`make bench`: uploads against a bare route, a rebuild against a SELECT, growth with history,
patients, the caseload, pictures, and the patient's app in a browser.

Prints `name value unit target`; exit 1 on a miss. Each figure is a ratio of two measurements of
the same run on the same machine, taken in turns, so that the machine itself falls out.
`--whole` rebuilds 1,000 patients instead of 100.
"""

from __future__ import annotations

import sys
import tempfile
import time
import uuid
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from statistics import median
from typing import Any

from sqlalchemy.orm import Session

from homeprog.jobs import run_minute
from homeprog.storage.models import Device

from ..house import House, Paired, paired_with_history, post, served, upload_of
from ..upload_cast import bout, upload
from .caseload import caseload_figures
from .figures import drawing_figures
from .phone import app_figures
from .rebuilding import rebuild_figures

ROUNDS = 3
CLIENTS = 4
SINGLES, SIXTEENS, PAIRS = 96, 32, 40  # calls in a round
PHONES = 16  # as in a clinic, no single day takes them all
REBUILT, WHOLE = 100, 1000  # patients

Call = tuple[Any, dict[str, str]]  # body, headers


@dataclass(frozen=True)
class Figure:
    name: str
    value: float
    unit: str
    target: float
    least: bool  # the target is the least allowed, otherwise the most

    @property
    def met(self) -> bool:
        return self.value >= self.target if self.least else self.value <= self.target

    def line(self) -> str:
        sign = ">=" if self.least else "<="
        miss = "" if self.met else "  MISSED"
        return f"{self.name} {self.value:.3f} {self.unit} {sign}{self.target:g}{miss}"


def rate(house: House, path: str, calls: Sequence[Call]) -> float:
    """Calls a second from CLIENTS clients at once, each over a kept connection."""

    def client(share: Sequence[Call]) -> None:
        connection = house.connect()
        for body, headers in share:
            status, told = post(connection, path, body, headers)
            assert status == 200, (status, told)
            assert all(each["result"] == "stored" for each in told.get("results", ()))
        connection.close()

    begun = time.perf_counter()
    with ThreadPoolExecutor(CLIENTS) as clients:
        list(clients.map(client, [calls[n::CLIENTS] for n in range(CLIENTS)]))
    return len(calls) / (time.perf_counter() - begun)


def uploads(phones: Sequence[Paired], size: int, count: int) -> list[Call]:
    """Uploads of so many bouts from one phone after the other, a bout an hour up to now."""
    now = datetime.now(UTC)
    made = []
    for number in range(count):
        phone = phones[number % len(phones)]
        bouts = [bout(phone.course, now - timedelta(hours=hour)) for hour in range(size)]
        made.append((upload_of(bouts), phone.headers()))
    return made


def against_bare(
    house: House, bare: House, phones: Sequence[Paired], size: int, count: int
) -> float:
    """Median over rounds of our rate over the bare route's, for uploads of `size` bouts."""
    ratios = []
    for _ in range(ROUNDS):
        calls = uploads(phones, size, count)
        theirs, ours = rate(bare, "/rows", calls), rate(house, "/api/v1/phone/uploads", calls)
        print(f"# {size} a call: {ours:.0f} /s, bare {theirs:.0f} /s", file=sys.stderr)
        ratios.append(ours / theirs)
    return median(ratios)


def with_history(house: House, long: Paired, short: Paired) -> float:
    """How much longer one log takes with 84 days of history than with 8, medians of a stream."""
    connection = house.connect()
    taken: dict[str, list[float]] = {long.token: [], short.token: []}
    for _ in range(PAIRS):
        for phone in (long, short):
            body = upload_of([bout(phone.course, datetime.now(UTC), id=str(uuid.uuid4()))])
            begun = time.perf_counter()
            status, told = post(connection, "/api/v1/phone/uploads", body, phone.headers())
            taken[phone.token].append(time.perf_counter() - begun)
            assert status == 200, told
    connection.close()
    return median(taken[long.token]) / median(taken[short.token])


def whole_effect(db: Session, long: Paired, short: Paired) -> float:
    """The same of one log and the minute's jobs after it: days, alerts, the caseload's line."""
    taken: dict[str, list[float]] = {long.token: [], short.token: []}
    now = datetime.now(UTC)
    run_minute(db, now)
    for _ in range(PAIRS):
        for phone in (long, short):
            now += timedelta(seconds=2)
            device = db.get_one(Device, phone.device)
            begun = time.perf_counter()
            upload(db, device, [bout(phone.course, now)], now)
            run_minute(db, now + timedelta(seconds=1))
            taken[phone.token].append(time.perf_counter() - begun)
    return median(taken[long.token]) / median(taken[short.token])


def phone_figures(folder: Path) -> Iterator[Figure]:
    house, bare = House(folder), House(folder, "tests.bench.bare:app")
    house.lay()
    now, engine = datetime.now(UTC), house.engine()
    with Session(engine) as db:
        short, long = (paired_with_history(db, now, days) for days in (8, 84))
        effect = whole_effect(db, long, short)
        phones = [paired_with_history(db, now, 8) for _ in range(PHONES)]
    engine.dispose()
    yield Figure("log_with_the_minute_after_it_84_over_8_days", effect, "ratio", 1.2, False)
    with served(house), served(bare):
        yield Figure(
            "history_84_over_8_days", with_history(house, long, short), "ratio", 1.2, False
        )
        single = against_bare(house, bare, phones, 1, SINGLES)
        yield Figure("upload_of_1_over_bare", single, "ratio", 0.20, True)
        sixteen = against_bare(house, bare, phones, 16, SIXTEENS)
        yield Figure("upload_of_16_over_bare", sixteen, "ratio", 0.30, True)


def main() -> int:
    missed = 0
    with tempfile.TemporaryDirectory() as folder:
        for figure in phone_figures(Path(folder)):
            print(figure.line(), flush=True)
            missed += not figure.met
    patients = WHOLE if "--whole" in sys.argv else REBUILT
    rebuilt = partial(rebuild_figures, patients=patients)
    for figures in (rebuilt, caseload_figures, drawing_figures, app_figures):
        with tempfile.TemporaryDirectory() as folder:
            for name, value, unit, target in figures(Path(folder)):
                figure = Figure(name, value, unit, target, False)
                print(figure.line(), flush=True)
                missed += not figure.met
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
