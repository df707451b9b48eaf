"""How a phone is linked: from the home screen, by link, code and camera, without a signal too."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from sqlalchemy import select

from homeprog.storage.models import BoutRow
from tests.browser.conftest import ARGS, CHROMIUM
from tests.browser.live import PATIENCE_MS, Live
from tests.browser.look import Inspector
from tests.browser.phone_hand import WORKER, cdp, heading, row, tap, to_setup, until

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


def test_the_browser_finds_nothing_that_keeps_it_from_being_installed(
    live: Live, link: Callable[..., str], chromium: Browser, tmp_path: Path
) -> None:
    """By Chromium's own check, in a profile that is kept: one that is not may never install."""
    context = chromium.browser_type.launch_persistent_context(
        str(tmp_path), executable_path=str(CHROMIUM), headless=True, args=list(ARGS),
        timeout=3 * PATIENCE_MS,
    )  # fmt: skip
    page = context.pages[0]
    page.goto(link("SH 61010"))
    page.evaluate(WORKER)
    manifest = cdp(page, "Page.getAppManifest")
    assert manifest["url"] == f"{live.origin}/phone/manifest.webmanifest"
    assert manifest["errors"] == []
    assert cdp(page, "Page.getInstallabilityErrors") == {"installabilityErrors": []}
    context.close()


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
    tap(tab, "I did it all")
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
    tap(tab, "I did it all")
    tap(tab, "2")
    until(tab, lambda: _bouts(live) == before + 2, "the tab's entry did not arrive")
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
