"""The whole loop as people do it: enrol, prescribe, pair, log, report trouble, resume, review."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import func, select

from homeprog.storage.models import BoutRow
from tests.browser.conftest import Shoot
from tests.browser.house import FRIDAY, TEL, House
from tests.browser.live import Live
from tests.browser.phone_hand import DONE, until
from tests.browser.staff_desk import Desk

pytestmark = pytest.mark.browser

DYNAMIC = "Static one week, then against a band"


def test_the_whole_loop_from_enrolment_to_the_tick_sheet(
    live: Live,
    house: House,
    desk: Callable[[], Desk],
    phone: Callable[..., Page],
    shoot: Shoot,
) -> None:
    clerk, therapist, surgeon = desk(), desk(), desk()
    clerk.sign_in(house.enroller)
    patient = _clerks_part(clerk)
    shoot(clerk.page, "journey-1-enrolled")
    therapist.sign_in(house.therapist)
    surgeon.sign_in(house.surgeon)
    _clinicians_part(therapist, patient)
    shoot(therapist.page, "journey-2-facts")
    _adopt_and_approve(therapist, surgeon)
    course = _prescribe(therapist, patient)
    shoot(therapist.page, "journey-3-released")
    live.set_now(FRIDAY + timedelta(minutes=2))

    page = _paired(clerk, patient, phone, shoot)
    shoot(page, "journey-5-now")
    _log(page, pain="3")
    expect(page.get_by_text("arrived")).to_be_visible()
    shoot(page, "journey-6-saved")
    _log_offline(page, live, shoot)
    _later(page, live, hours=2)
    _log(page, pain="2")
    expect(page.get_by_text("arrived")).to_be_visible()

    live.tick()
    watch = desk()
    watch.sign_in(house.surgeon)  # opens the caseload, and leaves it open
    watch.page.clock.install()
    watch.go("/caseload")
    _feel_a_snap(page)
    shoot(page, "journey-8-stop")
    watch.page.clock.fast_forward(60_000)
    expect(watch.page.get_by_text("Felt or heard a snap").first).to_be_visible()
    _answer_the_alert(therapist, course, shoot)
    _goes_on(page)
    live.tick()
    _read_the_tick_sheet(therapist, course, shoot)


def _clerks_part(clerk: Desk) -> str:
    """The clerk's part; the path of the patient's page."""
    clerk.follow("Enrol")
    clerk.fill(
        {
            "Name": "Grace Obi",
            "Birth date": "1968-03-04",
            "Hospital number": "SH 40217",
            "Operation date": "2026-05-28",
            "Side, as on the letter": ("Left hand",),
            "Patient's telephone": "07700 900123",
            "Best times to ring": "after 16:00",
            "How consent was given": "signed form in the notes",
        }
    )
    clerk.press("Save")
    expect(clerk.heading()).to_have_text("Grace Obi")
    return clerk.path()


def _clinicians_part(therapist: Desk, patient: str) -> None:
    therapist.go(patient)
    therapist.follow("Clinician's part")
    therapist.fill(
        {
            "Digit of repair 1": "middle",
            "Structure of repair 1": "EDC",
            "Zone of repair 1": "VI",
            "Handedness": ("right",),
            "What is worn now": ("splint",),
            "Age group": ("adult",),
            "Can follow the plan": ("alone",),
            "Responsible therapist": "Anna Berg",
            "Surgeon": "Salma Haddow",
        }
    )
    therapist.press("Save")
    left = therapist.page.get_by_text("Missing of the clinician's part")
    expect(left).to_have_text("Missing of the clinician's part: regime, confirmation.")


def _adopt_and_approve(therapist: Desk, surgeon: Desk) -> None:
    therapist.follow("Templates")
    therapist.follow(DYNAMIC)
    therapist.press("Adopt")
    surgeon.follow("Templates")
    surgeon.follow(DYNAMIC)
    surgeon.press("Approve")
    surgeon.go("/templates")
    row = surgeon.page.get_by_role("row", name=DYNAMIC)
    expect(row.get_by_text("approved", exact=True)).to_be_visible()


def _prescribe(therapist: Desk, patient: str) -> str:
    """Set the regime, confirm, release; the path of the course's page."""
    therapist.go(patient)
    therapist.follow("Regime")
    therapist.press("Take it")
    therapist.fill({"Reason for this revision": "as the template"})
    therapist.press("Save this revision")
    course = therapist.path()
    therapist.go(f"{course}/confirmation")
    therapist.fill({"Compared with": ("the operation note",), "Which": "note of 28 May"})
    therapist.press("Confirm")
    therapist.go(f"{course}/releases")
    therapist.fill({"Stage": re.compile("Bend against the band")})
    therapist.fill(
        {
            "The splint of this stage is fitted": True,
            "I have examined the hand": True,
        }
    )
    therapist.press("Release")
    return course


def _paired(clerk: Desk, patient: str, phone: Callable[..., Page], shoot: Shoot) -> Page:
    """The patient's phone, opened by the link of the pairing page in a browser of its own."""
    clerk.go(patient)
    clerk.follow("Pair a phone")
    clerk.press("Show a code")
    shoot(clerk.page, "journey-4-pairing")
    link = clerk.page.locator("a.pair-link").get_attribute("href")
    page = phone()
    page.goto(link)
    page.get_by_role("button", name="Link", exact=True).click()
    expect(page.get_by_role("heading", name="Is this your hand?")).to_be_visible()
    for words in ("Left hand", "middle finger"):
        expect(page.get_by_role("main").get_by_text(words, exact=True)).to_be_visible()
    page.get_by_role("button", name="Yes", exact=True).click()
    page.get_by_role("button", name="Go to my plan now").click()
    return page


def _log(page: Page, pain: str) -> None:
    """Log all that is due, by one tap, and the pain."""
    page.get_by_role("button", name=DONE).click()
    page.get_by_role("button", name=pain, exact=True).click()
    expect(page.get_by_role("heading", name=re.compile(rf"pain {pain}$"))).to_be_visible()


def _later(page: Page, live: Live, hours: int) -> None:
    """So many hours after the first bout; the phone meets the server."""
    live.set_now(FRIDAY + timedelta(hours=hours))
    page.reload()
    expect(page.get_by_role("button", name="Start")).to_be_visible()


def _log_offline(page: Page, live: Live, shoot: Shoot) -> None:
    """The second bout is made without a signal, outlives a reload, and arrives with the signal."""
    _later(page, live, hours=1)
    page.context.set_offline(True)
    _log(page, pain="4")
    expect(page.get_by_text("waits for a signal")).to_be_visible()
    shoot(page, "journey-7-offline")
    page.reload()
    expect(page.get_by_role("heading", name="Nothing to do now")).to_be_visible()
    assert _bouts(live) == 1
    page.context.set_offline(False)
    until(page, lambda: _bouts(live) == 2, "the bout made without a signal did not arrive")


def _bouts(live: Live) -> int:
    """Bouts of the leading exercise that the server has."""
    with live.reads() as db:
        query = select(func.count()).select_from(BoutRow).where(BoutRow.exercise == "bend_to_stop")
        return db.scalars(query).one()


def _feel_a_snap(page: Page) -> None:
    page.get_by_role("button", name="Something is wrong").click()
    page.get_by_role("button", name="A snap").click()
    expect(page.get_by_role("heading", name="Stop the exercises.")).to_be_visible()
    expect(page.get_by_role("link", name=re.compile(TEL))).to_be_visible()
    expect(page.get_by_text(re.compile("^Sent at"))).to_be_visible()
    expect(page.get_by_role("button", name="Start")).to_have_count(0)


def _answer_the_alert(therapist: Desk, course: str, shoot: Shoot) -> None:
    """The alert is taken up on the caseload, and settled with what was done."""
    therapist.go("/caseload")
    row = therapist.page.get_by_role("row", name=re.compile("Grace Obi"))
    expect(row.get_by_text("snap").first).to_be_visible()
    shoot(therapist.page, "journey-9-alert")
    row.get_by_role("button", name="Take up now").click()
    therapist.no_fault()
    therapist.go(course)
    note = therapist.page.get_by_role("article").filter(has_text="snap")
    expect(note.get_by_text("Taken up", exact=False).first).to_be_visible()
    note.locator("summary", has_text="Settle").click()
    therapist.fill(
        {
            "What was done": ("Rang the patient",),
            "In a few words": "came in: no gap, the finger lifts",
            "Resume the exercises, because": "examined, nothing is torn",
        }
    )
    therapist.press("Settle")
    shoot(therapist.page, "journey-10-settled")


def _goes_on(page: Page) -> None:
    page.reload()
    expect(page.get_by_role("heading", name="Nothing to do now")).to_be_visible()


def _read_the_tick_sheet(therapist: Desk, course: str, shoot: Shoot) -> None:
    therapist.go(course)
    shoot(therapist.page, "journey-11-course")
    sheet = therapist.page.get_by_role("table", name=re.compile("Hours down"))
    for hour in ("14", "15", "16"):
        row = sheet.get_by_role("row", name=re.compile(rf"^{hour}"))
        expect(row.get_by_role("img", name=re.compile("logged"))).to_be_visible()
