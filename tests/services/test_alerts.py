"""Alerts from opening to settlement, and who may do what."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from datetime import date, timedelta
from threading import Thread
from typing import Any

import pytest
from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from homeprog.domain.errors import Conflict, Forbidden, Invalid, NotFound
from homeprog.services.actor import Actor
from homeprog.services.open_alert import open_alert
from homeprog.services.pass_alert import condition_ended, pass_alert
from homeprog.services.settle_alert import settle_alert
from homeprog.services.take_up_alert import take_up_alert
from homeprog.storage.alerts import events_of, unsettled
from homeprog.storage.models import (
    Alert,
    AlertEvent,
    Course,
    HoldEnd,
    HoldRow,
    Staff,
    TroubleReport,
    Visit,
)
from tests import cast
from tests.services import prompt_cast as p
from tests.services.prompt_cast import at

FRIDAY_NOON = at(11)  # 12:00 in London; the clinic is open till 17:00
SATURDAY = at(11, day=6)
MONDAY_OPENING = at(7, day=8)


@pytest.fixture
def therapist(db: Session) -> Staff:
    return p.therapist(db)


@pytest.fixture
def course(db: Session, therapist: Staff) -> Course:
    return p.hourly(db, therapist)


@pytest.fixture
def clinician(therapist: Staff) -> Actor:
    return cast.acting(therapist)


def told(
    db: Session,
    course: Course,
    kind: str = "few_logged",
    level: str = "this_week",
    now: Any = FRIDAY_NOON,
    figures: Mapping[str, Any] | None = None,
    **more: Any,
) -> Alert | None:
    return open_alert(db, course, kind, level, figures or {"shown": 40}, now, **more)


def opened(db: Session, course: Course, **more: Any) -> Alert:
    alert = told(db, course, **more)
    assert alert is not None
    return alert


def trouble(db: Session, course: Course, now: Any = FRIDAY_NOON, **more: Any) -> Alert:
    report = TroubleReport(
        at=now, clinic_id=course.clinic_id, course_id=course.id, kind="snap", stop=True,
        details={}, entered_at=now, digest="x",
    )  # fmt: skip
    db.add(report)
    db.flush()
    figures = {"trouble": "snap", "stop": True}
    return opened(
        db, course, kind="trouble", level="now", now=now, figures=figures, trouble_id=report.id
    )


def whats(db: Session, alert: Alert) -> list[str]:
    return sorted(event.what for event in events_of(db, [alert.id])[alert.id])


def test_a_condition_told_twice_is_one_alert_with_its_first_figures(
    db: Session, course: Course
) -> None:
    one = opened(db, course, figures={"shown": 40})
    other = opened(db, course, figures={"shown": 35}, now=FRIDAY_NOON + timedelta(hours=1))
    assert one is other
    assert one.figures == {"shown": 40}
    assert whats(db, one) == ["opened"]
    assert (one.rule, one.rule_version) == ("few_logged", 2)


def test_one_that_becomes_worse_is_raised(db: Session, course: Course) -> None:
    alert = opened(db, course)
    opened(db, course, level="today", figures={"shown": 10})
    assert (alert.level, alert.figures) == ("today", {"shown": 10})
    opened(db, course, level="this_week")
    assert alert.level == "today"
    assert whats(db, alert) == ["opened", "raised"]


def test_every_report_of_trouble_is_its_own_row(db: Session, course: Course) -> None:
    one, other = trouble(db, course), trouble(db, course)
    assert one.id != other.id
    again = opened(db, course, kind="trouble", level="now", trouble_id=one.trouble_id)
    assert again is one  # the same report, sent once more


def test_bouts_logged_while_stopped_gather_in_one_alert(db: Session, course: Course) -> None:
    kind = {"kind": "exercise_while_stopped", "level": "now"}
    alert = opened(db, course, figures={"bouts": ["a", "b"]}, **kind)
    opened(db, course, figures={"bouts": ["b", "c"]}, **kind)
    opened(db, course, figures={"bouts": ["c"]}, **kind)
    assert alert.figures["bouts"] == ["a", "b", "c"]
    assert whats(db, alert) == ["added", "opened"]


def test_two_connections_that_tell_the_same_make_one_row(
    engine: Engine, db: Session, course: Course
) -> None:
    key = course.id
    db.commit()
    seen: list[uuid.UUID] = []

    def tell() -> None:
        with Session(engine) as mine:
            alert = told(mine, mine.get_one(Course, key))
            assert alert is not None
            seen.append(alert.id)
            mine.commit()

    threads = [Thread(target=tell) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=30)
    assert len(seen) == 4
    assert len(set(seen)) == 1
    assert len(db.scalars(select(Alert)).all()) == 1
    assert len(db.scalars(select(AlertEvent)).all()) == 1


@pytest.mark.parametrize("database_url", ["postgres"], indirect=True)  # SQLite: one writer, above
def test_of_two_connections_only_the_first_to_commit_opens_it(
    engine: Engine, db: Session, course: Course
) -> None:
    """The other waits for the index, finds the row and adds nothing."""
    key = course.id
    db.commit()
    found: list[uuid.UUID] = []
    first = opened(db, course)  # not committed yet

    def tell() -> None:
        with Session(engine) as other:
            alert = told(other, other.get_one(Course, key))
            assert alert is not None
            found.append(alert.id)
            other.commit()

    thread = Thread(target=tell)
    thread.start()
    thread.join(timeout=0.5)
    assert not found
    db.commit()
    thread.join(timeout=30)
    assert found == [first.id]


def test_one_of_two_takes_it_up(db: Session, course: Course, clinician: Actor) -> None:
    alert = opened(db, course)
    take_up_alert(db, clinician, alert.id, FRIDAY_NOON)
    with pytest.raises(Conflict):
        take_up_alert(db, clinician, alert.id, FRIDAY_NOON)
    assert alert.state == "taken_up"
    assert whats(db, alert) == ["opened", "taken_up"]


def test_a_phone_or_an_enroller_takes_nothing_up(
    db: Session, course: Course, therapist: Staff
) -> None:
    alert = opened(db, course)
    enroller = Actor(course.clinic_id, "staff", therapist.id, "enroller")
    for by in (Actor(course.clinic_id, "device", uuid.uuid4()), enroller):
        with pytest.raises(Forbidden):
            take_up_alert(db, by, alert.id, FRIDAY_NOON)
        with pytest.raises(Forbidden):
            settle_alert(db, by, alert.id, "rang", "", FRIDAY_NOON)


def test_another_clinics_alert_is_not_there(db: Session, course: Course, clinician: Actor) -> None:
    alert = opened(db, course)
    outsider = Actor(uuid.uuid4(), "staff", clinician.id, "therapist", "surgeon")
    with pytest.raises(NotFound):
        take_up_alert(db, outsider, alert.id, FRIDAY_NOON)
    with pytest.raises(NotFound):
        settle_alert(db, outsider, alert.id, "rang", "", FRIDAY_NOON)


def test_only_a_clinician_settles_trouble(
    db: Session, course: Course, therapist: Staff, clinician: Actor
) -> None:
    alert = trouble(db, course)
    with pytest.raises(Forbidden):
        settle_alert(db, cast.acting(therapist, None), alert.id, "rang", "", FRIDAY_NOON)
    settle_alert(db, clinician, alert.id, "rang", "", FRIDAY_NOON)
    assert alert.state == "settled"


def test_what_was_done_comes_from_a_list_and_doing_nothing_needs_words(
    db: Session, course: Course, clinician: Actor
) -> None:
    alert = opened(db, course)
    with pytest.raises(Invalid) as refused:
        settle_alert(db, clinician, alert.id, "ignored", "", FRIDAY_NOON)
    assert list(refused.value.fields) == ["done"]
    with pytest.raises(Invalid) as refused:
        settle_alert(db, clinician, alert.id, "no_action", "  ", FRIDAY_NOON)
    assert list(refused.value.fields) == ["words"]
    settle_alert(db, clinician, alert.id, "no_action", "on holiday", FRIDAY_NOON)
    last = next(e for e in events_of(db, [alert.id])[alert.id] if e.what == "settled")
    assert (last.done, last.words, last.by_id) == ("no_action", "on holiday", clinician.id)
    with pytest.raises(Conflict):
        settle_alert(db, clinician, alert.id, "rang", "", FRIDAY_NOON)


def test_settled_it_comes_back_on_the_third_clinic_day(
    db: Session, course: Course, clinician: Actor
) -> None:
    alert = opened(db, course)
    settle_alert(db, clinician, alert.id, "rang", "", FRIDAY_NOON)
    assert alert.not_again_before == date(2026, 6, 10)  # Monday, Tuesday, Wednesday
    assert told(db, course, now=at(22, 59, day=9)) is None  # 23:59 in London
    assert told(db, course, now=at(23, 0, day=9)) is not None


def test_settled_it_comes_back_at_the_next_visit_or_on_the_day_chosen(
    db: Session, course: Course, clinician: Actor
) -> None:
    db.add(
        Visit(
            at=FRIDAY_NOON, clinic_id=course.clinic_id, course_id=course.id,
            planned=date(2026, 6, 19), kind="gate",
        )
    )  # fmt: skip
    alert = opened(db, course)
    settle_alert(db, clinician, alert.id, "rang", "", FRIDAY_NOON)
    assert alert.not_again_before == date(2026, 6, 19)
    other = opened(db, course, kind="no_contact", level="today")
    settle_alert(db, clinician, other.id, "rang", "", FRIDAY_NOON, date(2026, 6, 12))
    assert other.not_again_before == date(2026, 6, 12)


@pytest.mark.parametrize("chosen", [date(2026, 6, 5), date(2026, 8, 5), date(2062, 6, 12)])
def test_a_day_that_cannot_be_meant_keeps_nothing_from_being_told_again(
    db: Session, course: Course, clinician: Actor, chosen: date
) -> None:
    alert = opened(db, course)
    with pytest.raises(Invalid) as refused:
        settle_alert(db, clinician, alert.id, "rang", "", FRIDAY_NOON, chosen)
    assert list(refused.value.fields) == ["not_again_before"]
    assert alert.state == "open"
    settle_alert(db, clinician, alert.id, "rang", "", FRIDAY_NOON, date(2026, 8, 4))


def test_settled_it_comes_back_once_worse_or_once_it_had_ended(
    db: Session, course: Course, clinician: Actor
) -> None:
    alert = opened(db, course)
    settle_alert(db, clinician, alert.id, "rang", "", FRIDAY_NOON)
    assert told(db, course) is None
    worse = opened(db, course, level="today", now=FRIDAY_NOON + timedelta(seconds=30))
    assert worse.id != alert.id
    settle_alert(db, clinician, worse.id, "rang", "", FRIDAY_NOON + timedelta(minutes=1))
    condition_ended(db, course, "few_logged", FRIDAY_NOON + timedelta(minutes=2))
    condition_ended(db, course, "few_logged", FRIDAY_NOON + timedelta(minutes=3))
    assert whats(db, worse).count("ended") == 1
    back = opened(db, course, now=FRIDAY_NOON + timedelta(minutes=4))
    assert back.id not in (alert.id, worse.id)


def test_trouble_settled_comes_back_at_once(db: Session, course: Course, clinician: Actor) -> None:
    kind = {"kind": "exercise_while_stopped", "level": "now", "figures": {"bouts": ["a"]}}
    alert = opened(db, course, **kind)
    settle_alert(db, clinician, alert.id, "rang", "", FRIDAY_NOON)
    assert opened(db, course, **kind).id != alert.id


def test_an_alert_passes_when_its_grounds_go_but_trouble_never(
    db: Session, course: Course, clinician: Actor
) -> None:
    alert = opened(db, course)
    take_up_alert(db, clinician, alert.id, FRIDAY_NOON)
    condition_ended(db, course, "few_logged", FRIDAY_NOON)
    assert alert.state == "passed"
    assert not pass_alert(db, alert, FRIDAY_NOON)
    assert opened(db, course).id != alert.id
    for held in (trouble(db, course), opened(db, course, kind="exercise_while_stopped")):
        with pytest.raises(Conflict):
            pass_alert(db, held, FRIDAY_NOON)
        assert held.state == "open"


def test_trouble_counts_from_now_on_duty_and_from_the_opening_in_a_nobody_hour(
    db: Session, course: Course, therapist: Staff
) -> None:
    assert trouble(db, course, FRIDAY_NOON).clock_starts == FRIDAY_NOON  # open; nobody named
    assert trouble(db, course, SATURDAY).clock_starts == MONDAY_OPENING
    cast.on_duty(db, therapist, FRIDAY_NOON)
    assert trouble(db, course, FRIDAY_NOON).clock_starts == FRIDAY_NOON
    assert trouble(db, course, at(20)).clock_starts == MONDAY_OPENING
    given = opened(db, course, clock_starts=at(1, day=7))
    assert given.clock_starts == at(1, day=7)


def test_settling_trouble_with_a_reason_resumes_what_it_stopped(
    db: Session, course: Course, clinician: Actor
) -> None:
    alert = trouble(db, course)
    other = p.held(db, course, FRIDAY_NOON)
    mine = p.held(db, course, FRIDAY_NOON)
    mine.trouble_id = alert.trouble_id
    db.flush()
    settle_alert(
        db, clinician, alert.id, "talked_through", "", at(12), resume_reason="examined, intact"
    )
    ended = db.scalars(select(HoldEnd)).all()
    assert [(end.hold_id, end.reason) for end in ended] == [(mine.id, "examined, intact")]
    assert db.get_one(HoldRow, other.id).reason == "a snap"


def test_settling_trouble_without_one_leaves_the_exercises_stopped(
    db: Session, course: Course, clinician: Actor
) -> None:
    alert = trouble(db, course)
    p.held(db, course, FRIDAY_NOON).trouble_id = alert.trouble_id
    settle_alert(db, clinician, alert.id, "rang", "", at(12))
    assert db.scalars(select(HoldEnd)).all() == []


def test_the_unsettled_are_listed_most_urgent_first(
    db: Session, course: Course, clinician: Actor
) -> None:
    week = opened(db, course)
    today = opened(db, course, kind="no_contact", level="today")
    weekend = trouble(db, course, SATURDAY)
    now = trouble(db, course, FRIDAY_NOON)
    gone = opened(db, course, kind="phase_not_released", level="today")
    settle_alert(db, clinician, gone.id, "rang", "", FRIDAY_NOON)
    assert unsettled(db, course.clinic_id) == [now, weekend, today, week]
    assert unsettled(db, uuid.uuid4()) == []
