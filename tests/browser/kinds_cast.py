"""An alert of each kind, on a course of its own, as its rule or a phone brings it about."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.domain.alert import KINDS
from homeprog.jobs import run_due
from homeprog.services.assess_course import assess_course
from homeprog.services.begin_release import lapse_release
from homeprog.services.hold_course import hold_course
from homeprog.storage.models import (
    Alert,
    Course,
    Device,
    Prompt,
    PromptEvent,
    PromptSend,
    PromptSlot,
    Release,
    Understanding,
    Visit,
)
from tests.browser.house import FRIDAY, House, on_dynamic
from tests.cast import phone
from tests.services.watch_cast import check, log, word
from tests.upload_cast import bout, send, trouble

RELEASED = FRIDAY - timedelta(days=9)  # Wednesday 27 May, day 8 after the operation
MINUTE = timedelta(minutes=1)
WAKES, SLEEPS = 6, 21  # UTC: 7 to 22 where the patient lives
Made = tuple[Course, Device]
Arises = Callable[[Session, House, Made], None]


def an_alert_of_each_kind(db: Session, house: House) -> Mapping[str, uuid.UUID]:
    """Alert ids by kind, each of a patient of its own, after the jobs have run; committed."""
    courses = {kind: _so(db, house, kind, n) for n, kind in enumerate(KINDS)}
    run_due(db, FRIDAY)
    db.commit()
    found = db.scalars(select(Alert)).all()
    return {each.kind: each.id for each in found if courses[each.kind] == each.course_id}


def _so(db: Session, house: House, kind: str, n: int) -> uuid.UUID:
    """A course that is so that the kind rings."""
    released = ARISES_LATER.get(kind, RELEASED)
    stage = "static" if kind in BEFORE_DYNAMIC else "dynamic"
    number, operated = f"SH 40{300 + n}", (RELEASED - timedelta(days=8)).date()
    course = on_dynamic(
        db, house, released, stage, name="Ivo Marsh", number=number, operated=operated
    )
    ARISES[kind](db, house, (course, phone(db, course, released)))
    assess_course(db, course, FRIDAY, since=released)
    return course.id


def slot(day: int, hour: int) -> datetime:
    """Half past an hour, so many days before the Friday."""
    return (FRIDAY - timedelta(days=day)).replace(hour=hour, minute=30)


def whole_days(db: Session, made: Made, days: Iterable[int], hours: Iterable[int]) -> None:
    """Goes at these hours of days before the Friday, and a word of the phone now."""
    for day in days:
        for hour in hours:
            log(db, *made, slot(day, hour))
    word(db, made[1], FRIDAY - MINUTE)


def _steady(db: Session, made: Made, until: int = 12) -> None:
    """Every time logged since the release, on the Friday up to an hour."""
    _since_released(db, made, range(1, 9))
    whole_days(db, made, (0,), range(WAKES, until))


def _since_released(db: Session, made: Made, days: Iterable[int]) -> None:
    whole_days(db, made, (9,), range(14, SLEEPS))
    whole_days(db, made, days, range(WAKES, SLEEPS))


def _trouble(db: Session, _house: House, made: Made) -> None:
    _steady(db, made)
    send(db, made[1], [trouble(made[0], FRIDAY - 4 * MINUTE, "snap")], FRIDAY - 4 * MINUTE)


def _while_stopped(db: Session, _house: House, made: Made) -> None:
    stopped = FRIDAY - timedelta(hours=3)
    _steady(db, made, until=10)
    send(db, made[1], [trouble(made[0], stopped, "wound")], stopped)
    for hours in (2, 1):
        at = FRIDAY - timedelta(hours=hours)
        send(db, made[1], [bout(made[0], at)], at)


def _no_contact(db: Session, _house: House, made: Made) -> None:
    word(db, made[1], slot(3, 19))


def _few_logged(db: Session, _house: House, made: Made) -> None:
    _since_released(db, made, (8, 7))
    whole_days(db, made, range(1, 7), (8, 9, 12, 13, 17, 18, 19))


def _silence(db: Session, _house: House, made: Made) -> None:
    _since_released(db, made, range(2, 9))
    whole_days(db, made, (1,), range(WAKES, 13))


def _not_arriving(db: Session, house: House, made: Made) -> None:
    _few_logged(db, house, made)
    course, device = made
    device.receipt_proven = True
    for day in range(1, 7):
        for hour in (7, 10, 11, 14, 15, 16):
            _sent(db, course, device, slot(day, hour).replace(minute=0))


def _sent(db: Session, course: Course, device: Device, due: datetime) -> None:
    """A reminder that went out and that the phone never said it had shown."""
    own = {"at": due, "clinic_id": course.clinic_id}
    prompt = Prompt(
        **own, patient_id=course.patient_id, due_at=due, ends_at=due + timedelta(hours=1)
    )
    db.add(prompt)
    db.flush()
    sent = PromptSend(**own, prompt_id=prompt.id, device_id=device.id, state="sent", due_at=due)
    db.add(sent)
    db.flush()
    its = PromptSlot(
        **own, prompt_id=prompt.id, course_id=course.id, exercise="bend_to_stop", slot_start=due
    )
    db.add_all([its, PromptEvent(**own, send_id=sent.id, what="sent")])


def _nothing(db: Session, _house: House, made: Made) -> None:
    whole_days(db, made, (), ())


def _pain_rise(db: Session, _house: House, made: Made) -> None:
    _steady(db, made)
    for day, pains in ((7, (2, 2)), (6, (2, 3)), (5, (1, 2)), (2, (4, 5)), (1, (5, 5))):
        for n, pain in enumerate(pains):
            log(db, *made, slot(day, 9 + n), pain=pain, pain_asked=True)


def _checks(*told: tuple[int, int | None, Mapping[str, str]]) -> Arises:
    """Daily checks: days before the Friday, average pain, answers."""

    def arises(db: Session, _house: House, made: Made) -> None:
        _steady(db, made)
        for day, pain, answers in told:
            check(db, made[0], _date(day), pain, **answers).at = slot(day, 11)
        db.flush()

    return arises


def _date(day: int) -> date:
    return (FRIDAY - timedelta(days=day)).date()


def _second_pain(db: Session, _house: House, made: Made) -> None:
    _steady(db, made)
    for hour, pain in ((8, 7), (11, 8)):
        log(db, *made, slot(0, hour), pain=pain, pain_asked=True)


def _excess(db: Session, _house: House, made: Made) -> None:
    _steady(db, made)
    for day in (1, 3):
        for hour in (8, 9, 10, 11, 12):
            log(db, *made, slot(day, hour).replace(minute=40), 9)
    log(db, *made, slot(0, 9).replace(minute=40), 16)


def _later(db: Session, _house: House, made: Made) -> None:
    """Filled in at bedtime, all at once."""
    whole_days(db, made, (9,), range(14, SLEEPS))
    whole_days(db, made, (0,), range(WAKES, 12))
    for day in range(1, 9):
        for hour in range(WAKES, 20):
            start = slot(day, hour).replace(minute=0)
            log(db, *made, slot(day, 20), slot_start=start, done_at=None, how="later")
    word(db, made[1], FRIDAY - MINUTE)


def _lapsed(db: Session, house: House, made: Made) -> None:
    word(db, made[1], FRIDAY - MINUTE)
    first = db.scalars(select(Release).where(Release.course_id == made[0].id)).one()
    ahead = Release(
        at=slot(3, 9), clinic_id=made[0].clinic_id, course_id=made[0].id, phase="dynamic",
        revision_id=first.revision_id, not_before=_date(1), splint_fitted=True,
        hand_examined=True, by_id=house.therapist.actor.id,
    )  # fmt: skip
    db.add(ahead)
    db.flush()
    lapse_release(db, made[0], ahead, "not_lifting", slot(1, 9))


def _visit_missed(db: Session, _house: House, made: Made) -> None:
    _steady(db, made)
    db.add(
        Visit(
            at=RELEASED, clinic_id=made[0].clinic_id, course_id=made[0].id, planned=_date(1),
            kind="review",
        )
    )  # fmt: skip
    db.flush()


def _not_received(db: Session, house: House, made: Made) -> None:
    _steady(db, made)
    hold_course(db, house.therapist.actor, made[0].id, "hospital", "flu", slot(1, 9))


def _not_yet(db: Session, _house: House, made: Made) -> None:
    _steady(db, made)
    db.add(
        Understanding(
            at=slot(1, 9), clinic_id=made[0].clinic_id, course_id=made[0].id,
            item="When to stop and ring", answer="not_yet",
        )
    )  # fmt: skip
    db.flush()


NO, SORE, SWOLLEN = {"splint_on": "no"}, {"splint_on": "yes"}, {"no_new_swelling": "no"}
# Released three days ago, so that nothing logged since is 'not started'.
ARISES_LATER = {"not_started": FRIDAY - timedelta(days=3)}
BEFORE_DYNAMIC = frozenset({"phase_not_released", "release_lapsed"})
ARISES: Mapping[str, Arises] = {
    "trouble": _trouble,
    "exercise_while_stopped": _while_stopped,
    "no_contact": _no_contact,
    "few_logged": _few_logged,
    "silence": _silence,
    "reminders_not_arriving": _not_arriving,
    "not_started": _nothing,
    "pain_rise": _pain_rise,
    "average_pain": _checks((1, 5, SORE), (0, 6, SORE)),
    "second_pain": _second_pain,
    "excess": _excess,
    "entered_later": _later,
    "splint_off": _checks((2, 2, NO), (1, 2, NO)),
    "second_day": _checks((1, 2, SWOLLEN), (0, 2, SWOLLEN)),
    "phase_not_released": _nothing,
    "release_lapsed": _lapsed,
    "visit_missed": _visit_missed,
    "plan_not_received": _not_received,
    "not_yet": _not_yet,
}
