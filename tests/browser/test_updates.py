"""A new version of the app: taken whole or not at all, never while something is written."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest
from playwright.sync_api import Page, expect

from tests.browser.house import FRIDAY, House
from tests.browser.live import ROOT, Live
from tests.browser.phone_hand import at_home, linked, log, until
from tests.browser.road import Answer, Asked, Road, leading_to, page

pytestmark = pytest.mark.browser

OWN = re.findall(r'VERSION = "(\w+)"', (ROOT / "static/js/sw/files.js").read_text())[0]
NEXT = "0123456789ab"
CACHES = "caches.keys()"
UPDATE = "navigator.serviceWorker.getRegistration('/phone/').then((r) => r.update()).then(() => true, () => false)"  # noqa: E501
WAITS = "navigator.serviceWorker.getRegistration('/phone/').then((r) => !!r.waiting)"
WRITE = """() => {
  window.written = new Promise((done) => { window.finish = done; });
  navigator.locks.request("writing", { mode: "shared" }, () => window.written);
}"""
HIDE = """() => {
  Object.defineProperty(document, "visibilityState", { get: () => "hidden", configurable: true });
  document.dispatchEvent(new Event("visibilitychange"));
}"""


@pytest.fixture(scope="module")
def the_road(live: Live) -> Iterator[Road]:
    with leading_to(live.origin) as found:
        yield found


@pytest.fixture
def at_work(
    live: Live, house: House, the_road: Road, phone: Callable[..., Page]
) -> Callable[[str], Page]:
    """A linked phone whose worker is in charge."""

    def begin(number: str) -> Page:
        the_road.clear()
        live.set_now(FRIDAY)
        course, shown = at_home(live, house, number), phone()
        linked(shown, live, house, the_road, course)
        until(shown, lambda: shown.evaluate("!!navigator.serviceWorker.controller"), "no worker")
        return shown

    return begin


def _newer(asked: Asked, answer: Answer) -> Answer:
    """The next version, as the clinic's server would give it."""
    if not asked.path.endswith(("/sw/files.js", "/shell.json")):
        return answer
    plain = {k: v for k, v in answer.headers.items() if k.lower() not in ("etag", "last-modified")}
    return replace(answer, body=answer.body.replace(OWN.encode(), NEXT.encode()), headers=plain)


@pytest.mark.full
def test_a_new_version_waits_for_what_is_being_written_and_then_clears_the_old_one_away(
    the_road: Road, at_work: Callable[[str], Page]
) -> None:
    shown = at_work("SH 5001")
    assert shown.evaluate(CACHES) == [f"homeprog-shell-{OWN}"]
    the_road.packed = False
    the_road.after = _newer
    shown.evaluate(WRITE)
    assert shown.evaluate(UPDATE)
    until(shown, lambda: shown.evaluate(WAITS), "the new version was not fetched")
    shown.evaluate(HIDE)
    shown.wait_for_timeout(500)
    assert shown.evaluate(WAITS), "it took over while something was being written"
    shown.evaluate("window.finish()")
    until(shown, lambda: shown.evaluate(CACHES) == [f"homeprog-shell-{NEXT}"], "the old one stays")
    until(shown, lambda: not shown.evaluate(WAITS), "it still waits")


@pytest.mark.full
def test_a_version_that_comes_in_part_or_from_a_stranger_is_not_taken(
    the_road: Road, at_work: Callable[[str], Page]
) -> None:
    shown = at_work("SH 5002")
    the_road.packed = False
    the_road.after = lambda asked, answer: (
        page() if asked.path.endswith("/shell.json") else _newer(asked, answer)
    )
    shown.evaluate(UPDATE)
    shown.wait_for_timeout(500)
    the_road.after = lambda asked, answer: (
        answer if asked.path.endswith("/shell.json") else _newer(asked, answer)
    )
    shown.evaluate(UPDATE)
    shown.wait_for_timeout(500)
    assert shown.evaluate(CACHES) == [f"homeprog-shell-{OWN}"]
    assert not shown.evaluate(WAITS)
    the_road.up = False
    shown.reload()
    expect(shown.get_by_role("button", name="Start")).to_be_visible()
    log(shown)
