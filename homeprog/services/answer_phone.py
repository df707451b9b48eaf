"""The smaller things a phone says, each kept once: an answer, what was read, a zone."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any, cast

from sqlalchemy.orm import Session

from ..domain.clock import ceil_minute
from ..domain.errors import NotFound
from ..domain.trouble import Kind
from ..storage import scope
from ..storage.bouts import digests, insert_new
from ..storage.contacts import CallersCourse
from ..storage.courses import open_courses_of
from ..storage.models import CourseEvent, PhoneItem, Release, TroubleReport, ZoneStay
from ..storage.timelines import zone_at
from .actor import Actor
from .begin_release import begin_release, lapse_release
from .course_changed import course_changed
from .phone_item import Item, Outcome, seen_before, stored
from .report_trouble import Report, report_trouble, take_back

ANSWER_HOLDS = timedelta(hours=1)  # 'nothing is wrong' is asked anew if it arrives later


def tell_trouble(
    db: Session, by: Actor, course: CallersCourse, item: Item, now: datetime
) -> Outcome:
    """A report of trouble."""
    report = Report(
        item.id,
        cast(Kind, item.told["kind"]),
        item.told["details"],
        item.entered(course, now),
        item.digest,
    )
    if report_trouble(db, by, course, report, now):
        return stored(item)
    return seen_before(item, digests(db, TroubleReport, [item.id]).get(item.id))


def take_back_report(
    db: Session, by: Actor, course: CallersCourse, item: Item, now: datetime
) -> Outcome:
    """'Pressed by mistake'."""

    def act(pressed: datetime) -> None:
        take_back(db, by, course, item.told["trouble"], pressed, now)

    return once(db, by, course, item, now, act)


def answer_hand(
    db: Session, by: Actor, course: CallersCourse, item: Item, now: datetime
) -> Outcome:
    """The answer to 'Is this your hand?'; a 'no' stops everything and is an alert now."""

    def act(entered: datetime) -> None:
        question = {"question": str(item.told["question"])}
        no = item.told["answer"] == "no"
        kind = "read_back_no" if no else "read_back"
        db.add(
            CourseEvent(
                at=now, clinic_id=by.clinic_id, course_id=course.course.id, kind=kind,
                figures=question, by_id=None, device_id=by.id,
            )
        )  # fmt: skip
        if no:
            report = Report(item.id, "not_my_hand", question, entered, item.digest)
            report_trouble(db, by, course, report, now)

    return once(db, by, course, item, now, act)


def answer_release(
    db: Session, by: Actor, course: CallersCourse, item: Item, now: datetime
) -> Outcome:
    """The answer to 'Anything wrong since your visit?'; 'nothing' may begin the release.

    'Something' opens the list of trouble on the phone, and lets it lapse whatever is chosen there:
    staff must hear of it. An answer that comes late is kept and begins nothing: the phone must be
    there when it is given.
    """

    def act(entered: datetime) -> None:
        release = scope.get(db, Release, by.clinic_id, item.told["release"])
        if release.course_id != course.course.id:
            raise NotFound("release")
        if item.told["answer"] == "something":
            lapse_release(db, course.course, release, "said_wrong", now)
        elif now - entered <= ANSWER_HOLDS:
            begin_release(db, by, course.course, release, now)

    return once(db, by, course, item, now, act)


def mark_read(db: Session, by: Actor, course: CallersCourse, item: Item, now: datetime) -> Outcome:
    """'I have read this'."""
    return once(db, by, course, item, now, lambda _entered: None)


def hear_all_well(
    db: Session, by: Actor, course: CallersCourse, item: Item, now: datetime
) -> Outcome:
    """That the phone asked 'All well?', or what was answered; the silence alert reads both."""
    return once(db, by, course, item, now, lambda _entered: None)


def say_zone(db: Session, by: Actor, course: CallersCourse, item: Item, now: datetime) -> Outcome:
    """The patient's zone from the next whole minute on, if it is another than before."""

    def act(_entered: datetime) -> None:
        patient, starts = course.course.patient_id, ceil_minute(now)
        if zone_at(db, patient, starts) == item.zone:
            return
        db.add(
            ZoneStay(
                at=now, clinic_id=by.clinic_id, patient_id=patient, zone=item.zone,
                starts=starts, said_by="phone",
            )
        )  # fmt: skip
        db.flush()
        for each in open_courses_of(db, patient):
            course_changed(db, each, starts, now)

    return once(db, by, course, item, now, act)


def once(
    db: Session,
    by: Actor,
    course: CallersCourse,
    item: Item,
    now: datetime,
    act: Callable[[datetime], None],
) -> Outcome:
    """Keep the item; `act`, given when it was entered, only if it is new."""
    entered = item.entered(course, now)
    row = {
        "id": item.id,
        "at": now,
        "clinic_id": by.clinic_id,
        "device_id": by.id,
        "course_id": course.course.id,
        "type": item.type,
        "body": _body(item),
        "entered_at": entered,
        "digest": item.digest,
    }
    if not insert_new(db, PhoneItem, [row]):
        return seen_before(item, digests(db, PhoneItem, [item.id]).get(item.id))
    act(entered)
    return stored(item)


def _body(item: Item) -> dict[str, Any]:
    """The item's own fields as JSON."""
    return {key: _plain(value) for key, value in {**item.told, "zone": item.zone}.items()}


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.isoformat()
    return value if value is None or isinstance(value, int | str) else str(value)
