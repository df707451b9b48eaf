"""Pictures on a phone: those of its plan, offline too, and none that a page must refuse."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from tests.browser.house import House, on_dynamic, pairing_link
from tests.browser.live import Live

pytestmark = pytest.mark.browser
SENTENCE = "Your splint may look different. Never push to match the picture."
BAD = """async (svg) => {
  const { figureOf } = await import("/static/js/views/figure.js");
  const told = { key: "k", purpose: "position", title: "t", description: "d", svg };
  const course = { figures: [told] };
  return figureOf(null, course, "k")?.querySelector("svg").getAttribute("aria-label") ?? null;
}"""
XMLNS = 'xmlns="http://www.w3.org/2000/svg"'


@pytest.fixture
def paired(live: Live, house: House, phone: Callable[..., Page]) -> Page:
    """A phone at 'Is this your hand?'."""
    page = phone()
    with live.db() as db:
        course = on_dynamic(db, house, live.now() - timedelta(minutes=10), read_back=False)
        link = pairing_link(db, house, course, live.origin, live.now())
    page.goto(link)
    page.get_by_role("button", name="Link", exact=True).click()
    expect(page.get_by_role("heading", name="Is this your hand?")).to_be_visible()
    return page


def test_each_picture_says_that_the_splint_may_look_different(paired: Page) -> None:
    expect(paired.get_by_role("img", name="Left hand: which fingers")).to_be_visible()
    paired.context.set_offline(True)
    paired.evaluate("history.replaceState({ name: 'plan', args: {} }, '', location.pathname)")
    paired.evaluate("dispatchEvent(new PopStateEvent('popstate', { state: { name: 'plan' } }))")
    expect(paired.get_by_role("heading", name="My plan")).to_be_visible()
    held = paired.get_by_role("img", name="Wrist: bent back 30 to 45 degrees.")
    expect(held.first).to_be_visible()
    pictures = paired.locator("figure.picture")
    assert pictures.count() >= 5
    assert [each.locator(".quiet").inner_text() for each in pictures.all()] == (
        [SENTENCE] * pictures.count()
    )
    paired.context.set_offline(False)


@pytest.mark.parametrize(
    "inside",
    [
        "<script>1</script>",
        "<foreignObject><body/></foreignObject>",
        '<path onclick="1"/>',
        '<a href="https://elsewhere.example"><path/></a>',
        "<path",
    ],
)
def test_a_drawing_that_runs_leads_or_is_broken_is_not_shown(paired: Page, inside: str) -> None:
    assert paired.evaluate(BAD, f"<svg {XMLNS}><path d='M0 0'/></svg>") == "t. d"
    assert paired.evaluate(BAD, f"<svg {XMLNS}>{inside}</svg>") is None
