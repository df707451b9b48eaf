"""The first minutes on a phone, as a person goes through them; and the app that takes over."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import icalendar
import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from homeprog.storage.models import BoutRow, Device, Identifier, PromptEvent
from tests.browser.conftest import Accessible, Shoot
from tests.browser.house import FRIDAY, House, on_dynamic, pairing_link
from tests.browser.live import Live
from tests.browser.look import Inspector
from tests.browser.push_cast import STUB, Keys, Worker, eventually, send_of
from tests.browser.receiver import Receiver

pytestmark = pytest.mark.browser

# A browser whose page and home-screen app share nothing, and whose tab takes no push: told apart
# by what it has, as the app itself does.
SHARE_SHEET = """(standalone) => {
  Object.defineProperty(Navigator.prototype, "standalone", { get: () => standalone });
  if (!standalone) delete window.PushManager;
}"""
CAMERA = """(read) => {
  const drawn = document.createElement("canvas");
  const pen = drawn.getContext("2d");
  setInterval(() => pen.fillRect(Math.random() * 99, 0, 9, 9), 50);  // a frame, or nothing plays
  navigator.mediaDevices.getUserMedia = async () => drawn.captureStream();
  window.BarcodeDetector = class { async detect() { return [{ rawValue: window.seen ?? read }]; } };
}"""
PICTURES = (
    "This is your hand", "This is how it is held", "This is your exercise",
    "This must never happen", "Stop and ring if",
)  # fmt: skip


@pytest.fixture
def inspector(shoot: Shoot, accessible: Accessible) -> Inspector:
    return Inspector(shoot, accessible)


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


def tap(page: Page, words: str) -> None:
    page.get_by_role("button", name=words, exact=True).first.click()


def row(page: Page, words: str) -> None:
    page.locator(".rows button", has_text=words).first.click()


def heading(page: Page, words: str) -> None:
    expect(page.get_by_role("heading", name=words, exact=True).first).to_be_visible()


def said_by(live: Live, number: str) -> list[str | None]:
    """How the patient's phone reminds, as the server knows it."""
    with live.reads() as db:
        theirs = select(Identifier.patient_id).where(Identifier.value == number)
        return [
            each.reminding
            for each in db.scalars(select(Device).where(Device.patient_id.in_(theirs)))
        ]


def to_setup(page: Page, words: str) -> None:
    tap(page, "Menu")
    row(page, "Set up this phone")
    row(page, words)


def test_the_first_minutes_lead_from_the_hand_to_a_test_reminder_that_arrives(
    live: Live, receiver: Receiver, link: Callable[..., str], phone: Callable[..., Page],
    inspector: Inspector,
) -> None:  # fmt: skip
    keys, page = Keys(), phone()
    made = {"endpoint": f"{receiver.origin}/send/first", "keys": keys.told()}
    page.add_init_script(f"({STUB})({json.dumps(made)})")
    page.goto(link("SH 61001", read_back=False))
    tap(page, "Link")
    heading(page, "Is this your hand?")
    tap(page, "Yes")
    for n, words in enumerate(PICTURES):
        heading(page, words)
        inspector.look(page, f"first-picture-{n + 1}")
        if n == 2:  # closed half way, it goes on where it was
            page.reload()
            heading(page, words)
        tap(page, "Go on")
    heading(page, "Reminders")
    inspector.look(page, "first-reminders")
    tap(page, "Turn on")
    heading(page, "Reminders are on")
    tap(page, "Go on")
    heading(page, "Add to the home screen")
    inspector.look(page, "first-install-menu")
    tap(page, "Go on")
    heading(page, "Test reminder")
    inspector.look(page, "first-test")
    worker = Worker(page, live.origin)
    tap(page, "Send me a test reminder")
    expect(page.get_by_text("On its way.")).to_be_visible()
    inspector.look(page, "first-test-waiting")
    live.flask("dispatch", "--once")
    payload = keys.opened(receiver.take().body)
    assert not receiver.posts, "more than one test was sent"
    worker.push(payload)
    heading(page, "It arrived")
    inspector.look(page, "first-test-arrived")
    assert worker.notes()[0]["body"] == "This is a test. Reminders reach this phone."
    with live.reads() as db:
        told = [
            each.what
            for each in db.scalars(select(PromptEvent))
            if str(each.send_id) == send_of(payload)
        ]
    assert sorted(told) == ["sent", "shown"]
    tap(page, "Go on")
    expect(page.get_by_role("button", name="Start")).to_be_visible()
    page.reload()
    expect(page.get_by_role("button", name="Start")).to_be_visible()
    assert eventually(
        page, lambda: said_by(live, "SH 61001") == ["push"], "the server knows no way"
    )
    tap(page, "Menu")
    row(page, "Set up this phone")
    inspector.look(page, "first-setup")
    assert not inspector.faults, inspector.told()


def test_a_test_reminder_that_does_not_come_is_said_so_with_what_to_try(
    live: Live, receiver: Receiver, link: Callable[..., str], phone: Callable[..., Page],
    inspector: Inspector,
) -> None:  # fmt: skip
    page = phone()
    made = {"endpoint": f"{receiver.origin}/send/late", "keys": Keys().told()}
    page.add_init_script(f"({STUB})({json.dumps(made)})")
    page.goto(link("SH 61008"))
    tap(page, "Link")
    expect(page.get_by_role("button", name="Start")).to_be_visible()
    row(page, "Set up this phone")  # linked again, it has no reminders yet, and Now says so
    heading(page, PICTURES[0])
    tap(page, "Go to my plan now")
    tap(page, "Menu")
    row(page, "Reminders")
    tap(page, "Turn on")
    heading(page, "Reminders are on")
    row(page, "Test reminder")
    page.clock.install()
    tap(page, "Send me a test reminder")
    expect(page.get_by_text("On its way.")).to_be_visible()
    page.clock.run_for(62_000)
    heading(page, "It has not arrived")
    inspector.look(page, "first-test-late")
    page.context.set_offline(True)
    tap(page, "Send one more")
    expect(page.get_by_role("alert")).to_have_text(
        "There is no signal. Try again when you have one."
    )
    assert not inspector.faults, inspector.told()


@pytest.mark.full
def test_it_can_be_left_at_once_and_each_step_is_found_again_in_the_menu(
    link: Callable[..., str], phone: Callable[..., Page]
) -> None:
    page = phone()
    page.goto(link("SH 61002", read_back=False))
    tap(page, "A carer's")
    tap(page, "Link")
    tap(page, "Yes")
    heading(page, "This is a carer's phone")
    tap(page, "Go to my plan now")
    expect(page.get_by_role("button", name="Start")).to_be_visible()
    page.reload()
    expect(page.get_by_role("button", name="Start")).to_be_visible()
    to_setup(page, "Your plan in five pictures")
    heading(page, PICTURES[0])


def test_the_app_on_the_home_screen_takes_the_tabs_place_and_loses_no_entry(
    live: Live, link: Callable[..., str], phone: Callable[..., Page], inspector: Inspector
) -> None:
    tab = phone()
    tab.add_init_script(f"({SHARE_SHEET})(false)")
    tab.goto(link("SH 61003"))
    tap(tab, "Link")
    expect(tab.get_by_role("button", name="Start")).to_be_visible()
    to_setup(tab, "Add to the home screen")
    inspector.look(tab, "first-install-share")
    tap(tab, "Not now")
    tab.context.set_offline(True)
    tap(tab, "All done")
    tap(tab, "2")
    expect(tab.get_by_text("waits for a signal")).to_be_visible()
    to_setup(tab, "Add to the home screen")
    tap(tab, "Show the code")
    expect(tab.get_by_role("alert")).to_have_text(
        "2 entries must be sent first. Try again with a signal."
    )
    inspector.look(tab, "first-hand-over-waits")
    tab.context.set_offline(False)
    tap(tab, "Show the code")
    heading(tab, "Code for the app")
    inspector.look(tab, "first-hand-over")
    code = tab.locator(".code").inner_text()
    app = phone()
    app.add_init_script(f"({SHARE_SHEET})(true)")
    app.goto(f"{live.origin}/phone/")
    heading(app, "Link this phone to your plan")
    inspector.look(app, "first-pair-own")
    app.get_by_label("Code").fill("AAAA-BBBB-CCCC")
    tap(app, "Link")
    expect(app.get_by_role("alert")).to_have_text("This code is not known. Check each letter.")
    app.get_by_label("Code").fill(code.lower().replace("-", " "))
    tap(app, "Link")
    heading(app, "Reminders")
    tap(app, "Not now")
    heading(app, "Reminders by calendar")
    tap(app, "Not now")
    heading(app, "Nothing to do now")  # the tab's entry came along
    tab.reload()
    heading(tab, "Homeprog is on your home screen")
    inspector.look(tab, "first-replaced")
    with live.reads() as db:
        assert len(db.scalars(select(BoutRow)).all()) == 2  # both exercises of the hour, once
    assert not inspector.faults, inspector.told()


@pytest.mark.full
def test_an_entry_made_in_the_tab_after_it_was_replaced_still_arrives(
    live: Live, link: Callable[..., str], phone: Callable[..., Page]
) -> None:
    tab = phone()
    tab.goto(link("SH 61004"))
    tap(tab, "Link")
    expect(tab.get_by_role("button", name="Start")).to_be_visible()
    to_setup(tab, "Add to the home screen")
    row(tab, "The app asks for a code")
    code = tab.locator(".code").inner_text()
    tap(tab, "Go on")
    app = phone()
    app.goto(f"{live.origin}/phone/")
    row(app, "My code is from this phone's browser")
    app.get_by_label("Code").fill(code)
    tap(app, "Link")
    heading(app, "Reminders")
    before = _bouts(live)
    tap(tab, "All done")
    tap(tab, "2")
    eventually(tab, lambda: _bouts(live) == before + 2, "the tab's entry did not arrive")
    heading(tab, "Homeprog is on your home screen")


def _bouts(live: Live) -> int:
    with live.reads() as db:
        return len(db.scalars(select(BoutRow)).all())


@pytest.mark.full
def test_a_link_waits_for_a_signal_is_used_once_and_a_slow_network_takes_no_second_tap(
    live: Live, link: Callable[..., str], phone: Callable[..., Page]
) -> None:
    page, address = phone(), link("SH 61009")
    page.goto(address)
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.context.set_offline(True)
    tap(page, "Link")
    expect(page.get_by_role("alert")).to_have_text(
        "There is no signal. Try again when you have one."
    )
    page.context.set_offline(False)
    slow = page.context.new_cdp_session(page)
    slow.send("Network.enable")
    wait = {"offline": False, "latency": 2000, "downloadThroughput": -1, "uploadThroughput": -1}
    slow.send("Network.emulateNetworkConditions", wait)
    tap(page, "Link")
    expect(page.get_by_text("Linking.").first).to_be_visible()
    assert page.get_by_role("button", name="Link", exact=True).count() == 0
    slow.send("Network.emulateNetworkConditions", wait | {"latency": 0})
    expect(page.get_by_role("button", name="Start")).to_be_visible()
    other = phone()
    other.goto(address)
    tap(other, "Link")
    expect(other.get_by_role("alert")).to_have_text(
        "This code was used before. Ask your clinic for a new one."
    )
    tap(other, "Type a code")
    other.get_by_label("Code").fill("ABCD-EFGH")
    tap(other, "Link")
    expect(other.get_by_role("alert")).to_have_text("Please type both the code and the number.")
    other.get_by_label("Hospital number").fill("SH 61009")
    tap(other, "Link")
    expect(other.get_by_role("alert")).to_contain_text("This code or link is not known.")


@pytest.mark.full
def test_the_camera_reads_the_clinics_code_and_no_other(
    live: Live, link: Callable[..., str], phone: Callable[..., Page], inspector: Inspector
) -> None:
    page, right = phone(), link("SH 61005")
    page.add_init_script(f"({CAMERA})('https://elsewhere.example/phone/#pair=x')")
    page.goto(f"{live.origin}/phone/")
    heading(page, "Link this phone to your plan")
    inspector.look(page, "first-pair-clinic")
    row(page, "Scan with the camera")
    expect(page.get_by_text("This is another code.").first).to_be_visible()
    inspector.look(page, "first-scan")
    page.evaluate("(right) => { window.seen = right; }", right)
    expect(page.get_by_text("Your link is ready.")).to_be_visible()
    tap(page, "Link")
    expect(page.get_by_role("button", name="Start")).to_be_visible()
    assert not inspector.faults, inspector.told()


def test_without_push_a_calendar_file_rings_and_the_server_is_told(
    live: Live, link: Callable[..., str], phone: Callable[..., Page], inspector: Inspector,
    tmp_path: Path,
) -> None:  # fmt: skip
    page = phone()
    page.add_init_script("delete window.PushManager")
    page.goto(link("SH 61006", read_back=False))
    tap(page, "Link")
    tap(page, "Yes")
    for words in PICTURES:
        heading(page, words)
        tap(page, "Go on")
    heading(page, "Add to the home screen")
    tap(page, "Go on")
    heading(page, "Reminders by calendar")
    inspector.look(page, "first-calendar")
    assert eventually(
        page, lambda: said_by(live, "SH 61006") == ["in_app"], "the open app is no way"
    )
    tap(page, "Make the file")
    with page.expect_download() as coming:
        tap(page, "Save the file")
    saved = tmp_path / coming.value.suggested_filename
    coming.value.save_as(saved)
    assert saved.name == "homeprog.ics"
    events = icalendar.Calendar.from_ical(saved.read_bytes()).walk("VEVENT")
    assert {str(each["SUMMARY"]) for each in events} == {"Open Homeprog"}
    assert len(events) >= 15
    heading(page, "The file is saved")
    inspector.look(page, "first-calendar-taken")
    assert eventually(
        page, lambda: said_by(live, "SH 61006") == ["calendar"], "the calendar is not known"
    )
    tap(page, "Go on")
    expect(page.get_by_role("button", name="Start")).to_be_visible()
    tap(page, "Menu")
    row(page, "Reminders")
    row(page, "Fewer reminders")
    row(page, "Every second reminder")
    heading(page, "Reminders")
    tap(page, "Go back")
    expect(page.get_by_text("Your times have changed.")).to_be_visible()
    assert not inspector.faults, inspector.told()


@pytest.mark.full
def test_the_open_app_says_when_a_slot_begins(
    live: Live, link: Callable[..., str], phone: Callable[..., Page]
) -> None:
    page = phone()
    page.add_init_script("navigator.vibrate = (ms) => { window.felt = ms; }")
    page.goto(link("SH 61007"))
    tap(page, "Link")
    expect(page.get_by_role("button", name="Start")).to_be_visible()
    live.set_now(FRIDAY + timedelta(minutes=49, seconds=45))
    page.reload()
    expect(page.get_by_text("It is time.").first).to_be_visible(timeout=40_000)
    assert page.evaluate("window.felt") == 200
