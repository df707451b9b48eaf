"""A course's page: what it says, and what it must never let one believe."""

from __future__ import annotations

import re
import uuid
from datetime import time, timedelta

import pytest

from homeprog.domain.clock import local
from homeprog.extensions import db as extension
from homeprog.services.hold_course import hold_course
from homeprog.services.open_alert import open_alert
from homeprog.storage.models import Visit, WakingHours
from homeprog.web.tick_sheet import bands
from tests import cast
from tests.regime_cast import on_regime
from tests.web.staff_cast import browser, heard, logged, now, past_slots, summed_up


@pytest.fixture
def made(app):
    """On a dynamic regime for two days, day 12 from the waking at 7 on, with a quiet phone."""
    db = extension.session()
    return on_regime(db, now() - timedelta(days=2), operated_days_ago=10)


@pytest.fixture
def phone(made):
    return cast.phone(extension.session(), made.course, now() - timedelta(days=2))


def day():
    """The course day: before the waking at 7 it is still the day before."""
    return 11 if local(now(), "Europe/London").hour < 7 else 12


def anna(made):
    """A therapist of the course's clinic who can sign in."""
    return cast.staff(extension.session(), made.clinic, now() - timedelta(days=3))


def read(app, made, who=None, query=""):
    db = extension.session()
    who = who or anna(made)
    summed_up(db, made.course, now())
    answer = browser(app, who).get(f"/courses/{made.course.id}{query}")
    assert answer.status_code == 200, answer.text
    return answer.text


def plain(text):
    """The words of a page, without its tags."""
    return " ".join(re.sub(r"<[^>]+>", " ", text).split())


def test_hand_and_finger_come_first_and_the_title_names_nobody(app, made):
    text = read(app, made)
    assert "<h1>Left hand, middle finger</h1>" in text
    title = re.search(r"<title>(.*?)</title>", text).group(1)
    assert made.patient.name not in title
    assert "finger" not in title


def test_the_header_says_what_the_figures_cannot_show_and_when_the_hand_was_examined(app, made):
    words = plain(read(app, made))
    assert "These figures cannot show that the tendon is whole." in words
    assert f"Hand last examined: day {day() - 2}, by Invented Clinician." in words
    assert "The band lifts this finger." in words
    assert "What was logged, not what was done. Diaries over-report" in words
    assert f"Day {day()} (1 week {day() - 7} days)" in words


def test_not_read_back_stands_until_somebody_has_said_yes(app, made):
    assert "Not read back" in read(app, made)


def test_words_too_long_for_the_days_they_stand_over_are_told_below_by_number():
    keys = {}
    said = ["After the operation", *["Splint, at rest"] * 4, "Bend", "stopped"]
    found = bands(said, keys)
    assert [(band.days, band.key) for band in found] == [(1, 1), (4, None), (1, None), (1, 2)]
    assert keys == {"After the operation": 1, "stopped": 2}
    again = bands(["stopped", "stopped", ""], keys)  # the same words keep their number
    assert [(band.words, band.days, band.key) for band in again] == [
        ("stopped", 2, 2),
        ("", 1, None),
    ]


def test_the_tick_sheet_is_a_table_whose_signs_are_spoken(app, made, phone):
    db = extension.session()
    slots = past_slots(db, made.course, now())
    db.add(logged(made.course, phone, slots[0]))
    db.add(logged(made.course, phone, slots[1], amount=3))
    heard(db, phone, now() - timedelta(seconds=30))
    text = read(app, made)
    table = text[text.index('<table class="tick">') : text.index("</table>")]
    assert 'aria-label="' in table
    spoken = re.findall(r'aria-label="\d\d:\d\d to \d\d:\d\d: ([^"]+)"', table)
    assert spoken.count("logged, 10 of 10") == 1
    assert spoken.count("some logged, 3 of 10") == 1
    assert "not logged" in spoken
    assert '<th scope="row">' in table
    assert '<th scope="col"' in table
    assert table.count('id="today"') == 1


def test_without_a_word_from_the_phone_a_slot_is_not_known_not_undone(app, made, phone):
    text = read(app, made)
    table = text[text.index('<table class="tick">') : text.index("</table>")]
    spoken = set(re.findall(r'aria-label="\d\d:\d\d to \d\d:\d\d: ([^"]+)"', table))
    assert "not known yet" in spoken
    assert "not logged" not in spoken
    assert "This stage, with today not known yet" in plain(text)


def test_figures_are_printed_with_their_bounds_and_slots(app, made, phone):
    db = extension.session()
    slots = past_slots(db, made.course, now())
    db.add(logged(made.course, phone, slots[0]))
    heard(db, phone, slots[0].end + timedelta(minutes=50))
    found = re.search(r"This stage, with today (\d+) to (\d+) %, shown (\d+), of (\d+)",
                      plain(read(app, made)))  # fmt: skip
    lowest, highest, shown, of = map(int, found.groups())
    assert of == len(slots)
    assert shown == 100
    assert lowest == 100 // len(slots)
    assert highest == 100


def test_the_same_go_of_two_phones_is_shown_twice_and_said_to_count_once(app, made, phone):
    db = extension.session()
    carers = cast.phone(db, made.course, now() - timedelta(days=2), whose="carer")
    slot = past_slots(db, made.course, now())[-1]
    db.add(logged(made.course, phone, slot))
    db.add(logged(made.course, carers, slot, logged_by="carer"))
    text = read(app, made)
    log = plain(text[text.index('id="log"') : text.index('id="checks"')])
    assert log.count("Two phones, one go: the other log counts.") == 1
    assert log.count("10 times") == 2
    assert "by carer" in log


def test_an_hour_filled_in_is_marked_entered_later(app, made, phone):
    db = extension.session()
    slot = past_slots(db, made.course, now())[-1]
    entered = now() - timedelta(seconds=5)
    db.add(
        logged(
            made.course, phone, slot, slot_start=slot.start, done_at=None, how="later",
            entered_at=entered, at=entered,
        )
    )  # fmt: skip
    assert "entered later" in read(app, made).split('id="log"')[1].split('id="checks"')[0]


def test_a_hold_shows_its_reason_and_a_form_to_resume_for_a_clinician_alone(app, made):
    db = extension.session()
    hold = hold_course(db, made.therapist, made.course.id, "stop_flag", "Felt a snap", now())
    text = read(app, made)
    assert "Felt a snap" in text
    assert f'action="/holds/{hold.id}/end"' in text
    clerk = cast.staff(db, made.clinic, now(), role="enroller", profession=None, name="Eve Clerk")
    text = read(app, made, clerk)
    assert f'action="/holds/{hold.id}/end"' not in text
    assert "Only a clinician may resume" in text


def test_the_next_visit_is_entered_on_this_page(app, made):
    db = extension.session()
    planned = (now() + timedelta(days=3)).date()
    db.add(
        Visit(
            clinic_id=made.clinic.id, at=now(), course_id=made.course.id, planned=planned,
            kind="review",
        )
    )  # fmt: skip
    text = read(app, made)
    assert f'action="/courses/{made.course.id}/visit"' in text
    assert f'value="{planned.isoformat()}"' in text


def test_what_became_of_a_visit_is_said_on_this_page_on_its_day_of_the_clinics_calendar(app, made):
    db = extension.session()
    today = local(now(), "Europe/London").date()
    for hours in db.query(WakingHours).filter_by(patient_id=made.patient.id):
        hours.wake, hours.sleep = time(16), time(8)  # their own day is still yesterday's
    visit = Visit(
        clinic_id=made.clinic.id, at=now(), course_id=made.course.id, planned=today, kind="review"
    )
    db.add(visit)
    assert "I examined the hand" in read(app, made)
    where, told = f"/visits/{visit.id}/marking", {"what": "kept", "examined": "yes"}
    assert browser(app, anna(made)).post(where, data=told).status_code == 303
    text = read(app, made)
    assert "none booked" in text
    assert where not in text
    assert browser(app, anna(made)).post(where, data=told).status_code == 409  # the second click


def test_a_course_without_a_regime_says_what_to_do_first(app):
    db = extension.session()
    who = cast.staff(db, cast.clinic(db, now()), now())
    course = cast.enrolled(db, who, now())
    db.commit()
    text = plain(browser(app, who).get(f"/courses/{course.id}").text)
    assert "No exercise has been asked for yet. Set a regime first." in text
    assert "Not confirmed. No exercise reaches the phone." in text


# ---- alerts


@pytest.fixture
def snap(made):
    figures = {"trouble": "snap", "stop": True, "entered_at": now().isoformat()}
    row = open_alert(extension.session(), made.course, "trouble", "now", figures, now())
    extension.session.commit()
    return row


def test_a_second_click_is_told_kindly_and_a_colleague_who_has_it(app, made, snap):
    first, second = anna(made), cast.staff(extension.session(), made.clinic, now(), name="Bo Lind")
    extension.session.commit()
    mine = browser(app, first)
    assert mine.post(f"/alerts/{snap.id}/taking-up").status_code == 303
    assert mine.post(f"/alerts/{snap.id}/taking-up").status_code == 303
    text = mine.get(f"/alerts/{snap.id}").text
    assert "You took this up" in text
    theirs = browser(app, second)
    theirs.post(f"/alerts/{snap.id}/taking-up")
    assert "Anna Berg took this up" in theirs.get(f"/alerts/{snap.id}").text


def test_settling_keeps_what_was_typed_beside_what_is_missing(app, made, snap):
    client = browser(app, anna(made))
    answer = client.post(f"/alerts/{snap.id}/settlement", data={"words": "spoke to her sister"})
    assert answer.status_code == 422
    assert "Say what was done." in answer.text
    assert "spoke to her sister" in answer.text
    done = {"done": "called_in", "words": "seen, whole"}
    assert client.post(f"/alerts/{snap.id}/settlement", data=done).status_code == 303
    extension.session.refresh(snap)
    assert snap.state == "settled"


def test_only_a_clinician_is_offered_to_settle_trouble(app, made, snap):
    clerk = cast.staff(extension.session(), made.clinic, now(), profession=None, name="Eve Clerk")
    extension.session.commit()
    client = browser(app, clerk)
    text = client.get(f"/alerts/{snap.id}").text
    assert "Only a clinician may settle trouble" in text
    answer = client.post(f"/alerts/{snap.id}/settlement", data={"done": "rang", "words": ""})
    assert answer.status_code == 403


# ---- JSON


def test_the_json_of_staff_tells_what_the_pages_do(app, made, phone, snap):
    db = extension.session()
    db.add(logged(made.course, phone, past_slots(db, made.course, now())[0]))
    who = anna(made)
    summed_up(db, made.course, now())
    client = browser(app, who)

    def get(path):
        answer = client.get(f"/api/v1{path}")
        assert answer.status_code == 200, answer.text
        return answer.json

    line = get("/caseload")["lines"][0]
    assert line["hand"] == "Left hand"
    assert [each["headline"] for each in line["alerts"]] == ["Felt or heard a snap"]
    course = get(f"/courses/{made.course.id}")
    assert course["day"] == day()
    assert "cannot show that the tendon is whole" in course["not_shown"]
    assert course["windows"][-1]["shown"] is None or course["windows"][-1]["shown"] >= 0
    days = get(f"/courses/{made.course.id}/days")["days"]
    assert {row["exercise"] for row in days} >= {"bend_to_stop"}
    assert get("/alerts")["alerts"][0]["id"] == str(snap.id)
    assert "/api/v1/alerts/{alert_id}/settlement" in get("/openapi.json")["paths"]


def test_in_json_the_second_to_take_an_alert_up_is_told_who_was_first(app, made, snap):
    client = browser(app, anna(made))
    assert client.post(f"/api/v1/alerts/{snap.id}/taking-up").json["state"] == "taken_up"
    answer = client.post(f"/api/v1/alerts/{snap.id}/taking-up")
    assert answer.status_code == 409
    assert answer.json["error"]["code"] == "alert_not_open"
    assert answer.json["error"]["message"].startswith("You took this up")


def test_in_json_a_settlement_without_what_was_done_names_the_field(app, made, snap):
    answer = browser(app, anna(made)).post(f"/api/v1/alerts/{snap.id}/settlement", json={})
    assert answer.status_code == 422
    assert answer.json["error"]["fields"] == {"done": ["Say what was done."]}


def test_a_course_of_another_clinic_is_answered_like_one_that_is_not_there(app, made):
    db = extension.session()
    other = cast.staff(db, cast.clinic(db, now()), now())
    db.commit()
    client = browser(app, other)
    theirs = client.get(f"/courses/{made.course.id}")
    nobodys = client.get(f"/courses/{uuid.uuid4()}")
    assert theirs.status_code == nobodys.status_code == 404
    assert theirs.text == nobodys.text
