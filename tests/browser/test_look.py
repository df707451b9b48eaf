"""Phone screens and staff pages fit, and can be read, in every shape."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.storage.models import Alert, Course, HoldRow, Template
from tests.browser.house import FRIDAY, House, on_dynamic, pairing_link, two_days_at_home
from tests.browser.live import Live
from tests.browser.look import Inspector
from tests.browser.staff_desk import Desk

pytestmark = pytest.mark.browser


@dataclass
class Walk:
    """Goes through screens by what is written on them, and has each looked at."""

    page: Page
    inspector: Inspector

    def tap(self, words: str) -> None:
        self.page.get_by_role("button", name=words, exact=True).first.click()

    def see(self, name: str, heading: str) -> None:
        expect(self.page.get_by_role("heading", name=heading).first).to_be_visible()
        self.inspector.look(self.page, f"phone-{name}")


@pytest.mark.full
def test_each_phone_screen_fits_and_can_be_read(
    live: Live, house: House, phone: Callable[..., Page], inspector: Inspector
) -> None:
    page = phone()
    with live.db() as db:
        earlier = live.now() - timedelta(minutes=10)
        course = on_dynamic(db, house, earlier, read_back=False)
        link = pairing_link(db, house, course, live.origin, live.now())
    page.goto(link)
    walk = Walk(page, inspector)
    _arrive(walk)
    _do_what_is_due(walk)
    _through_the_menu(walk)
    _something_is_wrong(walk)
    assert len(inspector.seen) == len(set(inspector.seen)) >= 18
    assert not inspector.faults, inspector.told()


@pytest.mark.full
def test_each_staff_page_fits_and_can_be_read(
    live: Live, house: House, desk: Callable[[], Desk], inspector: Inspector
) -> None:
    with Session(live.engine) as db:
        course = two_days_at_home(db, house, FRIDAY - timedelta(minutes=5))
        pages = _staff_pages(db, course)
    live.flask("dispatch", "--once")
    seat = desk()
    seat.go("/sign-in")
    inspector.look(seat.page, "staff-sign-in")
    seat.sign_in(house.therapist)
    for name, path in pages.items():
        seat.go(path)
        inspector.look(seat.page, f"staff-{name}")
    seat.go(pages["pairing"])
    seat.press("Show a code")
    inspector.look(seat.page, "staff-pairing-code")
    assert not inspector.faults, inspector.told()


def _staff_pages(db: Session, course: Course) -> dict[str, str]:
    """Each page by what it is for; the course has an open alert and a hold."""
    alert = db.scalars(select(Alert.id).where(Alert.course_id == course.id)).first()
    hold = db.scalars(select(HoldRow.id).where(HoldRow.course_id == course.id)).first()
    template = db.scalars(select(Template.id)).first()
    here, patient = f"/courses/{course.id}", f"/patients/{course.patient_id}"
    return {
        "caseload": "/caseload", "methods": "/methods", "enrol": "/patients/new",
        "found": "/patients?find=40", "patient": patient, "pairing": f"{patient}/pairing",
        "course": here, "letter": f"{here}/letter", "facts": f"{here}/facts",
        "regime": f"{here}/regime", "confirmation": f"{here}/confirmation",
        "releases": f"{here}/releases", "holds": f"{here}/holds", "visit": f"{here}/visit",
        "closing": f"{here}/closing", "resume": f"/holds/{hold}/end", "alert": f"/alerts/{alert}",
        "templates": "/templates", "template": f"/templates/{template}", "clinic": "/clinic",
        "password": "/password", "measures": f"{here}/measures?window=all",
    }  # fmt: skip


def _arrive(walk: Walk) -> None:
    walk.see("pair", "Link this phone")
    walk.tap("Link")
    walk.see("hand", "Is this your hand?")
    walk.tap("Yes")
    walk.see("first", "This is your hand")
    walk.tap("Go to my plan now")


def _do_what_is_due(walk: Walk) -> None:
    expect(walk.page.get_by_role("button", name="Start")).to_be_visible()
    walk.inspector.look(walk.page, "phone-now")
    walk.tap("I have read this")
    walk.tap("Start")
    walk.tap("+ 1")
    expect(walk.page.get_by_role("button", name="End at 1")).to_be_visible()
    walk.inspector.look(walk.page, "phone-count")
    walk.tap("End at 1")
    while (rest := walk.page.get_by_role("button", name=re.compile(r"^I did all \d+$"))).count():
        rest.click()
    walk.see("pain", "How bad was the pain?")
    walk.tap("3")
    expect(walk.page.get_by_text("Saved on this phone").first).to_be_visible()
    walk.inspector.look(walk.page, "phone-saved")
    walk.tap("Done")
    walk.page.locator(".rows button", has_text="Daily check").click()
    walk.see("check", "How is the hand today?")
    walk.tap("Save")  # what has no answer is pointed out
    expect(walk.page.get_by_role("alert")).to_be_visible()
    walk.inspector.look(walk.page, "phone-check-missing")
    for question in walk.page.locator(".checks .q").all():
        question.get_by_role("button", name="Yes", exact=True).click()
    comfort = walk.page.get_by_role("group", name="Is it comfortable?")
    comfort.get_by_role("button", name="No", exact=True).click()
    walk.tap("Save")  # a 'no' opens its text, and lets it be reported
    walk.see("check-text", "Is one of these true?")
    walk.tap("None of these")


def _through_the_menu(walk: Walk) -> None:
    for words, name, heading in (
        ("My plan", "plan", "My plan"), ("My days", "days", "My days"),
        ("Reminders", "prompts", "Reminders"), ("Quiet", "quiet", "Quiet"),
        ("Unlink this phone", "unlink", "Unlink this phone"),
    ):  # fmt: skip
        walk.tap("Menu")
        if name == "plan":
            walk.see("menu", "Menu")
        walk.page.locator(".rows button", has_text=words).click()
        walk.see(name, heading)


def _something_is_wrong(walk: Walk) -> None:
    walk.tap("Something is wrong")
    walk.see("wrong", "What is wrong?")
    walk.page.locator(".rows button").first.click()
    walk.see("stop", "Stop the exercises.")
