"""Every screen of the phone by its name: it can be read, reached with a thumb, and fits."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import Accessible, Shoot
from tests.browser.house import FRIDAY, House, on_dynamic, pairing_link
from tests.browser.live import Live
from tests.browser.look import CLIPPED, LARGE, OVERFLOW, RTL
from tests.browser.phone_hand import until

pytestmark = pytest.mark.browser

SHOW = (Path(__file__).parent / "every_screen.js").read_text()
LED_BY_ITSELF = {"first"}  # the first minutes: test_first_minutes walks through them
STATES = {  # further states of a screen, beside its usual one
    "now": ["", "between+logged", "unread", "carer", "big+both", "rest", "old"],
    "count": ["part", "full", "minutes", "big+part", "carer+part"],
    "saved": ["logged", "big+logged"], "pain": ["", "big", "carer"], "days": ["logged"],
    "stop": ["stopped", "emergency", "stopped+big"], "wrong": ["", "big"], "choose": ["both"],
    "refused": ["refused"], "rests": ["different"], "closed": ["closed"],
    "release": ["asked"], "hand": ["hand"],
    "menu": ["", "big"], "check": ["", "big"],
}  # fmt: skip
SMALL = """(least) => {
  const primary = ".acts button, .acts a, .trouble, .ring, .em, .pain .choice, .stepper button, .rows > li > button";
  const seen = (e) => e.getClientRects().length && getComputedStyle(e).visibility !== "hidden";
  const small = (e) => {
    const box = e.getBoundingClientRect();
    const wanted = e.matches(primary) ? least : 44;
    return Math.min(box.width, box.height) < wanted - 0.5
      ? `'${(e.innerText || e.ariaLabel || e.id).slice(0, 24)}' is ${Math.round(box.width)} x ${Math.round(box.height)}, not ${wanted}` : null;
  };
  return [...document.querySelectorAll("#phone :is(button, a[href], input, summary)")].filter(seen).map(small).filter(Boolean);
}"""  # noqa: E501
PLAN = "import('/static/js/views/stage.js').then(({ app }) => Boolean(app.state?.plan))"
PRIMARY, BIG = 56, 88


@pytest.fixture(scope="module")
def paired(live: Live, house: House) -> str:
    """A link for a patient on the band, hand read back."""
    with live.db() as db:
        course = on_dynamic(db, house, live.now(), name="Wanda Pike", number="SH 61001")
        link = pairing_link(db, house, course, live.origin, live.now())
    live.set_now(FRIDAY + timedelta(hours=2))
    return link


def _cases(names: list[str]) -> Iterator[tuple[str, str]]:
    for name in sorted(set(names) - LED_BY_ITSELF):
        for state in STATES.get(name, [""]):
            yield name, state


def test_every_screen_can_be_read_reached_and_fits(
    paired: str, phone: Callable[..., Page], shoot: Shoot, accessible: Accessible
) -> None:
    page = phone()
    page.goto(paired)
    page.get_by_role("button", name="Link", exact=True).click()
    page.get_by_role("button", name="Menu").wait_for()
    until(page, lambda: page.evaluate(PLAN), "the plan did not arrive")
    page.wait_for_load_state()  # with its style
    names = page.evaluate(SHOW, {"name": None, "state": ""})
    faults: list[str] = []
    for name, state in _cases(names):
        called = f"{name} {state}".strip()
        heading = page.evaluate(SHOW, {"name": name, "state": state})
        if not heading:
            faults.append(f"{called}: no heading")
        faults += [f"{called}: {fault}" for fault in _looked_at(page, called, shoot, accessible)]
    assert not faults, "\n".join(faults)


def _looked_at(page: Page, name: str, shoot: Shoot, accessible: Accessible) -> Iterator[str]:
    least = BIG if "big" in name else PRIMARY
    file = f"screen-{name.replace(' ', '-')}"
    yield from page.evaluate(SMALL, least)
    yield from accessible(page)
    yield from _fits(page, file, shoot, "360")
    page.emulate_media(color_scheme="dark")
    yield from (f"dark: {fault}" for fault in accessible(page))
    shoot(page, f"{file}-dark")
    page.emulate_media(color_scheme="light")
    page.evaluate(RTL, True)
    yield from _fits(page, file, shoot, "rtl")
    page.evaluate(RTL, False)
    page.set_viewport_size({"width": 320, "height": 640})
    page.evaluate(LARGE, True)
    yield from (f"large: {fault}" for fault in page.evaluate(SMALL, PRIMARY))
    yield from _fits(page, file, shoot, "large")
    page.evaluate(LARGE, False)
    page.set_viewport_size({"width": 360, "height": 740})


def _fits(page: Page, file: str, shoot: Shoot, shape: str) -> Iterator[str]:
    if over := page.evaluate(OVERFLOW):
        yield f"{shape}: {over}"
    yield from (f"{shape}: {each}" for each in page.evaluate(CLIPPED))
    shoot(page, f"{file}-{shape}")
