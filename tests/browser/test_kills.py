"""The app killed at random points between a tap and the upload: what it said is saved arrives."""

from __future__ import annotations

import json
import os
import random
import signal
import uuid
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, BrowserType, Error, Page, expect

from tests.browser.conftest import ARGS, CHROMIUM
from tests.browser.house import FRIDAY, House
from tests.browser.live import PATIENCE_MS, Live
from tests.browser.phone_hand import at_home, bouts, linked, log_due, log_more, sees, until, waiting
from tests.browser.road import Answer, Asked, Road, leading_to

pytestmark = pytest.mark.browser

# Tells each bout that the screen says is saved, once the words stand there.
WATCH = """
  const said = new Set();
  new MutationObserver(() => {
    if (!document.querySelector("h1.saved") || !document.body.innerText.includes("Saved on this phone")) return;
    for (const { id } of history.state?.args?.bouts ?? []) if (!said.has(id)) { said.add(id); console.log(`saved ${id}`); }
  }).observe(document, { childList: true, subtree: true });
"""  # noqa: E501


class Mortal:
    """A phone in a process of its own, whose memory is a folder: it can be killed."""

    def __init__(self, kind: BrowserType, folder: Path) -> None:
        self._kind, self._folder = kind, folder
        self.saved: set[str] = set()

    def start(self, origin: str) -> Page:
        self.context: BrowserContext = self._kind.launch_persistent_context(
            str(self._folder), executable_path=str(CHROMIUM), headless=True, args=list(ARGS),
            viewport={"width": 360, "height": 740}, timezone_id="Europe/London",
            timeout=3 * PATIENCE_MS,
        )  # fmt: skip
        self.context.set_default_timeout(2 * PATIENCE_MS)
        self.context.add_init_script(WATCH)
        page = self.context.pages[0]
        page.on("console", lambda said: self._hear(said.text))
        page.goto(f"{origin}/phone/")
        return page

    def _hear(self, said: str) -> None:
        if said.startswith("saved "):
            self.saved.add(said.removeprefix("saved "))

    def kill(self) -> None:
        """End the browser's own process at once, as the system or an empty battery does."""
        os.kill(self._pid(), signal.SIGKILL)
        with suppress(Error):  # there is nothing left to close
            self.context.close()

    def _pid(self) -> int:
        """The process that was started on this phone's folder; its children name a type."""
        for entry in Path("/proc").glob("[0-9]*/cmdline"):
            try:
                words = entry.read_bytes().split(b"\0")
            except OSError:
                continue
            mine = f"--user-data-dir={self._folder}".encode() in words
            if mine and not any(word.startswith(b"--type=") for word in words):
                return int(entry.parent.name)
        raise AssertionError("the phone's browser does not run")


@pytest.fixture(scope="module")
def road(live: Live) -> Iterator[Road]:
    with leading_to(live.origin) as found:
        yield found


def _until_the_kill(dice: random.Random) -> float:
    """Seconds from the tap to the kill: most between the tap and the upload's answer."""
    return dice.choice([0.0, dice.uniform(0, 0.05), dice.uniform(0, 0.5)])


def _survives(live: Live, house: House, road: Road, phone: Mortal, kills: int) -> None:
    live.set_now(FRIDAY)
    course, dice = at_home(live, house, f"SH 4{kills:03}"), random.Random(kills)
    page = phone.start(road.origin)
    linked(page, live, house, road, course)
    log_due(page)
    sees(page, "Saved on this phone")
    phone.context.close()  # Chromium writes a new cookie within 30 s, and when it is closed
    page = phone.start(road.origin)
    for n in range(kills):
        _killed_after_a_tap(page, phone, road, dice, signal_there=n % 3 != 1)
        page = phone.start(road.origin)
        expect(page.get_by_role("button", name="Menu")).to_be_visible()
        assert len(bouts(live, course)) <= n + 2
    page.evaluate("dispatchEvent(new Event('online'))")
    until(page, lambda: not waiting(page), "not all arrived")
    phone.context.close()
    _all_there_once(live, course, phone.saved, road, taps=kills + 1)


def _killed_after_a_tap(
    page: Page, phone: Mortal, road: Road, dice: random.Random, signal_there: bool
) -> None:
    """Some are logged; the phone is killed while that is written, sent, stored or answered."""
    road.up = signal_there
    road.slow_s = dice.choice([0.0, 0.1])
    road.after = dice.choice([None, _lose_uploads])
    log_more(page, pain=str(dice.randrange(1, 5)))
    page.wait_for_timeout(1000 * _until_the_kill(dice))
    phone.kill()
    road.up, road.slow_s, road.after = True, 0.0, None


def _lose_uploads(asked: Asked, answer: Answer) -> Answer | None:
    """The clinic stores it, and its word gets lost."""
    return None if asked.path.endswith("/uploads") else answer


def _all_there_once(live: Live, course: uuid.UUID, saved: set[str], road: Road, taps: int) -> None:
    there = [str(row.id) for row in bouts(live, course)]
    assert saved, "nothing was ever said to be saved"
    assert len(there) == len(set(there)) <= taps
    lost = saved - set(there) - _of_other_exercises(road)
    assert not lost, f"said to be saved and not there: {json.dumps(sorted(lost))}"


def _of_other_exercises(road: Road) -> set[str]:
    """Bouts of this hour's other exercises, which were tapped with the first."""
    sent = [json.loads(each.body)["items"] for each in road.uploads()]
    others = [item for items in sent for item in items if item.get("exercise") != "bend_to_stop"]
    return {item["id"] for item in others}


def test_a_phone_killed_5_times_between_tap_and_upload_loses_and_doubles_nothing(
    live: Live, house: House, road: Road, chromium: Browser, tmp_path: Path
) -> None:
    _survives(live, house, road, Mortal(chromium.browser_type, tmp_path), 5)


@pytest.mark.full
def test_a_phone_killed_50_times_between_tap_and_upload_loses_and_doubles_nothing(
    live: Live, house: House, road: Road, chromium: Browser, tmp_path: Path
) -> None:
    _survives(live, house, road, Mortal(chromium.browser_type, tmp_path), 50)
