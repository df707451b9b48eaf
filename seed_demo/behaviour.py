"""How the invented patients behave: a stated, seeded model. No claim about real patients.

A slot is gone about with the chance of `chance`, after a delay of 1 to 25 minutes, with the dose
as told (over-doing: half as much again, or twice). A few are filled in hours later. Pain starts
at 4 and falls by one a week, give or take one; it is skipped one time in ten.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from random import Random

from homeprog.domain.trouble import Kind as Trouble

from .people import Kind

SILENT_FROM = 17  # load day on which one stops suddenly
PHONE_DEAD = range(20, 24)  # load days without a charged phone
AWAY = range(19, 25)  # load days in another zone
AWAY_ZONE = "America/New_York"
TROUBLES: tuple[tuple[int, float, Trouble], ...] = (
    (20, 20, "bump"),
    (27, 23.7, "snap"),
)  # load day, hours after its start, kind


def troubles(began: datetime) -> list[tuple[datetime, Trouble]]:
    """When the one in trouble reports what."""
    return [(began + timedelta(days=day, hours=hours), kind) for day, hours, kind in TROUBLES]


@dataclass(frozen=True)
class Go:
    """What a patient does about one slot."""

    enters_at: datetime
    amount: int
    pain: int | None
    filled_in: bool  # entered after the slot's end, without an invented minute


def chance(kind: Kind, load_day: int) -> float:
    """The chance that a slot is gone about, on this day of the load."""
    if kind == "fading":
        return max(0.25, 0.95 - 0.04 * max(0, load_day - 10))
    if kind == "stops":
        return 0.92 if load_day < SILENT_FROM else 0.0
    if kind == "over_does":
        return 0.97
    return 0.9


def go(
    kind: Kind, load_day: int, start: datetime, end: datetime, dose: int, rng: Random
) -> Go | None:
    """What this patient does about the slot [start, end), or None."""
    if rng.random() >= chance(kind, load_day):
        return None
    length = (end - start).total_seconds() / 60
    delay = rng.uniform(1, min(25.0, length * 0.8))
    filled_in = rng.random() < 0.06
    at = (
        end + timedelta(minutes=rng.uniform(60, 300))
        if filled_in
        else (start + timedelta(minutes=delay))
    )
    return Go(at, _amount(kind, dose, rng), _pain(load_day, rng), filled_in)


def _amount(kind: Kind, dose: int, rng: Random) -> int:
    if kind == "over_does":
        return dose * 2 if rng.random() < 0.4 else dose + dose // 2
    return dose if rng.random() < 0.93 else max(1, dose // 2)


def _pain(load_day: int, rng: Random) -> int | None:
    if rng.random() < 0.1:
        return None
    return max(0, min(10, round(4 - load_day / 7) + rng.choice((-1, 0, 0, 1))))
