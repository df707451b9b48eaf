"""The page of each kind of alert: what was seen, why it rings, what comes next, and the days."""

from __future__ import annotations

import re
from datetime import timedelta
from html import unescape

import pytest
from sqlalchemy import select

from homeprog.domain.alert import KINDS, is_trouble, next_step, why, words
from homeprog.extensions import db as extension
from homeprog.services.open_alert import open_alert
from homeprog.storage.alerts import events_of
from homeprog.storage.models import Alert
from tests import cast
from tests.domain.test_alert import FIGURES
from tests.regime_cast import on_regime
from tests.web.staff_cast import browser, now, summed_up


@pytest.fixture
def made(app):
    db = extension.session()
    course = on_regime(db, now() - timedelta(days=2), operated_days_ago=10)
    summed_up(db, course.course, now())
    return course


@pytest.fixture
def anna(made):
    return cast.staff(extension.session(), made.clinic, now() - timedelta(days=3))


def opened(made, kind, figures=None):
    told = figures or FIGURES[kind]
    row = open_alert(extension.session(), made.course, kind, "today", told, now())
    extension.session.commit()
    return row


def plain(text):
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", text)).split())


def said(line):
    return " ".join(line.split())


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_says_what_was_seen_why_what_next_and_leads_to_its_days(app, made, anna, kind):
    row = opened(made, kind)
    page = browser(app, anna).get(f"/alerts/{row.id}").text
    text = plain(page)
    headline, lines = words(kind, FIGURES[kind], "Europe/London")
    for line in (headline, *lines, why(kind, FIGURES[kind]), next_step(kind)):
        assert said(line) in text
    link = re.search(r'href="(/courses/[^"#]+#day-[0-9-]+)"', page)
    assert link is not None
    assert browser(app, anna).get(link[1].split("#")[0]).status_code == 200


def test_the_link_leads_to_a_day_that_the_tick_sheet_shows(app, made, anna):
    yesterday = (now() - timedelta(days=1)).date()
    figures = FIGURES["few_logged"] | {"first": yesterday.isoformat(), "last": str(yesterday)}
    row = opened(made, "few_logged", figures)
    here = browser(app, anna)
    link = re.search(r'href="(/courses/[^"]+#day-[0-9-]+)"', here.get(f"/alerts/{row.id}").text)
    page, anchor = unescape(link[1]).split("#")
    assert f'id="{anchor}"' in here.get(page).text


def test_before_the_first_hour_of_a_led_stage_no_link_leads_to_days_that_are_not_there(app):
    """Released after bedtime; the first slot is of the morning after."""
    db, night = extension.session(), (now() - timedelta(days=1)).replace(hour=22, minute=30)
    made = on_regime(db, night)
    who = cast.staff(db, made.clinic, night)
    page = browser(app, who).get(f"/alerts/{opened(made, 'trouble').id}").text
    assert f'href="/courses/{made.course.id}' in page
    assert "#day-" not in page


def test_no_name_stands_beside_a_diagnosis_in_the_title(app, made, anna):
    row = opened(made, "few_logged")
    page = browser(app, anna).get(f"/alerts/{row.id}").text
    title = re.search(r"<title>(.*?)</title>", page, re.S)[1]
    assert "Invented Patient" not in title
    assert "Few" not in title


@pytest.mark.parametrize("kind", [kind for kind in KINDS if not is_trouble(kind)])
def test_only_of_the_sum_of_what_was_logged_a_level_can_be_accepted_and_any_can_be_a_false_alarm(
    app, made, anna, kind
):
    page = browser(app, anna).get(f"/alerts/{opened(made, kind).id}").text
    assert ('name="accept"' in page) is (kind in ("few_logged", "reminders_not_arriving"))
    assert 'name="false_alarm"' in page
    if kind == "few_logged":
        assert "a median of 7 days" in page


def test_trouble_is_never_offered_as_a_false_alarm(app, made, anna):
    page = browser(app, anna).get(f"/alerts/{opened(made, 'trouble').id}").text
    assert 'name="false_alarm"' not in page


def test_what_was_chosen_at_settlement_is_kept_and_shown(app, made, anna):
    row = opened(made, "few_logged")
    here = browser(app, anna)
    answer = here.post(
        f"/alerts/{row.id}/settlement",
        data={"done": "back_to_static", "accept": "yes", "false_alarm": "yes"},
    )
    assert answer.status_code == 303
    db = extension.session()
    settled = db.scalars(select(Alert).where(Alert.id == row.id)).one()
    last = next(e for e in events_of(db, [row.id])[row.id] if e.what == "settled")
    assert settled.state == "settled"
    assert (last.figures["accepted_level"], last.figures["false_alarm"]) == (0.15, True)
    text = plain(here.get(f"/alerts/{row.id}").text)
    assert "Back to the static splint. A false alarm. Accepted at 15 % until the next visit" in text


def test_a_level_accepted_of_another_kind_is_refused_on_the_page(app, made, anna):
    row = opened(made, "silence")
    answer = browser(app, anna).post(
        f"/alerts/{row.id}/settlement", data={"done": "rang", "accept": "yes"}
    )
    assert answer.status_code == 422
