"""Take an upload of a phone: each item by itself, each once; it touches days, a job sums up."""

from __future__ import annotations

import logging
import uuid
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.exc import OperationalError
from sqlalchemy.orm import Session

from ..domain.errors import HomeprogError
from ..storage.bouts import places_of_bouts
from ..storage.contacts import CallersCourse, lock_courses
from ..storage.models import Device
from ..storage.touches import touch
from .actor import Actor
from .answer_phone import (
    answer_hand,
    answer_release,
    hear_all_well,
    mark_read,
    say_zone,
    take_back_report,
    tell_trouble,
)
from .be_quiet import be_quiet
from .log_bouts import Courses, log_bouts
from .log_check import log_check
from .mark_contact import mark_contact
from .phone_item import Item, Outcome, refused

log = logging.getLogger(__name__)

Step = Callable[[Session, Actor, CallersCourse, Item, datetime], Outcome]

# In this order: what stops exercises is known before what was logged under it.
STEPS: Mapping[str, Step] = {
    "trouble": tell_trouble,
    "taken_back": take_back_report,
    "hand_answer": answer_hand,
    "daily_check": log_check,
    "release_answer": answer_release,  # after whatever speaks against it
    "read": mark_read,
    "all_well": hear_all_well,
    "quiet": be_quiet,
    "zone_said": say_zone,
}
ORDER = {kind: place for place, kind in enumerate(STEPS)}
NOT_STORED = "This entry could not be stored. It is kept on your phone."


@dataclass(frozen=True, slots=True)
class Upload:
    """What a phone sent at once."""

    items: Sequence[Item | Outcome]  # an Outcome is an item refused when it was read
    outbox_left_after: int
    plan_version: str | None


def take_upload(
    db: Session, by: Actor, device: Device, upload: Upload, now: datetime
) -> list[Outcome]:
    """Store what is new; one outcome for each item, in the order they were sent.

    One bad item never loses the others. Uploads of one patient follow one another, so two
    phones, or one phone that sends twice, come to the same rows. Trouble, and exercise logged
    while stopped, is told at once; the days touched are summed up by the minute's job.
    """
    courses = lock_courses(db, by.clinic_id, device.patient_id)
    results, fit = _fit(upload.items, courses, now)
    done = _each(db, by, courses, [i for i in fit if i.type != "bout"], now)
    if done:  # one of these may have been a stop
        courses = lock_courses(db, by.clinic_id, device.patient_id)
    done |= _bouts(db, by, courses, [i for i in fit if i.type == "bout"], now)
    empty = upload.outbox_left_after == 0
    mark_contact(db, by, device, "upload", empty, upload.plan_version, now)
    db.flush()
    new = [i for i in fit if i.type == "bout" and done[i.id].result == "stored"]
    touch(db, by.clinic_id, _touched(db, new, courses, empty, now), now)
    return [done[result] if isinstance(result, uuid.UUID) else result for result in results]


def _fit(
    items: Sequence[Item | Outcome], courses: Courses, now: datetime
) -> tuple[list[Outcome | uuid.UUID], list[Item]]:
    """For each item sent its outcome, or its id where that is still to come; and those items."""
    results: list[Outcome | uuid.UUID] = []
    fit: dict[uuid.UUID, Item] = {}
    for item in items:
        if isinstance(item, Outcome):
            results.append(item)
        elif refusal := _refusal(item, courses.get(item.course), fit.get(item.id), now):
            results.append(refusal)
        else:
            results.append(item.id)
            fit.setdefault(item.id, item)
    return results, list(fit.values())


def _refusal(
    item: Item, course: CallersCourse | None, twin: Item | None, now: datetime
) -> Outcome | None:
    if course is None:
        return refused(item.id, "course_unknown", "This entry is not of this phone's plan.")
    if course.closed_at is not None and item.entered(course, now) > course.closed_at:
        return refused(item.id, "course_closed", "The plan was finished before this was entered.")
    if twin is not None and twin.digest != item.digest:
        return refused(item.id, "id_taken", "This was sent before with other content.")
    return None


def _each(
    db: Session, by: Actor, courses: Courses, items: Sequence[Item], now: datetime
) -> dict[uuid.UUID, Outcome]:
    """Each item in a savepoint of its own, what stops exercises first."""
    outcomes = {}
    for item in sorted(items, key=lambda each: ORDER[each.type]):
        outcomes[item.id] = _one(db, by, courses[item.course], item, now)
    return outcomes


def _one(db: Session, by: Actor, course: CallersCourse, item: Item, now: datetime) -> Outcome:
    try:
        with db.begin_nested():
            return STEPS[item.type](db, by, course, item, now)
    except HomeprogError as error:
        return refused(item.id, error.code, error.message)
    except OperationalError:  # the database was busy or away: the phone sends all of it again
        raise
    except Exception as error:  # whatever it is, the other items must not be lost with it
        log.error("an item of type %s was not stored: %s", item.type, type(error).__name__)
        return refused(item.id, "not_stored", NOT_STORED)


def _bouts(
    db: Session, by: Actor, courses: Courses, items: Sequence[Item], now: datetime
) -> dict[uuid.UUID, Outcome]:
    """All bouts in one statement; should the database refuse it, each by itself."""
    if not items:
        return {}
    try:
        with db.begin_nested():
            return log_bouts(db, by, courses, items, now)
    except OperationalError:
        raise
    except Exception as error:  # likewise: the next try is each by itself
        log.error("bouts were not stored together: %s", type(error).__name__)
        if len(items) == 1:
            return {items[0].id: refused(items[0].id, "not_stored", NOT_STORED)}
    outcomes: dict[uuid.UUID, Outcome] = {}
    for item in items:
        outcomes |= _bouts(db, by, courses, [item], now)
    return outcomes


def _touched(
    db: Session, bouts: Sequence[Item], courses: Courses, empty: bool, now: datetime
) -> dict[uuid.UUID, datetime]:
    """Courses to be summed up, each from the earliest instant that these new bouts bear on.

    A word that the outbox is empty proves something of every open course.
    """
    since = {key: now for key, course in courses.items() if empty and course.closed_at is None}
    # A correction takes a bout away from where it was, too.
    corrected = places_of_bouts(db, {item.told["supersedes"] for item in bouts} - {None})
    for item in bouts:
        was = corrected.get(item.told["supersedes"], now)
        at = _earliest(item, courses[item.course], now)
        since[item.course] = min(at, was, since.get(item.course, now))
    return since


def _earliest(item: Item, course: CallersCourse, now: datetime) -> datetime:
    told = item.told
    done = told["done_at"] and item.corrected(told["done_at"], course, now)
    return min(at for at in (item.entered(course, now), done, told["slot_start"]) if at)
