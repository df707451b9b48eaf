"""Phone screens and staff pages fit, and can be read, in every shape."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Accessible, Shoot
from tests.browser.house import House, on_dynamic, pairing_link
from tests.browser.live import Live
from tests.browser.look import Inspector

pytestmark = pytest.mark.browser


@pytest.fixture
def inspector(shoot: Shoot, accessible: Accessible) -> Inspector:
    return Inspector(shoot, accessible)


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
    assert len(inspector.seen) == len(set(inspector.seen)) >= 14
    assert not inspector.faults, "\n".join(inspector.faults)


def _arrive(walk: Walk) -> None:
    walk.see("pair", "Link this phone")
    walk.tap("Link")
    walk.see("hand", "Is this your hand?")
    walk.tap("Yes")
    walk.see("reminders", "Reminders")
    walk.tap("Not now")


def _do_what_is_due(walk: Walk) -> None:
    expect(walk.page.get_by_role("button", name="Start")).to_be_visible()
    walk.inspector.look(walk.page, "phone-now")
    walk.tap("I have read this")
    walk.tap("Start")
    walk.tap("+ 1")
    expect(walk.page.get_by_role("button", name="End at 1")).to_be_visible()
    walk.inspector.look(walk.page, "phone-count")
    walk.tap("End at 1")
    while (rest := walk.page.get_by_role("button", name=re.compile(r"^All \d+ done"))).count():
        rest.click()
    walk.see("pain", "How bad was the pain?")
    walk.tap("3")
    expect(walk.page.get_by_text("Saved on this phone").first).to_be_visible()
    walk.inspector.look(walk.page, "phone-saved")


def _through_the_menu(walk: Walk) -> None:
    for words, name, heading in (
        ("My plan", "plan", "My plan"), ("My days", "days", "My days"), ("Quiet", "quiet", "Quiet"),
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
