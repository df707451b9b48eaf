"""The first minutes on a phone, as a person goes through them."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import icalendar
import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from homeprog.storage.models import Device, Identifier, PromptEvent
from tests.browser.house import FRIDAY
from tests.browser.live import Live
from tests.browser.look import Inspector
from tests.browser.phone_hand import heading, row, tap, to_setup, until
from tests.browser.push_cast import STUB, Keys, Worker, send_of
from tests.browser.receiver import Receiver

pytestmark = pytest.mark.browser

PICTURES = (
    "This is your hand", "This is how it is held", "This is your exercise",
    "This must never happen", "Stop and ring if",
)  # fmt: skip


def said_by(live: Live, number: str) -> list[str | None]:
    """How the patient's phone reminds, as the server knows it."""
    with live.reads() as db:
        theirs = select(Identifier.patient_id).where(Identifier.value == number)
        return [
            each.reminding
            for each in db.scalars(select(Device).where(Device.patient_id.in_(theirs)))
        ]


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
    assert until(page, lambda: said_by(live, "SH 61001") == ["push"], "the server knows no way")
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
    assert until(page, lambda: said_by(live, "SH 61006") == ["in_app"], "the open app is no way")
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
    assert until(
        page, lambda: said_by(live, "SH 61006") == ["calendar"], "the calendar is not known"
    )
    tap(page, "Go on")
    expect(page.get_by_role("button", name="Start")).to_be_visible()
    tap(page, "Menu")
    row(page, "Your calendar reminds you")
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
