"""Headless Chromium, a live server, and pictures of what was seen (shots/, not kept in git)."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, expect, sync_playwright

from tests.browser.house import FRIDAY, House, furnish, on_dynamic, pairing_link
from tests.browser.live import PATIENCE_MS, Live, running
from tests.browser.look import Inspector
from tests.browser.receiver import Receiver, listening
from tests.browser.road import Road, leading_to
from tests.browser.staff_desk import Desk

CHROMIUM = Path("/usr/bin/chromium")
ARGS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
SHOTS = Path(__file__).parent / "shots"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]

expect.set_options(timeout=PATIENCE_MS)

Shoot = Callable[[Page, str], None]
Accessible = Callable[[Page], list[str]]


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """One browser for all. Without Chromium these tests fail: they never skip themselves."""
    if not CHROMIUM.exists():
        pytest.fail(f"{CHROMIUM} is missing: apt-get install chromium. Browser tests do not skip.")
    with sync_playwright() as play:
        browser = _launched(play)
        yield browser
        browser.close()


def _launched(play: Playwright) -> Browser:
    return play.chromium.launch(
        executable_path=str(CHROMIUM), headless=True, args=list(ARGS), timeout=3 * PATIENCE_MS
    )


@pytest.hookimpl(hookwrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Iterator[None]:
    """What each page showed when a test failed."""
    outcome = yield
    report = outcome.get_result()
    if report.when != "call" or report.passed or "chromium" not in item.funcargs:
        return
    for n, context in enumerate(item.funcargs["chromium"].contexts):
        for page in context.pages:
            page.screenshot(path=SHOTS / f"failed-{item.name[:40]}-{n}.png", full_page=True)


@pytest.fixture(scope="module")
def receiver() -> Iterator[Receiver]:
    """Stands for a push service."""
    with listening() as found:
        yield found


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory, receiver: Receiver) -> Iterator[Live]:
    """A server for the tests of one file; it may send to the receiver's exact origin."""
    with running(tmp_path_factory.mktemp("instance"), receiver.origin) as server:
        yield server


@pytest.fixture(scope="module")
def the_road(live: Live) -> Iterator[Road]:
    with leading_to(live.origin) as found:
        yield found


@pytest.fixture
def road(the_road: Road) -> Road:
    the_road.clear()
    return the_road


@pytest.fixture(scope="module")
def house(live: Live) -> House:
    """The clinic on it; its clock starts on a Friday at 14:10."""
    with live.db() as db:
        made = furnish(db, FRIDAY - timedelta(days=3))
    live.set_now(FRIDAY)
    return made


@pytest.fixture
def shoot() -> Shoot:
    """Keeps a picture of a screen in tests/browser/shots where HOMEPROG_SHOTS is set."""
    SHOTS.mkdir(exist_ok=True)

    def take(page: Page, name: str) -> None:
        if "HOMEPROG_SHOTS" in os.environ:
            page.screenshot(path=SHOTS / f"{name}.png")

    return take


@pytest.fixture(scope="session")
def accessible() -> Accessible:
    """What axe finds against WCAG 2.2 AA on the page, a line a fault."""
    axe = Axe()

    def check(page: Page) -> list[str]:
        found = axe.run(page, options={"runOnly": RULES}).response["violations"]
        return [f"{each['id']} x{len(each['nodes'])}: {_first(each['nodes'])}" for each in found]

    return check


@pytest.fixture
def inspector(shoot: Shoot, accessible: Accessible) -> Inspector:
    """Looks at a screen in each of its forms, and keeps what is wrong with it."""
    return Inspector(shoot, accessible)


def _first(nodes: list[dict[str, Any]]) -> str:
    why = re.sub(r"\s+", " ", nodes[0].get("failureSummary", ""))
    return f"{nodes[0]['target']} {why[:160]}"


@pytest.fixture
def link(live: Live, house: House) -> Callable[..., str]:
    """A link for a new patient's phone, of a course released to hourly bends."""

    def make(number: str, **given: object) -> str:
        live.set_now(FRIDAY)
        with live.db() as db:
            earlier = live.now() - timedelta(minutes=10)
            course = on_dynamic(db, house, earlier, number=number, **given)
            return pairing_link(db, house, course, live.origin, live.now())

    return make


@pytest.fixture
def phone(chromium: Browser, live: Live) -> Iterator[Callable[..., Page]]:
    """Open a phone: a context of its own, allowed to notify, with its errors told at the end."""
    contexts: list[BrowserContext] = []
    faults: list[str] = []

    def open_phone(**more: Any) -> Page:
        shape = {"viewport": {"width": 360, "height": 740}, "has_touch": True, "is_mobile": True}
        context = chromium.new_context(**(shape | {"timezone_id": "Europe/London"} | more))
        context.grant_permissions(["notifications", "background-sync"], origin=live.origin)
        context.set_default_timeout(PATIENCE_MS)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: faults.append(str(error)))
        return page

    yield open_phone
    for context in contexts:
        context.close()
    assert not faults, f"errors on the phone's page: {json.dumps(faults, indent=1)}"


@pytest.fixture
def desk(chromium: Browser, live: Live) -> Iterator[Callable[[], Desk]]:
    """Sit down at a desk: a browser context of its own on the live server."""
    contexts: list[BrowserContext] = []

    def sit() -> Desk:
        context = chromium.new_context(viewport={"width": 1280, "height": 800})
        context.set_default_timeout(PATIENCE_MS)
        contexts.append(context)
        return Desk(context.new_page(), live.origin)

    yield sit
    for context in contexts:
        context.close()
