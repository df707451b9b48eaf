"""Alerts that the minute's jobs open and let pass."""

from __future__ import annotations

import uuid
from datetime import date, datetime
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog import jobs
from homeprog.jobs import run_due
from homeprog.services import watch_courses
from homeprog.services.release_phase import Signed, release_phase
from homeprog.services.settle_alert import settle_alert
from homeprog.services.watch.seen import Found
from homeprog.storage import watched
from homeprog.storage.caseloads import line_of
from homeprog.storage.models import (
    Alert,
    CaseloadLine,
    Course,
    CourseEvent,
    DaySummaryRow,
    PromptSlot,
    Visit,
)
from homeprog.storage.touches import touch
from tests import regime_cast
from tests.services import prompt_cast as p
from tests.services.prompt_cast import at
from tests.services.watch_cast import (
    WED,
    alert,
    alerts,
    check,
    clinician_of,
    go,
    log,
    on_dynamic,
    phone_of,
    word,
)


def test_no_contact_is_told_at_the_second_waking_and_passes_with_the_first_word(
    db: Session,
) -> None:
    course = on_dynamic(db).course
    phone = phone_of(db, course)
    word(db, phone, at(12, day=3))
    go(db, at(12, day=3), at(5, 59, day=5))
    assert alert(db, "no_contact") is None  # Thursday's waking was the first
    run_due(db, at(6, 0, day=5))
    told = alert(db, "no_contact")
    assert told is not None
    assert (told.state, told.level) == ("open", "today")
    assert told.figures["last_word"] == at(12, day=3).isoformat()
    word(db, phone, at(9, day=5))
    go(db, at(9, day=5), at(11, day=5))
    assert alert(db, "no_contact").state == "passed"


def test_rung_and_still_silent_the_course_stays_among_the_unwatched_until_a_phone_speaks(
    db: Session,
) -> None:
    course = on_dynamic(db).course
    phone, by = phone_of(db, course), clinician_of(db, course)
    word(db, phone, at(12, day=3))
    go(db, at(12, day=3), at(6, 1, day=5))
    settle_alert(db, by, alert(db, "no_contact").id, "rang", "", at(8, day=5), date(2026, 6, 19))
    for now in (at(8, day=5), at(12, day=8)):
        run_due(db, now)
        assert line_of(db, course).group == "not_watched"
    word(db, phone, at(12, 30, day=8))
    go(db, at(12, 30, day=8), at(6, 5, day=9))
    assert line_of(db, course).group != "not_watched"


def test_a_course_without_a_phone_is_never_out_of_contact(db: Session) -> None:
    on_dynamic(db)
    go(db, WED, at(12, day=8), minutes=120)
    assert alert(db, "no_contact") is None


def test_a_phase_not_released_is_told_on_the_third_clinic_day_and_passes_on_release(
    db: Session,
) -> None:
    """Day 7 is Monday 1 June 2026; the clinic has no hours, so every day counts."""
    made = regime_cast.on_regime(db, at(8, day=1), operated_days_ago=7, release="static")
    go(db, at(8, day=1), at(5, 59, day=4), minutes=120)
    assert alert(db, "phase_not_released") is None
    go(db, at(5, 59, day=4), at(7, day=4))
    told = alert(db, "phase_not_released")
    assert told is not None
    assert told.figures["phase"] == "dynamic"
    assert told.figures["earliest"] == date(2026, 6, 1).isoformat()
    signed = Signed("dynamic", splint_fitted=True, hand_examined=True)
    release_phase(db, made.therapist, made.course.id, signed, at(9, day=4))
    run_due(db, at(9, 1, day=4))
    assert alert(db, "phase_not_released").state == "passed"


def test_a_planned_visit_for_the_stage_is_waited_for(db: Session) -> None:
    made = regime_cast.on_regime(db, at(8, day=1), operated_days_ago=7, release="static")
    visit(db, made.course, date(2026, 6, 9), "dynamic")
    go(db, at(8, day=1), at(20, day=9), minutes=240)
    assert alert(db, "phase_not_released") is None
    go(db, at(20, day=9), at(7, day=10))
    assert alert(db, "phase_not_released").figures["visit"] == "2026-06-09"


def test_a_visit_for_another_reason_does_not_put_it_off(db: Session) -> None:
    made = regime_cast.on_regime(db, at(8, day=1), operated_days_ago=7, release="static")
    visit(db, made.course, date(2026, 6, 30), None)
    go(db, at(8, day=1), at(7, day=4), minutes=240)
    assert alert(db, "phase_not_released") is not None


def visit(db: Session, course: Course, day: date, phase: Any) -> None:
    db.add(
        Visit(
            at=at(8, 1, day=1), clinic_id=course.clinic_id, course_id=course.id, planned=day,
            kind="gate", for_phase=phase,
        )
    )  # fmt: skip
    db.flush()


def test_settled_it_stays_silent_while_the_condition_lasts_until_its_day(db: Session) -> None:
    made = regime_cast.on_regime(db, at(8, day=1), operated_days_ago=7, release="static")
    go(db, at(8, day=1), at(7, day=4), minutes=240)
    first = alert(db, "phase_not_released")
    settle_alert(db, made.therapist, first.id, "called_in", "", at(7, 30, day=4), date(2026, 6, 8))
    go(db, at(7, 30, day=4), at(20, day=7), minutes=240)
    assert len(db.scalars(select(Alert)).all()) == 1
    go(db, at(20, day=7), at(7, day=8), minutes=60)
    again = alert(db, "phase_not_released")
    assert again.id != first.id
    assert again.state == "open"


def test_closing_a_course_lets_its_alerts_pass_but_not_its_trouble(db: Session) -> None:
    course = on_dynamic(db).course
    phone_of(db, course)
    go(db, WED, at(6, 1, day=5), minutes=120)
    trouble = Alert(
        at=at(6, 1), clinic_id=course.clinic_id, course_id=course.id, kind="trouble", level="now",
        rule="trouble", rule_version=1, figures={}, clock_starts=at(6, 1),
    )  # fmt: skip
    db.add(trouble)
    db.add(
        CourseEvent(
            at=at(6, 2), clinic_id=course.clinic_id, course_id=course.id, kind="closed", figures={}
        )
    )
    db.flush()
    run_due(db, at(6, 3))
    assert alert(db, "no_contact").state == "passed"
    assert alert(db, "trouble").state == "open"


def test_a_tick_passes_slots_plans_reminders_and_refreshes_the_caseload(db: Session) -> None:
    course = on_dynamic(db).course
    run_due(db, at(8, 1, day=3))
    assert db.scalars(select(CaseloadLine)).one().as_of == at(8, 1, day=3)
    run_due(db, at(9, 46, day=3))
    row = db.scalars(select(DaySummaryRow).where(DaySummaryRow.course_id == course.id)).first()
    assert row.as_of == at(9, 46, day=3)
    before = db.scalars(select(PromptSlot.slot_start)).all()
    run_due(db, at(6, 0, day=4))
    assert max(db.scalars(select(PromptSlot.slot_start))) > max(before)


def test_one_course_that_fails_does_not_stop_the_others(
    db: Session, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    by = p.therapist(db)
    one, other = sorted(
        [p.hourly(db, by), p.hourly(db, by, name="B", number="2")], key=lambda c: str(c.id)
    )
    bad, good = one.id, other.id
    real = jobs.refresh_line

    def breaks(db: Session, course: Course, now: datetime) -> object:
        if course.id == bad:
            raise ValueError("Grace Obi")
        return real(db, course, now)

    monkeypatch.setattr(jobs, "refresh_line", breaks)
    run_due(db, at(9))
    assert [line.course_id for line in db.scalars(select(CaseloadLine))] == [good]
    assert str(bad) in caplog.text
    assert "Grace" not in caplog.text


def breaking(monkeypatch: pytest.MonkeyPatch, rule: int) -> None:
    """That rule of the watch fails, whatever the course."""

    def breaks(_watch: object) -> Found:
        raise KeyError("Grace Obi")

    told, _ = watch_courses.RULES[rule]
    rules = (*watch_courses.RULES[:rule], (told, breaks), *watch_courses.RULES[rule + 1 :])
    monkeypatch.setattr(watch_courses, "RULES", rules)


FEW = next(n for n, (told, _) in enumerate(watch_courses.RULES) if "few_logged" in told)


def test_a_rule_that_fails_takes_no_other_with_it_and_is_tried_again_each_minute(
    db: Session, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    course = on_dynamic(db).course
    word(db, phone_of(db, course), at(12, day=3))
    go(db, at(12, day=3), at(5, 59, day=5))
    breaking(monkeypatch, FEW)
    run_due(db, at(6, 0, day=5))
    assert alert(db, "no_contact").state == "open"
    said = f"watch, course {course.id}, few_logged, reminders_not_arriving: KeyError"
    assert caplog.text.count(said) == 1
    run_due(db, at(6, 1, day=5))
    assert caplog.text.count(said) == 2
    assert "Grace" not in caplog.text
    assert [row.state for row in alerts(db, "no_contact")] == ["open"]


def off_for_hours(db: Session, course: Course) -> None:
    """The daily check of 4 June, at 18:00: the splint was off for more than 3 hours."""
    said = check(db, course, date(2026, 6, 4), splint_on="no")
    said.details = {"off_hours": "over_2"}


def test_a_course_whose_watch_failed_is_watched_at_the_next_tick_not_at_the_next_waking(
    db: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    course = on_dynamic(db).course
    run_due(db, at(17, 59, day=4))
    off_for_hours(db, course)
    with monkeypatch.context() as broken:
        broken.setattr(watched, "kinds_on_record", lambda *_: 1 / 0)
        run_due(db, at(18, 0, day=4))
    assert alert(db, "splint_off") is None
    run_due(db, at(18, 1, day=4))
    assert alert(db, "splint_off").state == "open"


def test_what_a_phone_stored_after_the_look_for_news_is_looked_at_once_it_is_summed_up(
    db: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An upload of 11:45 that was stored only while the tick of 11:46 was at work."""
    course = on_dynamic(db).course
    for hour, pain in ((9, 8), (10, 3)):
        log(db, course, None, at(hour, 30, day=4), pain=pain, pain_asked=True)
    go(db, WED, at(10, 46, day=4), minutes=60)
    go(db, at(10, 46, day=4), at(11, 45, day=4))
    real = jobs.sum_up

    def late(db: Session, now: datetime, *more: Any) -> set[uuid.UUID]:
        log(db, course, None, at(11, 30, day=4), pain=8, pain_asked=True)
        touch(db, course.clinic_id, {course.id: at(11, 30, day=4)}, at(11, 45, day=4))
        return real(db, now, *more)

    monkeypatch.setattr(jobs, "sum_up", late)
    run_due(db, at(11, 46, day=4))
    assert alert(db, "second_pain").state == "open"


def test_what_comes_in_while_a_tick_is_at_work_is_looked_at_by_the_next(
    db: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    course = on_dynamic(db).course
    run_due(db, at(17, 59, day=4))
    real = jobs.lapse_releases

    def meanwhile(db: Session, now: datetime) -> int:
        off_for_hours(db, course)
        return real(db, now)

    with monkeypatch.context() as busy:
        busy.setattr(jobs, "lapse_releases", meanwhile)
        run_due(db, at(18, 0, day=4))
    assert alert(db, "splint_off") is None
    run_due(db, at(18, 1, day=4))
    assert alert(db, "splint_off").state == "open"
