"""Pictures on staff pages: one address each, and words that name what is prescribed."""

from __future__ import annotations

import html
import re
import uuid
from datetime import timedelta
from xml.etree import ElementTree

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.datastructures import MultiDict

from homeprog.extensions import db as extension
from homeprog.storage.models import CourseFact
from tests import cast
from tests.regime_cast import OnRegime, on_regime
from tests.web.staff_cast import browser, now
from tests.web.test_regime_pages import as_form

SVG = "{http://www.w3.org/2000/svg}"
SENTENCE = "Your splint may look different. Never push to match the picture."


@pytest.fixture
def theirs(app: Flask) -> OnRegime:
    """A left middle finger in the stage of bending against the band."""
    return on_regime(extension.session(), now() - timedelta(days=2))


@pytest.fixture
def anna(app: Flask, theirs: OnRegime) -> FlaskClient:
    return browser(app, cast.staff(extension.session(), theirs.clinic, now() - timedelta(days=3)))


def images(page: str) -> list[tuple[str, str]]:
    """(address, words) of each picture on a page."""
    found = re.findall(r'<figure class="picture [^>]*><img src="([^"]+)" alt="([^"]+)"', page)
    return [(html.unescape(src), html.unescape(alt)) for src, alt in found]


def words(page: str, purpose: str) -> list[str]:
    found = re.findall(rf'<figure class="picture {purpose}"><img src="[^"]+" alt="([^"]+)"', page)
    return [html.unescape(alt) for alt in found]


def paths(theirs: OnRegime) -> dict[str, str]:
    here = f"/courses/{theirs.course.id}"
    return {
        "course": here, "confirmation": f"{here}/confirmation", "regime": f"{here}/regime",
        "template": f"/templates/{theirs.template.id}", "sheet": f"{here}/sheet",
        "starting point": "/templates/static-several-tendons",
        "regime from a template": f"{here}/regime?template={theirs.template.id}",
    }  # fmt: skip


PAGES = (
    "course", "confirmation", "regime", "template", "sheet", "starting point",
    "regime from a template",
)  # fmt: skip


@pytest.mark.parametrize("page", PAGES)
def test_each_page_shows_the_position_in_the_prescribed_numbers(anna, theirs, page):
    text = anna.get(paths(theirs)[page]).text
    held = " ".join(words(text, "position"))
    assert "Wrist: bent back 30 to 45 degrees." in held
    expected = "to the thumb tip" if page == "starting point" else "from 0 to 30 degrees"
    assert expected in held


@pytest.mark.parametrize("page", ["course", "confirmation", "regime", "template", "sheet"])
def test_what_is_fetched_shows_what_the_page_says_of_it(anna, theirs, page):
    found = images(anna.get(paths(theirs)[page]).text)
    assert found
    for src, alt in found:
        answer = anna.get(src)
        assert answer.status_code == 200, src
        assert answer.mimetype == "image/svg+xml"
        assert ElementTree.fromstring(answer.text).findtext(f"{SVG}desc") == alt


def test_a_picture_is_kept_for_good_under_its_hash_and_asked_after_without_it(anna, theirs):
    src, _ = images(anna.get(paths(theirs)["course"]).text)[0]
    kept = anna.get(src)
    assert kept.headers["Cache-Control"] == "private, max-age=31536000, immutable"
    for other in (re.sub(r"&v=\w+", "", src), re.sub(r"v=\w+", "v=0", src), src + "&shape=strip"):
        asked = anna.get(other)
        assert asked.headers["Cache-Control"] == "private, no-cache", other
        again = anna.get(other, headers={"If-None-Match": asked.headers["ETag"]})
        assert (again.status_code, again.data) == (304, b"")
    assert "Cookie" in kept.headers["Vary"]


def test_a_picture_by_itself_has_every_colour_it_names(anna, theirs):
    """Pages bind them; a file of its own must bring them, or it is drawn in black."""
    src, _ = images(anna.get(paths(theirs)["course"]).text)[0]
    picture = anna.get(src).text
    style = ElementTree.fromstring(picture).findtext(f"{SVG}style") or ""
    bound = set(re.findall(r"--([\w-]+):", style))
    assert set(re.findall(r"var\(--([\w-]+)\)", style)) <= bound
    assert {"ink", "sheet", "accent"} <= bound
    assert "prefers-color-scheme: dark" in style


def test_a_picture_may_run_and_fetch_nothing(anna, theirs):
    answer = anna.get(f"{paths(theirs)['course']}/figure")
    policy = answer.headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'; style-src 'unsafe-inline'")
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    tags = {each.tag for each in ElementTree.fromstring(answer.text).iter()}
    assert not tags & {f"{SVG}script", f"{SVG}foreignObject", f"{SVG}a", f"{SVG}image"}


@pytest.mark.parametrize(
    "asked", ["key=nothing", "stage=nothing", "revision=7", "stage=dynamic&key=exercise.nothing"]
)
def test_what_the_prescription_does_not_have_has_no_picture(anna, theirs, asked):
    assert anna.get(f"{paths(theirs)['course']}/figure?{asked}").status_code == 404


def test_another_clinics_picture_is_answered_like_one_that_is_not_there(app, anna, theirs):
    src, _ = images(anna.get(paths(theirs)["course"]).text)[0]
    where = cast.clinic(extension.session(), now() - timedelta(days=3), "Hill Hand Unit")
    otto = browser(app, cast.staff(extension.session(), where, now() - timedelta(days=3)))
    nowhere = otto.get(f"/courses/{uuid.uuid4()}/figure")
    there = otto.get(src)
    assert there.status_code == nowhere.status_code == 404
    assert "svg" not in there.mimetype
    assert otto.get(f"/templates/{theirs.template.id}/figure").status_code == 404


def test_a_picture_is_for_the_operated_hand_and_a_templates_for_either(anna, theirs):
    left, right = (
        anna.get(f"/templates/{theirs.template.id}/figure?side={side}").text
        for side in ("left", "right")
    )
    assert left != right
    course = anna.get(f"{paths(theirs)['course']}/figure?stage=dressing").text
    assert ElementTree.fromstring(course).findtext(f"{SVG}title").startswith("Left hand")


def test_while_the_side_is_not_entered_the_page_says_so_and_draws_no_hand(app):
    db = extension.session()
    where = cast.clinic(db, now() - timedelta(days=3))
    who = cast.staff(db, where, now() - timedelta(days=3))
    course = cast.enrolled(db, who, now() - timedelta(days=1), side=None)
    client = browser(app, who)
    made = on_regime(db, now() - timedelta(days=1), clinic=where)
    db.commit()
    text = client.get(f"/courses/{course.id}/regime?template={made.template.id}").text
    assert images(text) == []
    assert "No picture: enter which hand was operated." in text
    assert client.get(f"/courses/{course.id}/figure").status_code == 404


def test_a_stage_without_positions_says_why_it_has_no_picture(anna):
    text = anna.get("/templates/blank-frame").text
    assert "No picture: no position is prescribed in this stage." in text


def test_a_refused_regime_shows_the_picture_of_what_was_entered(anna, theirs):
    told = {"phases.2.positions.0.to.degrees": "50", "phases.3.exercises.0.dose.amount": "ten"}
    form: MultiDict = as_form(theirs.template.body, theirs.template, **told)
    answer = anna.post(f"{paths(theirs)['course']}/regime", data=form)
    assert answer.status_code == 422
    drawn = re.findall(
        r'<figure class="picture position"><svg.*?<desc[^>]*>(.*?)</desc>', answer.text
    )
    assert any("Wrist: bent back 30 to 50 degrees." in each for each in drawn)
    assert "No picture: mend what is marked in this stage." in answer.text


def test_the_sheet_says_beside_each_picture_not_to_push(anna, theirs):
    text = anna.get(paths(theirs)["sheet"]).text
    assert text.count(SENTENCE) == len(images(text)) >= 6
    assert "Left hand, middle finger" in text


def test_the_sheet_holds_no_plan_before_a_clinician_has_confirmed(app):
    db = extension.session()
    who = cast.staff(db, cast.clinic(db, now() - timedelta(days=3)), now() - timedelta(days=3))
    course = cast.enrolled(db, who, now() - timedelta(days=1))
    text = browser(app, who).get(f"/courses/{course.id}/sheet").text
    assert "confirm hand, finger and regime" in text
    assert images(text) == []


def test_after_a_corrected_side_the_picture_turns_with_it(anna, theirs):
    db = extension.session()
    src, _ = images(anna.get(paths(theirs)["course"]).text)[0]
    before = anna.get(src)
    row = CourseFact(
        clinic_id=theirs.clinic.id, at=now(), course_id=theirs.course.id, what="side",
        value={"is": "right"},
    )  # fmt: skip
    db.add(row)
    db.commit()
    after = anna.get(src)
    assert after.text != before.text
    assert after.headers["Cache-Control"] == "private, no-cache"
