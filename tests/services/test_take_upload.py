"""An upload: each item by itself and once, held to the course, marked if exercises were stopped."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.storage.bouts import bout_rows, bouts_of
from homeprog.storage.models import (
    Alert,
    BoutRow,
    ContactMarkRow,
    Course,
    CourseEvent,
    DailyCheck,
    Device,
    HoldEnd,
    HoldRow,
    Quiet,
    TroubleReport,
    ZoneStay,
)

from .. import cast
from ..regime_cast import on_regime
from ..upload_cast import bout, codes, item, results, send, told, trouble

NOW = datetime(2026, 6, 5, 13, 10, tzinfo=UTC)  # a Friday
MINUTE = timedelta(minutes=1)


def in_minutes(count: float) -> datetime:
    return NOW + count * MINUTE


def a_patient(db: Session) -> tuple[Course, Device]:
    course = on_regime(db, NOW).course
    device = cast.phone(db, course, NOW)
    db.commit()
    return course, device


def close(db: Session, course: Course, at: datetime) -> None:
    made = CourseEvent(
        clinic_id=course.clinic_id, at=at, course_id=course.id, kind="closed",
        figures={"reason": "completed"},
    )  # fmt: skip
    db.add(made)
    db.commit()


def alerts(db: Session, kind: str) -> list[Alert]:
    return list(db.scalars(select(Alert).where(Alert.kind == kind).order_by(Alert.at)))


def test_a_bout_sent_twice_is_there_once_and_both_answers_let_the_phone_forget(
    db: Session,
) -> None:
    course, device = a_patient(db)
    one = bout(course, in_minutes(30))
    first = send(db, device, [one], in_minutes(31))
    again = send(db, device, [one, one], in_minutes(32))
    assert results(first) == ["stored"]
    assert results(again) == ["already", "already"]
    assert len(db.scalars(select(BoutRow)).all()) == 1


def test_the_same_id_with_other_content_is_refused_and_the_first_stands(db: Session) -> None:
    course, device = a_patient(db)
    one = bout(course, in_minutes(30))
    send(db, device, [one], in_minutes(31))
    other = send(db, device, [one | {"amount": 99}], in_minutes(32))
    assert (results(other), codes(other)) == (["refused"], ["id_taken"])
    assert db.scalars(select(BoutRow.amount)).all() == [10]


def test_an_item_for_another_patient_is_refused_and_nothing_of_it_is_kept(db: Session) -> None:
    course, device = a_patient(db)
    stranger, _ = a_patient(db)
    one = bout(course, in_minutes(30))
    send(db, device, [one], in_minutes(31))
    theirs = cast.phone(db, stranger, NOW)
    outcomes = send(db, theirs, [one, bout(course, in_minutes(32))], in_minutes(33))
    assert codes(outcomes) == ["course_unknown", "course_unknown"]
    assert len(db.scalars(select(BoutRow)).all()) == 1


def test_one_bad_item_of_each_sort_never_loses_the_others(db: Session) -> None:
    course, device = a_patient(db)
    good, better = bout(course, in_minutes(30)), bout(course, in_minutes(31))
    bad = [
        bout(course, in_minutes(30)) | {"amount": 0},
        bout(course, in_minutes(30)) | {"pain": 11},
        bout(course, in_minutes(30)) | {"done_at": None, "slot_start": None},
        bout(course, in_minutes(30)) | {"entered_at": "yesterday"},
        bout(course, in_minutes(30)) | {"exercise": "nul\x00byte"},
        bout(course, in_minutes(30)) | {"supersedes": str(uuid.uuid4())},
        bout(uuid.uuid4(), in_minutes(30)),
        item("thought", course, in_minutes(30)),
        item("taken_back", course, in_minutes(30), trouble=str(uuid.uuid4())),
        {"id": 7},
        "not an item",
    ]
    outcomes = send(db, device, [good, *bad, better], in_minutes(32))
    assert results(outcomes) == ["stored", *["refused"] * len(bad), "stored"]
    assert len(db.scalars(select(BoutRow)).all()) == 2


def test_device_times_are_corrected_by_the_offset_and_held_within_the_course(
    db: Session,
) -> None:
    course, device = a_patient(db)
    hour = 3_600_000
    slow = bout(course, in_minutes(30) - timedelta(hours=1), offset_ms=hour)
    early = bout(course, NOW - timedelta(days=40))
    ahead = bout(course, in_minutes(500))
    send(db, device, [slow, early, ahead], in_minutes(40))
    rows = {str(row.id): row for row in db.scalars(select(BoutRow))}
    assert rows[slow["id"]].done_at == in_minutes(30)
    assert rows[slow["id"]].device_done_at == in_minutes(30) - timedelta(hours=1)
    assert rows[early["id"]].entered_at == course.at
    assert rows[ahead["id"]].entered_at == in_minutes(42)  # received + 2 min


def test_a_clock_that_is_wrong_by_years_is_corrected_too(db: Session) -> None:
    course, device = a_patient(db)
    then = datetime(1970, 1, 1, 0, 5, tzinfo=UTC)
    offset = int((in_minutes(30) - then) / timedelta(milliseconds=1))
    outcomes = send(db, device, [bout(course, then, offset_ms=offset)], in_minutes(40))
    assert results(outcomes) == ["stored"]
    assert db.scalars(select(BoutRow.done_at)).one() == in_minutes(30)


def test_a_bout_takes_the_place_of_one_of_the_same_upload(db: Session) -> None:
    course, device = a_patient(db)
    wrong = bout(course, in_minutes(30), amount=100)
    right = bout(course, in_minutes(31), supersedes=wrong["id"])
    assert results(send(db, device, [right, wrong], in_minutes(32))) == ["stored", "stored"]


def test_a_bout_undone_after_it_was_sent_counts_for_nothing_and_both_rows_stay(db: Session) -> None:
    course, device = a_patient(db)
    wrong = bout(course, in_minutes(30))
    send(db, device, [wrong], in_minutes(30))
    undone = {"amount": 0, "pain": None, "pain_asked": False, "supersedes": wrong["id"]}
    assert results(send(db, device, [bout(course, in_minutes(31), **undone)], in_minutes(32))) == [
        "stored"
    ]
    seen, _ = bouts_of(db, course.id, in_minutes(0), in_minutes(60), in_minutes(60))
    assert seen == ()
    assert bout_rows(db, course.id, in_minutes(0), in_minutes(60), in_minutes(60)) == []
    assert len(db.scalars(select(BoutRow)).all()) == 2


def test_a_stop_flag_holds_the_course_from_when_it_was_entered_and_is_an_alert_now(
    db: Session,
) -> None:
    course, device = a_patient(db)
    send(db, device, [trouble(course, in_minutes(30))], in_minutes(60))
    hold = db.scalars(select(HoldRow)).one()
    assert (hold.kind, hold.starts) == ("stop_flag", in_minutes(30))
    assert hold.reason == "Open wound or pus"  # in words, not by its key
    assert [alert.level for alert in alerts(db, "trouble")] == ["now"]


def test_each_report_of_trouble_is_its_own_alert(db: Session) -> None:
    course, device = a_patient(db)
    two = [trouble(course, in_minutes(30)), trouble(course, in_minutes(30))]
    send(db, device, two, in_minutes(31))
    send(db, device, two, in_minutes(32))
    assert len(alerts(db, "trouble")) == 2


def test_a_bump_is_an_alert_but_holds_nothing(db: Session) -> None:
    course, device = a_patient(db)
    send(db, device, [trouble(course, in_minutes(30), "bump")], in_minutes(31))
    assert db.scalars(select(HoldRow)).all() == []
    assert [alert.level for alert in alerts(db, "trouble")] == ["today"]


def test_told_something_different_rests_the_exercises_and_is_no_stop_flag(db: Session) -> None:
    course, device = a_patient(db)
    report = trouble(course, in_minutes(30), "told_different")
    send(db, device, [report, bout(course, in_minutes(31))], in_minutes(32))
    assert [hold.kind for hold in db.scalars(select(HoldRow))] == ["until_release"]
    assert [alert.level for alert in alerts(db, "trouble")] == ["today"]
    assert alerts(db, "exercise_while_stopped") == []


def test_a_bout_entered_after_a_stop_on_that_phone_is_kept_marked_and_told(db: Session) -> None:
    course, device = a_patient(db)
    before, after = bout(course, in_minutes(29)), bout(course, in_minutes(31))
    send(db, device, [before, after, trouble(course, in_minutes(30))], in_minutes(35))
    later = bout(course, in_minutes(40))
    send(db, device, [later], in_minutes(41))
    marked = {str(r.id) for r in db.scalars(select(BoutRow)) if r.while_stopped}
    assert marked == {after["id"], later["id"]}
    (alert,) = alerts(db, "exercise_while_stopped")
    assert (alert.level, set(alert.figures["bouts"])) == ("now", marked)


def test_a_bout_that_came_before_the_stop_it_was_entered_after_is_marked_all_the_same(
    db: Session,
) -> None:
    course, device = a_patient(db)
    send(db, device, [bout(course, in_minutes(31))], in_minutes(32))
    send(db, device, [trouble(course, in_minutes(30))], in_minutes(33))
    assert db.scalars(select(BoutRow.while_stopped)).all() == [True]
    assert len(alerts(db, "exercise_while_stopped")) == 1


def test_another_phone_is_held_to_a_stop_only_once_its_plan_has_told_it(db: Session) -> None:
    course, device = a_patient(db)
    carers = cast.phone(db, course, NOW, "carer")
    send(db, device, [trouble(course, in_minutes(30))], in_minutes(31))
    db.add(
        ContactMarkRow(
            clinic_id=course.clinic_id, at=in_minutes(40), device_id=carers.id, kind="plan",
            outbox_empty=False,
        )
    )  # fmt: skip
    unknowing, knowing = bout(course, in_minutes(35)), bout(course, in_minutes(45))
    send(db, carers, [unknowing, knowing], in_minutes(50))
    marked = [str(r.id) for r in db.scalars(select(BoutRow)) if r.while_stopped]
    assert marked == [knowing["id"]]


def test_pressed_by_mistake_within_two_minutes_ends_the_hold_and_keeps_report_and_alert(
    db: Session,
) -> None:
    course, device = a_patient(db)
    report = trouble(course, in_minutes(30))
    back = item("taken_back", course, in_minutes(32), trouble=report["id"])
    outcomes = send(db, device, [back, report], in_minutes(60))
    assert results(outcomes) == ["stored", "stored"]
    assert db.scalars(select(HoldEnd.ends)).all() == [in_minutes(32)]
    assert db.scalars(select(TroubleReport.taken_back_at)).all() == [in_minutes(32)]
    assert [alert.state for alert in alerts(db, "trouble")] == ["open"]


def test_a_report_is_not_taken_back_after_two_minutes_nor_ever_a_snap(db: Session) -> None:
    course, device = a_patient(db)
    wound, snap = trouble(course, in_minutes(30)), trouble(course, in_minutes(30), "snap")
    late = item("taken_back", course, in_minutes(33), trouble=wound["id"])
    never = item("taken_back", course, in_minutes(31), trouble=snap["id"])
    outcomes = send(db, device, [wound, snap, late, never], in_minutes(34))
    assert results(outcomes) == ["stored", "stored", "refused", "refused"]
    assert db.scalars(select(HoldEnd)).all() == []


def test_not_my_hand_stops_everything_and_is_an_alert_now(db: Session) -> None:
    course, device = a_patient(db)
    question = str(uuid.uuid4())
    no = item("hand_answer", course, in_minutes(30), question=question, answer="no")
    assert results(send(db, device, [no], in_minutes(31))) == ["stored"]
    assert results(send(db, device, [no], in_minutes(32))) == ["already"]
    assert [hold.kind for hold in db.scalars(select(HoldRow))] == ["stop_flag"]
    (alert,) = alerts(db, "trouble")
    assert (alert.level, alert.figures["trouble"]) == ("now", "not_my_hand")
    events = db.scalars(select(CourseEvent).where(CourseEvent.kind == "read_back_no")).all()
    assert [event.figures for event in events] == [{"question": question}]


def test_yes_my_hand_is_read_back_and_stops_nothing(db: Session) -> None:
    course, device = a_patient(db)
    question = str(uuid.uuid4())
    yes = item("hand_answer", course, in_minutes(30), question=question, answer="yes")
    send(db, device, [yes], in_minutes(31))
    events = db.scalars(select(CourseEvent).where(CourseEvent.kind == "read_back")).all()
    assert [event.figures for event in events] == [{"question": question}]
    assert db.scalars(select(HoldRow)).all() == []


def check(course: Course, at: datetime, **answers: str) -> dict[str, object]:
    return item(
        "daily_check", course, at, day="2026-06-05", answers=answers, details={}, average_pain=3
    )


def test_a_splint_that_does_not_hold_is_one_alert_today_whoever_reports_it(db: Session) -> None:
    course, device = a_patient(db)
    send(db, device, [check(course, in_minutes(30), splint_holds="no")], in_minutes(31))
    assert [alert.level for alert in alerts(db, "trouble")] == ["today"]
    other, phone = a_patient(db)
    details = {"from": "daily_check", "day": "2026-06-05"}
    report = trouble(other, in_minutes(30), "splint_does_not_hold", details=details)
    send(db, phone, [report], in_minutes(31))
    send(db, phone, [check(other, in_minutes(30), splint_holds="no")], in_minutes(31))
    assert len(alerts(db, "trouble")) == 2  # one for each patient
    assert len(db.scalars(select(DailyCheck)).all()) == 2


def test_a_new_zone_holds_from_the_next_whole_minute_and_the_same_one_changes_nothing(
    db: Session,
) -> None:
    course, device = a_patient(db)
    before = len(db.scalars(select(ZoneStay)).all())
    same = item("zone_said", course, in_minutes(30), zone="Europe/London")
    other = item("zone_said", course, in_minutes(30), zone="America/New_York")
    send(db, device, [same], in_minutes(30.5))
    assert len(db.scalars(select(ZoneStay)).all()) == before
    send(db, device, [other], in_minutes(30.5))
    stay = db.scalars(select(ZoneStay).where(ZoneStay.zone == "America/New_York")).one()
    assert (stay.starts, stay.said_by) == (in_minutes(31), "phone")


def test_quiet_ends_at_most_four_hours_after_it_was_asked_for(db: Session) -> None:
    course, device = a_patient(db)
    until = told(in_minutes(30) + timedelta(hours=9))
    send(db, device, [item("quiet", course, in_minutes(30), kind="until", until=until)], NOW)
    quiet = db.scalars(select(Quiet)).one()
    assert quiet.ends is not None
    assert quiet.ends - quiet.starts == timedelta(hours=4)


def test_after_closing_only_what_was_entered_before_is_taken(db: Session) -> None:
    course, device = a_patient(db)
    close(db, course, in_minutes(60))
    before, after = bout(course, in_minutes(59)), bout(course, in_minutes(61))
    report = trouble(course, in_minutes(58))
    outcomes = send(db, device, [before, after, report], in_minutes(90))
    assert codes(outcomes) == [None, "course_closed", None]
    assert len(alerts(db, "trouble")) == 1
    assert db.scalars(select(HoldRow)).all() == []


def test_an_upload_is_a_contact_that_says_whether_anything_is_left(db: Session) -> None:
    course, device = a_patient(db)
    send(db, device, [bout(course, in_minutes(30))], in_minutes(31), left=3)
    send(db, device, [bout(course, in_minutes(32))], in_minutes(33))
    marks = db.scalars(select(ContactMarkRow).order_by(ContactMarkRow.at)).all()
    assert [(m.kind, m.outbox_empty) for m in marks] == [("upload", False), ("upload", True)]
