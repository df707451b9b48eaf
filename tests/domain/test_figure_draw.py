"""What a picture must look like in any pose: whole, harmless, mirrored, its splint where it is."""

from __future__ import annotations

import gzip
import re
import xml.etree.ElementTree as ET
from cmath import phase
from dataclasses import replace
from itertools import pairwise, product
from math import degrees
from pathlib import Path

import numpy as np
import pytest

from homeprog.domain.course import DIGITS, Digit, Joint, Worn, Zone
from homeprog.domain.figure import Motion, Scene, draw, strip
from homeprog.domain.figure.hand_model import RAYS
from homeprog.domain.figure.outline import Flesh, Limb
from homeprog.domain.figure.shell import cut, trough
from homeprog.domain.figure.skeleton import Chain
from tests.domain.figure_svg import Picture, crossings, points, turn
from tests.figures.synthetic import pose, scenes

CSS = Path(__file__).resolve().parents[2] / "static" / "css"
RULES = (CSS / "figure.css").read_text()
SVG = "{http://www.w3.org/2000/svg}"
WORDS = "Wrist: bent back 30 degrees. <Keep it on & rest>"
SCENES = scenes()
each_scene = pytest.mark.parametrize("name", SCENES)
# Wider than a healthy hand goes (e-hand.com/nor/nor002.htm; wrist 80 and the thumb's: from memory).
FINGER = ((-70, 80), (-45, 95), (0, 110), (-10, 80))
THUMB = ((-70, 80), (-20, 50), (-10, 60), (-20, 80))


def drawn(scene: Scene) -> str:
    return draw(
        scene, "Left hand, index finger", "Wrist: bent back 30 degrees. <Keep it on & rest>"
    )


def outline(picture: Picture, name: str) -> list[str]:
    return [each.get("d") for each in picture.classed(name)]


@each_scene
def test_a_picture_is_small_and_runs_nothing(name: str) -> None:
    for made in (drawn(SCENES[name]), strip(SCENES[name], "A", "B")):
        root = ET.fromstring(made)
        for element in root.iter():
            assert element.tag.removeprefix(SVG) in {
                "svg", "title", "desc", "g", "path", "circle", "text", "animate",
            }  # fmt: skip
            assert not {key for key in element.attrib if key.startswith("on") or key == "style"}
            assert "href" not in " ".join(element.attrib)
        assert len(gzip.compress(made.encode())) <= 6144


@each_scene
def test_two_pictures_on_one_page_share_no_id(name: str) -> None:
    both = [drawn(SCENES[name]), drawn(replace(SCENES[name], side="right"))]
    ids = [set(re.findall(r' id="([^"]+)"', made)) for made in both]
    assert ids[0]
    assert not ids[0] & ids[1]
    for made, own in zip(both, ids, strict=True):
        used = re.findall(r'labelledby="([^"]+)"', made)[0].split() + re.findall(
            r"(\w+)\.click", made
        )
        assert set(used) <= own


def test_the_words_are_read_as_words() -> None:
    root = ET.fromstring(drawn(SCENES["slab"]))
    assert root.findtext(f"{SVG}desc") == WORDS


@each_scene
def test_the_right_hand_is_the_left_one_in_a_mirror(name: str) -> None:
    left = Picture(drawn(SCENES[name]))
    right = Picture(drawn(replace(SCENES[name], side="right")))
    for one, other in zip(left.root.iter(f"{SVG}path"), right.root.iter(f"{SVG}path"), strict=True):
        assert one.get("class") == other.get("class")
        mirrored = points(other.get("d")) * [-1, 1]
        assert points(one.get("d")) == pytest.approx(mirrored, abs=0.11)


def test_each_hand_points_the_way_its_thumb_side_shows_it() -> None:
    """Seen from the thumb's side, back up, a left hand points right; and its thumb is in front."""
    for side, way in (("left", 1), ("right", -1)):
        at = Picture(drawn(replace(SCENES["wrist splint"], side=side))).joints("start")  # type: ignore[arg-type]
        assert way * (at["tip"] - at["wrist"])[0] > 100


def test_from_the_back_the_thumb_is_where_its_owner_sees_it() -> None:
    for side, way in (("left", 1), ("right", -1)):
        picture = Picture(drawn(replace(SCENES["which fingers"], side=side)))  # type: ignore[arg-type]
        tips = {
            dot.get("class").split()[1]: float(dot.get("cx")) for dot in picture.classed("j tip")
        }
        across = [way * tips[digit] for digit in ("small", "ring", "middle", "index", "thumb")]
        assert across == sorted(across)


def test_words_are_not_mirrored() -> None:
    for side in ("left", "right"):
        made = drawn(replace(SCENES["hook"], side=side))
        assert re.findall(r"<text[^>]*>(\d)</text>", made) == ["1", "2"]
        assert "transform" not in made


@pytest.mark.parametrize("digit", DIGITS)
def test_bones_never_cross_and_nothing_is_cut_off_at_the_extremes(digit: Digit) -> None:
    thumb = digit == "thumb"
    for bends in product(*(THUMB if thumb else FINGER)):
        at = pose(*bends, thumb=thumb)
        for worn in (None, "splint", "sling"):
            scene = Scene("position", "left", (digit,), at, worn=worn, held=("wrist",))
            picture = Picture(draw(scene, "", ""))
            assert all(crossings(chain) == 0 for chain in picture.chains())
            x0, y0, x1, y1 = picture.box()
            inside = picture.drawn()
            assert inside[:, 0].max() <= x1
            assert inside[:, 0].min() >= x0 - 10  # the forearm goes on past the edge
            assert y0 <= inside[:, 1].min() <= inside[:, 1].max() <= y1


def test_all_pictures_of_a_course_have_one_scale() -> None:
    wide = {
        Picture(drawn(each)).box()[2] - Picture(drawn(each)).box()[0] for each in SCENES.values()
    }
    assert len(wide) == 1


@pytest.mark.parametrize(
    ("held", "ends"),
    [(("wrist",), "MCP"), (("wrist", "MCP"), "PIP"), (("wrist", "MCP", "PIP"), "DIP")],
)
def test_a_splint_reaches_over_the_joints_it_holds_and_no_others(
    held: tuple[Joint, ...], ends: str
) -> None:
    """Laid out straight, it ends between the last joint it holds and the next."""
    scene = Scene("position", "left", ("index",), pose(0, 0, 0, 0), worn="splint", held=held)
    picture = Picture(draw(scene, "", ""))
    at, shell = picture.joints("start"), outline(picture, "shell")[0]
    right, left = points(shell)[:, 0].max(), points(shell)[:, 0].min()
    assert at[held[-1]][0] < right < at[ends][0]
    assert left < at["wrist"][0]


def test_a_splint_to_the_finger_tip_goes_past_it() -> None:
    picture = Picture(
        draw(replace(SCENES["splint to the finger tips"], pose=pose(0, 0, 0, 0)), "", "")
    )
    assert points(outline(picture, "shell")[0])[:, 0].max() > picture.joints("start")["tip"][0]


def test_no_strap_lies_over_a_finger_that_must_be_free_to_lift() -> None:
    """A plate under the fingers: the end joints are held straight on it, the knuckle is not."""
    start, end = pose(-45, 50, 0, 0), pose(-45, 0, 0, 0)
    lift = Motion(end, "MCP", 50, "patient", "patient")
    held: tuple[Joint, ...] = ("wrist", "PIP", "DIP")
    scene = Scene("exercise", "left", ("index",), start, motion=lift, worn="splint", held=held)
    picture = Picture(draw(scene, "", ""))
    knuckle = picture.joints("start")["MCP"][0]
    assert all(points(strap)[:, 0].max() < knuckle for strap in outline(picture, "strap"))
    assert points(outline(picture, "shell")[0])[:, 0].max() > picture.joints("start")["tip"][0]


@pytest.mark.parametrize("kind", ["splint", "slab", "plaster"])
def test_what_is_worn_differs_by_shape_and_not_by_colour_alone(kind: Worn) -> None:
    scene = replace(SCENES["splint to the end joints"], worn=kind)
    names = {each.get("class") for each in Picture(drawn(scene)).root.iter(f"{SVG}path")}
    own: dict[Worn, set[str]] = {
        "splint": {"shell", "strap"},
        "slab": {"stiff", "turn"},
        "plaster": {"pad", "grain"},
    }
    assert own[kind] <= names
    assert not any(other & names for key, other in own.items() if key != kind)


def test_the_way_shows_who_moves_it() -> None:
    """The band's arrow is dashed; where the other hand pushes, its finger is drawn."""
    assert re.search(r"\.arc\.band { [^}]*stroke-dasharray", RULES)
    assert not re.search(r"\.arc(\.patient|\.other_hand)? {[^}]*dasharray", RULES)
    picture = Picture(drawn(SCENES["thumb with a band"]))
    assert picture.classed("arc there patient")
    assert picture.classed("arc back band")
    assert not picture.classed("other-hand")
    assert Picture(drawn(SCENES["moved by the other hand"])).classed("other-hand")


FORBIDDEN = [name for name, scene in SCENES.items() if scene.purpose == "forbidden"]


@pytest.mark.parametrize("name", FORBIDDEN)
def test_what_must_not_be_is_struck_out_by_shape_and_stays_whole(name: str) -> None:
    """The cross lies on the arrow that passes the bar, outside the hand it forbids."""
    picture = Picture(drawn(SCENES[name]))
    (cross,), (past,) = outline(picture, "cross"), outline(picture, "past")
    assert cross.count("M") == 2
    middle = points(cross).mean(axis=0)
    assert min(np.hypot(*(points(past) - middle).T)) < 12
    skin = np.vstack([points(each) for each in outline(picture, "skin")])
    assert min(np.hypot(*(skin - middle).T)) > 14
    assert len(picture.classed("no-sign")) == 2  # a ring and its bar
    order = [each.get("class") for each in picture.root.iter() if each.get("class")]
    assert order.index("round") < order.index("skin")  # behind the hand


@pytest.mark.parametrize("name", FORBIDDEN)
def test_a_forbidden_way_begins_at_the_bar_and_ends_at_the_forbidden_pose(name: str) -> None:
    scene = SCENES[name]
    joint, _, most = scene.prescribed[0]
    picture = Picture(drawn(scene))
    at = picture.joints("start")
    before = at[joint] - at["forearm" if joint == "wrist" else "wrist"]
    bar, past = points(outline(picture, "edge")[0]), points(outline(picture, "past")[0])
    bent = [turn(before, end - at[joint]) for end in (bar[0], bar[1], past[0], past[-1])]
    assert bent == pytest.approx([most, most, most, scene.pose.at(joint)], abs=0.5)


@pytest.mark.parametrize("name", ["moved by the other hand", "thumb with a band"])
def test_a_stop_touches_the_tip_of_the_dashed_pose(name: str) -> None:
    picture = Picture(drawn(SCENES[name]))
    (bar,) = outline(picture, "limit")
    ghost = points(outline(picture, "ghost")[0])
    assert min(np.hypot(*(ghost - points(bar)[0]).T)) < 6


def test_a_wrist_takes_the_whole_hand_along_thumb_too() -> None:
    lift = Motion(pose(-50), "wrist", None, "patient", "patient")
    scene = Scene("exercise", "left", ("index",), pose(0), motion=lift)
    nails = 2
    assert len(Picture(drawn(scene)).classed("ghost")) == 3 + nails  # palm, finger, thumb


def test_beside_a_forbidden_wrist_no_second_thumb_looks_allowed() -> None:
    """The dashed hand there is the limit: with a thumb it was read as a hand that is allowed."""
    nails = 1
    ghosts = Picture(drawn(SCENES["forbidden bent wrist"])).classed("ghost")
    assert len(ghosts) == 2 + nails  # palm, finger


@pytest.mark.parametrize("name", ["slab", "slab with the thumb"])
def test_a_slabs_sleeve_is_shut_over_its_stiff_layer_and_wound(name: str) -> None:
    picture = Picture(drawn(SCENES[name]))
    wraps = outline(picture, "wrap")
    assert len(wraps) == 2  # hand and thumb
    assert all(shape.endswith("Z") for shape in wraps)
    assert outline(picture, "turn")[0].count("M") > 1  # wound


def test_as_many_fingers_are_seen_as_the_picture_stands_for() -> None:
    """One behind the next; more than three lines would crowd."""
    fingers: tuple[Digit, ...] = ("index", "middle", "ring", "small")
    for digits, behind in ((1, 0), (2, 1), (4, 2)):
        scene = replace(SCENES["wrist splint"], digits=fingers[:digits])
        assert len(Picture(drawn(scene)).classed("skin faint")) == behind


def test_every_joint_that_moves_is_marked() -> None:
    dots = Picture(drawn(SCENES["hook"])).classed("pivot")
    assert {dot.get("class").split()[1] for dot in dots} == {"PIP", "DIP"}


@pytest.mark.parametrize("digit", DIGITS)
def test_a_pointer_points_at_the_tip_of_the_mended_digit(digit: Digit) -> None:
    """Its point is the end nearest the tip, in line with the digit's last bone."""
    picture = Picture(drawn(replace(SCENES["which thumb"], repaired=(digit,), zone=None)))
    (mark,) = outline(picture, "mark")
    at = {dot.get("class").split()[2]: np.array([float(dot.get("cx")), float(dot.get("cy"))])
          for dot in picture.classed(f"j {digit}")}  # fmt: skip
    point, tail = points(mark)[0], points(mark)[[3, 4]].mean(axis=0)
    assert abs(turn(at["tip"] - at["2"], tail - point)) < 2
    assert np.hypot(*(point - at["tip"])) < np.hypot(*(tail - at["tip"]))


@pytest.mark.parametrize("zone", ["VI", "VII", "VIII"])
def test_dressings_of_two_wounds_do_not_lie_over_each_other(zone: Zone) -> None:
    scene = replace(SCENES["which thumb"], repaired=("index", "thumb"), zone=zone)
    middles = [points(each).mean(axis=0) for each in outline(Picture(drawn(scene)), "repair")]
    assert middles
    assert all(np.hypot(*(a - b)) > 22 for a, b in pairwise(middles))


def test_what_was_mended_has_another_colour_than_what_is_forbidden() -> None:
    for name in ("mark", "repair", "pad-mark", "chosen"):
        rules = re.findall(rf"\.{name} {{([^}}]*)}}", RULES)
        assert rules
        assert not any("attention" in rule for rule in rules)


def test_trouble_is_drawn_without_straps_over_the_hand() -> None:
    assert Picture(drawn(SCENES["pillow"])).classed("cushion")
    assert not Picture(drawn(SCENES["pillow"])).classed("worn")
    opened = Picture(drawn(SCENES["open splint"]))
    assert len(opened.classed("worn undone")) == 1
    order = [each.get("class") for each in opened.root.iter() if each.get("class")]
    assert max(n for n, each in enumerate(order) if each == "strap") < order.index("skin")  # behind


def test_every_line_of_a_film_has_the_same_commands() -> None:
    """Else a browser jumps from drawing to drawing in place of moving."""
    for scene in SCENES.values():
        for film in ET.fromstring(drawn(scene)).iter(f"{SVG}animate"):
            lines = film.get("values", "").split(";")
            assert len({re.sub(r"[^A-Z]", "", line) for line in lines}) == 1
            assert len({len(points(line)) for line in lines}) == 1
            assert len(film.get("keyTimes", "").split(";")) == len(lines)
            assert lines[0] == lines[-1]


def test_a_film_ends_by_itself_within_five_seconds() -> None:
    """WCAG 2.2.2: what moves by itself for longer must be stoppable."""
    for film in ET.fromstring(drawn(SCENES["hook"])).iter(f"{SVG}animate"):
        assert float(film.get("dur", "").removesuffix("s")) <= 5
        assert film.get("repeatCount") is None


def test_without_motion_both_poses_stand_there() -> None:
    picture = Picture(drawn(SCENES["hook"]))
    assert picture.classed("still")
    assert picture.classed("ghost")
    assert not any(True for group in picture.classed("still") for _ in group.iter(f"{SVG}animate"))
    calm = RULES[RULES.index("@media (prefers-reduced-motion: reduce), print") :]
    assert ".moving { display: none; }" in calm


def test_a_strip_shows_start_halfway_and_end() -> None:
    picture = Picture(strip(SCENES["moved by the other hand"], "A", "B"))
    assert len(picture.classed("frame")) == 3
    assert not list(picture.root.iter(f"{SVG}animate"))
    turned = []
    for which in ("start", "half", "end"):
        (group,) = picture.classed(f"bones {which}")
        at = {d.get("class").split()[1]: complex(float(d.get("cx")), float(d.get("cy")))
              for d in group.iter(f"{SVG}circle")}  # fmt: skip
        turned.append((at["tip"] - at["MCP"]) / (at["MCP"] - at["wrist"]))
    assert [degrees(phase(turn)) for turn in turned] == pytest.approx([0, 30, 60], abs=0.5)


def test_a_strip_is_read_from_left_to_right_with_an_arrow_in_each_gap() -> None:
    for side in ("left", "right"):
        picture = Picture(strip(replace(SCENES["hook"], side=side), "A", "B"))
        frames = [
            [points(each.get("d"))[:, 0] for each in group.iter(f"{SVG}path")]
            for group in picture.classed("frame")
        ]
        edges = [(min(map(min, x)), max(map(max, x))) for x in frames]
        steps = [points(d)[:, 0] for d in outline(picture, "step")]
        for (_, before), step, (after, _) in zip(edges[:-1], steps, edges[1:], strict=True):
            assert before < step.min() < step.max() < after


def test_the_hand_has_the_proportions_of_its_source() -> None:
    """Shares of hand length: Buchholz 1992, An 1979, as SanchoHandKinematicModel.h gives them."""
    shares = [RAYS["middle"].knuckle, *RAYS["middle"].bones]
    assert [each / 189 for each in shares] == pytest.approx([0.446, 0.2773, 0.170, 0.108], abs=5e-4)
    assert sum(shares) / 189 == pytest.approx(1, abs=0.002)  # wrist to tip is the hand's length


def test_a_trough_lies_outside_the_palm_side() -> None:
    bar = Limb(Chain(("a", "b"), (0j, 100 + 0j)), (Flesh((10, 10, 10), (10, 10, 10)),))
    edge = trough(cut(bar, (0, 0.2), (0, 0.8)), up=False)
    assert min(point.imag for point in edge) == pytest.approx(-14.5, abs=0.5)
    assert all(a != b for a, b in pairwise(edge))
