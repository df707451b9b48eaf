"""The page of each kind of alert: whoever never saw it reads why it came, and what to do next."""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable, Iterator, Mapping
from datetime import timedelta
from urllib.parse import urljoin

import pytest
from playwright.sync_api import Browser, Page, expect
from sqlalchemy.orm import Session

from homeprog.domain.alert import GUESSES, KINDS
from homeprog.services.pass_alert import condition_ended
from homeprog.storage.models import Alert, Course
from tests.browser.conftest import Accessible, Shoot
from tests.browser.house import FRIDAY, House, furnish
from tests.browser.kinds_cast import an_alert_of_each_kind
from tests.browser.live import PATIENCE_MS, Live
from tests.browser.look import OVERFLOW, PHONE, WIDE, Inspector
from tests.browser.staff_desk import Desk

pytestmark = pytest.mark.browser

SIZES = {"1280": WIDE, "360": PHONE}
EACH_RUN = {"exercise_while_stopped", "few_logged", "no_contact", "pain_rise", "trouble"}
DAY = r"(Mon|Tues|Wednes|Thurs|Fri|Satur|Sun)day \d"
INSIDE = (" p0", " p1", " rho", "Rule:", " h ", " S ", "waking", "slot")
UNDER = """(heading) => {
  const said = [];
  for (let e = heading.nextElementSibling; e && e.tagName !== "H2"; e = e.nextElementSibling)
    if (e.tagName !== "DETAILS" && e.tagName !== "FORM") said.push(e.innerText);
  return said.join(" ");
}"""


@pytest.fixture(scope="module")
def house(live: Live) -> House:
    """The clinic, in use for two weeks by the Friday at 14:10."""
    with live.db() as db:
        made = furnish(db, FRIDAY - timedelta(days=14))
    live.set_now(FRIDAY)
    return made


@pytest.fixture(scope="module")
def alerts(live: Live, house: House) -> Mapping[str, uuid.UUID]:
    with Session(live.engine) as db:
        return an_alert_of_each_kind(db, house)


@pytest.fixture(scope="module")
def seat(chromium: Browser, live: Live, house: House) -> Iterator[Desk]:
    """A therapist who has signed in."""
    context = chromium.new_context(viewport={"width": WIDE[0], "height": WIDE[1]})
    context.set_default_timeout(PATIENCE_MS)
    desk = Desk(context.new_page(), live.origin)
    desk.sign_in(house.therapist)
    yield desk
    context.close()


@pytest.mark.parametrize(
    "kind",
    [k if k in EACH_RUN else pytest.param(k, marks=pytest.mark.full) for k in KINDS],
)
def test_the_page_of_every_kind_says_why_it_came_and_what_to_do_next(
    alerts: Mapping[str, uuid.UUID], seat: Desk, accessible: Accessible, shoot: Shoot, kind: str
) -> None:
    page = seat.page
    for name, (width, height) in SIZES.items():
        page.set_viewport_size({"width": width, "height": height})
        seat.go(f"/alerts/{alerts[kind]}")
        shoot(page, f"kind-{kind}-{name}")
        _names_the_hand_and_the_patient(page)
        assert page.evaluate(OVERFLOW) is None
    _says_its_parts(page, kind)
    assert accessible(page) == []
    _leads_to_its_days(page)


def _names_the_hand_and_the_patient(page: Page) -> None:
    """In sight without scrolling; nothing of it in the title, which a shared screen shows."""
    heading = page.get_by_role("heading", level=1)
    assert re.fullmatch(r"Left hand, middle finger: \w.+", heading.inner_text())
    for said in (heading, page.get_by_text("Ivo Marsh", exact=True), page.get_by_text("SH 403")):
        expect(said).to_be_in_viewport()
    expect(page.get_by_text("born 4 March 1968")).to_be_in_viewport()
    assert page.title() == "An alert - Homeprog"


def _says_its_parts(page: Page, kind: str) -> None:
    seen, after, why = (_part(page, name) for name in ("What was seen", "What next", "Why this"))
    assert re.search(r"\d", seen), "no figure, no day"
    assert re.search(DAY, seen) or kind == "exercise_while_stopped"
    assert re.search(r"\b(Ring|See|Ask)\b", after)
    assert re.search(r"\b07700 900123\b", after), "no number to ring"
    assert ("once in" in why) is (kind in GUESSES)
    assert ("no guess" in why) is (kind not in GUESSES)
    assert "a clinician decides" in why
    for letters in INSIDE:
        assert letters not in f"{seen} {after} {why}", "only where it is said how the rule works"


def _part(page: Page, name: str) -> str:
    """What stands under a heading, down to the next one."""
    heading = page.get_by_role("heading", name=name)
    expect(heading).to_be_visible()
    return str(heading.evaluate(UNDER))


def _leads_to_its_days(page: Page) -> None:
    """Each link lands on something in sight; before anything was asked for there is no sheet."""
    links = page.locator(".links a")
    for path in [link.get_attribute("href") or "" for link in links.all()]:
        page.goto(urljoin(page.url, path))
        expect(page.locator(f"#{path.split('#')[1]}")).to_be_in_viewport()


@pytest.mark.parametrize("kind", ["few_logged", "trouble", "pain_rise"])
def test_it_fits_and_can_be_read_in_the_dark_and_with_large_text(
    alerts: Mapping[str, uuid.UUID], seat: Desk, accessible: Accessible, shoot: Shoot, kind: str
) -> None:
    inspector = Inspector(shoot, accessible)
    seat.go(f"/alerts/{alerts[kind]}")
    inspector.look(seat.page, f"kind-{kind}")
    assert not inspector.faults, inspector.told()


def test_trouble_shows_what_the_phone_told_and_only_a_clinician_settles_it(
    alerts: Mapping[str, uuid.UUID], seat: Desk, desk: Callable[[], Desk], house: House
) -> None:
    seat.go(f"/alerts/{alerts['trouble']}")
    told = _part(seat.page, "What the phone told the patient")
    assert told.startswith("Stop the exercises. Keep your splint on.")
    expect(seat.page.get_by_role("button", name="Settle")).to_be_visible()
    clerk = desk()
    clerk.sign_in(house.enroller)
    clerk.go(f"/alerts/{alerts['trouble']}")
    expect(clerk.page.get_by_text("Only a clinician may settle trouble")).to_be_visible()
    assert clerk.page.get_by_role("button", name="Settle").count() == 0


def test_taken_up_settled_and_passed_say_so_and_ask_for_nothing_more(
    live: Live, alerts: Mapping[str, uuid.UUID], seat: Desk
) -> None:
    page, kind = seat.page, "visit_missed"
    live.set_now(FRIDAY)  # it has gone on while the pages before were looked at
    seat.go(f"/alerts/{alerts[kind]}")
    expect(page.get_by_text("Act today. Open since Fri 5 June, 14:10")).to_be_visible()
    seat.press("Take up")
    said = "Act today. Taken up Fri 5 June, 14:1\\d by Anna Berg, not settled yet."
    expect(page.get_by_text(re.compile(said))).to_be_visible()
    seat.fill({"What was done": ("Rang the patient",)})
    seat.press("Settle")
    seat.go(f"/alerts/{alerts[kind]}")
    expect(page.get_by_text(re.compile(r"^Settled Fri 5 June, .* by Anna Berg\.$"))).to_be_visible()
    with live.db() as db:
        row = db.get_one(Alert, alerts["not_yet"])
        condition_ended(db, db.get_one(Course, row.course_id), "not_yet", live.now())
    seat.go(f"/alerts/{alerts['not_yet']}")
    expect(page.get_by_text("what it told of is no longer so")).to_be_visible()
    for gone in ("What next", "Settle, once it is done"):
        assert page.get_by_role("heading", name=gone).count() == 0
