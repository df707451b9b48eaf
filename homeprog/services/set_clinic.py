"""Set a clinic's numbers, hours, closing days, duty, waking hours and settings."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from datetime import date, datetime, time

from sqlalchemy.orm import Session

from ..domain.errors import Invalid
from ..domain.hours import NumberHours, WeekHours
from ..domain.settings import contradictions
from ..storage import clinics
from ..storage import staff as stored
from ..storage.models import Clinic, ClinicHours, ClinicSetting, ClosingDay, Duty, Number
from ..storage.rules import bear_on_days
from ..storage.summaries import touch_clinic
from .actor import Actor
from .clinic_file import NOBODY, ClinicFile, Line, read_clinic_file

ALL_WEEK = [WeekHours(weekday, time(0), time(0)) for weekday in range(7)]


def set_clinic(db: Session, by: Actor, given: object, now: datetime) -> list[str]:
    """Set what the file names, each part as a whole; says what was set.

    Invalid with a message per fault, and then nothing is set.
    """
    read = read_clinic_file(given)
    _refuse_contradictions(db, by, read, now)
    duty = _duty(db, by, read.duty, now)
    done = []
    if read.numbers is not None or read.emergency is not None:
        _set_numbers(db, by, read, now)
        done.append("numbers")
    for name, lines, row in (("hours", read.hours, ClinicHours), ("duty", duty, Duty)):
        if lines is not None:
            _set_week(db, by, row, lines, now)
            done.append(name)
    if read.closing_days is not None:
        _set_closing_days(db, by, read.closing_days, now)
        done.append("closing days")
    for key, value in read.settings.items():
        db.add(
            ClinicSetting(
                clinic_id=by.clinic_id, at=now, key=key, value={"is": value}, valid_from=now,
                by_id=by.id,
            )
        )  # fmt: skip
        done.append(key)
    db.flush()
    if bear_on_days(read.settings):
        touch_clinic(db, by.clinic_id, now)
    return done


def _refuse_contradictions(db: Session, by: Actor, read: ClinicFile, now: datetime) -> None:
    """Settings that cannot be meant together, what stays as it is among them."""
    together = {**clinics.settings(db, by.clinic_id, now), **read.settings}
    faults = contradictions(together, read.settings)
    if faults:
        fields = {f"settings.{key}": [message] for key, message in faults.items()}
        raise Invalid("clinic_file", "The file was not used.", fields)


def _duty(
    db: Session, by: Actor, lines: Sequence[Line] | None, now: datetime
) -> list[tuple[WeekHours, dict[str, object]]] | None:
    """Duty lines with staff ids in place of sign-ins; 'nobody' is None."""
    if lines is None:
        return None
    known: dict[str, uuid.UUID | None] = {NOBODY: None}
    known |= {s.sign_in: s.id for s in stored.watchers(db, by.clinic_id, now)}
    strangers = sorted({line.said["who"] for line in lines} - known.keys())
    if strangers:
        may = "that may take up alerts (a clinician, therapist or manager)"
        words = [
            f"{who!r} is not a sign-in of this clinic {may}, nor 'nobody'." for who in strangers
        ]
        raise Invalid("clinic_file", "The file was not used.", {"duty": words})
    if not lines:  # an emptied list is a rota too: without rows the one before would stay
        return [(hours, {"staff_id": None}) for hours in ALL_WEEK]
    return [(line.hours, {"staff_id": known[line.said["who"]]}) for line in lines]


def _set_numbers(db: Session, by: Actor, read: ClinicFile, now: datetime) -> None:
    """The set is replaced as a whole: what the file leaves out is carried over."""
    kept = clinics.numbers(db, by.clinic_id, now)
    emergency = clinics.emergency(db, by.clinic_id, now)
    if read.emergency is not None:
        emergency = (read.emergency["label"], read.emergency["tel"])
    if read.numbers is not None:
        kept = [_number_hours(line) for line in read.numbers]
    week: list[tuple[WeekHours, dict[str, object]]] = [
        (h, {"label": h.label, "tel": h.tel, "kind": "clinic"}) for h in kept
    ]
    if emergency is not None:
        label, tel = emergency
        week += [(h, {"label": label, "tel": tel, "kind": "emergency"}) for h in ALL_WEEK]
    _set_week(db, by, Number, week, now)


def _number_hours(line: Line) -> NumberHours:
    h = line.hours
    return NumberHours(h.weekday, h.opens, h.closes, line.said["label"], line.said["tel"])


def _set_week(
    db: Session,
    by: Actor,
    row: type[Number] | type[ClinicHours] | type[Duty],
    week: Sequence[Line] | Sequence[tuple[WeekHours, dict[str, object]]],
    now: datetime,
) -> None:
    set_id = uuid.uuid4()
    for each in week:
        hours, more = (each.hours, {}) if isinstance(each, Line) else each
        db.add(
            row(
                clinic_id=by.clinic_id, at=now, set_id=set_id, weekday=hours.weekday,
                opens=hours.opens, closes=hours.closes, **more,
            )
        )  # fmt: skip


def _set_closing_days(db: Session, by: Actor, days: Mapping[date, str], now: datetime) -> None:
    """The days of the file; a day to come that it no longer names is withdrawn."""
    before = clinics.closing_days(db, by.clinic_id, now)
    for day in sorted(before - days.keys()):
        db.add(ClosingDay(clinic_id=by.clinic_id, at=now, day=day, why="", withdrawn=True))
    for day in sorted(days.keys() - before):
        db.add(ClosingDay(clinic_id=by.clinic_id, at=now, day=day, why=days[day]))


def of_clinic(clinic: Clinic) -> Actor:
    """The house itself, acting for a clinic by command."""
    return Actor(clinic.id, "system")
