"""Pain, splint and the daily check, too much and mostly later, from rows to alerts."""

from __future__ import annotations

from datetime import date

import pytest
from sqlalchemy.orm import Session

from homeprog.domain.alert import words
from homeprog.domain.settings import SETTINGS
from homeprog.jobs import run_due
from homeprog.services.actor import Actor
from homeprog.services.hold_course import hold_course, resume
from homeprog.services.set_clinic import set_clinic
from homeprog.services.settle_alert import settle_alert
from homeprog.storage.models import Course
from tests.services.prompt_cast import at
from tests.services.watch_cast import (
    WED,
    alert,
    alerts,
    check,
    clinician_of,
    go,
    late,
    log,
    on_dynamic,
    phone_of,
    report,
    uploaded,
)

MORNING = (6, 1)  # a minute after the waking


def june(day: int) -> date:
    return date(2026, 6, day)


def painful(db: Session, course: Course, day: int, *pains: int) -> None:
    """Goes of a day of June, hour after hour, with these pains."""
    for n, pain in enumerate(pains):
        log(db, course, None, at(9 + n, 30, day), pain=pain, pain_asked=True)


def told(db: Session, kind: str) -> tuple[str, str]:
    row = alert(db, kind)
    assert row is not None, kind
    return row.state, row.level


def test_a_rise_of_two_points_over_days_two_to_four_is_told_at_the_next_waking(
    db: Session,
) -> None:
    """Released 3 June: the baseline is of 5, 6 and 7 June, 2; then 4 and 4 on the 8th and 9th."""
    course = on_dynamic(db).course
    for day, pains in ((5, (2, 2)), (6, (2, 3)), (7, (1, 2)), (8, (4, 4)), (9, (4, 5))):
        painful(db, course, day, *pains)
    go(db, WED, at(23, 0, 9), minutes=1440)
    assert alert(db, "pain_rise") is None
    run_due(db, at(*MORNING, 10))
    assert told(db, "pain_rise") == ("open", "today")
    figures = alert(db, "pain_rise").figures
    assert (figures["baseline"], figures["now"]) == (2.0, 4.25)
    assert figures["days"] == [["2026-06-08", 4.0], ["2026-06-09", 4.5]]
    painful(db, course, 10, 2, 2)
    painful(db, course, 11, 2, 2)
    go(db, at(*MORNING, 10), at(*MORNING, 12), minutes=1440)
    assert told(db, "pain_rise")[0] == "passed"


def test_a_rise_short_of_two_points_is_not_told(db: Session) -> None:
    course = on_dynamic(db).course
    for day, pains in ((5, (2, 3)), (6, (2, 3)), (7, (2, 3)), (8, (4, 4)), (9, (4, 4))):
        painful(db, course, day, *pains)
    go(db, WED, at(*MORNING, 10), minutes=1440)
    assert alert(db, "pain_rise") is None


def test_average_pain_of_five_on_two_days_running_is_told_this_week(db: Session) -> None:
    course = on_dynamic(db).course
    go(db, WED, at(18, 0, 4), minutes=720)
    check(db, course, june(4), pain=5)
    run_due(db, at(18, 1, 4))
    assert alert(db, "average_pain") is None
    check(db, course, june(5), pain=6)
    run_due(db, at(18, 1, 5))
    assert told(db, "average_pain") == ("open", "this_week")
    assert "CRPS" not in words("average_pain", alert(db, "average_pain").figures)[0]
    check(db, course, june(6), pain=4)
    run_due(db, at(18, 1, 6))
    assert told(db, "average_pain")[0] == "passed"


def test_average_pain_up_to_day_five_is_not_told(db: Session) -> None:
    """Operated 29 May: 3 June is day 5."""
    course = on_dynamic(db, operated_days_ago=5, release=None).course
    for day in (3, 4):
        check(db, course, june(day), pain=8)
    run_due(db, at(18, 1, 4))
    assert alert(db, "average_pain") is None
    check(db, course, june(5), pain=8)
    run_due(db, at(18, 1, 5))
    assert alert(db, "average_pain").figures["days"] == [["2026-06-04", 8], ["2026-06-05", 8]]


def test_a_second_seven_on_one_day_is_told_at_once(db: Session) -> None:
    course = on_dynamic(db).course
    painful(db, course, 4, 7, 6, 8)
    go(db, WED, at(10, 0, 4), minutes=600)
    uploaded(db, course, at(9, 0, 4), at(10, 40, 4))
    assert alert(db, "second_pain") is None
    uploaded(db, course, at(9, 0, 4), at(11, 31, 4))
    assert told(db, "second_pain") == ("open", "today")
    entries = alert(db, "second_pain").figures["entries"]
    assert entries == [[at(9, 30, 4).isoformat(), 7], [at(11, 30, 4).isoformat(), 8]]
    run_due(db, at(*MORNING, 7))
    assert told(db, "second_pain")[0] == "open"  # over the weekend
    run_due(db, at(*MORNING, 8))
    assert told(db, "second_pain")[0] == "passed"


def test_a_splint_not_on_as_told_on_two_days_of_four_is_told(db: Session) -> None:
    course = on_dynamic(db).course
    run_due(db, at(18, 0, 4))
    check(db, course, june(4), splint_on="no")
    run_due(db, at(18, 1, 4))
    assert alert(db, "splint_off") is None
    report(db, course, "splint_off_and_back", at(10, 0, 7), off_hours="under_1")
    run_due(db, at(10, 1, 7))
    assert told(db, "splint_off") == ("open", "today")
    assert alert(db, "splint_off").figures["first"] == "2026-06-04"
    run_due(db, at(*MORNING, 8))
    assert told(db, "splint_off")[0] == "passed"


def test_as_many_days_are_looked_at_as_a_clinic_may_choose(db: Session) -> None:
    course = on_dynamic(db).course
    most = int(SETTINGS["splint_off.of"].most)
    house = Actor(course.clinic_id, "system")
    set_clinic(db, house, {"settings": {"splint_off.of": most}}, at(8, 0, 3))
    for day in (4, 3 + most):
        check(db, course, june(day), splint_on="no")
        run_due(db, at(18, 1, day))
    assert alert(db, "splint_off").figures["days"] == [["2026-06-04", {}], ["2026-06-10", {}]]


def test_a_splint_off_for_more_than_two_hours_is_told_at_once(db: Session) -> None:
    course = on_dynamic(db).course
    run_due(db, at(9, 0, 4))
    report(db, course, "splint_off_and_back", at(10, 0, 4), off_hours="over_2")
    run_due(db, at(10, 1, 4))
    assert told(db, "splint_off") == ("open", "today")
    assert "more than 2 hours" in words("splint_off", alert(db, "splint_off").figures)[0]


def test_a_static_stage_is_watched_for_its_splint_too(db: Session) -> None:
    """No exercise leads and no day has a summary: the check itself is news."""
    course = on_dynamic(db, release="static", operated_days_ago=2).course
    run_due(db, at(9, 0, 4))
    for day in (4, 5):
        check(db, course, june(day), splint_on="no")
        run_due(db, at(18, 1, day))
    assert told(db, "splint_off") == ("open", "today")


@pytest.mark.parametrize("second", [{"no_new_swelling": "no"}, {}])
def test_new_swelling_for_the_second_day_running_is_a_line_of_this_week(
    db: Session, second: dict[str, str]
) -> None:
    """Answered, or reported from the list of what can be wrong."""
    course = on_dynamic(db).course
    run_due(db, at(9, 0, 4))
    check(db, course, june(4), no_new_swelling="no", comfortable="yes")
    run_due(db, at(18, 1, 4))
    assert alert(db, "second_day") is None
    if second:
        check(db, course, june(5), **second)
    else:
        report(db, course, "swelling", at(18, 0, 5))
    run_due(db, at(18, 1, 5))
    assert told(db, "second_day") == ("open", "this_week")
    headline, _ = words("second_day", alert(db, "second_day").figures)
    assert headline == "New swelling, second day running"
    check(db, course, june(6), no_new_swelling="yes")
    run_due(db, at(18, 1, 6))
    assert told(db, "second_day")[0] == "passed"


@pytest.mark.parametrize(
    ("kind", "headline"),
    [("skin", "Not comfortable"), ("tingling", "Tingling"), ("swelling", "New swelling")],
)
def test_every_report_that_is_no_alert_by_itself_is_one_on_its_second_day(
    db: Session, kind: str, headline: str
) -> None:
    course = on_dynamic(db).course
    for day in (4, 5):
        assert alert(db, "second_day") is None
        report(db, course, kind, at(18, 0, day))
        run_due(db, at(18, 1, day))
    figures = alert(db, "second_day").figures
    assert words("second_day", figures)[0] == f"{headline}, second day running"


def test_pain_and_splint_are_told_while_paused_but_not_in_hospital(db: Session) -> None:
    course = on_dynamic(db).course
    hold_course(db, clinician_of(db, course), course.id, "pause", "away", at(9, 0, 4))
    for day in (4, 5):
        check(db, course, june(day), pain=7)
        run_due(db, at(18, 1, day))
    assert told(db, "average_pain")[0] == "open"
    hold_course(db, clinician_of(db, course), course.id, "hospital", "flu", at(18, 5, 5))
    run_due(db, at(18, 6, 5))
    assert told(db, "average_pain")[0] == "passed"


def test_settled_it_comes_back_only_once_it_had_ended(db: Session) -> None:
    course = on_dynamic(db).course
    for day in (4, 5):
        check(db, course, june(day), pain=6)
        run_due(db, at(18, 1, day))
    held = alert(db, "average_pain")
    settle_alert(
        db, clinician_of(db, course), held.id, "called_in", "", at(18, 5, 5), date(2026, 6, 30)
    )
    check(db, course, june(6), pain=6)
    run_due(db, at(18, 1, 6))
    assert len(alerts(db, "average_pain")) == 1
    for day, pain in ((7, 2), (8, 6), (9, 6)):
        check(db, course, june(day), pain=pain)
        run_due(db, at(18, 1, day))
    assert [row.state for row in alerts(db, "average_pain")] == ["settled", "open"]


def test_a_kind_that_goes_quiet_is_not_over_by_that(db: Session) -> None:
    """Settled, in hospital for an hour, and the condition holds as before: not told again."""
    course = on_dynamic(db).course
    by = clinician_of(db, course)
    for day in (4, 5):
        check(db, course, june(day), pain=6)
        run_due(db, at(18, 1, day))
    held = alert(db, "average_pain")
    settle_alert(db, by, held.id, "called_in", "", at(18, 5, 5), date(2026, 6, 30))
    hold = hold_course(db, by, course.id, "hospital", "flu", at(18, 10, 5))
    run_due(db, at(18, 11, 5))
    resume(db, by, hold.id, "home again", at(19, 10, 5))
    run_due(db, at(19, 11, 5))
    check(db, course, june(6), pain=6)
    run_due(db, at(19, 30, 6))
    assert len(alerts(db, "average_pain")) == 1


# Too much, mostly later


def overdone(db: Session, course: Course, day: int, amount: int) -> None:
    for hour in range(9, 18):
        log(db, course, None, at(hour, 30, day), amount)


def test_two_days_of_seven_over_125_per_cent_are_told_this_week(db: Session) -> None:
    """15 times 10 a day: 9 goes of 20 are 180 of 150, 120 %; 9 of 22 are 198, 132 %."""
    course = on_dynamic(db).course
    for day, amount in ((4, 20), (5, 22)):
        overdone(db, course, day, amount)
    go(db, WED, at(21, 0, 5), minutes=540)
    assert alert(db, "excess").figures["days"] == []  # each go of 22 is over twice its 10
    assert told(db, "excess") == ("open", "this_week")


def test_one_day_over_is_not_told_and_a_second_is(db: Session) -> None:
    course = on_dynamic(db).course
    for hour in range(6, 21):
        for day in (4, 6):
            log(db, course, None, at(hour, 20, day), 13)
    go(db, WED, at(21, 0, 5), minutes=540)
    uploaded(db, course, at(6, 0, 4), at(17, 0, 6))
    assert alert(db, "excess") is None  # 11 goes of 13 are 143 of 150
    uploaded(db, course, at(6, 0, 4), at(20, 30, 6))
    assert alert(db, "excess").figures["days"] == [["2026-06-04", 130], ["2026-06-06", 130]]
    assert alert(db, "excess").figures["slots"] == []
    go(db, at(20, 31, 6), at(*MORNING, 11), minutes=1440)
    assert told(db, "excess")[0] == "passed"


def test_a_slot_over_twice_its_dose_is_told_by_itself(db: Session) -> None:
    course = on_dynamic(db).course
    log(db, course, None, at(9, 30, 4), 20)
    log(db, course, None, at(10, 30, 4), 21)
    go(db, WED, at(10, 0, 4), minutes=500)
    uploaded(db, course, at(9, 0, 4), at(10, 0, 4))
    assert alert(db, "excess") is None
    uploaded(db, course, at(9, 0, 4), at(10, 31, 4))
    assert alert(db, "excess").figures["slots"] == [[at(10, 0, 4).isoformat(), 21, 10]]


def filled_in(db: Session, course: Course, day: int, hours: range) -> None:
    """Filled in at bedtime, all at once."""
    for hour in hours:
        log(
            db, course, None, at(21, 30, day), slot_start=at(hour, 0, day), done_at=None,
            how="later",
        )  # fmt: skip


def test_mostly_entered_later_is_told_after_whole_days(db: Session) -> None:
    course = on_dynamic(db).course
    house = Actor(course.clinic_id, "system")
    set_clinic(db, house, {"settings": {"timely_minutes": 30}}, WED)
    filled_in(db, course, 4, range(6, 20))
    filled_in(db, course, 5, range(6, 20))
    go(db, WED, at(*MORNING, 5), minutes=720)
    late(db, course, phone_of(db, course), at(6, 0, 4), at(23, 10, 5))
    assert alert(db, "entered_later") is None
    run_due(db, at(*MORNING, 6))
    assert told(db, "entered_later") == ("open", "this_week")
    assert alert(db, "entered_later").figures["share"] >= 90
    assert alert(db, "entered_later").figures["timely"] == 30  # the clinic's own
