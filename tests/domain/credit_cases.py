"""Slots and bouts of one invented day that the tests of credit and adherence share."""

from datetime import UTC, date, datetime, timedelta

from homeprog.domain.bout import Bout
from homeprog.domain.regime.dose import Dose
from homeprog.domain.timetable import Slot

DAY = date(2026, 3, 11)


def at(clock: str, day: int = 11) -> datetime:
    """An instant of March 2026, from 'HH:MM' or 'HH:MM:SS' in UTC."""
    hour, minute, *second = (int(part) for part in clock.split(":"))
    return datetime(2026, 3, day, hour, minute, *second, tzinfo=UTC)


EVENING = at("23:59")


def slot(start="09:00", end="10:00", dose=10, exercise="bend", day=11) -> Slot:
    return Slot(exercise, "motion", 1, at(start, day), at(end, day), date(2026, 3, day), Dose(dose))


def hours(first=9, count=3, dose=10, exercise="bend", day=11) -> list[Slot]:
    """Hourly slots."""
    return [
        slot(f"{h:02}:00", f"{h + 1:02}:00", dose, exercise, day)
        for h in range(first, first + count)
    ]


def bout(name, done, amount=10, entered=None, device="phone", day=11, **more) -> Bout:
    """A bout done, entered and received at once unless said otherwise."""
    done_at = at(done, day)
    entered_at = at(entered, day) if entered else done_at
    values = {"exercise": "bend", "received_at": entered_at, **more}
    return Bout(name, device, amount=amount, done_at=done_at, entered_at=entered_at, **values)


def fill_in(name, slot_start, entered, amount=10, device="phone", day=11, **more) -> Bout:
    entered_at = at(entered, day)
    values = {"exercise": "bend", "received_at": entered_at, **more}
    return Bout(
        name,
        device,
        amount=amount,
        done_at=None,
        entered_at=entered_at,
        slot_start=at(slot_start, day),
        **values,
    )


MINUTE = timedelta(minutes=1)
