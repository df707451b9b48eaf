"""Work out anew a course's line in the caseload."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy.orm import Session

from ..domain.adherence import DaySummary, figures, from_row, percents, printed, total
from ..domain.caseload import Place, Reason, place
from ..domain.course import day_number
from ..domain.regime import Phase
from ..domain.timetable import course_day
from ..domain.timetable.span import day_start
from ..domain.wear import printed as wear_printed
from ..storage.caseloads import circumstances, line_of
from ..storage.check_days import splint_wears
from ..storage.courses import facts_in_force, hand_and_finger, state
from ..storage.models import CaseloadLine, Course, DaySummaryRow
from ..storage.summaries import summaries
from ..storage.timelines import InForce, in_force
from ..storage.visits import visit_ahead

ONE = timedelta(days=1)
WINDOWS = (3, 7)  # whole course days before the one in progress
SHOWN_DAYS = 14  # of the little lines


def refresh_line(db: Session, course: Course, now: datetime) -> CaseloadLine | None:
    """The course's line as of `now`; None, and no line any more, once it is closed. Flushes.

    `as_of` and `next_at` tell the minute's job what is news: only the job calls this.
    """
    held = in_force(db, course, now)
    line = _shown(db, course, held, now)
    if line is not None:
        line.as_of = now
        line.next_at = day_start(held.settings, course_day(held.settings, now) + ONE)
        db.flush()
    return line


def show_change(db: Session, course: Course, now: datetime) -> CaseloadLine | None:
    """Work the line out anew at once after a change; it stays news to the minute's job."""
    db.flush()
    return _shown(db, course, in_force(db, course, now), now)


def _shown(db: Session, course: Course, held: InForce, now: datetime) -> CaseloadLine | None:
    line = line_of(db, course)
    if state(db, course, now) == "closed":
        if line is not None:
            db.delete(line)
            db.flush()
        return None
    if line is None:
        line = CaseloadLine(
            at=now,
            clinic_id=course.clinic_id,
            course_id=course.id,
            as_of=course.at,
            next_at=course.at,
        )
    _fill(db, line, course, held, now)
    db.add(line)
    db.flush()
    return line


def _fill(db: Session, line: CaseloadLine, course: Course, held: InForce, now: datetime) -> None:
    today = course_day(held.settings, now)
    visit = visit_ahead(db, course, today, now)
    found = place(circumstances(db, course, held, visit, now))
    line.rank, line.group = found.rank, found.group
    line.figures = {
        **_whose(db, course, today, now),
        **_dose(db, course, held.phase, today),
        **_wear(db, course, held, today, now),
        "reasons": [_reason(reason) for reason in found.reasons],
        "alerts": _alerts(found),
        "visit": visit.planned.isoformat() if visit else None,
    }


def _whose(db: Session, course: Course, today: date, now: datetime) -> dict[str, Any]:
    hand, finger = hand_and_finger(db, course, now)
    operation = facts_in_force(db, course, now)["operation_date"]
    return {"hand": hand, "finger": finger, "day": day_number(today, operation)}


def _dose(db: Session, course: Course, phase: Phase | None, today: date) -> dict[str, Any]:
    """Figures of the leading exercise over whole days, and the daily pain over all exercises."""
    rows = summaries(db, course.id, today - SHOWN_DAYS * ONE, today)
    leading = phase.leading if phase else None
    mine = [row for row in rows if leading and row.exercise == leading]
    return {
        "phase": phase.name if phase else None,
        "leading": leading,
        **{f"dose_{n}": _window(mine, today, n) if leading else None for n in WINDOWS},
        "doses": _doses(mine, today),
        "pains": _pains(rows, today),
    }


def _wear(db: Session, course: Course, held: InForce, today: date, now: datetime) -> dict[str, Any]:
    """Splint wear over the same whole days where it leads: no exercise does."""
    if held.phase is None or held.phase.leading is not None:
        return {f"wear_{n}": None for n in WINDOWS}
    spans = {f"wear_{n}": (today - n * ONE, today - ONE) for n in WINDOWS}
    told = splint_wears(db, course, held.settings, spans, now)
    return {name: wear_printed(each) for name, each in told.items()}


def _window(rows: Sequence[DaySummaryRow], today: date, days: int) -> str:
    inside = (row for row in rows if today - days * ONE <= row.date < today)
    return printed(figures(total(from_row(row.figures) for row in inside)))


def _doses(rows: Sequence[DaySummaryRow], today: date) -> list[list[int]]:
    """[days before today, lowest, shown, highest] in per cent, of each whole day with a figure."""
    found = []
    for row in rows:
        bounds = percents(figures(from_row(row.figures)).dose)
        if bounds is not None and row.date < today:
            found.append([(today - row.date).days, *bounds])
    return found


def _pains(rows: Sequence[DaySummaryRow], today: date) -> list[list[float]]:
    """[days before today, the day's median of all answers], today among them."""
    by_day: dict[date, list[DaySummary]] = {}
    for row in rows:
        by_day.setdefault(row.date, []).append(from_row(row.figures))
    medians = ((day, total(each).pain_median_doubled) for day, each in sorted(by_day.items()))
    return [[(today - day).days, twice / 2] for day, twice in medians if twice is not None]


def _reason(reason: Reason) -> dict[str, Any]:
    row = asdict(reason)
    for name in ("since", "until"):
        row[name] = row[name].isoformat() if row[name] else None
    return row


def _alerts(found: Place) -> list[str]:
    return [alert.id for alert in found.alerts]
