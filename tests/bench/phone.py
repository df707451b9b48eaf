"""The patient's app: bytes of a first visit, requests of an offline start, and tap to saved.

The first visit is that of an empty browser, from the page's address until the worker has the
whole app: everything the server sent is counted on the wire, also what the worker fetches beside
the page. Bodies count against the target; heads are printed beside them, because a front server
with HTTP/2 packs those and gunicorn does not. Icons that only the home screen shows are printed
apart. Tap to saved is timed in the page, its CPU slowed 4 times, from the tap on a pain figure to
the words 'Saved on this phone' being painted. Its yardstick, in the same page and in turns, is
the least any app must do to say so: one put of such a record with strict durability, and the same
screen put in, ready made.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median

from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from ..browser.house import furnish, on_dynamic, pairing_link
from ..browser.live import Live, running
from .wire import Wire, counted

CHROMIUM = "/usr/bin/chromium"
SHAPE = {"viewport": {"width": 360, "height": 740}, "has_touch": True, "is_mobile": True}
KILOBYTES = 60.0
SLOWED = 4
ROUNDS = 15
SETTLED_MS = 300  # what goes on beside the tap has come to its end
TIMES_BARE = (
    4.0  # it reads the state anew, works the day out and draws the screen: three times bare
)

SEEN = "new Promise((drawn) => requestAnimationFrame(() => setTimeout(drawn)))"  # it is painted
SAVED_AFTER = """async () => {
  const pain = [...document.querySelectorAll(".pain .choice")][3];
  const there = () => document.querySelector(".states .yes");
  const begun = performance.now();
  pain.click();
  await new Promise((resolve) => {
    const look = (_, watch) => { if (there()) { watch.disconnect(); resolve(); } };
    new MutationObserver(look).observe(document.body, { childList: true, subtree: true });
  });
  await SEEN;
  return performance.now() - begun;
}""".replace("SEEN", SEEN)
BARE = """async (record) => {
  const db = await new Promise((resolve) => {
    const asked = indexedDB.open("bench", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("kept");
    asked.onsuccess = () => resolve(asked.result);
  });
  const phone = document.getElementById("phone");
  const ready = phone.cloneNode(true);
  phone.replaceChildren();
  await new Promise((resolve) => requestAnimationFrame(resolve));
  const begun = performance.now();
  const tx = db.transaction("kept", "readwrite", { durability: "strict" });
  tx.objectStore("kept").put(record, crypto.randomUUID());
  await new Promise((resolve) => { tx.oncomplete = resolve; });
  phone.replaceChildren(...ready.childNodes);
  phone.querySelector("h1").focus({ preventScroll: true });
  await SEEN;
  const taken = performance.now() - begun;
  db.close();
  return taken;
}""".replace("SEEN", SEEN)
RECORD = {
    "item": {
        "id": "0197f0c4-0000-7000-8000-000000000000", "type": "bout", "course": "0" * 36,
        "entered_at": "2026-06-05T13:10:00.000Z", "offset_ms": 12, "zone": "Europe/London",
        "exercise": "bend_to_stop", "amount": 10, "unit": "times", "how": "one_tap", "pain": 3,
        "pain_asked": True, "done_at": "2026-06-05T13:10:00.000Z", "slot_start": None,
        "plan_version": "00000000r1-0123456789abcdef", "supersedes": None, "logged_by": "patient",
    }
}  # fmt: skip


def app_figures(folder: Path) -> Iterator[tuple[str, float, str, float]]:
    """(name, value, unit, the most allowed)."""
    with running(folder / "instance") as live, sync_playwright() as play:
        args = ["--no-sandbox", "--disable-background-networking"]
        browser = play.chromium.launch(executable_path=CHROMIUM, args=args)
        yield from first_visit(browser, live)
        yield from tap_to_saved(browser, live)
        browser.close()


def first_visit(browser: Browser, live: Live) -> Iterator[tuple[str, float, str, float]]:
    with counted(int(live.origin.rsplit(":", 1)[1])) as wire:
        context = browser.new_context(**SHAPE)
        page = context.new_page()
        address = f"http://localhost:{wire.port}/phone/"
        page.goto(address)
        page.get_by_role("heading", name="Link this phone").wait_for()
        _whole(page, wire)
        app, icons = wire.bodies(but=".png") - wire.bodies("/api"), wire.bodies("/static/icons")
        print(
            f"# heads of {len(wire.answers)} answers {wire.heads() / 1000:.1f} kB, "
            f"home screen icons {icons / 1000:.1f} kB, API {wire.bodies('/api') / 1000:.1f} kB",
            file=sys.stderr,
        )
        yield "first_visit_compressed", app / 1000, "kB", KILOBYTES
        yield "offline_start_requests", _offline_start(context, page, wire, address), "requests", 0


def _whole(page: Page, wire: Wire) -> None:
    """Until the worker has the app and nothing more comes."""
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    seen = -1
    while len(wire.answers) != seen:
        seen = len(wire.answers)
        page.wait_for_timeout(1000)


def _offline_start(context: BrowserContext, page: Page, wire: Wire, address: str) -> int:
    """Requests that reached the network for the app to be usable; it must come without any."""
    context.set_offline(True)
    before = len(wire.answers)
    page.goto(address)
    page.get_by_role("heading", name="Link this phone").wait_for()
    context.set_offline(False)
    return len(wire.answers) - before


def tap_to_saved(browser: Browser, live: Live) -> Iterator[tuple[str, float, str, float]]:
    context = browser.new_context(**SHAPE, timezone_id="Europe/London")
    page = _paired(context, live)
    slow = {"rate": SLOWED}
    context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", slow)
    ours, bare = [], []
    for _ in range(ROUNDS):
        page.goto(f"{live.origin}/phone/")
        _to_pain(page)
        ours.append(page.evaluate(SAVED_AFTER))
        page.wait_for_timeout(SETTLED_MS)
        bare.append(page.evaluate(BARE, RECORD))
    print(
        f"# tap to saved {median(ours):.0f} ms, bare {median(bare):.0f} ms "
        f"(worst {max(ours):.0f} and {max(bare):.0f})",
        file=sys.stderr,
    )
    yield "tap_to_saved_over_bare", median(ours) / median(bare), "ratio", TIMES_BARE


def _to_pain(page: Page) -> None:
    """To the last tap before it is saved."""
    some, every = "I did some anyway", re.compile("^I did (it )?all")
    button = page.get_by_role("button", name=some).or_(page.get_by_role("button", name=every))
    button.first.click()
    if page.locator(".stepper").count():
        page.locator(".acts .go").click()
    page.locator(".pain").wait_for()
    page.wait_for_timeout(SETTLED_MS)


def _paired(context: BrowserContext, live: Live) -> Page:
    now = datetime.now(UTC).replace(hour=13, minute=10)
    with live.db() as db:
        clinic = furnish(db, now - timedelta(days=3))
        course = on_dynamic(db, clinic, now - timedelta(minutes=10))
        link = pairing_link(db, clinic, course, live.origin, now)
    live.set_now(now)
    page = context.new_page()
    page.goto(link)
    page.get_by_role("button", name="Link", exact=True).click()
    page.get_by_role("button", name="I have read this").click()
    return page
