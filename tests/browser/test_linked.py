"""Whose entries they are: cookie gone, course closed, unlinked, linked to another patient."""

from __future__ import annotations

import json
import re
import uuid
from collections.abc import Callable, Iterator
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from homeprog.services.close_course import close_course
from tests.browser.house import FRIDAY, House
from tests.browser.live import Live
from tests.browser.phone_hand import (
    apart,
    at_home,
    bouts,
    kept,
    linked,
    log,
    sees,
    stored,
    tap,
    until,
    waiting,
)
from tests.browser.road import Road, leading_to, told

pytestmark = pytest.mark.browser

# Of a person or a diagnosis; the hand and finger may be there once a clinician confirmed them.
# As words: within a key or an id of chance letters "VI" or "1968" says nothing.
NEVER_ON_A_PHONE = re.compile(
    r"(?<![\w-])(Ana|SH 30\d\d|1968|07700 900123|extensor|EDC|VI|rupture)(?![\w-])", re.I
)
STORES = ("outbox", "bouts", "reports")
OF_THE_PHONE = {"offset_ms", "seq"}
OLD = """async (hours) => {
  const { transact } = await import("/static/js/store/db.js");
  const at = (ago) => new Date(Date.now() - ago * 3600000).toISOString();
  await transact("readwrite", ({ bouts }) => {
    for (const ago of hours) {
      bouts.put({ id: `${ago}`, course: "c", entered_at: at(ago), acked_seq: 0 }, `${ago}`);
      bouts.put({ id: `${ago}-unsent`, course: "c", entered_at: at(ago), acked_seq: null }, `${ago}-unsent`);
    }
  });
}"""  # noqa: E501
ELSEWHERE = """async () => ({
  local: Object.entries(localStorage), session: Object.entries(sessionStorage),
  databases: (await indexedDB.databases()).map((each) => each.name),
})"""


@pytest.fixture(scope="module")
def the_road(live: Live) -> Iterator[Road]:
    with leading_to(live.origin) as found:
        yield found


@pytest.fixture
def road(the_road: Road, live: Live) -> Road:
    the_road.clear()
    live.set_now(FRIDAY)
    return the_road


Phone = Callable[..., Page]


@pytest.mark.full
def test_without_its_cookie_a_phone_keeps_what_was_entered_until_it_is_linked_again(
    live: Live, house: House, road: Road, phone: Phone
) -> None:
    course, page = at_home(live, house, "SH 3001"), phone()
    linked(page, live, house, road, course)
    page.context.clear_cookies()
    log(page)
    page.reload()
    sees(page, "This phone is not linked")
    sees(page, "What you entered is kept on this phone.")
    assert bouts(live, course) == []
    linked(page, live, house, road, course)
    until(page, lambda: not waiting(page), "it did not arrive")
    assert len(bouts(live, course)) == 1


@pytest.mark.full
def test_what_was_entered_before_the_course_was_closed_arrives_after_it(
    live: Live, house: House, road: Road, phone: Phone
) -> None:
    course, page = at_home(live, house, "SH 3002"), phone()
    linked(page, live, house, road, course)
    road.up = False
    log(page)
    _close(live, house, course)
    live.set_now(FRIDAY + timedelta(days=13))
    road.up = True
    page.evaluate("dispatchEvent(new Event('online'))")
    until(page, lambda: not waiting(page), "it did not arrive")
    assert len(bouts(live, course)) == 1
    page.reload()
    sees(page, "Your plan is finished.")


@pytest.mark.full
def test_after_fourteen_days_it_is_kept_and_not_shown(
    live: Live, house: House, road: Road, phone: Phone
) -> None:
    course, page = at_home(live, house, "SH 3003"), phone()
    linked(page, live, house, road, course)
    road.up = False
    log(page)
    _close(live, house, course)
    live.set_now(FRIDAY + timedelta(days=15))
    road.up = True
    page.reload()
    sees(page, "This phone is not linked")
    assert waiting(page)
    assert bouts(live, course) == []


def _close(live: Live, house: House, course: uuid.UUID) -> None:
    later = FRIDAY + timedelta(hours=1)
    with live.db() as db:
        close_course(db, house.therapist.actor, course, "completed", "full movement", later)


@pytest.mark.full
def test_a_phone_is_not_unlinked_while_something_waits_for_a_signal(
    live: Live, house: House, road: Road, phone: Phone
) -> None:
    course, page = at_home(live, house, "SH 3004"), phone()
    linked(page, live, house, road, course)
    road.up = False
    log(page)
    _unlink(page)
    sees(page, "Nothing is lost.")
    assert waiting(page)
    assert kept(page)["device"]


def _unlink(page: Page) -> None:
    tap(page, "Menu")
    tap(page, "Unlink this phone")
    tap(page, "Unlink")


@pytest.mark.full
def test_unlinking_clears_each_store_but_what_could_not_be_sent_and_back_leads_nowhere(
    live: Live, house: House, road: Road, phone: Phone
) -> None:
    course, page = at_home(live, house, "SH 3005"), phone()
    linked(page, live, house, road, course)
    road.before = lambda asked: (
        told(422, {"error": {"code": "invalid", "message": "No."}})
        if "uploads" in asked.path
        else None
    )
    log(page)
    until(page, lambda: all("refused" in each for each in stored(page)["outbox"]), "not refused")
    unsent = waiting(page)
    _unlink(page)
    sees(page, "Link this phone to your plan")
    held = stored(page)
    assert {name: held[name] for name in STORES} == {name: [] for name in STORES}
    assert set(kept(page)) <= OF_THE_PHONE
    assert sorted(apart(page)) == sorted(unsent)
    page.go_back()
    page.wait_for_timeout(300)
    expect(page.get_by_role("heading", name="Link this phone to your plan")).to_be_visible()


def test_entries_of_one_patient_never_go_to_another_and_arrive_when_the_first_is_back(
    live: Live, house: House, road: Road, phone: Phone
) -> None:
    first, second = at_home(live, house, "SH 3006"), at_home(live, house, "SH 3007")
    page = phone()
    linked(page, live, house, road, first)
    page.context.clear_cookies()
    log(page)
    page.reload()
    sees(page, "This phone is not linked")
    mine = waiting(page)
    road.asked.clear()
    linked(page, live, house, road, second)
    expect(page.get_by_role("button", name="Start")).to_be_visible()
    log(page)
    until(page, lambda: not waiting(page), "the second's did not arrive")
    assert sorted(apart(page)) == sorted(mine)
    sent = [key for upload in road.uploads() for key in upload.items]
    assert not set(sent) & set(mine)
    assert str(first) not in json.dumps(stored(page))
    _unlink(page)
    sees(page, "Link this phone to your plan")
    linked(page, live, house, road, first)
    until(page, lambda: len(bouts(live, first)) == 1, "the first's did not arrive")
    assert (apart(page), len(bouts(live, second))) == ([], 1)


def test_no_name_number_or_diagnosis_is_on_the_phone_and_what_it_keeps_has_an_end(
    live: Live, house: House, road: Road, phone: Phone
) -> None:
    course, page = at_home(live, house, "SH 3008"), phone()
    linked(page, live, house, road, course)
    log(page)
    until(page, lambda: not waiting(page), "it did not arrive")
    all_of = json.dumps(stored(page), ensure_ascii=False)
    assert NEVER_ON_A_PHONE.findall(all_of) == []
    assert page.evaluate(ELSEWHERE) == {"local": [], "session": [], "databases": ["homeprog"]}
    page.evaluate(OLD, [71, 73])
    page.evaluate("dispatchEvent(new Event('online'))")
    until(page, lambda: "73" not in {each["id"] for each in stored(page)["bouts"]}, "it is kept")
    ids = {each["id"] for each in stored(page)["bouts"]}
    assert {"71", "71-unsent", "73-unsent"} <= ids


def test_a_clock_a_day_fast_shows_the_right_hour_and_logs_the_true_time(
    live: Live, house: House, road: Road, phone: Phone
) -> None:
    course, page = at_home(live, house, "SH 3009"), phone()
    page.clock.install(time=FRIDAY + timedelta(days=1))
    linked(page, live, house, road, course)
    sees(page, "until 15:00")
    log(page)
    sees(page, "at 14:1")
    until(page, lambda: not waiting(page), "it did not arrive")
    (row,) = bouts(live, course)
    assert row.done_at is not None
    assert row.device_done_at is not None
    assert abs(row.done_at - FRIDAY) < timedelta(minutes=2)
    assert abs(row.device_done_at - row.done_at - timedelta(days=1)) < timedelta(minutes=1)
    assert abs(row.offset_ms + 86_400_000) < 60_000
    assert row.id.version == 7
