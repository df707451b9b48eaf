"""Pictures of a course: drawn from the row that prescribes, for the hand that was operated."""

from __future__ import annotations

import copy
import json
import uuid
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy.orm import Session

from homeprog.domain.figure import figures
from homeprog.domain.regime import to_json
from homeprog.phrases import phrases_of
from homeprog.services.adopt_template import starting_points
from homeprog.services.draw_figures import Hand, draw_stage, draw_strip, hand_of, stages_typed
from homeprog.services.phone_plan import phone_plan
from homeprog.services.set_regime import Wanted, set_regime
from homeprog.storage.models import CourseEvent, Device, Repair
from homeprog.storage.regimes import regime_of
from tests import cast as people
from tests.regime_cast import CONTROLLED, OnRegime, a_clinician, approved, fact, on_regime

NOW = datetime(2026, 6, 5, 13, 10, 20, tzinfo=UTC)
LATER = NOW + timedelta(hours=2)
ENGLISH = phrases_of("en")


@pytest.fixture
def cast(db: Session) -> OnRegime:
    return on_regime(db, NOW)


def course_of(db: Session, cast: OnRegime, now: datetime = LATER) -> dict:
    device = Device(at=NOW, clinic_id=cast.clinic.id, patient_id=cast.patient.id)
    db.add(device)
    db.flush()
    return phone_plan(db, device, now)["courses"][0]


def repaired(db: Session, cast: OnRegime, *where: tuple[str, str]) -> None:
    """A newer set of repairs: (digit, zone) each."""
    set_id = uuid.uuid4()
    for digit, zone in where:
        db.add(
            Repair(
                at=NOW + timedelta(minutes=1), clinic_id=cast.clinic.id, course_id=cast.course.id,
                set_id=set_id, digit=digit, structure="EDC", zone=zone,
            )
        )  # fmt: skip
    db.flush()


def test_the_hand_is_that_of_the_facts_with_its_mended_fingers_and_its_zone(db, cast):
    assert hand_of(db, cast.course, LATER) == Hand("left", ("middle",), "VI")
    repaired(db, cast, ("ring", "VI"), ("index", "VI"))
    assert hand_of(db, cast.course, LATER) == Hand("left", ("index", "ring"), "VI")


def test_of_wounds_in_two_zones_none_is_marked(db, cast):
    repaired(db, cast, ("index", "V"), ("middle", "VI"))
    assert hand_of(db, cast.course, LATER) == Hand("left", ("index", "middle"), None)


def test_a_hand_of_which_nobody_said_the_side_is_not_drawn(db):
    anna = people.staff(db, people.clinic(db, NOW), NOW)
    course = people.enrolled(db, anna, NOW, side=None)
    assert hand_of(db, course, LATER) is None


@pytest.mark.parametrize("stage", [None, "static", "dynamic"])
def test_the_plan_holds_the_domains_pictures_of_the_stage_in_force(db, stage):
    cast = on_regime(db, NOW, release=stage)
    told = course_of(db, cast)
    phase = regime_of(cast.revision.body).phase(told["phase"]["key"])
    drawn = figures(phase, "left", ("middle",), "VI", ENGLISH)
    assert told["figures"] == [
        {
            "key": each.key, "purpose": each.purpose, "exercise": each.exercise,
            "digits": list(each.digits), "title": each.title, "description": each.description,
            "svg": each.svg, "hash": each.hash,
        }
        for each in drawn
    ]  # fmt: skip
    assert {"position", "fingers", "exercise"} <= {each["purpose"] for each in told["figures"]}


def test_the_picture_on_the_phone_changes_with_the_row_that_prescribes_it(db, cast):
    before = {each["key"]: each for each in course_of(db, cast)["figures"]}
    assert "Wrist: bent back 30 to 45 degrees." in before["position"]["description"]
    body = copy.deepcopy(cast.revision.body)
    for phase in body["phases"]:
        for position in phase["positions"]:
            if position["joint"] == "wrist" and not position["moves"]:
                position["to"]["degrees"] = 35
    set_regime(db, cast.therapist, cast.course.id, Wanted(cast.template.id, body, "less"), LATER)
    after = {
        each["key"]: each for each in course_of(db, cast, LATER + timedelta(hours=1))["figures"]
    }
    assert "Wrist: bent back 30 to 35 degrees." in after["position"]["description"]
    assert after["position"]["svg"] != before["position"]["svg"]


def test_before_confirmation_no_picture_tells_whose_hand_it_is(db):
    clinic = people.clinic(db, NOW)
    anna = people.staff(db, clinic, NOW)
    course = people.enrolled(db, anna, NOW)
    by, other = people.acting(anna), a_clinician(db, clinic, NOW, "surgeon")
    row = approved(db, by, other, "static-then-dynamic", NOW)
    set_regime(db, by, course.id, Wanted(row.id, row.body, "as the template"), NOW)
    plan = phone_plan(db, people.phone(db, course, NOW), LATER)
    assert plan["courses"][0]["figures"] == []
    assert "<svg" not in json.dumps(plan)


def test_after_a_corrected_side_no_picture_is_shown_until_it_is_confirmed_again(db, cast):
    fact(db, cast.course, "side", "right", LATER)
    event = CourseEvent(
        at=LATER, clinic_id=cast.clinic.id, course_id=cast.course.id, kind="facts_corrected",
        figures={},
    )  # fmt: skip
    db.add(event)
    db.flush()
    assert course_of(db, cast)["figures"] == []


def test_an_exercise_that_is_held_is_not_pictured(db):
    cast = on_regime(db, NOW, template=CONTROLLED, release="controlled_active")
    told = course_of(db, cast)
    pictured = {each["exercise"] for each in told["figures"]} - {None}
    assert pictured == {"lift"}
    assert "hook" not in {each["key"] for each in told["exercises"]}


def test_a_picture_that_the_phone_holds_is_not_sent_again(db, cast):
    whole = course_of(db, cast)["figures"]
    device = Device(at=NOW, clinic_id=cast.clinic.id, patient_id=cast.patient.id)
    db.add(device)
    db.flush()
    held = {whole[0]["hash"], "0" * 16}
    again = phone_plan(db, device, LATER, held)["courses"][0]["figures"]
    assert again == [whole[0] | {"svg": None}, *whole[1:]]


def test_both_hands_and_their_mirror_images_differ_in_the_drawing_alone():
    stage = starting_points()["static-then-dynamic"].regime.phases[2]
    left, right = (draw_stage(stage, Hand(side, ("middle",), "VI")) for side in ("left", "right"))
    assert [each.key for each in left] == [each.key for each in right]
    assert [each.description for each in left] == [each.description for each in right]
    assert all(a.svg != b.svg for a, b in zip(left, right, strict=True))


def test_a_movement_has_a_strip_for_paper_and_what_is_not_there_has_none():
    stage = starting_points()["static-then-dynamic"].regime.phases[2]
    strip = draw_strip(stage, Hand("left"), "exercise.bend_to_stop")
    assert strip is not None
    assert "strip" in strip
    assert draw_strip(stage, Hand("left"), "exercise.nothing") is None


def test_of_a_body_as_typed_each_stage_without_a_fault_can_be_drawn():
    body = copy.deepcopy(regime_body())
    body["phases"][2]["positions"][0]["to"]["degrees"] = "many"
    keys = [phase["key"] for phase in body["phases"]]
    assert [stage.key for stage in stages_typed(body)] == [k for k in keys if k != keys[2]]


def regime_body() -> dict:
    return to_json(starting_points()["static-then-dynamic"].regime)
