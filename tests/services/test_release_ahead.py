"""A release signed ahead begins when the patient says nothing is wrong, or lapses."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from threading import Thread

import pytest
from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from homeprog.domain.alert import words
from homeprog.domain.errors import Conflict, Forbidden, Invalid
from homeprog.domain.timetable import lay_out
from homeprog.jobs import run_minute
from homeprog.services.begin_release import (
    begin_by_telephone,
    begin_release,
    lapse_release,
    lapse_releases,
)
from homeprog.services.hold_course import hold_course
from homeprog.services.mark_contact import mark_contact
from homeprog.services.phone_plan import phone_plan, plan_version
from homeprog.services.release_phase import Signed, release_phase
from homeprog.services.set_regime import Wanted, set_regime
from homeprog.services.settle_alert import settle_alert
from homeprog.storage import releases
from homeprog.storage.models import Alert, ContactNote, Course, Device, PhoneItem, Release, Staff
from homeprog.storage.timelines import phase_in_force, settings_of
from tests import cast as people
from tests.regime_cast import DYNAMIC, OnRegime, a_course, on_regime
from tests.upload_cast import item, results, send, trouble

NOW = datetime(2026, 6, 5, 13, 10, 20, tzinfo=UTC)  # a Friday, day 20
SIGNED = NOW + timedelta(hours=1)
DAY = date(2026, 6, 9)  # day 24: the stop is opened
WAKES = datetime(2026, 6, 9, 6, tzinfo=UTC)
THEN = datetime(2026, 6, 9, 8, 30, 40, tzinfo=UTC)  # Tuesday 9:30 in London
WIDE = Signed("dynamic_wide", splint_fitted=True, hand_examined=True, not_before=DAY)


@pytest.fixture
def cast(db: Session) -> OnRegime:
    return on_regime(db, NOW, operated_days_ago=20)


@pytest.fixture
def ahead(db: Session, cast: OnRegime) -> Release:
    return release_phase(db, cast.therapist, cast.course.id, WIDE, SIGNED)


@pytest.fixture
def phone(db: Session, cast: OnRegime) -> Device:
    people.signed(db, db.get_one(Staff, cast.therapist.id), NOW)
    device = people.phone(db, cast.course, NOW)
    db.commit()
    return device


def answer(release: Release, at: datetime, said: str = "nothing", **own: object) -> dict:
    told = {"release": str(release.id), "answer": said} | own
    return item("release_answer", release.course_id, at, **told)


def phase(db: Session, cast: OnRegime, now: datetime) -> str:
    return phase_in_force(db, cast.course, now).key


def lapsed(db: Session, cast: OnRegime) -> list[str]:
    """The grounds of the course's alerts 'release lapsed'."""
    rows = db.scalars(select(Alert).where(Alert.course_id == cast.course.id).order_by(Alert.at))
    return [row.figures["why"] for row in rows if row.kind == "release_lapsed"]


def test_until_it_begins_the_stage_before_goes_on_and_the_phone_holds_none_of_its_slots(
    db, cast, ahead, phone
):
    assert ahead.starts is None
    assert phase(db, cast, THEN) == "dynamic"
    course = phone_plan(db, phone, THEN)["courses"][0]
    assert {slot["exercise"] for slot in course["slots"]} == {"bend_to_stop", "shoulder"}


def test_the_phone_holds_the_question_from_the_signing_and_asks_from_the_waking_of_its_day(
    db, cast, phone
):
    assert phone_plan(db, phone, SIGNED)["courses"][0]["release_question"] is None
    before = plan_version(db, cast.patient.id, SIGNED)
    ahead = release_phase(db, cast.therapist, cast.course.id, WIDE, SIGNED)
    asked = phone_plan(db, phone, SIGNED)["courses"][0]["release_question"]
    name = phone_plan(db, phone, SIGNED)["courses"][0]["phase"]["name"]
    assert asked["id"] == str(ahead.id)
    assert asked["from"] == "2026-06-09T06:00:00Z"
    assert asked["phase"] != name
    assert plan_version(db, cast.patient.id, SIGNED) != before


def test_it_begins_with_the_answer_and_its_slots_are_laid_from_that_instant(db, cast, ahead, phone):
    assert results(send(db, phone, [answer(ahead, THEN)], THEN)) == ["stored"]
    assert ahead.starts == datetime(2026, 6, 9, 8, 31, tzinfo=UTC)
    assert phase(db, cast, THEN) == "dynamic_wide"
    settings = settings_of(db, cast.course, THEN)
    laid = lay_out(settings, THEN + timedelta(days=1), since=THEN)
    massage = next(slot for slot in laid if slot.exercise == "scar_massage")
    assert massage.start >= ahead.starts
    assert {s.phase for s in laid if s.start >= ahead.starts} == {"dynamic_wide"}
    course = phone_plan(db, phone, THEN)["courses"][0]
    assert course["release_question"] is None
    assert "scar_massage" in {slot["exercise"] for slot in course["slots"]}


def test_before_its_instant_nobody_sees_it_afterwards_either(db, cast, ahead, phone):
    send(db, phone, [answer(ahead, THEN)], THEN)
    assert phase(db, cast, THEN - timedelta(minutes=2)) == "dynamic"
    early = settings_of(db, cast.course, THEN - timedelta(minutes=2))
    assert "dynamic_wide" not in {setting.phase for setting in early}


def test_an_answer_before_its_day_begins_nothing(db, cast, ahead, phone):
    early = WAKES - timedelta(minutes=1)
    assert results(send(db, phone, [answer(ahead, early)], early)) == ["stored"]
    assert (ahead.starts, ahead.lapsed_at) == (None, None)
    assert phone_plan(db, phone, THEN)["courses"][0]["release_question"] is not None


def test_an_answer_that_comes_late_is_kept_and_asked_anew(db, cast, ahead, phone):
    given = THEN - timedelta(hours=1, seconds=1)
    assert results(send(db, phone, [answer(ahead, given)], THEN)) == ["stored"]
    assert ahead.starts is None
    assert db.scalars(select(PhoneItem.type)).all() == ["release_answer"]


def test_the_same_answer_sent_again_is_stored_once_and_begins_it_once(db, cast, ahead, phone):
    raw = answer(ahead, THEN)
    send(db, phone, [raw], THEN)
    begun = ahead.starts
    assert results(send(db, phone, [raw], THEN + timedelta(minutes=9))) == ["already"]
    changed = raw | {"answer": "something"}
    assert results(send(db, phone, [changed], THEN + timedelta(minutes=9))) == ["refused"]
    again = answer(ahead, THEN + timedelta(minutes=9))
    assert results(send(db, phone, [again], THEN + timedelta(minutes=9))) == ["stored"]
    assert ahead.starts == begun


def test_something_wrong_lets_it_lapse_and_staff_are_told(db, cast, ahead, phone):
    send(db, phone, [answer(ahead, THEN, "something")], THEN)
    assert (ahead.starts, ahead.lapsed_at) == (None, THEN)
    told = db.scalars(select(Alert).where(Alert.kind == "release_lapsed")).one()
    assert "something is wrong since the visit" in words(told.kind, told.figures)[1][0]
    send(db, phone, [answer(ahead, THEN + timedelta(minutes=5))], THEN + timedelta(minutes=5))
    assert ahead.starts is None  # a later 'nothing' begins it no more


def test_a_release_of_another_course_is_refused(db, cast, ahead, phone):
    own, elsewhere = a_course(db, cast.clinic, DAY, NOW), on_regime(db, NOW, operated_days_ago=20)
    own.patient_id = cast.patient.id
    theirs = release_phase(db, elsewhere.therapist, elsewhere.course.id, WIDE, SIGNED)
    sent = [
        answer(theirs, THEN) | {"course": str(cast.course.id)},
        answer(ahead, THEN) | {"course": str(own.id)},
    ]
    assert results(send(db, phone, sent, THEN)) == ["refused", "refused"]
    assert (theirs.starts, ahead.starts) == (None, None)


def test_trouble_in_the_same_upload_lapses_it_whatever_the_order(db, cast, ahead, phone):
    sent = [answer(ahead, THEN), trouble(cast.course, THEN, "bump")]
    assert results(send(db, phone, sent, THEN)) == ["stored", "stored"]
    assert (ahead.starts, ahead.lapsed_at) == (None, THEN)
    assert lapsed(db, cast) == ["trouble"]
    assert phase(db, cast, THEN) == "dynamic"


def test_open_trouble_lapses_it_within_the_minute_even_before_its_day(db, cast, ahead, phone):
    at = SIGNED + timedelta(hours=3)
    send(db, phone, [trouble(cast.course, at, "bump")], at)
    assert lapse_releases(db, at + timedelta(minutes=1)) == 1
    assert lapsed(db, cast) == ["trouble"]
    assert lapse_releases(db, at + timedelta(minutes=2)) == 0


@pytest.mark.parametrize(
    ("answers", "details", "why"),
    [
        ({"fingers_lift": "no"}, {}, "not_lifting"),
        ({"band_lifts": "no"}, {}, "not_lifting"),
        ({"splint_on": "no"}, {"off_hours": "over_2", "off_now": True}, "splint_missing"),
    ],
)
def test_a_no_about_lifting_or_a_missing_splint_in_the_check_lapses_it(
    db, cast, ahead, phone, answers, details, why
):
    at = SIGNED + timedelta(hours=3)
    raw = item(
        "daily_check", cast.course, at, day="2026-06-05", answers=answers, details=details,
        average_pain=None,
    )  # fmt: skip
    send(db, phone, [raw], at)
    lapse_releases(db, at + timedelta(minutes=1))
    assert lapsed(db, cast) == [why]


def test_a_check_that_says_all_is_as_told_or_was_answered_before_the_signing_lapses_nothing(
    db, cast, ahead, phone
):
    own = {"details": {"off_hours": "under_1", "off_now": False}, "average_pain": None}
    before = item(
        "daily_check", cast.course, SIGNED - timedelta(minutes=5), day="2026-06-05",
        answers={"fingers_lift": "no"}, **own,
    )  # fmt: skip
    after = item(
        "daily_check", cast.course, SIGNED + timedelta(days=1), day="2026-06-06",
        answers={"fingers_lift": "yes", "splint_on": "no"}, **own,
    )  # fmt: skip
    send(db, phone, [before, after], SIGNED + timedelta(days=1))
    assert lapse_releases(db, SIGNED + timedelta(days=1)) == 0


def test_a_splint_that_will_not_go_back_lapses_it(db, cast, ahead, phone):
    at = SIGNED + timedelta(hours=3)
    send(db, phone, [trouble(cast.course, at, "splint_gone")], at)
    lapse_releases(db, at + timedelta(minutes=1))
    assert lapsed(db, cast) == ["trouble"]


def test_72_hours_without_contact_after_its_day_lapse_it_and_not_a_second_earlier(
    db, cast, ahead, phone
):
    last = WAKES + timedelta(hours=72)
    assert lapse_releases(db, last) == 0
    assert lapse_releases(db, last + timedelta(seconds=1)) == 1
    assert lapsed(db, cast) == ["no_contact"]


def test_the_72_hours_count_from_the_last_word(db, cast, ahead, phone):
    by = replace(cast.therapist, kind="device", id=phone.id)
    mark_contact(db, by, phone, "ping", True, None, WAKES + timedelta(hours=5))
    db.flush()
    assert lapse_releases(db, WAKES + timedelta(hours=77)) == 0
    assert lapse_releases(db, WAKES + timedelta(hours=77, seconds=1)) == 1


def test_a_course_held_since_lapses_it_but_a_pause_does_not(db, cast, ahead, phone):
    at = SIGNED + timedelta(hours=3)
    hold_course(db, cast.therapist, cast.course.id, "pause", "wedding", at)
    assert lapse_releases(db, at) == 0
    hold_course(db, cast.therapist, cast.course.id, "until_release", "side corrected", at)
    assert lapse_releases(db, at) == 1
    assert lapsed(db, cast) == ["held"]


def test_a_stage_that_is_gone_from_the_regime_lapses_it(db, cast, ahead):
    at = SIGNED + timedelta(hours=3)
    told = dict(cast.template.body)
    told["phases"] = [p for p in told["phases"] if p["key"] != "dynamic_wide"]
    set_regime(db, cast.therapist, cast.course.id, Wanted(None, told, "slower"), at)
    later = at + timedelta(minutes=2)
    assert lapse_releases(db, later) == 1
    assert lapsed(db, cast) == ["regime_changed"]


def test_begun_it_never_lapses_and_lapsed_it_never_begins(db, cast, ahead, phone):
    begun = begin_release(db, cast.therapist, cast.course, ahead, THEN)
    assert begun
    assert not releases.lapse(db, ahead, THEN)
    assert lapse_releases(db, THEN + timedelta(days=9)) == 0
    assert (ahead.lapsed_at, lapsed(db, cast)) == (None, [])
    other = on_regime(db, NOW, operated_days_ago=20)
    gone = release_phase(db, other.therapist, other.course.id, WIDE, SIGNED)
    assert releases.lapse(db, gone, THEN)
    assert not begin_release(db, other.therapist, other.course, gone, THEN)
    assert (gone.starts, gone.lapsed_at) == (None, THEN)


def test_a_lapse_that_waits_for_a_begin_to_be_kept_finds_it_begun(
    engine: Engine, db, cast, ahead, phone
):
    key, course = ahead.id, cast.course.id
    late = WAKES + timedelta(hours=73)
    db.commit()
    moved: list[bool] = []

    def lapse() -> None:
        with Session(engine) as other:
            row = other.get_one(Release, key)
            why = "no_contact"  # found before the answer came
            moved.append(lapse_release(other, other.get_one(Course, course), row, why, late))
            other.commit()

    assert begin_release(db, cast.therapist, cast.course, ahead, THEN)
    thread = Thread(target=lapse)
    thread.start()
    thread.join(timeout=0.3)
    db.commit()
    thread.join(timeout=30)
    db.refresh(ahead)
    assert moved == [False]
    assert (ahead.starts, ahead.lapsed_at) == (datetime(2026, 6, 9, 8, 31, tzinfo=UTC), None)
    assert lapsed(db, cast) == []


def test_signing_another_release_takes_its_place_without_an_alert(db, cast, ahead):
    back = Signed("static", True, True)
    release_phase(db, cast.therapist, cast.course.id, back, SIGNED + timedelta(hours=1))
    assert ahead.lapsed_at is not None
    assert lapsed(db, cast) == []
    assert not begin_release(db, cast.therapist, cast.course, ahead, THEN)


def test_a_new_signature_lets_the_alert_of_the_lapsed_one_pass(db, cast, ahead, phone):
    at = SIGNED + timedelta(hours=3)
    send(db, phone, [trouble(cast.course, at, "bump")], at)
    lapse_releases(db, at)
    report = db.scalars(select(Alert).where(Alert.kind == "trouble")).one()
    settle_alert(db, cast.therapist, report.id, "rang", "nothing new", at, None)
    release_phase(db, cast.therapist, cast.course.id, WIDE, at + timedelta(hours=1))
    told = db.scalars(select(Alert).where(Alert.kind == "release_lapsed")).one()
    assert told.state == "passed"


def test_the_minutes_jobs_let_it_lapse_once_and_keep_why(db, cast, ahead, phone):
    at = SIGNED + timedelta(hours=3)
    send(db, phone, [trouble(cast.course, at, "bump")], at)
    for minute in (1, 2, 3):
        run_minute(db, at + timedelta(minutes=minute))
    assert ahead.lapsed_at == at + timedelta(minutes=1)
    assert lapsed(db, cast) == ["trouble"]


# --- what is never signed ahead


def refused(db: Session, cast: OnRegime, signed: Signed, now: datetime = SIGNED) -> dict:
    with pytest.raises(Invalid) as wrong:
        release_phase(db, cast.therapist, cast.course.id, signed, now)
    return wrong.value.fields


def test_the_first_motion_of_the_repair_is_not_signed_ahead(db):
    cast = on_regime(db, NOW, release=None, template=DYNAMIC)
    first = replace(WIDE, phase="dynamic", not_before=date(2026, 6, 9))
    assert set(refused(db, cast, first)) == {"not_before"}


def test_a_splint_not_yet_fitted_is_not_signed_ahead(db, cast):
    assert refused(db, cast, replace(WIDE, splint_fitted=False)) == {
        "splint_fitted": ["A splint still to be fitted is not signed ahead: fit it first."]
    }


def test_nothing_is_signed_ahead_while_trouble_is_open_or_exercises_are_held(db, cast):
    hold_course(db, cast.therapist, cast.course.id, "hospital", "fever", SIGNED)
    assert set(refused(db, cast, WIDE)) == {"not_before"}


def test_it_is_signed_one_to_ten_days_ahead(db, cast):
    late = replace(WIDE, not_before=date(2026, 6, 16))
    today = replace(WIDE, not_before=date(2026, 6, 5), reason="early")
    assert "not_before" in refused(db, cast, late)
    assert "not_before" in refused(db, cast, today)
    ok = release_phase(
        db, cast.therapist, cast.course.id, replace(WIDE, not_before=date(2026, 6, 15)), SIGNED
    )
    assert ok.not_before == date(2026, 6, 15)


# --- without a phone


def test_asked_by_telephone_it_begins_on_its_day_and_the_call_is_noted(db, cast, ahead):
    with pytest.raises(Conflict) as early:
        begin_by_telephone(db, cast.therapist, ahead.id, WAKES - timedelta(seconds=1))
    assert early.value.code == "release_not_yet"
    begin_by_telephone(db, cast.therapist, ahead.id, THEN)
    db.flush()
    assert phase(db, cast, THEN) == "dynamic_wide"
    note = db.scalars(select(ContactNote)).one()
    assert (note.how, note.words) == ("rang", "Anything wrong since your visit? Nothing.")


def test_by_telephone_too_it_needs_a_clinician_or_therapist_and_no_ground_against_it(
    db, cast, ahead
):
    clerk = replace(cast.therapist, role="enroller", profession=None)
    with pytest.raises(Forbidden):
        begin_by_telephone(db, clerk, ahead.id, THEN)
    hold_course(db, cast.therapist, cast.course.id, "stop_flag", "fell", THEN)
    with pytest.raises(Conflict) as held:
        begin_by_telephone(db, cast.therapist, ahead.id, THEN)
    assert held.value.code == "release_lapses"


def test_a_release_that_does_not_wait_is_not_begun_by_telephone(db, cast):
    with pytest.raises(Conflict):
        begin_by_telephone(db, cast.therapist, cast.release.id, THEN)
    elsewhere = on_regime(db, NOW)
    with pytest.raises(Exception, match="release"):
        begin_by_telephone(db, elsewhere.therapist, cast.release.id, THEN)
    with pytest.raises(Exception, match="release"):
        begin_by_telephone(db, cast.therapist, uuid.uuid4(), THEN)


def test_one_release_that_cannot_be_judged_does_not_keep_another_from_lapsing(
    db: Session, ahead: Release, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    elsewhere = people.clinic(db, NOW, "Another Unit")
    other = on_regime(db, NOW, operated_days_ago=20, clinic=elsewhere)
    beside = release_phase(db, other.therapist, other.course.id, WIDE, SIGNED + timedelta(hours=1))
    real = releases.checked_since

    def checked(db: Session, course: uuid.UUID, *more: datetime) -> tuple[bool, bool]:
        return real(db, course, *more) if course != ahead.course_id else divmod(1, 0)

    monkeypatch.setattr(releases, "checked_since", checked)
    lapse_releases(db, WAKES + timedelta(hours=73))
    assert (ahead.lapsed_at, beside.lapsed_at) == (None, WAKES + timedelta(hours=73))
    assert f"release signed ahead {ahead.id}: ZeroDivisionError" in caplog.text
