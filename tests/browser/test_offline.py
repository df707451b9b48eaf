"""Without a network, and with one that fails: what the phone says is saved arrives, once."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from tests.browser.house import FRIDAY, House
from tests.browser.live import Live
from tests.browser.phone_hand import at_home, bouts, linked, log, sees, tap, until, waiting
from tests.browser.road import Road

pytestmark = pytest.mark.browser

MORNING = FRIDAY - timedelta(hours=5)  # 9:10 in the clinic's zone
CACHED = """async () => {
  const caches_ = await caches.keys();
  const paths = [];
  for (const name of caches_) {
    for (const request of await (await caches.open(name)).keys()) paths.push(new URL(request.url).pathname);
  }
  return { names: caches_, paths };
}"""  # noqa: E501


def test_a_day_of_12_bouts_without_a_signal_arrives_once_and_at_the_right_times(
    live: Live, house: House, road: Road, phone: Callable[..., Page]
) -> None:
    live.set_now(MORNING)
    course = at_home(live, house, "SH 1001")
    page = phone()
    page.context.clear_permissions()  # no sync in the background: the worker's clock is not set
    page.clock.install(time=MORNING)
    linked(page, live, house, road, course)
    tap(page, "I have read this")
    until(page, lambda: not waiting(page), "the reading did not arrive")
    road.up = False
    for hour in range(12):
        page.clock.set_system_time(MORNING + timedelta(hours=hour))
        _open_again(page, closed=hour % 4 == 0)
        log(page, pain=str(1 + hour % 3))
        sees(page, "waits for a signal")
    assert bouts(live, course) == []
    live.set_now(MORNING + timedelta(hours=12))
    page.clock.set_system_time(MORNING + timedelta(hours=12))
    road.up = True
    page.evaluate("dispatchEvent(new Event('online'))")
    until(page, lambda: not waiting(page), "not all arrived")
    rows = bouts(live, course)
    assert [row.pain for row in rows] == [1 + hour % 3 for hour in range(12)]
    for hour, row in enumerate(rows):
        assert row.done_at is not None
        late = row.done_at - (MORNING + timedelta(hours=hour))
        assert timedelta(0) <= late < timedelta(minutes=2)
    sent = [key for upload in road.uploads() for key in upload.items]
    assert {str(row.id) for row in rows} <= set(sent)
    held = page.evaluate(CACHED)
    assert len(held["names"]) == 1
    assert [path for path in held["paths"] if path.startswith("/api/")] == []


def _open_again(page: Page, closed: bool) -> None:
    """Take the phone up again: the app was closed in between, or left open."""
    if closed:
        page.reload()
    else:
        tap(page, "Menu")
        tap(page, "Go back")


def test_the_second_start_needs_nothing_of_the_network_to_be_usable(
    live: Live, house: House, road: Road, phone: Callable[..., Page]
) -> None:
    live.set_now(FRIDAY)
    course = at_home(live, house, "SH 1002")
    page = phone()
    linked(page, live, house, road, course)
    until(page, lambda: page.evaluate("!!navigator.serviceWorker.controller"), "no worker")
    page.close()
    road.clear()
    road.up = False
    again = page.context.new_page()
    again.goto(f"{road.origin}/phone/")
    expect(again.get_by_role("button", name="Start")).to_be_visible()
    log(again)
    asked = {each.path.split("?")[0] for each in road.asked}
    assert {path for path in asked if not path.startswith("/api/v1/phone/")} <= {"/phone/sw.js"}
    assert waiting(again)


def test_what_is_logged_in_one_tab_is_shown_in_the_other_and_sent_once(
    live: Live, house: House, road: Road, phone: Callable[..., Page]
) -> None:
    live.set_now(FRIDAY)
    course = at_home(live, house, "SH 1003")
    page = phone()
    linked(page, live, house, road, course)
    other = page.context.new_page()
    other.goto(f"{road.origin}/phone/")
    expect(other.get_by_role("button", name="Start")).to_be_visible()
    road.slow_s = 0.2
    log(page)
    expect(other.get_by_role("heading", name="Nothing to do now")).to_be_visible()
    other.evaluate("dispatchEvent(new Event('online'))")
    until(page, lambda: not waiting(page), "it did not arrive")
    (row,) = bouts(live, course)
    sent = [key for upload in road.uploads() for key in upload.items]
    assert sent.count(str(row.id)) == 1
