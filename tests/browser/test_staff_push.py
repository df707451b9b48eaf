"""A therapist's browser: told on this device, an alert sent, shown without a word of it, opened."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from homeprog.services.open_alert import open_alert
from tests.browser.house import House, on_dynamic
from tests.browser.live import Live
from tests.browser.phone_hand import until
from tests.browser.push_cast import STUB, TAP, Keys
from tests.browser.receiver import Receiver
from tests.browser.staff_desk import Desk

pytestmark = pytest.mark.browser

REGISTERED = "navigator.serviceWorker.getRegistrations()"
SCOPES = f"{REGISTERED}.then((all) => all.map((r) => new URL(r.scope).pathname))"
NOTES = f"""{REGISTERED}.then((all) => all[0].getNotifications())
  .then((all) => all.map((n) => ({{ title: n.title, body: n.body }})))"""
# A tap by script is no tap of a hand: the browser would open nothing. What it is asked for is kept.
OPENING = """() => {
  Clients.prototype.openWindow = async (url) => { self.opened = url; return null; };
}"""


def delivered(page: Page, origin: str, payload: dict[str, Any]) -> None:
    """Hand a push to the page's worker, as the browser's push service would."""
    ids: list[str] = []
    cdp = page.context.new_cdp_session(page)
    cdp.on(
        "ServiceWorker.workerRegistrationUpdated",
        lambda said: ids.extend(each["registrationId"] for each in said["registrations"]),
    )
    cdp.send("ServiceWorker.enable")
    until(page, lambda: ids, "the browser tells of no worker")
    told = {"origin": origin, "registrationId": ids[-1], "data": json.dumps(payload)}
    cdp.send("ServiceWorker.deliverPushMessage", told)


def test_an_alert_reaches_the_therapists_browser_and_a_tap_opens_it(
    live: Live, house: House, receiver: Receiver, phone: Callable[..., Page]
) -> None:
    page, keys = phone(viewport={"width": 1280, "height": 800}, is_mobile=False), Keys()
    made = {"endpoint": f"{receiver.origin}/send/staff", "keys": keys.told()}
    page.add_init_script(f"({STUB})({json.dumps(made)})")
    desk = Desk(page, live.origin)
    desk.sign_in(house.therapist)
    expect(page.get_by_text("No one is woken by this system.")).to_be_visible()
    desk.go("/staff/devices")
    desk.fill({"What you call this device": "My phone"})
    page.get_by_role("button", name="Tell me on this device").click()
    expect(page.get_by_text("My phone, since")).to_be_visible()
    expect(page.get_by_text("Anna Berg (web push)")).to_be_visible()
    assert page.evaluate(SCOPES) == ["/static/js/staff/"]

    with live.db() as db:
        course = on_dynamic(db, house, live.now() - timedelta(minutes=10))
        figures = {"trouble": "snap", "stop": True, "entered_at": live.now().isoformat()}
        row = open_alert(db, course, "trouble", "now", figures, live.now())
        alert = str(row.id)
    live.flask("dispatch", "--once")
    payload = keys.opened(receiver.take().body)
    assert (payload["title"], payload["url"]) == (
        "Homeprog: an alert (now) is waiting", f"/alerts/{alert}",
    )  # fmt: skip
    delivered(page, live.origin, payload)
    page.wait_for_function(f"() => {NOTES}.then((all) => all.length === 1)")
    assert page.evaluate(NOTES) == [{"title": payload["title"], "body": ""}]

    worker = page.context.service_workers[0]
    worker.evaluate(OPENING)
    worker.evaluate(TAP)
    assert worker.evaluate("self.opened") == f"{live.origin}/alerts/{alert}"
    desk.go(f"/alerts/{alert}")
    expect(page.get_by_role("button", name="Take up now")).to_be_visible()
    until(page, lambda: page.evaluate(NOTES) == [], "the tap did not close the notification")
