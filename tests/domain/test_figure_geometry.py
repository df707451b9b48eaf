"""Angles are read back out of the pictures' coordinates: they are those prescribed, nothing more.

What is prescribed is read from the regime's JSON, what is drawn from the SVG; neither by the code
that makes pictures.
"""

from __future__ import annotations

import gzip
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from functools import cache
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from homeprog.domain.course import DIGITS, Digit, Side, joints_of
from homeprog.domain.figure import Figure, Motion, Pose, Scene, describe, draw, figures
from homeprog.domain.regime import Phase, parse
from homeprog.phrases import ENGLISH, phrases_of
from tests.domain.figure_svg import Picture, crossings
from tests.domain.figure_told import told
from tests.domain.regime_cases import TEMPLATES, body
from tests.domain.test_figure_scenes import stages

Json = dict[str, Any]
CLOSE = 0.5  # degrees
LARGEST = 6144  # bytes, compressed
CUT = 10  # mm that arm and pillow may go on past the edge that cuts the forearm
SIDES: tuple[Side, Side] = ("left", "right")
SAY = phrases_of(ENGLISH)
# Usual ranges (straightest, most bent), e-hand.com/nor/nor002.htm; the thumb's CMC from a study
# card (quizwizapp.com). The DIP of a healthy hand does not bend back.
EXTREMES: dict[str, tuple[float, float]] = {
    "wrist": (-70, 75), "MCP": (-45, 90), "PIP": (0, 100), "DIP": (0, 80),
    "CMC": (-20, 15), "thumb MCP": (-10, 55), "IP": (-15, 80),
}  # fmt: skip
STAGES = [(key, number) for key in TEMPLATES for number in range(len(body(key)["phases"]))]
REPAIRED: tuple[tuple[Digit, ...], ...] = ((), ("middle",), ("ring", "thumb"))
every_stage = pytest.mark.parametrize(("key", "number"), STAGES)


@cache
def drawn(key: str, number: int) -> tuple[tuple[Json, Side, Figure, Picture], ...]:
    """(stage as JSON, side, figure, its drawing parsed) of a shipped stage."""
    regime, stage = parse(body(key)), body(key)["phases"][number]
    return tuple(
        (stage, side, each, Picture(each.svg))
        for side in SIDES
        for repaired in REPAIRED
        for each in figures(regime.phases[number], side, repaired, "VI", SAY)
    )


def from_the_side(key: str, number: int) -> list[tuple[Json, Side, Figure, Picture]]:
    return [each for each in drawn(key, number) if each[2].purpose != "fingers"]


def stated(stage: Json, digit: str, joint: str) -> tuple[float, float, bool] | None:
    """(from, to, moves) of a joint in the regime's JSON, degrees towards bending."""
    for each in stage["positions"]:
        if each["joint"] == joint and (joint == "wrist" or digit in each["digits"]):
            ends = (_signed(each["from"]), _signed(each["to"]))
            return *ends, each["moves"]
    return None


def _signed(angle: Json) -> float:
    return float(angle["degrees"] * (1 if angle["direction"] == "flexion" else -1))


def of_exercise(stage: Json, figure: Figure) -> Json:
    return next(each for each in stage["exercises"] if each["key"] == figure.exercise)


def frees(stage: Json, does: Json, digit: str) -> bool:
    """Whether an exercise names only joints that are held: then it frees them, without a figure."""
    found = [stated(stage, digit, joint) for joint in does["joints"]]
    return all(each is not None and not each[2] for each in found)


@every_stage
def test_a_held_joint_is_drawn_midway_of_what_is_prescribed(key: str, number: int) -> None:
    for stage, _, figure, picture in from_the_side(key, number):
        if figure.purpose == "forbidden":
            continue
        for joint, drawn_at in picture.bends().items():
            position = stated(stage, figure.digits[0], joint)
            freed = figure.exercise and frees(stage, of_exercise(stage, figure), figure.digits[0])
            if position and not position[2] and not (freed and joint != "wrist"):
                assert drawn_at == pytest.approx(sum(position[:2]) / 2, abs=CLOSE), figure.key


@every_stage
def test_a_movement_is_drawn_from_where_to_where_it_is_prescribed(key: str, number: int) -> None:
    for stage, _, figure, picture in from_the_side(key, number):
        if figure.purpose != "exercise":
            continue
        does, start, end = of_exercise(stage, figure), picture.bends(), picture.bends("end")
        for joint in start:
            position = stated(stage, figure.digits[0], joint)
            if position and position[2] and joint in does["joints"]:
                ways = sorted(position[:2], reverse=does["motion"] == "active_extension")
                ways = list(position[:2]) if joint == "wrist" else ways
                assert [start[joint], end[joint]] == pytest.approx(ways, abs=CLOSE), figure.key


@every_stage
def test_no_pose_but_the_forbidden_passes_a_range_or_a_stop(key: str, number: int) -> None:
    for stage, _, figure, picture in from_the_side(key, number):
        if figure.purpose == "forbidden":
            continue
        for which, digit in product(("start", "end"), figure.digits):
            for joint, at in picture.bends(which).items():
                position = stated(stage, digit, joint)
                if position and position[2]:
                    assert min(position[:2]) - CLOSE <= at <= max(position[:2]) + CLOSE
                stop = stage["flexion_limits"].get(digit)
                if stop is not None and joint == "MCP":
                    assert at <= stop + CLOSE


@every_stage
def test_the_bar_stands_at_the_stop(key: str, number: int) -> None:
    for stage, _, figure, picture in from_the_side(key, number):
        if not picture.classed("limit"):
            continue
        digit = figure.digits[0]
        joint = moving(picture)[0]
        position = stated(stage, digit, joint)
        stops = [stage["flexion_limits"].get(digit)] if joint == "MCP" else []
        stops += [max(position[:2])] if position else []
        stop = min(each for each in stops if each is not None)
        assert picture.limit(joint) == pytest.approx(stop, abs=CLOSE), figure.key


@every_stage
def test_a_stop_of_the_splint_is_never_left_out(key: str, number: int) -> None:
    for stage, _, figure, picture in from_the_side(key, number):
        if figure.purpose == "exercise" and figure.digits[0] in stage["flexion_limits"]:
            assert picture.classed("limit"), figure.key


@every_stage
def test_a_forbidden_pose_bends_past_what_the_stage_allows(key: str, number: int) -> None:
    for stage, _, figure, picture in from_the_side(key, number):
        if figure.purpose == "forbidden":
            ranges = {j: stated(stage, figure.digits[0], j) for j in picture.bends()}
            past = {j: max(span[:2]) for j, span in ranges.items() if span}
            assert any(picture.bends()[joint] >= most + 20 for joint, most in past.items())


def moving(picture: Picture) -> list[str]:
    """The joints that move, nearest the forearm first."""
    start, end = picture.bends(), picture.bends("end")
    return [joint for joint in start if abs(start[joint] - end[joint]) > CLOSE]


@every_stage
def test_the_arc_goes_from_the_start_to_the_end_and_the_other_back(key: str, number: int) -> None:
    for _, _, figure, picture in from_the_side(key, number):
        if figure.purpose != "exercise":
            continue
        joint = moving(picture)[0]
        start, end = picture.bends()[joint], picture.bends("end")[joint]
        assert picture.arc("there", joint) == pytest.approx((start, end), abs=CLOSE), figure.key
        assert picture.arc("back", joint) == pytest.approx((end, start), abs=CLOSE), figure.key


@every_stage
def test_who_moves_it_is_drawn_as_prescribed(key: str, number: int) -> None:
    for stage, _, figure, picture in from_the_side(key, number):
        if figure.purpose == "exercise":
            banded = of_exercise(stage, figure)["motion"] == "active_flexion_against_band"
            (there,), (back,) = picture.classed("arc there"), picture.classed("arc back")
            assert "patient" in there.get("class").split()
            assert ("band" if banded else "patient") in back.get("class").split()


@every_stage
def test_a_left_hand_points_right_and_a_right_hand_left(key: str, number: int) -> None:
    """Seen from the thumb's side with the nails up, the fingers of a left hand point right."""
    for _, side, figure, picture in from_the_side(key, number):
        at = picture.joints("start")
        assert (at["wrist"] - at["forearm"])[0] * (1 if side == "left" else -1) > 0, figure.key
        assert picture.palm == (1 if side == "left" else -1), figure.key


@every_stage
def test_the_words_tell_the_angles_that_are_drawn(key: str, number: int) -> None:
    for _, _, figure, picture in from_the_side(key, number):
        agree(figure.description, picture)
        if figure.purpose == "position":  # what is not told cannot disagree
            assert told(figure.description), figure.key


def agree(description: str, picture: Picture) -> None:
    """The angles told, and those read from the drawing."""
    start, end = picture.bends(), picture.bends("end")
    beside = picture.bends("beside")
    for each in told(description):
        at, said = start[each.joint], each.degrees
        if each.kind == "held":
            assert at == pytest.approx((said[0] + said[-1]) / 2, abs=CLOSE), description
        elif each.kind == "free":
            assert min(said) - CLOSE <= at <= max(said) + CLOSE, description
        elif each.kind == "moves":
            assert (at, end[each.joint]) == pytest.approx(said, abs=CLOSE), description
        elif each.kind == "stop":
            assert picture.limit(each.joint) == pytest.approx(said[0], abs=CLOSE), description
        elif each.kind == "never":
            assert at > said[0] + 10, description
        elif each.kind == "beside":
            assert beside[each.joint] == pytest.approx(said[0], abs=CLOSE), description


@every_stage
def test_a_stop_that_is_drawn_is_told(key: str, number: int) -> None:
    for _, _, figure, picture in from_the_side(key, number):
        said = [each for each in told(figure.description) if each.kind == "stop"]
        assert len(said) == len(picture.classed("limit")), figure.key


@every_stage
def test_a_picture_is_whole_and_harmless(key: str, number: int) -> None:
    for _, _, figure, picture in drawn(key, number):
        harmless(figure.svg)
        inside(picture)


@every_stage
def test_a_picture_is_small(key: str, number: int) -> None:
    for _, _, figure, _ in drawn(key, number):
        size = len(gzip.compress(figure.svg.encode(), mtime=0))
        assert size <= LARGEST, f"{figure.key}: {size} bytes"


@every_stage
def test_every_picture_carries_its_title_and_description(key: str, number: int) -> None:
    for _, _, figure, picture in drawn(key, number):
        named = {each.get("id"): each.text for each in picture.root.iter() if each.get("id")}
        labels = picture.root.get("aria-labelledby").split()
        assert [named[label] for label in labels] == [figure.title, figure.description]
        assert picture.root.get("role") == "img"


def test_pictures_that_differ_have_ids_and_hashes_of_their_own() -> None:
    shown = {each.svg: each for key, number in STAGES for _, _, each, _ in drawn(key, number)}
    assert len({each.hash for each in shown.values()}) == len(shown)
    ids = [name for svg in shown for name in set(re.findall(r' id="([^"]+)"', svg))]
    assert len(ids) == len(set(ids))


def harmless(svg: str) -> None:
    """Nothing runs, fetches, or carries its own style."""
    for each in ET.fromstring(svg).iter():
        tag = each.tag.rpartition("}")[2]
        assert tag not in {"script", "foreignObject", "style", "image", "a", "use", "iframe"}
        for name, value in each.attrib.items():
            assert not re.search(r"^on|href|^style$", name)
            assert not re.search(r"url\(|javascript:", value)


def inside(picture: Picture) -> None:
    """All that is drawn lies in the view box; arm and pillow go on past the edge that cuts them."""
    x0, y0, x1, y1 = picture.box()
    arm = picture.joints("start").get("forearm")
    if arm is not None:
        x0, x1 = (x0 - CUT, x1) if arm[0] < 0 else (x0, x1 + CUT)
    low, high = picture.drawn().min(axis=0), picture.drawn().max(axis=0)
    assert (low >= [x0, y0]).all(), (low, picture.box())
    assert (high <= [x1, y1]).all(), (high, picture.box())


def ranges_of(digit: Digit) -> dict[str, tuple[float, float]]:
    joints = ("wrist", *joints_of(digit))
    return {
        joint: EXTREMES["thumb MCP" if (joint, digit) == ("MCP", "thumb") else joint]
        for joint in joints
    }


def posed(digit: Digit, side: Side, degrees: dict[str, float]) -> Scene:
    return Scene("position", side, (digit,), Pose(tuple(degrees.items())))  # type: ignore[arg-type]


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("digit", DIGITS)
def test_bones_never_cross_where_every_joint_is_at_an_end_of_its_range(
    digit: Digit, side: Side
) -> None:
    ranges = ranges_of(digit)
    for corner in product(*ranges.values()):
        picture = Picture(draw(posed(digit, side, dict(zip(ranges, corner, strict=True))), "", ""))
        assert all(crossings(chain) == 0 for chain in picture.chains()), corner
        inside(picture)


@st.composite
def posing(draw_: st.DrawFn) -> Scene:
    """Any digit of any hand in any pose of its usual range, held or on its way to another."""
    digit, side = draw_(st.sampled_from(DIGITS)), draw_(st.sampled_from(SIDES))
    ranges = ranges_of(digit)
    joints = draw_(st.lists(st.sampled_from(list(ranges)), min_size=1, unique=True))
    joints.sort(key=list(ranges).index)
    whole = {joint: st.integers(*map(int, ranges[joint])) for joint in joints}
    pose = Pose(tuple((joint, float(draw_(whole[joint]))) for joint in joints))  # type: ignore[misc]
    worn = draw_(st.sampled_from([None, "splint", "slab", "plaster", "sling"]))
    held = tuple(joint for joint in joints if worn)
    if draw_(st.booleans()):
        spans = tuple((joint, int(at), int(at)) for joint, at in pose.degrees)
        return Scene("position", side, (digit,), pose, spans, worn=worn, holds=(digit,), held=held)  # type: ignore[arg-type]
    moved = draw_(st.lists(st.sampled_from(joints), min_size=1, unique=True))
    end = Pose(tuple((j, float(draw_(whole[j]) if j in moved else at)) for j, at in pose.degrees))
    still = [joint for joint, at in pose.degrees if end.at(joint) == at]
    first = next((joint for joint in joints if joint not in still), None)
    if first is None:
        return Scene("pillow", side, (digit,), pose)
    limit = max(pose.at(first) or 0.0, end.at(first) or 0.0) if draw_(st.booleans()) else None
    way = Motion(end, first, limit, "patient", draw_(st.sampled_from(["patient", "band"])))
    spans = tuple((j, int(at), int(at)) for j, at in pose.degrees if j in still)
    worn = None if first == "wrist" else worn  # nothing that holds a hand lets its wrist go
    return Scene("exercise", side, (digit,), pose, spans, way, worn, (digit,), tuple(still))


@settings(max_examples=500, deadline=None, derandomize=True)
@given(posing())
def test_any_valid_pose_is_drawn_as_it_is_prescribed_and_told(scene: Scene) -> None:
    title, description = describe(scene, SAY)
    svg = draw(scene, title, description)
    picture = Picture(svg)
    for which, pose in (("start", scene.pose), ("end", scene.motion and scene.motion.end)):
        for joint, at in pose.degrees if pose else ():
            assert picture.bends(which)[joint] == pytest.approx(at, abs=CLOSE), (which, joint)
    if scene.motion is not None and scene.motion.limit is not None:
        limit = picture.limit(scene.motion.joint)
        assert limit == pytest.approx(scene.motion.limit, abs=CLOSE)
        assert picture.bends("end")[scene.motion.joint] <= limit + CLOSE
    agree(description, picture)
    harmless(svg)
    inside(picture)
    assert all(crossings(chain) == 0 for each in ("start", "end") for chain in picture.chains(each))
    assert len(gzip.compress(svg.encode())) <= LARGEST


@settings(max_examples=80, deadline=None, derandomize=True)
@given(stages(), st.sampled_from(SIDES))
def test_any_stage_a_regime_may_hold_is_drawn_whole_and_as_it_is_told(
    of: Phase, side: Side
) -> None:
    for each in figures(of, side, ("middle",), None, SAY):
        picture = Picture(each.svg)
        harmless(each.svg)
        inside(picture)
        if each.purpose != "fingers":
            agree(each.description, picture)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(posing())
def test_the_other_hand_is_the_mirror_image(scene: Scene) -> None:
    left, right = (Picture(draw(replace(scene, side=side), "", "")) for side in SIDES)
    for name, at in left.joints("start").items():
        mirrored = right.joints("start")[name] * [-1, 1]
        assert at == pytest.approx(mirrored, abs=0.02), name
