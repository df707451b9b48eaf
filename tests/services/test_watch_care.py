"""Visits, lapsed releases, 'not yet', and changes on their way to phones, from rows to alerts."""

from __future__ import annotations

import copy
import uuid
from datetime import date, datetime

import pytest
from sqlalchemy.orm import Session

from homeprog.domain.alert import words
from homeprog.jobs import run_due
from homeprog.services.actor import Actor
from homeprog.services.hold_course import hold_course, resume
from homeprog.services.plan_visit import plan_visit
from homeprog.services.release_phase import Signed, release_phase
from homeprog.services.report_trouble import Report, report_trouble
from homeprog.services.set_regime import Wanted, set_regime
from homeprog.services.settle_alert import settle_alert
from homeprog.storage.contacts import CallersCourse
from homeprog.storage.models import (
    AlertSetting,
    Course,
    Release,
    Understanding,
    Visit,
    VisitEvent,
)
from homeprog.storage.timelines import regime_in_force
from tests.services.prompt_cast import at
from tests.services.watch_cast import (
    WED,
    alert,
    alerts,
    clinician_of,
    go,
    on_dynamic,
    open_on_weekdays,
    phone_of,
    texts_signed,
    word,
)


def visit(db: Session, course: Course, planned: date, when: datetime = WED) -> Visit:
    row = Visit(
        at=when, clinic_id=course.clinic_id, course_id=course.id, planned=planned, kind="review"
    )
    db.add(row)
    db.flush()
    return row


@pytest.mark.parametrize("what", ["kept", "moved", "cancelled"])
def test_a_visit_whose_day_passed_is_told_until_somebody_says_what_became_of_it(
    db: Session, what: str
) -> None:
    course = on_dynamic(db).course
    planned = visit(db, course, date(2026, 6, 4))
    go(db, WED, at(22, 0, 4), minutes=720)
    assert alert(db, "visit_missed") is None
    run_due(db, at(6, 0, 5))
    told = alert(db, "visit_missed")
    assert (told.state, told.level) == ("open", "today")
    assert "Planned for Thursday 4 June" in words("visit_missed", told.figures)[1][0]
    event = VisitEvent(
        at=at(9, 0, 5), clinic_id=course.clinic_id, visit_id=planned.id, what=what, figures={}
    )
    db.add(event)
    run_due(db, at(9, 1, 5))
    assert alert(db, "visit_missed").state == "passed"


def test_another_visit_planned_is_an_answer_too(db: Session) -> None:
    course = on_dynamic(db).course
    visit(db, course, date(2026, 6, 4))
    run_due(db, at(6, 0, 5))
    plan_visit(db, clinician_of(db, course), course.id, date(2026, 6, 9), at(9, 0, 5))
    run_due(db, at(9, 1, 5))
    assert alert(db, "visit_missed").state == "passed"


def lapsed(db: Session, course: Course, when: datetime) -> Release:
    made = db.query(Release).filter(Release.course_id == course.id).one()
    row = Release(
        at=when, clinic_id=course.clinic_id, course_id=course.id, phase="dynamic",
        revision_id=made.revision_id, not_before=date(2026, 6, 5), lapsed_at=when,
        splint_fitted=True, hand_examined=True, by_id=made.by_id,
    )  # fmt: skip
    db.add(row)
    db.flush()
    return row


def test_a_lapsed_release_is_told_until_the_stage_is_signed_anew(db: Session) -> None:
    course = on_dynamic(db, release="static").course
    lapsed(db, course, at(9, 0, 4))
    run_due(db, at(6, 0, 5))
    assert (alert(db, "release_lapsed").state, alert(db, "release_lapsed").level) == (
        "open", "today",
    )  # fmt: skip
    texts_signed(db, course)
    signed = Signed("dynamic", splint_fitted=True, hand_examined=True)
    release_phase(db, clinician_of(db, course), course.id, signed, at(9, 0, 5))
    run_due(db, at(9, 2, 5))
    assert alert(db, "release_lapsed").state == "passed"


def said(db: Session, course: Course, answer: str, when: datetime) -> None:
    db.add(
        Understanding(
            at=when, clinic_id=course.clinic_id, course_id=course.id,
            item="When to stop and ring", answer=answer,
        )
    )  # fmt: skip
    db.flush()


def test_not_yet_is_told_the_day_after_and_passes_once_understood(db: Session) -> None:
    course = on_dynamic(db).course
    said(db, course, "not_yet", at(9, 0, 4))
    go(db, WED, at(22, 0, 4), minutes=720)
    assert alert(db, "not_yet") is None
    run_due(db, at(6, 0, 5))
    told = alert(db, "not_yet")
    assert (told.state, told.level, told.figures["item"]) == (
        "open", "today", "When to stop and ring",
    )  # fmt: skip
    said(db, course, "understood", at(9, 0, 5))
    run_due(db, at(9, 1, 5))
    assert alert(db, "not_yet").state == "passed"


def test_understood_at_the_next_try_of_the_same_day_is_not_told(db: Session) -> None:
    course = on_dynamic(db).course
    said(db, course, "not_yet", at(9, 0, 4))
    said(db, course, "understood", at(9, 30, 4))
    run_due(db, at(6, 0, 5))
    assert alert(db, "not_yet") is None


# Changes on their way to phones


def stopped(db: Session, course: Course, when: datetime) -> uuid.UUID:
    return hold_course(db, clinician_of(db, course), course.id, "hospital", "flu", when).id


def test_a_hold_that_no_phone_fetched_is_told_after_four_clinic_hours(db: Session) -> None:
    """The clinic opens at 8:00 UTC, 9:00 in London, and closes at 16:00."""
    course = on_dynamic(db).course
    open_on_weekdays(db, course)
    phone = phone_of(db, course)
    word(db, phone, at(8, 30, 3), kind="plan")
    stopped(db, course, at(14, 0, 4))  # two clinic hours are left on Thursday
    word(db, phone, at(15, 0, 4))  # a word is no plan
    go(db, at(14, 0, 4), at(9, 59, 5), minutes=240)
    assert alert(db, "plan_not_received") is None
    run_due(db, at(10, 0, 5))
    told = alert(db, "plan_not_received")
    assert (told.state, told.level) == ("open", "today")
    assert told.figures == {"what": "hold", "since": at(14, 0, 4).isoformat(), "phones": 1}
    word(db, phone, at(10, 30, 5), kind="plan")
    run_due(db, at(10, 31, 5))
    assert alert(db, "plan_not_received").state == "passed"


def test_it_stands_for_as_long_as_the_phone_does_not_know(db: Session) -> None:
    course = on_dynamic(db).course
    phone = phone_of(db, course)
    stopped(db, course, at(9, 0, 4))
    run_due(db, at(13, 0, 4))
    for day in range(5, 25):
        word(db, phone, at(12, 0, day))  # it speaks, and fetches no plan
        run_due(db, at(12, 1, day))
    assert [row.state for row in alerts(db, "plan_not_received")] == ["open"]


def test_every_phone_must_have_fetched_it(db: Session) -> None:
    course = on_dynamic(db).course
    one, other = phone_of(db, course), phone_of(db, course)
    stopped(db, course, at(9, 0, 4))
    word(db, one, at(9, 5, 4), kind="plan")
    run_due(db, at(13, 0, 4))
    assert alert(db, "plan_not_received").figures["phones"] == 1
    word(db, other, at(13, 5, 4), kind="plan")
    run_due(db, at(13, 6, 4))
    assert alert(db, "plan_not_received").state == "passed"


def test_a_hold_that_has_ended_takes_nothing_back(db: Session) -> None:
    course = on_dynamic(db).course
    phone_of(db, course)
    hold = stopped(db, course, at(9, 0, 4))
    resume(db, clinician_of(db, course), hold, "home again", at(10, 0, 4))
    run_due(db, at(14, 0, 4))
    assert alert(db, "plan_not_received") is None


def test_the_phone_on_which_a_stop_was_set_knows_of_it(db: Session) -> None:
    course = on_dynamic(db).course
    mine = phone_of(db, course)
    stop_from(db, course, mine.id)
    run_due(db, at(14, 0, 4))
    assert alert(db, "plan_not_received") is None


def test_the_other_phone_does_not(db: Session) -> None:
    course = on_dynamic(db).course
    mine, _carers = phone_of(db, course), phone_of(db, course)
    stop_from(db, course, mine.id)
    run_due(db, at(14, 0, 4))
    assert alert(db, "plan_not_received").figures["phones"] == 1


def stop_from(db: Session, course: Course, device: uuid.UUID) -> None:
    by = Actor(course.clinic_id, "device", device)
    told = Report(uuid.uuid4(), "snap", {}, at(9, 0, 4), "x")
    report_trouble(db, by, CallersCourse(course, None), told, at(9, 0, 4))


def changed(db: Session, course: Course, amount: int, when: datetime) -> None:
    """A revision with another dose of the leading exercise."""
    made = on_regime_body(db, course)
    for phase in made["phases"]:
        for exercise in phase["exercises"]:
            exercise["dose"]["amount"] = amount
    set_regime(db, clinician_of(db, course), course.id, Wanted(None, made, "less"), when)


def on_regime_body(db: Session, course: Course) -> dict[str, object]:
    row = regime_in_force(db, course, at(8, 0, 4))
    assert row is not None
    return copy.deepcopy(row[0].body)


def test_a_revision_that_asks_for_less_must_arrive(db: Session) -> None:
    course = on_dynamic(db).course
    phone_of(db, course)
    changed(db, course, 5, at(9, 0, 4))
    run_due(db, at(13, 1, 4))
    assert alert(db, "plan_not_received").figures["what"] == "revision"


def test_a_revision_that_takes_nothing_back_need_not(db: Session) -> None:
    course = on_dynamic(db).course
    phone_of(db, course)
    made = on_regime_body(db, course)
    set_regime(db, clinician_of(db, course), course.id, Wanted(None, made, "same"), at(9, 0, 4))
    run_due(db, at(13, 1, 4))
    assert alert(db, "plan_not_received") is None


def test_going_back_a_stage_must_arrive(db: Session) -> None:
    course = on_dynamic(db).course
    phone_of(db, course)
    texts_signed(db, course)
    signed = Signed("static", splint_fitted=True, hand_examined=True, reason="swollen")
    release_phase(db, clinician_of(db, course), course.id, signed, at(9, 0, 4))
    run_due(db, at(13, 1, 4))
    assert alert(db, "plan_not_received").figures["what"] == "release"


def test_no_contact_holds_it_under_it_and_says_so(db: Session) -> None:
    course = on_dynamic(db).course
    phone = phone_of(db, course)
    word(db, phone, at(9, 0, 3), kind="plan")
    stop_later = at(6, 30, 5)
    run_due(db, at(6, 0, 5))
    assert alert(db, "no_contact").state == "open"
    changed(db, course, 5, stop_later)
    run_due(db, at(12, 0, 5))
    assert alert(db, "plan_not_received") is None
    lines = words("no_contact", alert(db, "no_contact").figures, "Europe/London")[1]
    assert lines[-1] == (
        "A change of regime took something back Friday 5 June 07:30. The phone does not know: ring."
    )


def test_once_no_contact_is_settled_a_change_that_must_arrive_is_told_by_itself(
    db: Session,
) -> None:
    course = on_dynamic(db).course
    word(db, phone_of(db, course), at(9, 0, 3), kind="plan")
    run_due(db, at(6, 0, 5))
    held, by = alert(db, "no_contact"), clinician_of(db, course)
    settle_alert(db, by, held.id, "rang", "", at(6, 10, 5), date(2026, 6, 19))
    changed(db, course, 5, at(6, 30, 5))
    go(db, at(6, 30, 5), at(10, 29, 5), minutes=60)
    assert alert(db, "plan_not_received") is None
    go(db, at(10, 29, 5), at(10, 31, 5), minutes=1)
    assert alert(db, "plan_not_received").state == "open"
    assert [row.state for row in alerts(db, "no_contact")] == ["settled"]


def test_where_no_contact_is_switched_off_it_holds_nothing_under_it(db: Session) -> None:
    course = on_dynamic(db).course
    off = {"on": False}
    db.add(AlertSetting(at=WED, clinic_id=course.clinic_id, kind="no_contact", value=off))
    word(db, phone_of(db, course), at(9, 0, 3), kind="plan")
    changed(db, course, 5, at(6, 30, 5))
    run_due(db, at(10, 31, 5))
    assert alert(db, "no_contact") is None
    assert alert(db, "plan_not_received").state == "open"


# What a clinic sets of a kind


def test_a_kind_switched_off_is_not_told_and_its_level_is_the_clinics(db: Session) -> None:
    course = on_dynamic(db).course
    visit(db, course, date(2026, 6, 4))
    said(db, course, "not_yet", at(9, 0, 4))
    for kind, value in (("visit_missed", {"on": False}), ("not_yet", {"level": "this_week"})):
        db.add(AlertSetting(at=WED, clinic_id=course.clinic_id, kind=kind, value=value))
    db.flush()
    run_due(db, at(6, 0, 5))
    assert alert(db, "visit_missed") is None
    assert alert(db, "not_yet").level == "this_week"


def test_settled_it_comes_back_on_the_day_chosen(db: Session) -> None:
    course = on_dynamic(db).course
    visit(db, course, date(2026, 6, 4))
    run_due(db, at(6, 0, 5))
    held = alert(db, "visit_missed")
    by = clinician_of(db, course)
    settle_alert(db, by, held.id, "rang", "", at(9, 0, 5), date(2026, 6, 9))
    go(db, at(9, 0, 5), at(22, 0, 8), minutes=720)
    assert len(alerts(db, "visit_missed")) == 1
    run_due(db, at(6, 0, 9))
    assert [row.state for row in alerts(db, "visit_missed")] == ["settled", "open"]
