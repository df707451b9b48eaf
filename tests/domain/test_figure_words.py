"""The words of a picture: plain, whole, and of the same figures as the stage prescribes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from itertools import product
from typing import Any

import pytest

from homeprog.domain.course import Digit
from homeprog.domain.figure import Pose, Scene, describe
from homeprog.domain.regime import Phase
from homeprog.phrases import ENGLISH, phrases_of, shipped
from tests.domain.figure_cases import (
    band,
    exercise,
    held,
    moves,
    phase,
    scenes,
    worn,
)
from tests.domain.figure_cases import shipped as stages
from tests.domain.figure_told import told
from tests.domain.test_regime_texts import LATIN, LONGEST_SENTENCE, sentences
from tests.reading import grade

SAY = phrases_of(ENGLISH)
REPAIRED: tuple[tuple[Digit, ...], ...] = (("middle",), ("small", "thumb"))
SHIPPED = {
    name: (of, [s for digits in REPAIRED for s in scenes(of, *digits, zone="VI").values()])
    for name, of in stages()
}
every_stage = pytest.mark.parametrize(("of", "shown"), SHIPPED.values(), ids=SHIPPED)


def words(scene: Scene) -> str:
    return describe(scene, SAY)[1]


def poses(scene: Scene) -> list[Pose]:
    """The pose, and where it goes."""
    return [scene.pose, *([scene.motion.end] if scene.motion else [])]


def of_exercise(motion: Any, *joints: Any, at: Any = (), **more: Any) -> str:
    """The description of an exercise of the middle finger."""
    does = exercise(motion, joints, digits=("middle",))
    return words(scenes(phase(*at, does=does, **more), "middle")["exercise.it"])


@every_stage
def test_every_scene_has_a_title_that_names_the_hand_first(of: Phase, shown: list[Scene]) -> None:
    assert all(describe(scene, SAY)[0].startswith("Left hand") for scene in shown)


@every_stage
def test_a_scene_is_told_in_short_plain_words(of: Phase, shown: list[Scene]) -> None:
    for scene in shown:
        title, description = describe(scene, SAY)
        assert max(map(len, sentences(description))) <= LONGEST_SENTENCE, description
        assert not LATIN.search(f"{title} {description}")
        assert "figure." not in f"{title} {description}"  # a phrase that is not there
        assert "{" not in f"{title} {description}"  # a hole left open
        assert not re.search(r"[-−]\d", description)


def test_the_descriptions_together_read_at_grade_6_or_below() -> None:
    said = " ".join(sorted({words(scene) for _, shown in SHIPPED.values() for scene in shown}))
    assert grade(said) <= 6


@every_stage
def test_nothing_that_is_not_prescribed_is_named(of: Phase, shown: list[Scene]) -> None:
    positions = {each.joint for each in of.positions} | set(of.band.joints if of.band else ())
    for scene in shown:
        does = [each for each in of.exercises if scene.purpose == "exercise"]
        hook = {"MCP"} if any(each.motion == "active_ip_flexion" for each in does) else set()
        named = {each.joint for each in told(words(scene))}
        assert named <= positions | hook | {joint for each in does for joint in each.joints}


@every_stage
def test_every_number_told_stands_in_the_stage(of: Phase, shown: list[Scene]) -> None:
    stands = {0, *of.limits.values()}
    stands |= {angle.degrees for each in of.positions for angle in (each.start, each.end)}
    numbers = {number for scene in shown for number in re.findall(r"\d+", words(scene))}
    assert set(map(int, numbers)) <= stands


@every_stage
def test_what_is_told_is_the_scenes_own_figures(of: Phase, shown: list[Scene]) -> None:
    for scene in shown:
        ends = [dict(pose.degrees) for pose in poses(scene)]
        for each in told(words(scene)):
            if each.kind in ("held", "free"):
                span = (each.joint, min(each.degrees), max(each.degrees))
                assert span in (*scene.prescribed, *scene.free)
            if each.kind == "moves":
                assert each.degrees == tuple(end[each.joint] for end in ends)  # type: ignore[index]


@every_stage
def test_all_that_is_held_moves_or_is_broken_is_told(of: Phase, shown: list[Scene]) -> None:
    for scene in (each for each in shown if each.purpose != "fingers"):
        end = scene.motion.end if scene.motion else scene.pose
        moving = {joint for joint, at in scene.pose.degrees if end.at(joint) != at}
        due = moving | {span[0] for span in (*scene.prescribed, *scene.free)}
        assert due <= {each.joint for each in told(words(scene))}


@pytest.mark.parametrize(
    ("low", "high", "joint", "said"),
    [
        (-45, -30, "wrist", "Wrist: bent back 30 to 45 degrees."),
        (-30, -30, "wrist", "Wrist: bent back 30 degrees."),
        (10, 20, "wrist", "Wrist: bent forward 10 to 20 degrees."),
        (-10, 20, "wrist", "Wrist: from 10 back to 20 degrees forward."),
        (0, 0, "wrist", "Wrist: straight."),
        (20, 20, "MCP", "Big knuckles: bent 20 degrees."),
        (1, 1, "MCP", "Big knuckles: bent 1 degree."),
        (-5, 5, "MCP", "Big knuckles: from 5 back to 5 degrees bent."),
        (0, 0, "PIP", "Middle joints: straight."),
    ],
)
def test_a_held_joint_is_told_as_a_number_beside_its_word(
    low: int, high: int, joint: Any, said: str
) -> None:
    assert said in words(scenes(phase(held(joint, low, high)), "middle")["position"])


@pytest.mark.parametrize(
    ("joint", "start", "end", "motion", "said"),
    [
        ("MCP", 0, 30, "active", "Big knuckle: bend from 0 to 30 degrees. Stop at 30 degrees."),
        ("MCP", 0, 50, "active_extension",
         "Big knuckle: straighten from 50 to 0 degrees. Do not bend past 50 degrees."),
        ("wrist", -45, 0, "wrist_active",
         "Wrist: move from 45 degrees back to straight. Stop when straight."),
        ("wrist", -30, 20, "wrist_active",
         "Wrist: move from 30 back to 20 degrees forward. Stop at 20 degrees forward."),
    ],
)  # fmt: skip
def test_a_movement_is_told_from_where_to_where_and_its_stop(
    joint: Any, start: int, end: int, motion: Any, said: str
) -> None:
    assert said in of_exercise(motion, joint, at=(moves(joint, start, end, ("middle",)),))


@pytest.mark.parametrize(
    ("motion", "said"),
    [
        ("active_flexion_against_band", "You bend. The band lifts."),
        ("active", "You bend. You straighten."),
        ("passive_flexion", "Your other hand bends it. The band lifts."),
        ("place_and_hold", "Your other hand moves it. You bring it back."),
    ],
)
def test_who_does_the_work_is_told(motion: Any, said: str) -> None:
    at = (moves("MCP", 0, 30, ("middle",)),)
    assert said in of_exercise(motion, "MCP", at=at, band=band("MCP"))


@pytest.mark.parametrize(
    ("motion", "told"),
    [
        ("active_flexion_against_band", 1),
        ("passive_flexion", 1),
        ("active", 0),
        ("place_and_hold", 0),
    ],
)
def test_the_kinds_of_arrow_are_told_where_the_band_has_one(motion: Any, told: int) -> None:
    at = (moves("MCP", 0, 30, ("middle",)),)
    said = of_exercise(motion, "MCP", at=at, band=band("MCP"))
    assert said.count("Solid arrow: you move. Dashed arrow: the band moves.") == told


def test_what_has_no_figure_is_told_without_one() -> None:
    said = of_exercise("active", "MCP", "PIP")
    assert "Bend: big knuckle and middle joint. Go only as far as is easy." in said
    assert "Your plan gives no angle for this." in said
    assert not re.search(r"\d", said)


def test_a_soft_curl_before_a_stop_tells_the_stop() -> None:
    said = of_exercise("active", "MCP", flexion_limits={"middle": 30})
    assert "Stop at 30 degrees." in said


def test_a_splint_is_told_by_how_far_it_reaches() -> None:
    still = (held("wrist", -30), held("MCP", 20), held("PIP", 0), held("DIP", 0))
    said = words(scenes(phase(*still), "middle")["position"])
    assert "It reaches from the forearm to the fingertips." in said


def test_the_reach_is_unsaid_where_the_fingers_it_holds_have_no_position() -> None:
    assert "reaches" not in words(scenes(phase(held("wrist", -30)), "middle")["position"])


def test_a_pose_that_is_forbidden_is_told_by_its_bound() -> None:
    forbidden = scenes(phase(moves("MCP", 0, 30), held("wrist", -30)), "middle")["forbidden"]
    assert words(forbidden) == "Do not do this. Big knuckles: never bent past 30 degrees."


def test_a_yoke_tells_which_finger_it_holds_straighter_and_its_neighbour() -> None:
    at = (held("MCP", 0, digits=("middle",)), held("MCP", 20, digits=("index", "ring", "small")))
    said = words(scenes(phase(*at, splint=worn("yoke", ("middle",))), "middle")["position"])
    assert "The yoke holds straighter: middle finger." in said
    assert "The finger next to it, big knuckle: bent 20 degrees." in said


def test_from_the_back_it_tells_which_are_mended_held_and_moved() -> None:
    stage = phase(does=exercise("active", ("MCP",), digits=("middle", "ring")))
    said = words(scenes(stage, "middle", side="right")["fingers"])
    assert "Mended: middle finger. Held: all four fingers." in said
    assert "For exercise: middle finger and ring finger." in said


def test_the_same_scene_of_the_right_hand_differs_only_in_its_hand() -> None:
    left = describe(scenes(phase(held("MCP", 20)), "middle")["position"], SAY)
    right = describe(scenes(phase(held("MCP", 20)), "middle", side="right")["position"], SAY)
    assert right == (left[0].replace("Left hand", "Right hand"), left[1])


def test_every_phrase_of_the_pictures_is_used() -> None:
    asked: set[str] = set()

    def listen(key: str, holes: Any) -> str:
        asked.add(key)
        return SAY(key, holes)

    for scene in every_kind():
        describe(scene, listen)
    there = {key for key in shipped(ENGLISH) if key.startswith("figure.")}
    assert there == {key for key in asked if key.startswith("figure.")}


def every_kind() -> list[Scene]:
    """Scenes of every motion, joint, sign and thing worn."""
    ours = (shown for _, shown in SHIPPED.values())
    return [scene for of in (*ours, *swept(), *reaching(), *by_others()) for scene in of]


def swept() -> Iterator[Iterable[Scene]]:
    """Joints held and moved between angles of either sign, in every direction."""
    angles = (-30, -20, 0, 10, 20)
    kinds: tuple[Any, ...] = ("wrist_active", "active", "active_extension", "place_and_hold")
    joints: tuple[Any, ...] = ("wrist", "MCP")
    for joint, start, end, kind, make in product(joints, angles, angles, kinds, (held, moves)):
        does = exercise(kind, (joint,))
        yield scenes(phase(make(joint, start, end), does=does), "middle").values()


def reaching() -> Iterator[Iterable[Scene]]:
    """Splints of every length, of fingers and of the thumb."""
    still = [held("wrist", -30), held("MCP", 0), held("PIP", 0), held("DIP", 0)]
    thumb: list[Any] = [held(joint, 0, digits=("thumb",)) for joint in ("CMC", "MCP", "IP")]  # type: ignore[arg-type]
    for reach in range(1, 5):
        yield scenes(phase(*still[:reach]), "middle").values()
        on_thumb = (still[0], *thumb[: reach - 1])
        yield scenes(phase(*on_thumb, splint=worn("plaster", ("thumb",))), "thumb").values()


def by_others() -> Iterator[Iterable[Scene]]:
    """A yoke, another's hand against a band, and lifting without a figure."""
    yoke = (held("MCP", 0, digits=("middle",)), held("MCP", 20, digits=("index", "ring")))
    yield scenes(phase(*yoke, splint=worn("yoke", ("middle",))), "middle").values()
    pushed = exercise("passive_flexion", ("MCP",))
    yield scenes(phase(moves("MCP", 0, 30), does=pushed, band=band("MCP")), "middle").values()
    yield scenes(phase(does=exercise("active_extension", ("MCP",))), "middle").values()
