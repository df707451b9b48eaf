"""How the invented patients behave: a stated, seeded model. No claim about real patients.

A slot is gone about with a chance that is drawn anew each day around the patient's level, so that
the slots of one day are alike (correlation RHO), after a delay of 1 to 25 minutes, with the dose
as told (over-doing: half as much again, or twice). A few are filled in hours later. Pain starts
at 4 and falls by one a week, give or take one; it is skipped one time in ten.
Days are course days: whole days since the operation.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from random import Random

from homeprog.domain.clock import local
from homeprog.domain.clock import to_utc as wall
from homeprog.domain.trouble import Kind as Trouble

from .people import Kind, Person

LEVEL = 0.9  # of whoever does nothing else
RHO = 0.3  # how alike the slots of one day are
FADES_FROM = 14
SILENT_FROM = 12  # one stops, and leaves the phone off
PUT_DOWN_FROM = 20  # one stops, with the phone on
PHONE_DEAD = range(14, 18)
AWAY = range(16, 22)  # in another zone
AWAY_ZONE = "America/New_York"
AT_WORK_FROM = 12  # the phone is in a locker on working days
AT_WORK = (time(8, 30), time(17, 0))
PAIN_FROM = 16
SPLINT_OFF_FROM = 10
BEDTIME = time(21, 15)
TROUBLES: dict[Kind, tuple[tuple[int, time, Trouble], ...]] = {
    "trouble": ((16, time(10, 10), "bump"), (24, time(13, 52), "snap")),
    "band_slack": ((15, time(19, 40), "band_no_longer_lifts"),),
    "reoperated": ((22, time(11, 20), "snap"),),
}  # course day, wall clock, kind
REOPERATED_ON = 23  # the course day on which that course is closed


@dataclass(frozen=True)
class Go:
    """What a patient does about one slot."""

    enters_at: datetime
    amount: int
    pain: int | None
    filled_in: bool  # entered after the slot's end, without an invented minute


def level(person: Person, day: int) -> float:
    """The patient's level on a course day: the share of slots gone about."""
    kind = person.kind
    if kind == "never_starts" or (kind == "stops" and day >= SILENT_FROM):
        return 0.0
    if kind == "puts_it_down" and day >= PUT_DOWN_FROM:
        return 0.0
    if kind == "fading":
        return max(0.25, 0.95 - 0.04 * max(0, day - FADES_FROM))
    return 0.97 if kind == "over_does" else LEVEL


def chance(person: Person, day: int) -> float:
    """The chance of one course day: a Beta draw of mean `level`, correlation RHO in the day."""
    mean = level(person, day)
    if not 0 < mean < 1:
        return mean
    spread = (1 - RHO) / RHO
    return Random(f"{person.seed}:{day}").betavariate(mean * spread, (1 - mean) * spread)


def go(
    person: Person, day: int, start: datetime, end: datetime, dose: int, zone: str, rng: Random
) -> Go | None:
    """What this patient does about the slot [start, end) of a course day, or None."""
    if rng.random() >= chance(person, day) or locked_away(person, day, start, zone):
        return None
    at, filled_in = _when(person, start, end, zone, rng)
    return Go(at, _amount(person.kind, dose, rng), _pain(person, day, rng), filled_in)


def locked_away(person: Person, day: int, at: datetime, zone: str) -> bool:
    """Whether the phone is in a locker at work, out of reach of patient and network."""
    if person.kind != "locked_away" or day < AT_WORK_FROM:
        return False
    here = local(at, zone)
    return here.weekday() < 5 and AT_WORK[0] <= here.time() < AT_WORK[1]


def _when(
    person: Person, start: datetime, end: datetime, zone: str, rng: Random
) -> tuple[datetime, bool]:
    """When it is entered, and whether that is a fill-in of a slot that has ended."""
    if person.kind == "bedtime":
        bed = wall(local(start, zone).date(), BEDTIME, zone) + timedelta(seconds=rng.random() * 900)
        return (bed, True) if bed > end else (start + timedelta(minutes=2), False)
    if rng.random() < 0.06:
        return end + timedelta(minutes=rng.uniform(60, 300)), True
    length = (end - start).total_seconds() / 60
    return start + timedelta(minutes=rng.uniform(1, min(25.0, length * 0.8))), False


def _amount(kind: Kind, dose: int, rng: Random) -> int:
    if kind == "over_does":
        return dose * 2 if rng.random() < 0.4 else dose + dose // 2
    return dose if rng.random() < 0.93 else max(1, dose // 2)


def usual_pain(person: Person, day: int) -> int:
    """The pain (0-10) of a course day, before the give or take."""
    falling = max(0.0, 4 - day / 7)
    if person.kind == "pain_rises" and day >= PAIN_FROM:
        return round(min(8.0, falling + 0.6 * (day - PAIN_FROM + 1)))
    return round(falling)


def _pain(person: Person, day: int, rng: Random) -> int | None:
    if rng.random() < 0.1:
        return None
    return max(0, min(10, usual_pain(person, day) + rng.choice((-1, 0, 0, 1))))


def splint_off(person: Person, day: int) -> bool:
    """Whether the splint was off in the night before: two nights of three."""
    return person.kind == "splint_off" and day >= SPLINT_OFF_FROM and day % 3 != 0


def troubles(person: Person, operated: date, zone: str) -> list[tuple[datetime, Trouble]]:
    """When this patient reports what."""
    return [
        (wall(operated + timedelta(days=day), at, zone), kind)
        for day, at, kind in TROUBLES.get(person.kind, ())
    ]
