"""From a stage to its scenes: what it states is drawn, and nothing else is."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from homeprog.domain.course import Digit, joints_of
from homeprog.domain.figure import Scene
from homeprog.domain.figure.ranges import usual
from homeprog.domain.regime import Phase
from homeprog.domain.regime.body import MOTIONS, Wear
from tests.domain.figure_cases import (
    FINGERS,
    band,
    exercise,
    held,
    moves,
    phase,
    scenes,
    shipped,
    worn,
)

SHIPPED = shipped()
STATIC = phase(held("wrist", -45, -30), held("MCP", 20))
ASIDE = Wear(True, True, True, ("for_exercise",), "Between exercises.")
NIGHT = Wear(False, True, False, ("at_rest",), "At night.")


def starts(scene: Scene) -> dict[str, float]:
    return dict(scene.pose.degrees)


def ends(scene: Scene) -> dict[str, float]:
    assert scene.motion is not None
    return dict(scene.motion.end.degrees)


def done(motion: Any, *joints: Any, at: Any = (), **more: Any) -> dict[str, Scene]:
    """The scenes of a stage with one exercise, positions `at`."""
    stage = {key: more.pop(key) for key in ("band", "flexion_limits", "wear") if key in more}
    return scenes(phase(*at, does=exercise(motion, joints, **more), **stage), "middle")


def test_a_joint_held_between_two_angles_is_drawn_midway() -> None:
    assert starts(scenes(STATIC)["position"]) == {"wrist": -37.5, "MCP": 20}


def test_what_is_held_is_told_as_prescribed() -> None:
    assert scenes(STATIC)["position"].prescribed == (("wrist", -45, -30), ("MCP", 20, 20))


def test_a_joint_without_a_position_is_not_prescribed() -> None:
    assert scenes(STATIC)["position"].pose.at("PIP") is None


def test_a_moving_joint_goes_from_its_first_angle_to_its_second() -> None:
    scene = done("active", "PIP", at=(moves("PIP", 0, 60),))["exercise.it"]
    assert (starts(scene), ends(scene)) == ({"PIP": 0}, {"PIP": 60})


def test_lifting_starts_bent_and_ends_straight() -> None:
    scene = done("active_extension", "MCP", at=(moves("MCP", 0, 50),))["exercise.it"]
    assert (starts(scene), ends(scene)) == ({"MCP": 50}, {"MCP": 0})


def test_in_a_splint_with_a_plate_the_hand_rests_where_lifting_starts() -> None:
    assert starts(done("active_extension", "MCP", at=(moves("MCP", 0, 50),))["position"]) == {
        "MCP": 50
    }


def test_against_a_band_the_patient_bends_and_the_band_lifts() -> None:
    scene = done("active_flexion_against_band", "MCP", at=(moves("MCP", 0, 30),), band=band("MCP"))
    motion = scene["exercise.it"].motion
    assert motion is not None
    assert (motion.there, motion.back) == ("patient", "band")


@pytest.mark.parametrize(
    ("motion", "there"), [("passive_flexion", "other_hand"), ("place_and_hold", "other_hand"),
                          ("active", "patient"), ("resistance", "patient")]
)  # fmt: skip
def test_who_moves_the_finger_is_the_kind_of_motion(motion: Any, there: str) -> None:
    made = done(motion, "MCP", at=(moves("MCP", 0, 30),))["exercise.it"].motion
    assert made is not None
    assert made.there == there


def test_digits_with_other_stops_have_a_scene_each_that_of_the_repaired_first() -> None:
    stage = phase(
        moves("MCP", 0, 30, ("index", "middle")),
        moves("MCP", 0, 40, ("ring", "small")),
        does=exercise("active", ("MCP",)),
    )
    found = scenes(stage, "small")
    first, second = found["exercise.it"], found["exercise.it.2"]
    assert (first.digits, second.digits) == (("small", "ring"), ("index", "middle"))
    assert (ends(first), ends(second)) == ({"MCP": 40}, {"MCP": 30})


def test_the_splints_stop_bounds_what_a_position_lets_move() -> None:
    scene = done("active", "MCP", at=(moves("MCP", 0, 90),), flexion_limits={"middle": 30})
    assert ends(scene["exercise.it"]) == {"MCP": 30}
    assert scene["exercise.it"].motion.limit == 30  # type: ignore[union-attr]


def test_an_exercise_without_a_figure_is_a_soft_curl_marked_as_such() -> None:
    scene = done("active", "MCP", "PIP", "DIP")["exercise.it"]
    assert scene.easy == ("MCP", "PIP", "DIP")
    assert all(0 < at <= usual(joint, "middle")[1] / 2 for joint, at in scene.motion.end.degrees)  # type: ignore[union-attr]


def test_a_soft_curl_stays_before_the_splints_stop() -> None:
    scene = done("active", "MCP", flexion_limits={"middle": 30})["exercise.it"]
    assert ends(scene) == {"MCP": 30}


def test_a_range_of_one_angle_is_no_movement() -> None:
    assert "exercise.it" not in done("active", "MCP", at=(moves("MCP", 20, 20),))


def test_a_wrist_without_a_figure_goes_back_and_never_past_level() -> None:
    scene = done("wrist_active", "wrist", digits=())["exercise.it"]
    assert starts(scene)["wrist"] == 0
    assert ends(scene)["wrist"] < 0


@pytest.mark.parametrize("motion", ["passive_flexion", "place_and_hold", "combined_flexion"])
def test_another_hands_push_and_combined_bending_are_not_drawn_without_figures(motion: Any) -> None:
    assert "exercise.it" not in done(motion, "wrist", "MCP")


@pytest.mark.parametrize(("motion", "joint"), [("free_joint", "shoulder"), ("scar_massage", "MCP")])
def test_far_joints_and_the_scar_have_no_scene(motion: Any, joint: Any) -> None:
    assert "exercise.it" not in done(motion, joint)


@pytest.mark.parametrize("motion", MOTIONS)
def test_every_kind_of_motion_with_figures_is_drawn_by_them_or_left_out(motion: Any) -> None:
    at = (moves("wrist", -45, 0), moves("MCP", 0, 50), moves("PIP", 0, 60))
    found = done(motion, "wrist", "MCP", "PIP", at=at)
    if motion == "scar_massage":
        assert "exercise.it" not in found
        return
    scene = found["exercise.it"]
    between = {"wrist": (-45, 0), "MCP": (0, 50), "PIP": (0, 60)}
    assert scene.easy == ()
    for joint, (low, high) in between.items():
        assert {starts(scene)[joint], ends(scene)[joint]} == {low, high}


def test_a_joint_that_is_held_stays_while_the_others_move() -> None:
    at = (held("PIP", 0), moves("MCP", 0, 50))
    scene = done("active_extension", "MCP", "PIP", at=at)["exercise.it"]
    assert starts(scene)["PIP"] == ends(scene)["PIP"] == 0
    assert ("PIP", 0, 0) in scene.prescribed


def test_a_hook_frees_the_end_joints_and_holds_the_big_knuckles_straight() -> None:
    at = (held("PIP", 0), held("DIP", 0), moves("MCP", 0, 50))
    scene = done("active_ip_flexion", "PIP", "DIP", at=at)["exercise.it"]
    assert scene.easy == ("PIP", "DIP")
    assert starts(scene)["MCP"] == ends(scene)["MCP"] == 0
    assert ("MCP", 0, 0) in scene.prescribed


def test_a_splint_set_aside_for_exercise_is_not_drawn_on() -> None:
    assert done("active", "MCP", wear=ASIDE)["exercise.it"].worn is None


def test_words_to_keep_it_on_win_over_wear_that_lets_it_off() -> None:
    kept = done("active", "MCP", wear=ASIDE, with_splint="Keep the splint on.")
    assert kept["exercise.it"].worn == "splint"


def test_a_splint_for_the_night_holds_nothing_in_an_exercise_by_day() -> None:
    scene = done("active", "MCP", at=(held("wrist", -30),), wear=NIGHT)["exercise.it"]
    assert scene.worn is None
    assert scene.pose.at("wrist") is None


def test_the_thumb_is_drawn_with_its_own_joints() -> None:
    at = (held("CMC", -10, digits=("thumb",)), held("MCP", 0, digits=("thumb",)),
          held("IP", 0, digits=("thumb",)))  # fmt: skip
    found = scenes(phase(*at, splint=worn("splint", ("thumb",))), "thumb")
    assert starts(found["position"]) == {"CMC": -10, "MCP": 0, "IP": 0}


def test_thumb_and_fingers_of_one_exercise_have_a_scene_each() -> None:
    found = done("active", "MCP", "PIP", "DIP", "IP", digits=("thumb", *FINGERS))
    assert found["exercise.it"].digits[0] == "middle"
    assert found["exercise.it.2"].digits == ("thumb",)


def test_a_yoke_shows_the_finger_it_holds_beside_a_neighbour_at_its_own_angle() -> None:
    at = (held("MCP", 0, digits=("middle",)), held("MCP", 20, digits=("index", "ring", "small")))
    found = scenes(phase(*at, splint=worn("yoke", ("middle",))), "middle")
    assert found["position"].digits == ("middle",)
    assert found["position"].neighbours is not None
    assert found["position"].neighbours.at("MCP") == 20


def test_a_yoke_holds_a_finger_straighter_than_the_next_and_forbids_no_angle() -> None:
    stage = phase(held("MCP", 0, digits=("middle",)), splint=worn("yoke", ("middle",)))
    assert "forbidden" not in scenes(stage, "middle")


@pytest.mark.parametrize(
    ("kind", "there"),
    [(None, set()), ("plaster", set()), ("slab", {"pillow", "open_splint"}), ("yoke", {"pillow"}),
     ("splint", {"pillow", "open_splint"}), ("sling", {"pillow", "open_splint"})],
)  # fmt: skip
def test_trouble_is_shown_for_what_can_come_off(kind: Any, there: set[str]) -> None:
    found = scenes(phase(held("wrist", -30), held("MCP", 20), splint=worn(kind)), "middle")
    assert {"pillow", "open_splint"} & set(found) == there


def test_on_the_pillow_a_finger_that_a_band_held_lies_straight() -> None:
    stage = phase(held("wrist", -30), moves("MCP", 0, 30), band=band("MCP"), splint=worn("sling"))
    pillow = scenes(stage, "middle")["pillow"]
    assert ("MCP", 0, 0) in pillow.prescribed
    assert pillow.pose.at("MCP") == 0


def test_a_stage_without_positions_shows_only_which_fingers() -> None:
    assert set(scenes(phase(splint=worn("splint", ())), "middle")) == {"fingers"}


def test_nothing_is_forbidden_where_nothing_is_limited() -> None:
    assert "forbidden" not in scenes(phase(splint=worn(None)), "middle")


def test_a_held_knuckle_forbids_a_fist() -> None:
    forbidden = scenes(STATIC, "middle")["forbidden"]
    assert forbidden.prescribed == (("MCP", 20, 20),)
    assert forbidden.pose.at("MCP") == 90


def test_where_no_finger_is_limited_the_held_wrist_is_not_to_be_dropped() -> None:
    forbidden = scenes(phase(held("wrist", -45, -30)), "middle")["forbidden"]
    assert forbidden.prescribed == (("wrist", -45, -30),)
    assert (forbidden.pose.at("wrist") or 0) > 0


def test_a_joint_an_exercise_frees_is_not_forbidden() -> None:
    at = (held("PIP", 0), held("DIP", 0), moves("MCP", 0, 50))
    found = done("active_ip_flexion", "PIP", "DIP", at=at)["forbidden"]
    assert [joint for joint, _, _ in found.prescribed] == ["MCP"]


def stated(of: Phase, digit: Digit, joint: str) -> tuple[int, int] | None:
    """(straightest, most bent) of a joint over all its positions; read from the stage itself."""
    spans = [
        sorted((each.start.bent, each.end.bent))
        for each in of.positions
        if each.joint == joint and (joint == "wrist" or digit in each.digits)
    ]
    return (min(low for low, _ in spans), max(high for _, high in spans)) if spans else None


def allowed(of: Phase, scene: Scene) -> None:
    """No pose but the forbidden one leaves what the stage states, or passes a stop."""
    poses = [scene.pose, *([scene.motion.end] if scene.motion else [])]
    for digit in scene.digits:
        for joint, at in (pair for pose in poses for pair in pose.degrees):
            stop = of.limits.get(digit, 120) if joint == "MCP" else 120
            span = stated(of, digit, joint)
            # 0 and a soft curl may be added to a joint that an exercise frees.
            if span and joint not in scene.easy and (joint, 0, 0) not in scene.prescribed:
                assert min(span[0], stop) <= at <= min(span[1], stop), (scene.purpose, digit, joint)
            assert at <= stop


@pytest.mark.parametrize(("name", "of"), SHIPPED, ids=[name for name, _ in SHIPPED])
@pytest.mark.parametrize("repaired", [(), ("middle",), ("small", "thumb")])
def test_no_shipped_stage_shows_more_than_it_states(
    name: str, of: Phase, repaired: tuple[Digit, ...]
) -> None:
    for scene in scenes(of, *repaired).values():
        if scene.purpose != "forbidden":
            allowed(of, scene)


@pytest.mark.parametrize(("name", "of"), SHIPPED, ids=[name for name, _ in SHIPPED])
def test_a_forbidden_pose_is_seen_to_pass_what_it_breaks(name: str, of: Phase) -> None:
    for key, scene in scenes(of, "middle").items():
        if key.startswith("forbidden"):
            for joint, _, most in scene.prescribed:
                assert (scene.pose.at(joint) or 0) >= most + 30


@st.composite
def stages(draw: st.DrawFn) -> Phase:
    """Any positions, stops and exercise that a regime may hold, sensible or not."""
    degrees = st.integers(-60, 90) | st.integers(-120, 120)  # 120: the most a regime may state
    digits = st.sampled_from([FINGERS, ("middle",), ("thumb",), ("ring", "small")])
    joints = st.sampled_from(["wrist", "CMC", "MCP", "PIP", "DIP", "IP"])
    make = st.builds(
        lambda make, joint, a, b, on: make(joint, a, b, on),
        st.sampled_from([held, moves]), joints, degrees, degrees, digits,
    )  # fmt: skip
    unique = st.lists(make, max_size=6, unique_by=lambda each: each.joint)
    does = exercise(
        draw(st.sampled_from(MOTIONS)),
        tuple(draw(st.lists(joints, max_size=4, unique=True))),
        digits=draw(digits),
    )
    limits = draw(st.dictionaries(st.sampled_from(FINGERS), st.integers(20, 60), max_size=2))
    kind = draw(st.sampled_from(["splint", "yoke", "sling", "plaster", "slab", None]))
    return phase(*draw(unique), does=does, flexion_limits=limits, splint=worn(kind))


@settings(max_examples=150, deadline=None, derandomize=True)
@given(stages())
def test_no_stage_shows_more_than_it_states(of: Phase) -> None:
    for scene in scenes(of, "middle").values():
        assert set(dict(scene.pose.degrees)) <= {"wrist", *joints_of((*scene.digits, "index")[0])}
        if scene.purpose != "forbidden":
            allowed(of, scene)
