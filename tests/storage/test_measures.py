"""What the measures are made of: hours as lived, days of the check, goes, rehearsals."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.domain.adherence import figures, from_row, total
from homeprog.domain.adherence.logging_ways import rehearsed
from homeprog.domain.adherence.pattern import by_hour, by_weekday, share
from homeprog.services.actor import Actor
from homeprog.services.assess_course import assess_whole_course
from homeprog.services.plan_prompts import plan_prompts
from homeprog.services.release_phase import Signed, release_phase
from homeprog.services.set_clinic import set_clinic
from homeprog.services.set_regime import set_regime
from homeprog.storage.check_days import splint_wears
from homeprog.storage.measures import Material, material
from homeprog.storage.models import (
    ContactMarkRow,
    Course,
    DailyCheck,
    Prompt,
    PromptEvent,
    PromptSend,
    PromptSlot,
    TroubleReport,
    ZoneStay,
)
from homeprog.storage.timelines import settings_of
from tests import cast
from tests.regime_cast import on_regime
from tests.services import prompt_cast as p
from tests.services.prompt_cast import at
from tests.services.test_rehearsal import regime

WED, THU, FRI, SAT = (date(2026, 6, day) for day in (3, 4, 5, 6))


@pytest.fixture
def course(db: Session) -> Course:
    """'bend' 10 times, every hour from 7 to 22 in London (6 to 21 UTC), from Wednesday 3 June."""
    return p.hourly(db, p.therapist(db))


def read(db: Session, course: Course, now) -> Material:
    assess_whole_course(db, course, now)
    return material(db, course, now)


def test_hours_and_weekdays_hold_every_slot_of_the_days_figures(db, course):
    p.logged(db, course, at(6, 30))
    p.logged(db, course, at(7, 30), amount=4)
    p.held(db, course, at(15))
    told = read(db, course, at(18))
    slots = told.slots("bend", (FRI, FRI))
    summed = total(from_row(row.figures) for row in told.rows if row.date == FRI)
    for groups in (by_hour(slots), by_weekday(slots)):
        assert sum(each.slots for each in groups.values()) == summed.slots
        assert sum(each.not_asked for each in groups.values()) == summed.excused > 0
    assert share(slots).logged == summed.logged == 1


def test_the_hour_is_that_of_the_zone_lived_in_then(db, course):
    db.add(
        ZoneStay(
            at=at(12, day=4), clinic_id=course.clinic_id, patient_id=course.patient_id,
            zone="America/New_York", starts=at(12, day=4), said_by="phone",
        )
    )  # fmt: skip
    told = read(db, course, at(4, day=6))
    assert min(by_hour(told.slots("bend", (WED, WED)))) == 7
    assert min(by_hour(told.slots("bend", (FRI, FRI)))) == 7
    assert told.slots("bend", (FRI, FRI))[0].date == FRI
    assert told.windows("bend", (FRI, FRI))[0][0].start == at(11)  # 7 in New York


def test_what_is_not_known_of_a_part_may_still_come(db, course):
    p.logged(db, course, at(6, 30), amount=4)
    silent = share(read(db, course, at(9)).slots("bend", (FRI, FRI)))
    assert silent.may_become == 1
    phone = cast.phone(db, course, at(5))
    db.add(
        ContactMarkRow(
            at=at(9, 30), clinic_id=course.clinic_id, device_id=phone.id, kind="ping",
            outbox_empty=True,
        )
    )  # fmt: skip
    assert share(read(db, course, at(9, 31)).slots("bend", (FRI, FRI))).may_become == 0


def test_a_go_is_timely_by_its_slot_and_a_fill_in_spans_its_slot(db, course):
    p.logged(db, course, at(6, 5), entered_at=at(7, 45))
    p.logged(db, course, at(8, 5), entered_at=at(9, 46))
    p.logged(db, course, at(11), done_at=None, slot_start=at(9), how="later")
    goes = read(db, course, at(18)).goes("bend")
    assert [(g.start, g.end, g.timely) for g in goes] == [
        (at(6, 5), at(6, 5), True), (at(8, 5), at(8, 5), False), (at(9), at(10), False),
    ]  # fmt: skip


def check(db, course, day, received, **answers):
    db.add(
        DailyCheck(
            clinic_id=course.clinic_id, course_id=course.id, at=received, day=day,
            answers={"splint_on": "yes"} | answers, details={}, entered_at=received, digest="d",
        )
    )  # fmt: skip
    db.flush()


def wear(db, course, first, last, now):
    settings = settings_of(db, course, now)
    told = splint_wears(db, course, settings, {"asked": (first, last)}, now)["asked"]
    return told.as_told, told.not_as_told, told.unanswered


def test_timely_and_past_are_by_the_clinics_own_minutes(db, course):
    """The slot of 6:00 was filled in an hour after its end; with 90 minutes that is timely."""
    p.logged(db, course, at(8), slot_start=at(6), done_at=None)
    assert not read(db, course, at(9)).goes("bend")[0].timely
    by = Actor(course.clinic_id, "system")
    set_clinic(db, by, {"settings": {"timely_minutes": 90}}, at(9))
    told = read(db, course, at(9))
    assert told.goes("bend")[0].timely
    assert [each.start for each in told.windows("bend", (FRI, FRI))[0]] == [at(6)]


def test_a_day_without_a_phone_asks_nothing_and_today_counts_once_it_was_answered(db, course):
    cast.phone(db, course, at(12, day=4))
    assert wear(db, course, WED, FRI, at(18)) == (0, 0, 1)
    check(db, course, FRI, at(17))
    assert wear(db, course, WED, FRI, at(18)) == (1, 0, 1)


def test_an_answer_received_later_than_now_is_not_seen(db, course):
    cast.phone(db, course, at(5, day=3))
    check(db, course, THU, at(12))
    assert wear(db, course, THU, THU, at(11)) == (0, 0, 1)
    assert wear(db, course, THU, THU, at(12)) == (1, 0, 0)


def test_a_report_that_the_splint_was_off_counts_unless_it_was_taken_back(db, course):
    cast.phone(db, course, at(5, day=3))
    check(db, course, THU, at(18, day=4))
    report = TroubleReport(
        clinic_id=course.clinic_id, course_id=course.id, at=at(10, day=4), digest="d", details={},
        kind="splint_off_and_back", stop=False, entered_at=at(10, day=4),
    )  # fmt: skip
    db.add(report)
    db.flush()
    assert wear(db, course, THU, THU, at(18)) == (0, 1, 0)
    report.taken_back_at = at(10, 1, day=4)
    db.flush()
    assert wear(db, course, THU, THU, at(18)) == (1, 0, 0)


def test_a_rehearsal_is_told_by_its_shown_reminders_and_is_in_no_figure(db):
    now = at(5, 30)
    made = on_regime(db, now - timedelta(days=1), release=None, operated_days_ago=3)
    set_regime(db, made.therapist, made.course.id, regime(made), now)
    signed = Signed("static", splint_fitted=True, hand_examined=True)
    release_phase(db, made.therapist, made.course.id, signed, now)
    phone = cast.phone(db, made.course, now)
    plan_prompts(db, made.patient.id, now)
    for slot in db.scalars(select(PromptSlot).where(PromptSlot.exercise == "practice")):
        if slot.slot_start < at(12):
            shown(db, db.get_one(Prompt, slot.prompt_id), phone)
    p.logged(db, made.course, at(6, 20), amount=1, exercise="practice", device_id=phone.id, pain=9)
    told = read(db, made.course, at(22))
    line = rehearsed(
        {("practice", w.start): w.standing for day in told.windows("practice") for w in day},
        told.reminders,
    )
    assert str(line) == "rehearsal: 1 of 2 shown reminders answered, 0 entered later"
    assert "practice" not in told.exercises
    assert told.rehearsals == {"practice": "Move your thumb"}
    assert told.logs() == []
    assert all(day.pain_answers == 0 for _, day in told.all_figures())
    assert figures(total(each for _, each in told.all_figures())).reached == 0


def shown(db, prompt, phone):
    """The phone told that it showed this reminder."""
    send = PromptSend(
        clinic_id=phone.clinic_id, at=prompt.due_at, prompt_id=prompt.id, device_id=phone.id,
        state="sent", due_at=prompt.due_at,
    )  # fmt: skip
    db.add(send)
    db.flush()
    db.add(PromptEvent(clinic_id=phone.clinic_id, at=prompt.due_at, send_id=send.id, what="shown"))
    db.flush()
