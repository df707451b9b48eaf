"""The phone's store when something fails: full, aborted, lost, cleared, of another version."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from homeprog.storage.models import Device, PhoneItem, TroubleReport
from tests.browser.house import FRIDAY, House
from tests.browser.live import Live
from tests.browser.phone_hand import (
    DONE,
    at_home,
    bouts,
    cdp,
    flush,
    kept,
    linked,
    log,
    log_due,
    log_more,
    sees,
    stored,
    tap,
    until,
    waiting,
)
from tests.browser.road import Answer, Asked, Road, page, told

pytestmark = pytest.mark.browser

# The next write into the outbox fails as a full disk makes it fail, or its transaction is aborted.
BREAK = """(how) => {
  const put = IDBObjectStore.prototype.put;
  IDBObjectStore.prototype.put = function (...args) {
    if (this.name !== "outbox") return put.apply(this, args);
    IDBObjectStore.prototype.put = put;
    if (how === "full") throw new DOMException("no room", "QuotaExceededError");
    const asked = put.apply(this, args);
    if (how === "abort") asked.addEventListener("success", () => this.transaction.abort());
    return asked;
  };
}"""
ASK_NO_PAIN = """async () => {
  const { keep, load } = await import("/static/js/store/state.js");
  const { plan } = await load();
  for (const { slots } of plan.body.courses) for (const slot of slots) slot.asks_pain = false;
  await keep("plan", plan);
}"""
# No write is ever taken whole: the entry itself would be, what is shown of it is not.
BREAK_ALWAYS = """() => {
  const put = IDBObjectStore.prototype.put;
  IDBObjectStore.prototype.put = function (...args) {
    if (!["bouts", "reports"].includes(this.name)) return put.apply(this, args);
    throw new DOMException("no room", "QuotaExceededError");
  };
}"""
WATCH_MODES = """() => {
  window.modes = [];
  const begin = IDBDatabase.prototype.transaction;
  IDBDatabase.prototype.transaction = function (stores, mode, how) {
    const made = begin.call(this, stores, mode, how);
    if (mode === "readwrite") window.modes.push(made.durability);
    return made;
  };
}"""
CUT_HANDLES = """() => {
  window.lost = 0;
  const begin = IDBDatabase.prototype.transaction;
  IDBDatabase.prototype.transaction = function (...args) {
    if (!window.lost) { window.lost = 1; this.close(); }
    return begin.apply(this, args);
  };
}"""
NEVER_BACK = """async () => {
  let tries = 0;
  IDBDatabase.prototype.transaction = () => {
    tries += 1;
    throw new DOMException("lost", "InvalidStateError");
  };
  const { readAll } = await import("/static/js/store/db.js");
  return readAll().then(() => "read", (error) => `${error.name} ${tries}`);
}"""
RELAID = """async ({ version, stores }) => {
  const { readAll } = await import("/static/js/store/db.js");
  const all = await readAll();
  await new Promise((done) => { indexedDB.deleteDatabase("homeprog").onsuccess = done; });
  const asked = indexedDB.open("homeprog", version);
  asked.onupgradeneeded = () => stores.forEach((name) => asked.result.createObjectStore(name));
  await new Promise((done) => { asked.onsuccess = done; });
  const filled = asked.result.transaction(stores, "readwrite");
  for (const [name, pairs] of Object.entries(all)) {
    for (const [key, value] of pairs) filled.objectStore(name).put(value, key);
  }
  await new Promise((done) => { filled.oncomplete = done; });
  asked.result.close();
}"""


# 'Something is wrong' to 'All well?', of which nothing was written when it was asked.
ANSWER_UNASKED = """async () => {
  const { app } = await import("/static/js/views/stage.js");
  const { answerAllWell } = await import("/static/js/store/log.js");
  const asked = [app.course(), "something_wrong", null, "2026-06-05", app.now()];
  await answerAllWell({ ...app.state, wells: {} }, ...asked);
}"""


@pytest.fixture
def paired(
    live: Live, house: House, road: Road, phone: Callable[..., Page]
) -> Callable[[str], tuple[Page, object]]:
    def pair(number: str) -> tuple[Page, object]:
        live.set_now(FRIDAY)
        course = at_home(live, house, number)
        shown = phone()
        linked(shown, live, house, road, course)
        return shown, course

    return pair


Paired = Callable[[str], tuple[Page, object]]


def store_alone(page: Page, road: Road) -> None:
    """A page from which the store can be reached, without the app, which reads and writes there."""
    road.up = True
    page.goto(f"{road.origin}/static/manifest.webmanifest")


def test_an_aborted_write_is_said_not_to_be_saved_and_leaves_nothing_half_saved(
    paired: Paired, road: Road
) -> None:
    shown, _ = paired("SH 2001")
    road.up = False
    shown.evaluate(BREAK, "abort")
    log_due(shown)
    sees(shown, "This is not saved")
    expect(shown.get_by_text("Saved on this phone")).to_have_count(0)
    held = stored(shown)
    assert (held["outbox"], held["bouts"]) == ([], [])
    tap(shown, "3")
    sees(shown, "Saved on this phone")
    assert len(waiting(shown)) == len(stored(shown)["bouts"]) > 0


def test_where_no_pain_is_asked_a_failed_write_is_tried_again_by_a_tap_and_not_by_itself(
    paired: Paired, road: Road
) -> None:
    shown, _ = paired("SH 2031")
    road.up = False
    shown.evaluate(ASK_NO_PAIN)
    shown.reload()
    shown.evaluate(BREAK, "abort")
    shown.get_by_role("button", name=DONE).click()
    sees(shown, "This is not saved")
    assert stored(shown)["bouts"] == []
    tap(shown, "Try again")
    sees(shown, "Saved on this phone")
    assert len(waiting(shown)) == len(stored(shown)["bouts"]) > 0


@pytest.mark.full
def test_each_write_asks_for_the_disk_itself(paired: Paired, road: Road) -> None:
    shown, _ = paired("SH 2002")
    shown.evaluate(WATCH_MODES)
    log(shown)
    assert set(shown.evaluate("window.modes")) == {"strict"}


def test_a_full_phone_lets_go_of_what_the_clinic_has_and_then_saves(
    live: Live, paired: Paired, road: Road
) -> None:
    shown, _ = paired("SH 2003")
    log(shown)
    until(shown, lambda: not waiting(shown), "the first did not arrive")
    shown.reload()
    until(shown, lambda: kept(shown)["plan"]["seq"] > _newest(shown), "no newer plan")
    assert stored(shown)["bouts"]
    road.up = False
    shown.evaluate(BREAK, "full")
    log_more(shown)
    sees(shown, "Saved on this phone")
    assert [each["id"] for each in stored(shown)["bouts"]] == waiting(shown)


def _newest(shown: Page) -> int:
    return max(each["acked_seq"] for each in stored(shown)["bouts"])


@pytest.mark.full
def test_a_phone_that_stays_full_says_so_and_half_saves_nothing(
    live: Live, paired: Paired, road: Road
) -> None:
    shown, course = paired("SH 2004")
    shown.evaluate(BREAK_ALWAYS)
    log_due(shown)
    sees(shown, "This is not saved")
    held = stored(shown)
    assert (held["outbox"], held["bouts"]) == ([], [])
    shown.reload()  # there is room again
    log(shown)
    until(shown, lambda: bouts(live, course), "it did not arrive")


def test_trouble_on_a_full_phone_stops_the_exercises_and_is_sent_from_memory(
    live: Live, paired: Paired, road: Road
) -> None:
    shown, course = paired("SH 2005")
    shown.evaluate(BREAK_ALWAYS)
    road.up = False
    tap(shown, "Something is wrong")
    tap(shown, "A snap")
    expect(shown.get_by_role("heading", name="Stop the exercises.")).to_be_visible()
    sees(shown, "Not saved on this phone. Keep this open, and ring")
    assert waiting(shown) == []
    until(shown, road.uploads, "it was not tried")
    road.up = True
    assert flush(shown)["ok"]  # the app may have sent it meanwhile
    with live.reads() as db:
        kinds = select(TroubleReport.kind).where(TroubleReport.course_id == course)
        assert db.scalars(kinds).all() == ["snap"]
    shown.reload()
    expect(shown.get_by_role("heading", name="Stop the exercises.")).to_be_visible()


def test_what_was_counted_before_trouble_on_a_full_phone_is_sent_with_it(
    live: Live, paired: Paired, road: Road
) -> None:
    shown, course = paired("SH 2013")
    tap(shown, "Start")
    tap(shown, "+ 1")
    shown.evaluate(BREAK_ALWAYS)
    road.up = False
    tap(shown, "Something is wrong")
    tap(shown, "A snap")
    expect(shown.get_by_role("heading", name="Stop the exercises.")).to_be_visible()
    road.up = True
    flush(shown)
    until(shown, lambda: bouts(live, course), "what was counted did not arrive")
    assert [bout.amount for bout in bouts(live, course)] == [1]
    with live.reads() as db:
        kinds = select(TroubleReport.kind).where(TroubleReport.course_id == course)
        assert db.scalars(kinds).all() == ["snap"]


def test_an_answer_whose_asking_was_not_kept_reaches_the_clinic_with_it(
    live: Live, paired: Paired
) -> None:
    shown, course = paired("SH 2014")
    shown.evaluate(ANSWER_UNASKED)
    assert flush(shown)["ok"]
    assert stored(shown)["outbox"] == []
    with live.reads() as db:
        items = select(PhoneItem).where(PhoneItem.course_id == course, PhoneItem.type == "all_well")
        told = [each.body for each in db.scalars(items.order_by(PhoneItem.id))]
    assert [each["answer"] for each in told] == [None, "something_wrong"]
    assert told[1]["asked"] == told[0]["asked"]


def test_a_phone_whose_storage_was_cleared_begins_again_by_its_cookie(
    live: Live, paired: Paired, road: Road
) -> None:
    shown, course = paired("SH 2006")
    log(shown)
    until(shown, lambda: not waiting(shown), "the first did not arrive")
    device = kept(shown)["device"]
    shown.goto("about:blank")
    types = "indexeddb,cache_storage,service_workers,local_storage"
    cdp(shown, "Storage.clearDataForOrigin", origin=road.origin, storageTypes=types)
    shown.goto(f"{road.origin}/phone/")
    sees(shown, "Your plan is back")
    sees(shown, "What had reached your clinic is safe.")
    tap(shown, "Go on")
    sees(shown, "Nothing to do now")
    assert kept(shown)["device"] == device
    log_more(shown)
    until(shown, lambda: len(bouts(live, course)) == 2, "the second did not arrive")
    with live.reads() as db:
        assert {row.device_id for row in bouts(live, course)} == {
            key for key in db.scalars(select(Device.id)) if str(key) == device["id"]
        }


@pytest.mark.full
def test_a_database_of_the_version_before_is_taken_over_with_what_waits_in_it(
    live: Live, paired: Paired, road: Road
) -> None:
    shown, course = paired("SH 2007")
    road.up = False
    log(shown)
    store_alone(shown, road)
    shown.evaluate(RELAID, {"version": 1, "stores": ["kept", "outbox", "bouts", "reports"]})
    shown.goto(f"{road.origin}/phone/")
    until(shown, lambda: len(bouts(live, course)) == 1, "it did not arrive")


@pytest.mark.full
def test_a_page_of_an_older_version_works_on_the_database_of_a_newer_one(
    live: Live, paired: Paired, road: Road
) -> None:
    shown, course = paired("SH 2008")
    newer = ["kept", "outbox", "bouts", "reports", "apart", "to_come"]
    store_alone(shown, road)
    shown.evaluate(RELAID, {"version": 99, "stores": newer})
    shown.goto(f"{road.origin}/phone/")
    log(shown)
    until(shown, lambda: len(bouts(live, course)) == 1, "it did not arrive")


@pytest.mark.full
def test_a_lost_connection_is_opened_anew_once(paired: Paired, road: Road) -> None:
    shown, _ = paired("SH 2009")
    shown.evaluate(CUT_HANDLES)
    log(shown)
    assert shown.evaluate("window.lost") == 1
    until(shown, lambda: not waiting(shown), "it was not sent")
    store_alone(shown, road)
    assert shown.evaluate(NEVER_BACK) == "InvalidStateError 2"


def test_an_answer_that_is_not_the_clinics_leaves_everything_waiting(
    live: Live, paired: Paired, road: Road
) -> None:
    shown, course = paired("SH 2010")
    road.up = False
    log(shown)
    held = waiting(shown)
    road.up = True
    strangers: dict[str, Callable[[Asked], Answer]] = {
        "a login page with 200": lambda _: page(),
        "a redirect to a login page": lambda _: page(302, {"Location": "/sign-in"}),
        "a login page with 401": lambda _: page(401),
        "a proxy's refusal": lambda _: page(400),
        "a proxy's 'not found'": lambda _: page(404),
        "a page of repairs": lambda _: page(503),
        "an error of the server": lambda _: told(500, {"error": {"code": "internal"}}),
        "too many": lambda _: told(429, {"error": {"code": "too_many"}}),
        "JSON of something else": lambda _: told(200, {"ok": True}),
        "a list": lambda _: told(200, []),
        "nothing named": lambda _: told(200, {"results": []}),
        "others named": lambda _: told(200, {"results": [{"id": "x", "result": "stored"}]}),
    }
    for name, answer in strangers.items():
        road.before = answer
        flush(shown)
        assert waiting(shown) == held, name
        assert not [each for each in stored(shown)["outbox"] if "refused" in each], name
        assert "ended" not in kept(shown), name
    road.before = None
    road.after = lambda asked, answer: None if "uploads" in asked.path else answer
    flush(shown)
    assert (waiting(shown), len(bouts(live, course))) == (held, 1), "an answer lost on its way"
    road.after = None
    assert flush(shown)["ok"]
    assert (waiting(shown), len(bouts(live, course))) == ([], 1)


def test_a_refusal_of_the_clinic_is_kept_and_shown_and_can_be_tried_again(
    live: Live, paired: Paired, road: Road
) -> None:
    shown, course = paired("SH 2011")
    road.before = lambda asked: (
        told(422, {"error": {"code": "invalid", "message": "The clinic cannot read this."}})
        if "uploads" in asked.path
        else None
    )
    log(shown)
    until(shown, lambda: any("refused" in each for each in stored(shown)["outbox"]), "not refused")
    tap(shown, "Menu")
    shown.get_by_role("button", name="could not be sent").click()
    sees(shown, "The clinic cannot read this.")
    road.before = None
    tap(shown, "Try again")
    until(shown, lambda: not waiting(shown), "it did not arrive")
    assert len(bouts(live, course)) == 1
