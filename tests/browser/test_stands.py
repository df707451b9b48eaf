"""What stands for a patient is what every screen shows, however it is reached or left."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import timedelta

import pytest
from playwright.sync_api import Locator, Page, expect
from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.services.hold_course import hold_course
from homeprog.services.set_regime import Wanted, set_regime
from homeprog.storage.models import ClinicSetting, Course, TroubleReport
from homeprog.storage.timelines import regime_in_force
from tests import cast
from tests.browser.house import FRIDAY, House, on_dynamic, pairing_link
from tests.browser.live import Live
from tests.browser.phone_hand import (
    DONE,
    bouts,
    heading,
    row,
    sees,
    stored,
    tap,
    to_setup,
    until,
    waiting,
)
from tests.upload_cast import send, trouble

pytestmark = pytest.mark.browser

REMINDED = """async () => {
  const { show } = await import("/static/js/sw/push.js");
  const shown = [];
  const registration = {
    getNotifications: async () => [], showNotification: async (title, note) => shown.push(note),
  };
  const notification = { title: "Homeprog", body: "Time for your plan.", tag: "due", data: {} };
  await show({ data: { json: () => ({ notification }) } }, registration);
  return [shown[0].body, shown[0].silent];
}"""
# An answer that was asked for before the plan that is kept, and comes after it.
SLOWER = """async () => {
  const { keepPlan, load } = await import("/static/js/store/state.js");
  const { plan, reports } = await load();
  const older = { ...plan, seq: plan.seq - 1, body: { ...plan.body, version: "older" } };
  await keepPlan(older, reports, Date.now());
  const now = await load();
  return [now.plan.body.version !== "older", now.reports.length];
}"""

# In the page, so that a busy machine does not draw the taps apart.
SHAKE = """async ([x, y]) => {
  for (const aside of [0, 4, -3]) {
    const at = { clientX: x + aside, clientY: y, pointerType: "touch", detail: 1 };
    const tap = new PointerEvent("click", { bubbles: true, cancelable: true, ...at });
    document.elementFromPoint(x + aside, y).dispatchEvent(tap);
    await new Promise((resolve) => setTimeout(resolve, 120));
  }
}"""


@pytest.fixture
def at_home(live: Live, house: House, phone: Callable[..., Page]) -> Callable[..., Page]:
    """A linked phone of a patient on the band, its first minutes left; `page.course` is the id."""

    def link(number: str, **given: object) -> tuple[Page, uuid.UUID]:
        live.set_now(FRIDAY)
        with live.db() as db:
            earlier = live.now() - timedelta(minutes=10)
            course = on_dynamic(db, house, earlier, name=f"Ana {number}", number=number, **given)
            address, key = pairing_link(db, house, course, live.origin, live.now()), course.id
        page = phone()
        page.goto(address)
        tap(page, "Link")
        page.get_by_role("button", name="Menu").wait_for()
        return page, key

    return link


AtHome = Callable[..., tuple[Page, uuid.UUID]]


def kinds(live: Live, course: uuid.UUID) -> list[str]:
    with live.reads() as db:
        told = select(TroubleReport.kind).where(TroubleReport.course_id == course)
        return list(db.scalars(told))


def test_an_emergency_reported_while_the_hand_is_asked_for_shows_what_to_do(
    at_home: AtHome,
) -> None:
    page, _ = at_home("SH 71001", read_back=False)
    heading(page, "Is this your hand?")
    tap(page, "Something is wrong")
    row(page, "White, blue or cold finger")
    sees(page, "This is an emergency.")
    expect(page.get_by_role("heading", name="Is this your hand?")).to_have_count(0)


def test_a_stop_that_the_clinic_does_not_let_be_taken_back_stands_on_the_phone(
    live: Live, house: House, at_home: AtHome
) -> None:
    page, course = at_home("SH 71002")
    tap(page, "Something is wrong")
    row(page, "A hard knock or a fall")
    until(page, lambda: kinds(live, course), "it did not arrive")
    with live.db() as db:  # the phone's plan still says 2 minutes
        setting = {"clinic_id": house.clinic_id, "key": "take_back_minutes", "by_id": None}
        now = live.now()
        db.add(ClinicSetting(at=now, value={"is": 0}, valid_from=now, **setting))
    tap(page, "Pressed by mistake")
    until(page, lambda: waiting(page), "nothing was entered")
    page.wait_for_timeout(1500)
    page.reload()
    heading(page, "Stop the exercises.")
    expect(page.get_by_role("button", name="Start")).to_have_count(0)
    with live.db() as db:
        later = now + timedelta(seconds=1)
        db.add(ClinicSetting(at=later, value={"is": 2}, valid_from=later, **setting))


def test_of_a_dose_that_is_half_done_the_other_half_is_asked_for(
    live: Live, at_home: AtHome
) -> None:
    page, _ = at_home("SH 71003")
    tap(page, "Start")
    for _ in range(6):
        tap(page, "+ 1")
    tap(page, "End at 6")
    page.get_by_role("button", name=DONE).click()
    tap(page, "3")
    tap(page, "Done")
    expect(page.locator(".dose b").first).to_have_text("4")
    page.wait_for_timeout(1000)
    page.reload()
    expect(page.locator(".dose b").first).to_have_text("4")


def test_while_a_stop_stands_my_plan_offers_no_exercise(live: Live, at_home: AtHome) -> None:
    page, _ = at_home("SH 71004")
    tap(page, "Menu")
    row(page, "My plan")
    heading(page, "Exercises")
    sees(page, "You may do")
    tap(page, "Something is wrong")
    row(page, "A snap")
    heading(page, "Stop the exercises.")
    tap(page, "Menu")
    row(page, "My plan")
    sees(page, "Do not do the exercises.")
    expect(page.get_by_text("Carry on with this stage")).to_have_count(0)
    expect(page.get_by_text("You may do")).to_have_count(0)
    expect(page.get_by_role("heading", name="Exercises")).to_have_count(0)
    to_setup(page, "Your plan in five pictures")
    tap(page, "Go on")
    tap(page, "Go on")
    heading(page, "No exercise for now")
    sees(page, "Do not do the exercises.")


@pytest.mark.parametrize("leave", ["back", "menu", "strip"])
def test_a_no_about_lifting_is_told_however_the_check_is_left(
    live: Live, at_home: AtHome, leave: str
) -> None:
    page, course = at_home(f"SH 7100{5 + ['back', 'menu', 'strip'].index(leave)}")
    row(page, "Daily check")
    page.get_by_role("group", name="Do all your fingers").get_by_role("button", name="No").click()
    if leave == "back":
        page.go_back()
    else:
        tap(page, "Menu" if leave == "menu" else "Something is wrong")
    heading(page, "Stop the exercises.")
    until(page, lambda: kinds(live, course), "it did not arrive")
    assert kinds(live, course) == ["finger_no_longer_lifts"]


@pytest.mark.parametrize("screen", ["wrong", "asks"])
def test_the_number_is_that_of_the_hour_though_the_screen_was_opened_before(
    live: Live, at_home: AtHome, screen: str
) -> None:
    page, _ = at_home("SH 71010" if screen == "wrong" else "SH 71011")
    live.set_now(FRIDAY + timedelta(hours=2, minutes=45))  # 16:55
    page.reload()
    tap(page, "Something is wrong")
    if screen == "asks":
        row(page, "The splint was off and is back on")
        tap(page, "1 to 2 hours")
    sees(page, "020 7946 0101")
    live.set_now(FRIDAY + timedelta(hours=3))  # 17:10
    page.evaluate("dispatchEvent(new Event('online'))")
    sees(page, "020 7946 0199")
    expect(page.get_by_text("020 7946 0101")).to_have_count(0)
    if screen == "asks":
        pressed = page.get_by_role("button", name="1 to 2 hours")
        expect(pressed).to_have_attribute("aria-pressed", "true")


def test_a_report_is_told_though_what_is_asked_beside_it_is_left(
    live: Live, at_home: AtHome
) -> None:
    page, course = at_home("SH 71012")
    tap(page, "Something is wrong")
    row(page, "The splint was off and is back on")
    tap(page, "Over 2 hours")
    tap(page, "Menu")
    until(page, lambda: kinds(live, course), "it did not arrive")
    assert kinds(live, course) == ["splint_off_and_back"]


def test_an_emergency_told_by_another_phone_is_shown_beside_what_was_told_here(
    live: Live, at_home: AtHome
) -> None:
    page, key = at_home("SH 71013")
    tap(page, "Something is wrong")
    row(page, "New numbness")
    sees(page, "Hold your hand high")
    until(page, lambda: kinds(live, key), "it did not arrive")
    with Session(live.engine) as db:
        course = db.get_one(Course, key)
        carers = cast.phone(db, course, live.now())
        send(db, carers, [trouble(course, live.now(), "white_blue_cold")], live.now())
        db.commit()
    page.reload()
    sees(page, "This is an emergency.")
    expect(page.get_by_text("Hold your hand high")).to_have_count(0)


def test_a_count_ends_with_the_plan_it_was_begun_under_and_what_was_done_is_logged(
    live: Live, house: House, at_home: AtHome
) -> None:
    page, key = at_home("SH 71014")
    tap(page, "Start")
    for _ in range(3):
        tap(page, "+ 1")
    with live.db() as db:
        course = db.get_one(Course, key)
        found = regime_in_force(db, course, live.now())
        assert found
        body = dict(found[0].body)
        phases = [{**each} for each in body["phases"]]
        for phase in phases:
            if phase["key"] == "dynamic":
                phase["cautions"] = ["Bend no more than half way.", *phase["cautions"][1:]]
        wanted = Wanted(found[0].template_id, body | {"phases": phases}, "taken back")
        set_regime(db, house.therapist.actor, key, wanted, live.now())
    live.set_now(FRIDAY + timedelta(minutes=3))
    page.evaluate("dispatchEvent(new Event('online'))")
    heading(page, "How bad was the pain?")
    tap(page, "2")
    tap(page, "Done")
    sees(page, "Bend no more than half way.")
    until(page, lambda: bouts(live, key), "it did not arrive")
    assert [bout.amount for bout in bouts(live, key)] == [3]


def test_what_was_counted_before_a_pause_reached_the_phone_is_logged(
    live: Live, house: House, at_home: AtHome
) -> None:
    page, key = at_home("SH 71021")
    tap(page, "Start")
    for _ in range(3):
        tap(page, "+ 1")
    with live.db() as db:
        hold_course(db, house.therapist.actor, key, "pause", "wound", live.now())
    live.set_now(FRIDAY + timedelta(minutes=3))
    page.evaluate("dispatchEvent(new Event('online'))")
    heading(page, "How bad was the pain?")
    tap(page, "2")
    tap(page, "Done")
    heading(page, "No exercises for now")
    until(page, lambda: bouts(live, key), "it did not arrive")
    assert [bout.amount for bout in bouts(live, key)] == [3]


def test_told_something_different_a_reminder_on_its_way_asks_for_nothing(
    at_home: AtHome,
) -> None:
    page, _ = at_home("SH 71015")
    assert page.evaluate(REMINDED) == ["Time for your plan.", False]
    page.context.set_offline(True)
    tap(page, "Something is wrong")
    row(page, "I was told something different")
    sees(page, "Rest from the exercises.")
    assert page.evaluate(REMINDED) == ["Open your plan.", True]
    page.context.set_offline(False)


def test_a_plan_asked_for_earlier_never_takes_the_place_of_a_newer_one(at_home: AtHome) -> None:
    page, _ = at_home("SH 71016")
    page.context.set_offline(True)
    tap(page, "Something is wrong")
    row(page, "A snap")
    heading(page, "Stop the exercises.")
    assert page.evaluate(SLOWER) == [True, 1]
    page.context.set_offline(False)


def shaking(page: Page, button: Locator) -> None:
    """Tap as a shaking hand does, thrice about one place, on a browser that counts no taps."""
    button.click(trial=True)
    box = until(page, button.bounding_box, "it is not there")
    page.evaluate(SHAKE, [box["x"] + box["width"] / 2, box["y"] + box["height"] / 2])
    page.wait_for_timeout(500)


def test_a_double_tap_on_what_is_wrong_is_one_report(live: Live, at_home: AtHome) -> None:
    page, course = at_home("SH 71017")
    tap(page, "Something is wrong")
    shaking(page, page.locator(".rows button", has_text="A hard knock or a fall"))
    heading(page, "Stop the exercises.")
    until(page, lambda: kinds(live, course), "it did not arrive")
    assert kinds(live, course) == ["knock_or_fall"]


def test_the_second_tap_of_a_double_tap_is_no_answer_on_the_next_screen(at_home: AtHome) -> None:
    page, _ = at_home("SH 71018")
    shaking(page, page.get_by_role("button", name="Start", exact=True))
    expect(page.locator(".big")).to_have_text("0")
    page.go_back()
    shaking(page, page.get_by_role("button", name=DONE))
    heading(page, "How bad was the pain?")
    assert stored(page)["bouts"] == []
    page.context.set_offline(True)
    tap(page, "4")
    sees(page, "waits for a signal")
    shaking(page, page.get_by_role("button", name="Undo", exact=True))
    until(page, lambda: not stored(page)["bouts"], "it was not taken out")
    assert [item["type"] for item in items(page)] == []
    page.context.set_offline(False)


def items(page: Page) -> list[dict[str, object]]:
    return [entry["item"] for entry in stored(page)["outbox"]]


@pytest.mark.parametrize("exercise", [None, "bend_to_stop"])
def test_what_is_held_is_offered_nowhere(
    live: Live, house: House, at_home: AtHome, exercise: str | None
) -> None:
    page, key = at_home("SH 71019" if exercise else "SH 71020")
    with live.db() as db:
        by = house.therapist.actor
        hold_course(db, by, key, "pause", "wound", live.now(), exercise=exercise)
    live.set_now(FRIDAY + timedelta(minutes=3))
    page.reload()
    expect(page.get_by_role("heading", name="2 things to do now")).to_have_count(0)
    if not exercise:
        heading(page, "No exercises for now")
        expect(page.get_by_role("button", name="I did some anyway")).to_have_count(0)
    tap(page, "Menu")
    row(page, "My plan")
    steps = page.get_by_text("Bend your big knuckles slowly to the stop.")
    expect(steps).to_have_count(0)
    shoulder = page.get_by_role("heading", name="Shoulder and elbow")
    expect(shoulder).to_have_count(1 if exercise else 0)
    to_setup(page, "Your plan in five pictures")
    tap(page, "Go on")
    tap(page, "Go on")
    expect(steps).to_have_count(0)
