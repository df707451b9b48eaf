"""What the phone asks by itself, and what it tells of its own: through the real server."""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.services.release_phase import Signed, release_phase
from homeprog.services.take_up_alert import take_up_alert
from homeprog.storage.models import Alert, BoutRow, PhoneItem, Quiet, Release
from tests.browser.house import FRIDAY, House, on_dynamic, pairing_link
from tests.browser.live import Live
from tests.browser.look import Inspector
from tests.browser.phone_hand import heading, row, tap

pytestmark = pytest.mark.browser

TOMORROW = FRIDAY + timedelta(hours=18)  # Saturday, 8:10 in the clinic's zone
EVENING = FRIDAY + timedelta(hours=7, minutes=30)


@pytest.fixture
def linked(live: Live, house: House, phone: Callable[..., Page]) -> Callable[..., Page]:
    """A phone of a patient at home on the band, hand read back, the cautions read."""

    def link(name: str, number: str, sign: str | None = None, **given: object) -> Page:
        live.set_now(FRIDAY)
        with live.db() as db:
            course = on_dynamic(
                db, house, live.now() - timedelta(minutes=10), name=name, number=number, **given
            )
            if sign:
                _sign_ahead(db, house, course.id, sign, live)
            address = pairing_link(db, house, course, live.origin, live.now())
        page = phone()
        page.goto(address)
        tap(page, "Link")
        tap(page, "I have read this")
        return page

    return link


def _sign_ahead(db: Session, house: House, course: uuid.UUID, phase: str, live: Live) -> None:
    signed = Signed(phase, splint_fitted=True, hand_examined=True, not_before=TOMORROW.date())
    release_phase(db, house.therapist.actor, course, signed, live.now() - timedelta(minutes=5))


def wait_sent(page: Page) -> None:
    """Until nothing waits on the phone."""
    tap(page, "Menu")
    expect(page.get_by_text("all arrived")).to_be_visible()
    tap(page, "Go back")


def test_a_stage_signed_ahead_begins_when_the_phone_hears_that_nothing_is_wrong(
    live: Live, linked: Callable[..., Page], inspector: Inspector
) -> None:
    operated = (FRIDAY - timedelta(days=23)).date()
    page = linked("Nadia Fell", "SH 51001", sign="dynamic_wide", operated=operated)
    heading(page, "2 things to do now")
    live.set_now(TOMORROW)
    page.reload()
    heading(page, "Anything wrong since your visit?")
    inspector.look(page, "phone-release")
    tap(page, "No, nothing")
    wait_sent(page)
    with live.reads() as db:
        assert db.scalars(select(Release.starts).where(Release.phase == "dynamic_wide")).one()
    live.set_now(TOMORROW + timedelta(minutes=2))
    page.reload()
    tap(page, "Menu")
    row(page, "My plan")
    heading(page, "Scar massage")
    assert not inspector.faults, inspector.told()


def test_after_six_waking_hours_without_a_log_the_phone_asks_and_tells_that_it_did(
    live: Live, linked: Callable[..., Page], inspector: Inspector
) -> None:
    page = linked("Otto Reed", "SH 51002")
    live.set_now(EVENING)
    page.reload()
    heading(page, "All well?")
    inspector.look(page, "phone-well")
    row(page, "My hand is sore")
    tap(page, "4")
    heading(page, "Your hand is sore")
    inspector.look(page, "phone-sore")
    tap(page, "None of these")
    wait_sent(page)
    with live.reads() as db:
        of_today = (PhoneItem.type == "all_well", PhoneItem.entered_at < TOMORROW)
        told = [item.body for item in db.scalars(select(PhoneItem).where(*of_today))]
    assert {(each["answer"], each["pain"]) for each in told} == {(None, None), ("sore", 4)}
    assert len({each["asked"] for each in told}) == 1


def test_who_has_seen_a_report_is_said_and_that_it_is_no_advice(
    live: Live, house: House, linked: Callable[..., Page], inspector: Inspector
) -> None:
    page = linked("Pia Stone", "SH 51003")
    tap(page, "Something is wrong")
    row(page, "A hard knock or a fall")
    expect(page.get_by_text("Sent at")).to_be_visible()
    with live.db() as db:
        alert = db.scalars(select(Alert).where(Alert.kind == "trouble").order_by(Alert.at)).all()
        take_up_alert(db, house.therapist.actor, alert[-1].id, live.now())
    page.reload()
    expect(page.get_by_text("Seen by Anna Berg, hand therapist, 14:1")).to_be_visible()
    expect(
        page.get_by_text("This is not advice yet. Ring if no one has rung by 15:1")
    ).to_be_visible()
    inspector.look(page, "phone-stop-seen")
    assert not inspector.faults, inspector.told()


def test_quiet_times_and_fewer_reminders_reach_the_server_and_can_be_ended(
    live: Live, linked: Callable[..., Page], inspector: Inspector
) -> None:
    page = linked("Rolf Hale", "SH 51004")
    tap(page, "Menu")
    row(page, "Reminders")
    row(page, "Quiet every week")
    tap(page, "Save")
    expect(page.get_by_role("alert")).to_be_visible()
    inspector.look(page, "phone-weekly")
    tap(page, "Monday")
    tap(page, "Save")
    expect(page.get_by_role("alert")).to_have_text("Set both times.")
    page.get_by_label("From").fill("13:00")
    page.get_by_label("To", exact=True).fill("15:00")
    tap(page, "Save")
    row(page, "Fewer reminders")
    inspector.look(page, "phone-fewer")
    row(page, "Four reminders a day")
    expect(page.locator(".rows button", has_text="Mon: 13:00 to 15:00")).to_be_visible()
    inspector.look(page, "phone-prompts")
    wait_sent(page)
    with live.reads() as db:
        rows = db.scalars(select(Quiet).order_by(Quiet.kind)).all()
        assert [(each.kind, each.fewer, each.weekday) for each in rows] == [
            ("fewer", "four_a_day", None), ("weekly", None, 0),
        ]  # fmt: skip
    tap(page, "Menu")
    row(page, "Reminders")
    row(page, "Mon: 13:00")
    expect(page.locator(".rows button", has_text="Mon: 13:00")).to_have_count(0)
    expect(page.locator(".rows button", has_text="Four reminders a day")).to_be_visible()
    assert not inspector.faults, inspector.told()


def test_the_phone_counts_and_says_so(
    live: Live, linked: Callable[..., Page], inspector: Inspector
) -> None:
    page = linked("Sven Moor", "SH 51005")
    tap(page, "Start")
    tap(page, "Count for me")
    inspector.look(page, "phone-pace")
    end = page.get_by_role("button", name=re.compile(r"^End at \d+$"))
    expect(end).to_be_visible(timeout=60_000)
    tap(page, "Pause")
    inspector.look(page, "phone-pace-paused")
    counted = int(end.inner_text().split()[-1])  # 1, or more where looking took its time
    end.click()
    tap(page, "End here")
    tap(page, "3")
    expect(page.get_by_text("arrived")).to_be_visible()
    with live.reads() as db:
        said = db.scalars(select(BoutRow).where(BoutRow.how == "paced")).one()
        assert (said.amount, said.pain) == (counted, 3)
    assert not inspector.faults, inspector.told()
