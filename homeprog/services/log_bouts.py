"""Log bouts: all of an upload in one statement, each once, marked if exercises were stopped."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from ..storage.bouts import courses_of_bouts, digests, insert_new
from ..storage.contacts import CallersCourse, plan_fetched
from ..storage.models import BoutRow
from ..storage.troubles import StopFlag, stop_flags
from .actor import Actor
from .phone_item import Item, Outcome, refused, seen_before, stored
from .phone_plan import revision_said
from .report_trouble import alert_while_stopped

Courses = Mapping[uuid.UUID, CallersCourse]
Rows = dict[uuid.UUID, dict[str, Any]]


def log_bouts(
    db: Session, by: Actor, courses: Courses, items: Sequence[Item], now: datetime
) -> dict[uuid.UUID, Outcome]:
    """Store the bouts of a phone; what was there before is not stored again.

    Each item is checked and of one of `courses`; no id comes twice. Raises nothing for one bad
    item: it is refused and the others are stored.
    """
    outcomes = _out_of_place(db, items)
    fit = [item for item in items if item.id not in outcomes]
    rows = _rows(db, by, courses, fit, now)
    new = insert_new(db, BoutRow, list(rows.values()))
    known = digests(db, BoutRow, rows.keys() - new)
    for item in fit:
        there = stored(item) if item.id in new else seen_before(item, known.get(item.id))
        outcomes[item.id] = there
    _alert(db, courses, [rows[key] for key in sorted(new)], now)
    return outcomes


def _out_of_place(db: Session, items: Sequence[Item]) -> dict[uuid.UUID, Outcome]:
    """Refusals of bouts that take the place of one that is not there, or of another course."""
    wanted = {item.told["supersedes"] for item in items} - {None}
    if not wanted:
        return {}
    there = courses_of_bouts(db, wanted) | {i.id: i.course for i in items if i.id in wanted}
    return {
        item.id: refused(item.id, "supersedes_unknown", "What this corrects is not here.")
        for item in items
        if item.told["supersedes"] and there.get(item.told["supersedes"]) != item.course
    }


def _rows(db: Session, by: Actor, courses: Courses, items: Sequence[Item], now: datetime) -> Rows:
    rows = {item.id: _row(by, courses[item.course], item, now) for item in items}
    for key in _while_stopped(db, by, courses, rows):
        rows[key]["while_stopped"] = True
    return rows


def _row(by: Actor, course: CallersCourse, item: Item, now: datetime) -> dict[str, Any]:
    told = item.told
    done = told["done_at"]
    return {
        "id": item.id,
        "at": now,
        "clinic_id": by.clinic_id,
        "course_id": item.course,
        "exercise": told["exercise"],
        "slot_start": told["slot_start"],
        "amount": told["amount"],
        "unit": told["unit"],
        "how": told["how"],
        "pain": told["pain"],
        "pain_asked": told["pain_asked"],
        "done_at": item.corrected(done, course, now) if done else None,
        "entered_at": item.entered(course, now),
        "device_done_at": done,
        "device_entered_at": item.entered_at,
        "offset_ms": item.offset_ms,
        "zone": item.zone,
        "device_id": by.id,
        "by_id": None,
        "logged_by": told["logged_by"],
        "source": "phone",
        "plan_version": told["plan_version"],
        "revision": revision_said(told["plan_version"], item.course),
        "supersedes_id": told["supersedes"],
        "split": False,
        "while_stopped": False,
        "digest": item.digest,
    }


def _while_stopped(db: Session, by: Actor, courses: Courses, rows: Rows) -> list[uuid.UUID]:
    """Ids of bouts entered after a stop flag was set on this phone, or had reached it."""
    stopped = {key for key, course in courses.items() if course.ever_stopped}
    under_one = [row for row in rows.values() if row["course_id"] in stopped and row["amount"]]
    if not under_one:
        return []
    flags = stop_flags(db, stopped, min(row["entered_at"] for row in under_one))
    marked: set[uuid.UUID] = set()
    for flag in flags:
        under = {
            key: row["entered_at"]
            for key, row in rows.items()
            if row["amount"]
            and row["course_id"] == flag.course_id
            and flag.on_at(row["entered_at"])
        }
        marked |= {key for key, at in under.items() if _known(db, by, flag, at)}
    return sorted(marked)


def _known(db: Session, by: Actor, flag: StopFlag, at: datetime) -> bool:
    """Whether this phone knew of the flag at `at`: set on it, or in a plan it had fetched."""
    if flag.device_id is not None and flag.device_id == by.id:
        return True
    return by.id is not None and bool(plan_fetched(db, by.id, flag.received, at))


def _alert(db: Session, courses: Courses, rows: Sequence[Mapping[str, Any]], now: datetime) -> None:
    marked: dict[uuid.UUID, list[uuid.UUID]] = {}
    for row in rows:
        if row["while_stopped"]:
            marked.setdefault(row["course_id"], []).append(row["id"])
    for course, bouts in marked.items():
        alert_while_stopped(db, courses[course], bouts, now)
