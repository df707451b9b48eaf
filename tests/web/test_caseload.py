"""The caseload page: what is asked of staff, in words, and what it costs."""

from __future__ import annotations

import re
import uuid
from datetime import timedelta

import pytest
from sqlalchemy import event

from homeprog.domain.clock import local
from homeprog.extensions import db as extension
from homeprog.jobs import run_minute
from homeprog.services.hold_course import hold_course, resume
from homeprog.services.open_alert import open_alert
from homeprog.services.refresh_line import refresh_line
from homeprog.storage import caseloads, patients
from homeprog.storage.caseloads import line_of
from homeprog.storage.models import CaseloadLine, Contact, CourseEvent
from tests import cast
from tests.web.staff_cast import browser, now


@pytest.fixture
def clinic(app):
    return cast.clinic(extension.session(), now())


@pytest.fixture
def anna(app, clinic):
    return cast.staff(extension.session(), clinic, now() - timedelta(days=30))


def page(app, who, path="/caseload"):
    extension.session.commit()
    return browser(app, who).get(path)


def test_an_empty_caseload_says_what_to_do_first(app, anna):
    answer = page(app, anna)
    assert "Nobody is at home yet" in answer.text
    assert 'href="/patients/new"' in answer.text


def test_the_front_door_leads_to_the_caseload(app, anna):
    assert page(app, anna, "/").headers["Location"] == "/caseload"


def test_the_page_says_that_no_one_is_woken_and_refreshes_itself_within_a_minute(app, anna):
    text = page(app, anna).text
    assert "No one is woken by this system" in text
    assert '<meta http-equiv="refresh" content="50">' in text


def test_a_stranger_is_sent_to_sign_in(app, anna):
    extension.session.commit()
    answer = app.test_client().get("/caseload")
    assert answer.status_code == 303
    assert answer.headers["Location"].startswith("/sign-in")


def test_a_patient_without_a_phone_stands_on_top_and_a_trouble_of_now_above_her(app, anna):
    db = extension.session()
    quiet = cast.confirmed(db, anna, now() - timedelta(days=5), name="Quiet One", number="Q1")
    cast.phone(db, quiet, now())
    unwatched = cast.confirmed(db, anna, now() - timedelta(days=5), name="No Phone", number="Q2")
    stopped = cast.confirmed(db, anna, now() - timedelta(days=1), name="Felt Snap", number="Q3")
    cast.phone(db, stopped, now())
    hold_course(db, cast.acting(anna), stopped.id, "stop_flag", "Felt a snap", now())
    figures = {"trouble": "snap", "stop": True, "entered_at": now().isoformat()}
    open_alert(db, stopped, "trouble", "now", figures, now())
    for course in (quiet, unwatched, stopped):
        refresh_line(db, course, now())
    text = page(app, anna).text
    assert text.index("Felt Snap") < text.index("No Phone") < text.index("Quiet One")
    assert "Felt or heard a snap." in text
    assert "No phone is paired." in text
    assert "Take up now" in text
    assert "3 of 3 at home ask for you" in text


def test_a_closed_course_leaves_the_caseload(app, anna):
    db = extension.session()
    course = cast.enrolled(db, anna, now())
    assert refresh_line(db, course, now()) is not None
    db.add(
        CourseEvent(
            clinic_id=course.clinic_id, at=now(), course_id=course.id, kind="closed",
            figures={"reason": "completed"}, by_id=anna.id,
        )
    )  # fmt: skip
    assert refresh_line(db, course, now()) is None
    assert "Nobody is at home yet" in page(app, anna).text


def test_a_course_nobody_has_a_line_for_gets_one_within_the_minutes_job(app, anna):
    db = extension.session()
    cast.enrolled(db, anna, now())
    run_minute(db, now())
    assert "1 at home" in page(app, anna).text


def test_what_is_taken_up_or_resumed_shows_at_once(app, anna):
    db = extension.session()
    course = cast.confirmed(db, anna, now() - timedelta(days=5))
    cast.phone(db, course, now())
    held = hold_course(db, cast.acting(anna), course.id, "stop_flag", "Felt a snap", now())
    assert "Exercises are stopped" in page(app, anna).text
    resume(db, cast.acting(anna), held.id, "seen, whole", now())
    assert "Exercises are stopped" not in page(app, anna).text


def test_a_change_shown_at_once_stays_news_to_the_minutes_job(app, anna):
    db = extension.session()
    course = cast.confirmed(db, anna, now() - timedelta(hours=5))
    known = refresh_line(db, course, now() - timedelta(hours=1)).as_of
    hold_course(db, cast.acting(anna), course.id, "hospital", "a fall", now())
    assert line_of(db, course).as_of == known


def queries(app, who, path):
    """How many statements one page asks of the database."""
    client = browser(app, who)
    client.get(path)
    asked = []
    listen = lambda *given: asked.append(given[2])  # noqa: E731
    event.listen(extension.engine, "before_cursor_execute", listen)
    assert client.get(path).status_code == 200
    event.remove(extension.engine, "before_cursor_execute", listen)
    return [each for each in asked if each.startswith("SELECT")]


def copies(db, course, number):
    """More courses of the same patient, each with a line."""
    held = refresh_line(db, course, now())
    for n in range(number):
        more = cast.Course(
            clinic_id=course.clinic_id, at=course.at, patient_id=course.patient_id,
            day_zero=course.day_zero,
        )  # fmt: skip
        db.add(more)
        db.flush()
        db.add(
            CaseloadLine(
                id=uuid.uuid4(), clinic_id=course.clinic_id, at=held.at, course_id=more.id,
                as_of=held.as_of, rank=held.rank + n, group=held.group, next_at=held.next_at,
                figures=held.figures,
            )
        )  # fmt: skip


def test_the_page_asks_as_many_queries_of_few_courses_as_of_many_and_at_most_eleven(app, anna):
    db = extension.session()
    course = cast.enrolled(db, anna, now())
    refresh_line(db, course, now())
    db.commit()
    few = queries(app, anna, "/caseload")
    copies(db, course, 120)
    db.commit()
    many = queries(app, anna, "/caseload")
    assert len(few) == len(many) <= 11, "\n".join(many)
    chosen = queries(app, anna, "/caseload?therapist=nobody&stage=-&kind=trouble")
    assert len(chosen) <= 11, "\n".join(chosen)


def test_fifty_lines_a_page_and_the_rest_on_the_next(app, anna):
    db = extension.session()
    course = cast.enrolled(db, anna, now())
    copies(db, course, 60)
    text = page(app, anna).text
    assert text.count('class="whose"') == 50
    assert "Page 1 of 2" in text
    assert page(app, anna, "/caseload?page=2").text.count('class="whose"') == 11
    assert page(app, anna, "/caseload?page=-3").status_code == 200


@pytest.fixture
def three(app, anna, clinic):
    """Anna's patient with an alert; Bea's; and one whose therapist has left."""
    db, day = extension.session(), now() - timedelta(days=5)
    bea = cast.staff(db, clinic, day, name="Bea Lund")
    gone = cast.staff(db, clinic, day, name="Cato Wiik")
    gone.ended_at = now() - timedelta(days=1)
    annas = cast.confirmed(db, anna, day, name="Hers One", number="H1")
    open_alert(db, annas, "few_logged", "today", FEW, now())
    beas = cast.confirmed(db, bea, day, name="Other Two", number="H2")
    nobodys = cast.confirmed(db, gone, day, name="Left Three", number="H3")
    for course in (annas, beas, nobodys):
        refresh_line(db, course, now())
    line_of(db, beas).figures = line_of(db, beas).figures | {"phase": "Bend & lift"}
    return {"bea": str(bea.id)}


FEW = {
    "exercise": "bend", "days": 3, "reached": 4, "known": 10, "slots": 12, "not_asked": 0,
    "lowest": 30, "shown": 40, "highest": 50,
}  # fmt: skip
PEOPLE = ("Hers One", "Other Two", "Left Three")


@pytest.mark.parametrize(
    ("asked", "shown"),
    [
        ("", {"Hers One", "Other Two", "Left Three"}),
        ("?therapist=mine", {"Hers One"}),
        ("?therapist={bea}", {"Other Two"}),
        ("?therapist=nobody", {"Left Three"}),
        ("?stage=Bend+%26+lift", {"Other Two"}),
        ("?stage=-", {"Hers One", "Left Three"}),
        ("?kind=few_logged", {"Hers One"}),
        ("?kind=few_logged&therapist={bea}", set()),
        ("?therapist=&stage=&kind=", {"Hers One", "Other Two", "Left Three"}),
        ("?therapist=no-id", {"Hers One", "Other Two", "Left Three"}),
    ],
)
def test_the_caseload_is_chosen_by_therapist_stage_and_alert(app, anna, three, asked, shown):
    text = page(app, anna, "/caseload" + asked.format(**three)).text
    assert {name for name in PEOPLE if name in text} == shown
    if not shown:
        assert "Nobody fits this choice" in text
        assert "Nobody is at home yet" not in text


def test_of_two_numbers_said_in_one_instant_every_page_shows_the_same(app, anna):
    db, said = extension.session(), now() - timedelta(hours=1)
    for first, number in (("07700 900201", "T1"), ("07700 900202", "T2")):
        course = cast.confirmed(db, anna, now() - timedelta(days=5), number=number)
        for tel in (first, "07700 900203"):
            own = {"clinic_id": course.clinic_id, "patient_id": course.patient_id, "at": said}
            db.add(Contact(**own, whose="patient", tel=tel))
            db.flush()
        refresh_line(db, course, now())
    lines = caseloads.page(db, anna.clinic_id, 1, now()).lines
    told = {line.patient.id: line.tel for line in lines}
    assert len(told) == 2
    for patient, tel in told.items():
        assert patients.contacts(db, patient, now())["patient"].tel == tel
        held = db.query(Contact).filter_by(patient_id=patient, at=said)
        assert tel == max(held, key=lambda row: row.id.bytes).tel


def test_what_was_chosen_stays_chosen_in_the_form_and_in_the_links_to_other_pages(app, anna):
    db = extension.session()
    copies(db, cast.enrolled(db, anna, now()), 60)
    text = page(app, anna, "/caseload?stage=-&kind=&page=1").text
    assert '<option value="-" selected>' in text
    assert 'href="/caseload?page=2&amp;stage=-"' in text
    assert page(app, anna, "/caseload?stage=-&page=9").text.count('class="whose"') == 11


def test_a_patient_the_jobs_have_not_got_to_is_shown_with_what_to_do(app, anna):
    db = extension.session()
    course = cast.enrolled(db, anna, now())
    refresh_line(db, course, now())
    assert "has not looked at" not in page(app, anna).text
    since = now() - timedelta(minutes=20)
    line_of(db, course).next_at = since
    text = page(app, anna).text
    clock = rf"since (\w\w\w )?{local(since, 'Europe/London'):%H:%M}"  # of yesterday with its day
    assert re.search(f"Homeprog has not looked at 1 patient {clock}: figures and alerts may", text)
    assert re.search(rf"Not looked at {clock}\.", text)


def test_another_clinics_courses_are_not_in_the_caseload(app, anna):
    db = extension.session()
    other = cast.staff(db, cast.clinic(db, now(), "Hill Hand Unit"), now())
    refresh_line(db, cast.enrolled(db, other, now(), name="Somebody Else"), now())
    assert "Somebody Else" not in page(app, anna).text


def test_the_methods_page_defines_each_of_the_seven_signs(app, anna):
    text = page(app, anna, "/methods").text
    for words in ("logged", "some logged", "entered later", "not logged", "not known yet",
                  "not asked for", "to come"):  # fmt: skip
        assert f"<dt>{words}</dt>" in text
