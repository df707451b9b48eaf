"""A phone in a patient's hand: what its tests do again and again."""

from __future__ import annotations

import re
import time
import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

from playwright.sync_api import Page, expect
from sqlalchemy import select

from homeprog.storage.models import BoutRow, Course
from tests.browser.house import House, on_dynamic, pairing_link
from tests.browser.live import PATIENCE_MS, Live
from tests.browser.road import Road

STORED = """async () => {
  const { readAll } = await import("/static/js/store/db.js");
  return readAll();
}"""
APART = """() => new Promise((resolve) => {
  const asked = indexedDB.open("homeprog");
  asked.onsuccess = () => {
    const all = asked.result.transaction("apart").objectStore("apart").getAll();
    all.onsuccess = () => { asked.result.close(); resolve(all.result); };
  };
})"""
FLUSH = """async () => (await import("/static/js/net/flush.js")).flush()"""
MEET = """async () => (await import("/static/js/net/flush.js")).meet("page", { stale: true })"""
LEADING = "bend_to_stop"
DONE = re.compile(r"^I did (it all|all \d+)$")  # one tap for the whole dose
WORKER = "navigator.serviceWorker.ready.then(() => true)"


def at_home(live: Live, house: House, number: str) -> uuid.UUID:
    """A patient on the band, ten bends an hour from 7 to 22; the course's id."""
    with live.db() as db:
        course = on_dynamic(
            db, house, live.now() - timedelta(minutes=10), name=f"Ana {number}", number=number
        )
        return course.id


def linked(page: Page, live: Live, house: House, road: Road, course: uuid.UUID) -> None:
    """Pair by a fresh link; the phone shows what is due."""
    with live.db() as db:
        link = pairing_link(db, house, db.get_one(Course, course), road.origin, live.now())
    page.goto("about:blank")  # a link opened anew, not a step within the app
    page.goto(link)
    tap(page, "Link")
    expect(page.get_by_role("button", name="Link", exact=True)).to_have_count(0)
    until(page, lambda: str(course) in _courses(page), "the plan did not arrive")
    expect(page.get_by_role("heading", name="Getting your plan")).to_have_count(0)
    page.evaluate(WORKER)


def _courses(page: Page) -> list[str]:
    plan = kept(page).get("plan")
    return [course["id"] for course in plan["body"]["courses"]] if plan else []


def tap(page: Page, words: str) -> None:
    page.get_by_role("button", name=words, exact=True).first.click()


def row(page: Page, words: str) -> None:
    page.locator(".rows button", has_text=words).first.click()


def heading(page: Page, words: str) -> None:
    """The screen with this heading is there."""
    expect(page.get_by_role("heading", name=words, exact=True).first).to_be_visible()


def to_setup(page: Page, words: str) -> None:
    """Open one of the first minutes' steps from the menu."""
    tap(page, "Menu")
    row(page, "Set up this phone")
    row(page, words)


def sees(page: Page, words: str) -> None:
    expect(page.get_by_text(words).first).to_be_visible()


def log(page: Page, pain: str = "3") -> None:
    """Log all that is due, by one tap and the pain; the phone says that it is saved."""
    log_due(page, pain)
    sees(page, "Saved on this phone")


def log_due(page: Page, pain: str = "3") -> None:
    """Log all that is due, up to the tap on the pain."""
    page.get_by_role("button", name=DONE).click()
    tap(page, pain)


def log_more(page: Page, pain: str = "3") -> None:
    """Log some where nothing is due, up to the tap on the pain."""
    tap(page, "I did some anyway")
    page.locator(".acts .go").click()
    tap(page, pain)


def stored(page: Page) -> dict[str, list[Any]]:
    """What the phone's database holds: the values of each store."""
    all_of = page.evaluate(STORED)
    return {name: [value for _, value in pairs] for name, pairs in all_of.items()}


def kept(page: Page) -> dict[str, Any]:
    """The store of single values, by key."""
    return dict(page.evaluate(STORED)["kept"])


def waiting(page: Page) -> list[str]:
    return [entry["item"]["id"] for entry in stored(page)["outbox"]]


def apart(page: Page) -> list[str]:
    """Ids of entries kept apart."""
    return [each["entry"]["item"]["id"] for each in page.evaluate(APART)]


def flush(page: Page) -> dict[str, Any]:
    told: dict[str, Any] = page.evaluate(FLUSH)
    return told


def bouts(live: Live, course: uuid.UUID) -> list[BoutRow]:
    """The bouts of the leading exercise the clinic has, in the order they were done."""
    led = select(BoutRow).where(BoutRow.course_id == course, BoutRow.exercise == LEADING)
    with live.reads() as db:
        rows = db.scalars(led).all()
        return sorted(rows, key=lambda row: row.done_at or row.entered_at)


def until(page: Page, true: Callable[[], Any], why: str) -> Any:
    """What is waited for, once it is so."""
    deadline = time.monotonic() + PATIENCE_MS / 1000
    while not (found := true()):
        assert time.monotonic() < deadline, why
        page.wait_for_timeout(80)
    return found


def cdp(page: Page, method: str, **params: Any) -> Any:
    return page.context.new_cdp_session(page).send(method, params)
