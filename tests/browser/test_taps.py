"""How little it takes: taps from a reminder to saved; what the phone says and lets feel."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from homeprog.storage.models import BoutRow
from tests.browser.house import FRIDAY, House, on_dynamic, pairing_link
from tests.browser.live import Live
from tests.browser.phone_hand import DONE, WORKER, heading, kept, stored, tap

pytestmark = pytest.mark.browser

TROUBLE_HEIGHT = "document.querySelector('.trouble').offsetHeight"  # px, of what stands there now
COUNTED = """() => {
  window.taps = 0;
  window.addEventListener("click", (event) => { if (event.isTrusted) window.taps += 1; }, true);
}"""
# A device with one English voice that takes 300 ms a sentence, a motor, and a screen to keep awake.
DEVICE = """() => {
  window.said = []; window.felt = []; window.awake = 0;
  const voice = { lang: "en-GB", localService: true, name: "Test" };
  let queue = [];
  const synth = Object.assign(new EventTarget(), {
    getVoices: () => window.voices ?? [voice],
    speak: (words) => {
      window.said.push(words.text);
      queue.push(setTimeout(() => words.onend?.(), 300 * (queue.length + 1)));
    },
    cancel: () => { queue.forEach(clearTimeout); queue = []; window.stopped = (window.stopped ?? 0) + 1; },
  });
  Object.defineProperty(window, "speechSynthesis", { value: synth });
  window.SpeechSynthesisUtterance = class { constructor(text) { this.text = text; } };
  navigator.vibrate = (lengths) => { window.felt.push(lengths); return true; };
  Object.defineProperty(navigator, "wakeLock", { value: { request: async () => {
    window.awake += 1;
    return { release: async () => { window.awake -= 1; } };
  } } });
}"""  # noqa: E501


@pytest.fixture
def at_home(live: Live, house: House, phone: Callable[..., Page]) -> Callable[..., Page]:
    """A paired phone of a patient for whom two exercises are due, cautions read."""

    def link(name: str, number: str, *scripts: str, whose: str = "The patient's") -> Page:
        live.set_now(FRIDAY)
        with live.db() as db:
            earlier = live.now() - timedelta(minutes=10)
            course = on_dynamic(db, house, earlier, name=name, number=number)
            address = pairing_link(db, house, course, live.origin, live.now())
        page = phone()
        for script in scripts:
            page.add_init_script(f"({script})()")
        page.goto(address)
        tap(page, whose)
        tap(page, "Link")
        page.get_by_role("button", name="Menu").wait_for()
        skip = page.get_by_role("button", name="Go to my plan now")
        if skip.count():
            skip.click()
        tap(page, "I have read this")
        return page

    return link


def logged(live: Live, page: Page) -> list[BoutRow]:
    """What the clinic has of the course on the phone."""
    course = page.evaluate("""async () => {
      const { app } = await import("/static/js/views/stage.js");
      return app.state.plan.body.courses[0].id;
    }""")
    with live.reads() as db:
        rows = db.scalars(select(BoutRow).where(BoutRow.course_id == uuid.UUID(course))).all()
        db.expunge_all()
        return list(rows)


def test_from_a_reminder_to_saved_it_takes_three_taps(
    live: Live, at_home: Callable[..., Page]
) -> None:
    page = at_home("Tilda Rowe", "SH 62001", COUNTED)
    page.goto(f"{live.origin}/phone/")  # what a tap on the reminder opens: test_push_chain taps it
    on_the_reminder = 1
    expect(page.get_by_role("heading", name="2 things to do now")).to_be_visible()
    tap(page, "I did it all")
    tap(page, "3")
    expect(page.get_by_text("Saved on this phone")).to_be_visible()
    assert on_the_reminder + page.evaluate("window.taps") <= 3


def test_a_tap_anywhere_counts_and_a_tap_on_a_button_does_its_own(
    at_home: Callable[..., Page],
) -> None:
    page = at_home("Ugo Finch", "SH 62002", DEVICE)
    tap(page, "Start")
    for _ in range(3):
        page.locator("main .big").click()
    expect(page.get_by_role("button", name="End at 3")).to_be_visible()
    assert page.evaluate("window.felt.length") == 3
    tap(page, "One less")
    expect(page.get_by_role("button", name="End at 2")).to_be_visible()
    assert page.evaluate("window.awake") == 1
    tap(page, "Menu")
    assert page.evaluate("window.awake") == 0


@pytest.mark.full
def test_the_phone_counts_by_voice_and_buzz_until_it_is_told_not_to(
    at_home: Callable[..., Page],
) -> None:
    page = at_home("Vera Lund", "SH 62003", DEVICE)
    tap(page, "Start")
    tap(page, "Count for me")
    expect(page.get_by_role("button", name="End at 1")).to_be_visible(timeout=40_000)
    said = page.evaluate("window.said")
    assert said[0] == "Put your phone down. Get ready."
    assert said[1:3] == ["1", "Keep the splint on. Bend your big knuckles slowly to the stop."]
    assert page.evaluate("window.felt.length") >= 2
    tap(page, "Voice")
    before = page.evaluate("window.said.length")
    page.wait_for_timeout(6000)
    assert page.evaluate("window.said.length") == before
    tap(page, "Pause")
    expect(page.get_by_role("button", name="Go on")).to_be_visible()


def test_a_screen_is_read_in_its_order_and_a_second_tap_or_leaving_it_stops(
    at_home: Callable[..., Page],
) -> None:
    page = at_home("Wim Post", "SH 62004", DEVICE)
    tap(page, "Something is wrong")
    tap(page, "Read this screen aloud")
    said = page.evaluate("window.said")
    assert said[:2] == ["Left hand, middle finger", "What is wrong?"]
    assert "Ring the hand unit 0 2 0 7 9 4 6 0 1 0 1" in said
    assert "Ring 9 9 9" in said
    tap(page, "Stop reading")
    expect(page.get_by_role("button", name="Read this screen aloud")).to_be_visible()
    tap(page, "Read this screen aloud")
    stopped = page.evaluate("window.stopped")
    tap(page, "Go back")
    heading(page, "2 things to do now")
    assert page.evaluate("window.stopped") > stopped
    tap(page, "Read this screen aloud")
    said = page.evaluate("window.said.slice(-60)")
    order = ["2 things to do now", "Let the band lift.", "Bend against the band"]
    places = [said.index(words) for words in order]
    assert places == sorted(places)


@pytest.mark.full
def test_without_a_voice_for_the_language_nothing_offers_to_read(
    at_home: Callable[..., Page],
) -> None:
    page = at_home("Xena Bird", "SH 62005", DEVICE, "() => { window.voices = []; }")
    expect(page.get_by_role("button", name="Read this screen aloud")).to_have_count(0)
    page.evaluate("""() => {
      window.voices = [{ lang: "en_US", localService: true }];
      speechSynthesis.dispatchEvent(new Event("voiceschanged"));
    }""")
    expect(page.get_by_role("button", name="Read this screen aloud")).to_be_visible()


def test_undo_takes_back_what_the_clinic_has_already(
    live: Live, at_home: Callable[..., Page]
) -> None:
    page = at_home("Yara Holt", "SH 62006")
    tap(page, "I did it all")
    tap(page, "3")
    expect(page.get_by_text("arrived")).to_be_visible()
    tap(page, "Undo")
    expect(page.get_by_role("heading", name="2 things to do now")).to_be_visible()
    tap(page, "Menu")
    expect(page.get_by_text("all arrived")).to_be_visible()
    rows = logged(live, page)
    replaced = {row.supersedes_id for row in rows if row.amount == 0}
    assert replaced == {row.id for row in rows if row.amount > 0}


def test_a_carer_s_phone_says_so_warns_and_logs_as_the_carer(
    live: Live, at_home: Callable[..., Page]
) -> None:
    page = at_home("Zeno Cray", "SH 62007", whose="A carer's")
    expect(page.get_by_text("A carer logs here")).to_be_visible()
    cautions = page.get_by_role("note")
    expect(cautions.get_by_text("Carer: never bend or pull the finger.")).to_be_visible()
    expect(cautions.get_by_text("Help it lift only if a clinician showed you.")).to_be_visible()
    tap(page, "I did it all")
    expect(page.get_by_text("Ask. Do not guess.")).to_be_visible()
    tap(page, "Skip. We will not guess.")
    expect(page.get_by_text("arrived")).to_be_visible()
    assert {row.logged_by for row in logged(live, page)} == {"carer"}


def test_a_tap_is_not_lost_though_the_screen_has_newer_figures_meanwhile(
    at_home: Callable[..., Page],
) -> None:
    page = at_home("Ove Dahl", "SH 62010")
    page.clock.install()  # a tap is over after a second, and a busy machine may take longer
    page.clock.pause_at(page.evaluate("Date.now()") / 1000 + 1)
    page.get_by_role("button", name="Menu").hover()
    page.mouse.down()
    page.evaluate("""async () => {
      const { app } = await import("/static/js/views/stage.js");
      app.reload();
    }""")
    page.wait_for_timeout(300)
    page.mouse.up()
    expect(page.get_by_role("button", name="Reminders")).to_be_visible()


def both_hands(page: Page) -> None:
    """The other hand is in the plan too, and no answer of the clinic, which knows of one, comes."""
    page.evaluate(WORKER)
    page.context.set_offline(True)
    page.evaluate("""async () => {
      const { change } = await import("/static/js/store/db.js");
      await change("plan", (plan) => {
        const [course] = plan.body.courses;
        const other = { ...course, id: "other", hand: "Right hand", working_side: "left" };
        return { ...plan, body: { ...plan.body, courses: [course, other] } };
      });
    }""")
    page.reload()
    page.get_by_role("button", name="Menu").wait_for()


def test_back_to_a_screen_of_one_hand_logs_nothing_on_the_other(
    at_home: Callable[..., Page],
) -> None:
    page = at_home("Ines Roe", "SH 62009")
    both_hands(page)
    hand, left = page.locator("header"), kept(page)["plan"]["body"]["courses"][0]
    page.locator(".rows button", has_text="Left hand").click()
    page.get_by_role("button", name=DONE).click()
    heading(page, "How bad was the pain?")
    tap(page, "Menu")
    page.locator(".rows button", has_text="Choose your hand").click()
    page.locator(".rows button", has_text="Right hand").click()
    expect(hand).to_contain_text("Right hand")
    page.go_back()
    page.go_back()
    heading(page, "How bad was the pain?")
    expect(hand).to_contain_text("Left hand")
    tap(page, "2")
    expect(page.get_by_text("Saved on this phone")).to_be_visible()
    expect(hand).to_contain_text("Left hand")
    assert {each["course"] for each in stored(page)["bouts"]} == {left["id"]}


def test_with_both_hands_hurt_targets_are_larger_by_themselves_and_can_be_made_smaller(
    live: Live, at_home: Callable[..., Page]
) -> None:
    page = at_home("Abel Knox", "SH 62008")
    expect(page.get_by_role("button", name="Something is wrong")).to_be_visible()
    page.wait_for_load_state()  # with its style
    height = page.evaluate(TROUBLE_HEIGHT)
    both_hands(page)
    assert page.evaluate(TROUBLE_HEIGHT) >= 88 > height
    tap(page, "Menu")
    page.locator(".rows button", has_text="Larger buttons").click()
    page.wait_for_function(f"height => {TROUBLE_HEIGHT} === height", arg=height)
