"""What a screen makes plain at a glance and by one hand: what readers new to it took wrongly."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import Shoot
from tests.browser.live import Live
from tests.browser.phone_hand import heading, row, tap

pytestmark = pytest.mark.browser

LARGER = """async () => {
  const { app } = await import("/static/js/views/stage.js");
  app.state.ways = { ...app.state.ways, big: true };
  app.show("home");
}"""
CARERS = """async () => {
  const { app } = await import("/static/js/views/stage.js");
  app.state.device = { ...app.state.device, whose: "carer" };
  app.show("home");
}"""
CALENDAR = """async () => {
  const { app } = await import("/static/js/views/stage.js");
  app.state.calendar = { last: "2100-01-01" };
  app.show("menu");
}"""
WITHOUT_BAND = """async () => {
  const { app } = await import("/static/js/views/stage.js");
  for (const each of app.state.plan.body.courses[0].figures)
    if (each.svg) each.svg = each.svg.replaceAll("back band", "back patient");
  app.show("home");
}"""


@pytest.fixture
def at_home(link: Callable[..., str], phone: Callable[..., Page]) -> Callable[[str], Page]:
    """A linked phone for whom two exercises are due; the cautions are not read yet."""

    def open_phone(number: str) -> Page:
        page = phone()
        page.goto(link(number))
        tap(page, "Link")
        page.get_by_role("button", name="Menu").wait_for()
        return page

    return open_phone


def box(found: Locator) -> dict[str, float]:
    there = found.bounding_box()
    assert there
    return dict(there) | {"bottom": there["y"] + there["height"]}


def test_start_stands_first_and_what_logs_the_whole_dose_says_so_below_it(
    at_home: Callable[[str], Page],
) -> None:
    page = at_home("SH 63001")
    start, done = (page.get_by_role("button", name=each) for each in ("Start", "I did it all"))
    assert box(start)["bottom"] <= box(done)["y"]
    assert box(start)["height"] > box(done)["height"] >= 56
    assert box(start)["width"] == box(done)["width"]
    tap(page, "Start")
    expect(page.get_by_role("button", name="I did all 10", exact=True)).to_be_visible()


@pytest.mark.parametrize("of", ["the patient", "larger", "a carer"])
def test_dose_and_start_stand_above_the_fold_with_every_caution_though_none_is_read(
    at_home: Callable[[str], Page], of: str, shoot: Shoot
) -> None:
    page = at_home(f"SH 6301 {of}")
    larger = of == "larger"
    if of != "the patient":
        page.evaluate(LARGER if larger else CARERS)
    shoot(page, f"plain-unread-{of}")
    fold = box(page.locator(".below span"))["y"]
    expect(page.get_by_role("button", name="I have read this")).to_have_count(1)
    assert box(page.locator(".care > p"))["height"] > box(page.locator(".care li").first)["height"]
    for part in (".care", ".exercise h2", ".dose"):
        assert box(page.locator(part).first)["bottom"] <= fold, part
    assert box(page.get_by_role("button", name="Start"))["height"] >= (88 if larger else 72)
    tap(page, "I have read this")
    expect(page.get_by_role("button", name="I have read this")).to_have_count(0)
    expect(page.locator(".care")).to_contain_text("Stop and ring.")


def test_counting_shows_the_cautions_and_asks_for_no_reading(
    at_home: Callable[[str], Page],
) -> None:
    page = at_home("SH 63020")
    page.evaluate(LARGER)
    tap(page, "Start")
    assert box(page.locator(".big"))["bottom"] <= box(page.locator(".acts"))["y"]
    expect(page.get_by_role("note")).to_contain_text("Let the band lift.")
    expect(page.get_by_role("button", name="I have read this")).to_have_count(0)


def test_the_menu_says_what_reminds_on_this_phone_and_what_to_do(
    at_home: Callable[[str], Page],
) -> None:
    page = at_home("SH 63030")
    tap(page, "Menu")
    expect(page.locator(".rows li", has_text="Reminders are off")).to_contain_text(
        "Tap to turn them on."
    )
    page.evaluate(CALENDAR)
    expect(page.get_by_role("button", name="Your calendar reminds you", exact=True)).to_be_visible()
    page.evaluate(CALENDAR.replace("2100", "2000"))
    row(page, "Reminders are off")
    expect(page.get_by_role("button", name="Turn on", exact=True)).to_be_visible()


def test_a_code_is_typed_in_fours_in_any_case_and_mended_where_it_is_wrong(
    live: Live, phone: Callable[..., Page]
) -> None:
    page = phone()
    page.goto(f"{live.origin}/phone/")
    row(page, "My code is from this phone's browser")
    code = page.get_by_label("Code")
    for name, value in (("enterkeyhint", "go"), ("autocomplete", "off"), ("spellcheck", "false")):
        expect(code).to_have_attribute(name, value)
    code.press_sequentially("9cde f7hjo")
    expect(code).to_have_value("9CDE-F7HJ-0")
    code.press("Backspace")
    code.press("Backspace")
    expect(code).to_have_value("9CDE-F7H")
    code.fill("9cdef7hjkmnp")  # as a paste does
    expect(code).to_have_value("9CDE-F7HJ-KMNP")
    code.evaluate("(e) => e.setSelectionRange(1, 2)")
    code.press("x")
    code.press("y")
    expect(code).to_have_value("9xyDE-F7HJ-KMNP")
    code.evaluate("(e) => e.setSelectionRange(2, 3)")
    code.press("Delete")
    code.press("Enter")
    expect(page.get_by_role("alert")).to_have_text("This code is not known. Check each letter.")
    expect(page.get_by_label("Code")).to_have_value("9XDE-F7HJ-KMNP")


def test_the_number_says_until_when_it_is_read_and_whom_to_ring_then(
    at_home: Callable[[str], Page],
) -> None:
    page = at_home("SH 63040")  # a Friday, 14:10
    tap(page, "Something is wrong")
    said = page.locator(".numbers .quiet").inner_text()
    assert said.replace("\u00a0", " ").replace("\u2066", "").replace("\u2069", "") == (
        "The clinic reads this until 17:00. After 17:00 nobody reads this. Then ring 020 7946 0199."
    )


def test_two_troubles_that_sound_alike_say_what_was_seen(at_home: Callable[[str], Page]) -> None:
    page = at_home("SH 63050")
    tap(page, "Something is wrong")
    seen = {
        "The finger no longer lifts": "You lifted it yourself, and it did not come up as before.",
        "The band no longer lifts the finger": (
            "You relaxed, and the band did not bring it right up."
        ),
    }
    for label, words in seen.items():
        expect(page.locator(".rows li", has_text=label)).to_contain_text(words)
    assert page.locator(".rows small").count() == 2
    expect(page.get_by_text("Do not test your hand to find out.")).to_be_visible()


def test_a_dashed_arrow_has_its_key_beside_the_picture_and_only_there(
    at_home: Callable[[str], Page],
) -> None:
    page = at_home("SH 63060")
    key = page.locator(".picture", has_text="Solid arrow: you move. Dashed arrow: the band moves.")
    expect(key).to_have_count(1)
    assert key.locator(".arc.band").count() == 1
    dashes: Any = key.locator(".arc").evaluate_all(
        "(all) => all.map((each) => getComputedStyle(each).strokeDasharray !== 'none')"
    )
    assert sorted(dashes) == [False, True]
    page.evaluate(WITHOUT_BAND)
    expect(page.locator(".picture").first).to_be_visible()
    expect(page.locator("figcaption", has_text="arrow")).to_have_count(0)


def test_a_half_typed_quiet_time_outlives_a_tap_on_a_day_and_a_fault(
    at_home: Callable[[str], Page],
) -> None:
    page = at_home("SH 63070")
    tap(page, "Menu")
    row(page, "Reminders are off")
    row(page, "Quiet every week")
    page.get_by_label("From").press_sequentially("0930a")
    page.get_by_label("To").press_sequentially("11")  # the hour alone
    tap(page, "Save")
    expect(page.get_by_role("alert")).to_have_text("Choose a day first.")
    for day in ("Every day", "Monday", "Sunday"):
        tap(page, day)
    tap(page, "Save")
    expect(page.get_by_role("alert")).to_have_text("Set both times.")
    page.get_by_label("To").press("Tab")  # on from the hour, which still stands
    page.keyboard.type("45a")
    expect(page.get_by_label("To")).to_have_value("11:45")
    tap(page, "Save")
    heading(page, "Reminders")
    expect(
        page.get_by_role("button", name="Tue, Wed, Thu, Fri, Sat: 09:30 to 11:45")
    ).to_be_visible()
