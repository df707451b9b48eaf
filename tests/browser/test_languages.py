"""The phone in a language the clinic signed off: chosen on it, whole, and fitting at every size."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from homeprog.phrases import LANGUAGES, NONE, RIGHT_TO_LEFT, phrases_of
from homeprog.services.read_language import read_language
from homeprog.services.sign_language import sign_language
from tests.browser.conftest import Accessible, Shoot
from tests.browser.house import House, on_dynamic, pairing_link
from tests.browser.live import Live
from tests.browser.look import CLIPPED, LARGE, OVERFLOW, Inspector
from tests.browser.staff_desk import Desk

pytestmark = pytest.mark.browser

OTHERS = [code for code in LANGUAGES if code != "en"]
SCREENS = (
    "now", "menu", "plan", "days", "language", "prompts", "quiet", "weekly", "fewer",
    "check", "wrong", "numbers", "unpair", "suit", "setup",
)  # fmt: skip
GO = """([name, args]) => {
  history.pushState({ name, args }, "", location.pathname);
  dispatchEvent(new PopStateEvent("popstate", { state: { name, args } }));
}"""
ENGLISH_LEFT = """() => [...document.querySelectorAll("#phone *")]
  .filter((e) => e.childElementCount === 0 && e.getClientRects().length)
  .map((e) => e.textContent.trim())
  .filter((text) => /[A-Za-z]{3,}/.test(text))"""
NAMES = {"Homeprog", "Harbour Hand Unit", "Europe/London", "Ambulance", "English", "Español",
         "Ring the hand unit", "iPhone"}  # fmt: skip


@pytest.fixture(scope="module")
def on(live: Live, house: House) -> None:
    """Every language that ships is signed off."""
    for code in OTHERS:
        with live.db() as db:
            read = read_language(db, house.clinic_id, code, live.now())
            reader = "Huda Sami, interpreter"
            sign_language(db, house.surgeon.actor, code, read.digest, reader, live.now())


@pytest.fixture
def paired(live: Live, house: House, on: None, phone: Callable[..., Page]) -> Page:
    """A phone whose patient has exercises due; it begins in English."""
    page = phone()
    with live.db() as db:
        course = on_dynamic(db, house, live.now() - timedelta(minutes=10))
        link = pairing_link(db, house, course, live.origin, live.now())
    page.goto(link)
    page.get_by_role("button", name="Link", exact=True).click()
    page.get_by_role("button", name="Menu", exact=True).wait_for()
    return page


def choose(page: Page, code: str) -> None:
    """The language is found by its own name, whatever the phone speaks."""
    page.evaluate(GO, ["language", {}])
    with page.expect_response("**/phone/words"):
        page.get_by_role("button", name=LANGUAGES[code], exact=True).click()
    expect(page.locator("html")).to_have_attribute("lang", code)


@pytest.mark.parametrize(
    "code",
    [code if code == "ar" else pytest.param(code, marks=pytest.mark.full) for code in OTHERS],
)
def test_every_screen_is_in_it_and_fits(
    code: str, paired: Page, shoot: Shoot, accessible: Accessible
) -> None:
    choose(paired, code)
    expect(paired.locator("html")).to_have_attribute(
        "dir", "rtl" if code in RIGHT_TO_LEFT else "ltr"
    )
    faults: list[str] = []

    def look(name: str) -> None:
        faults.extend(f"{name}: {fault}" for fault in [*accessible(paired), *english(paired, code)])
        for width, height, large in ((360, 740, False), (320, 640, True)):
            paired.set_viewport_size({"width": width, "height": height})
            paired.evaluate(LARGE, large)
            found = [*filter(None, [paired.evaluate(OVERFLOW)]), *paired.evaluate(CLIPPED)]
            faults.extend(f"{name} at {width}: {fault}" for fault in found)
            shoot(paired, f"lang-{code}-{name}-{width}")
            paired.evaluate(LARGE, False)
        paired.set_viewport_size({"width": 360, "height": 740})
        paired.emulate_media(color_scheme="dark")
        shoot(paired, f"lang-{code}-{name}-dark")
        paired.emulate_media(color_scheme="light")

    for name in SCREENS:
        paired.evaluate(GO, [name, {}])
        look(name)
    paired.evaluate(GO, ["now", {}])
    log_what_is_due(paired, code, look)
    assert not faults, "\n".join(faults)


def log_what_is_due(page: Page, code: str, look: Callable[[str], None]) -> None:
    """From Now to a trouble that stops, by the words of the language alone."""
    say = phrases_of(code)

    def tap(key: str, holes: Mapping[str, object] = NONE) -> None:
        page.get_by_role("button", name=say(key, holes), exact=True).first.click()

    tap("have_read")
    tap("start")
    look("count")
    tap("all_done", {"n": 10})
    tap("all_done", {"n": 5})
    look("pain")
    tap("pain.skip")
    look("saved")
    page.locator(".trouble").click()
    page.locator(".rows button").first.click()
    look("stop")


def english(page: Page, code: str) -> list[str]:
    """Texts in Latin letters where the language has others; names stay as they are."""
    if code == "es":
        return []
    left = page.evaluate(ENGLISH_LEFT)
    return [f"is in English: {text}" for text in left if not any(name in text for name in NAMES)]


def test_the_trouble_button_says_the_words_that_were_signed(paired: Page) -> None:
    choose(paired, "ar")
    expect(paired.locator(".trouble")).to_have_text(phrases_of("ar")("something_wrong"))


def test_a_telephone_number_is_not_turned_round(paired: Page) -> None:
    choose(paired, "ar")
    paired.evaluate(GO, ["numbers", {}])
    number = paired.locator(".ring b").first
    expect(number).to_have_text("020 7946 0101")
    assert number.evaluate("(e) => getComputedStyle(e).direction") == "ltr"


def test_a_picture_of_a_left_hand_stays_one_of_a_left_hand(paired: Page) -> None:
    choose(paired, "ar")
    paired.evaluate(GO, ["plan", {}])
    for picture in paired.locator(".picture svg, svg.figure").all():
        assert "matrix(-1" not in picture.evaluate("(e) => getComputedStyle(e).transform")


def test_it_speaks_it_without_a_signal_too(paired: Page) -> None:
    choose(paired, "hi")
    paired.wait_for_function("() => navigator.serviceWorker.controller")
    paired.context.set_offline(True)
    paired.reload()
    expect(paired.locator(".trouble")).to_have_text(phrases_of("hi")("something_wrong"))
    paired.context.set_offline(False)


@pytest.mark.full
def test_the_pages_of_languages_fit_and_can_be_read(
    house: House, on: None, desk: Callable[[], Desk], inspector: Inspector
) -> None:
    seat = desk()
    seat.sign_in(house.therapist)
    for name, path in (("languages", "/clinic/languages"), ("hindi", "/clinic/languages/hi")):
        seat.go(path)
        inspector.look(seat.page, f"staff-{name}")
    assert not inspector.faults, inspector.told()
