"""A scene seen from the thumb's side."""

from __future__ import annotations

from dataclasses import dataclass

from ..course import Digit, Joint
from . import body, film, motion, pull, surround, worn
from .outline import Limb, smooth
from .scene import Motion, Pose, Scene
from .skeleton import THUMB_ANGLES, Chain, between, clearance
from .svg import Pen

ROOM = 21.0  # mm between the lines of a finger and of a loose thumb that does not hide it
LOOSE = Pose((("MCP", 24.0), ("PIP", 30.0), ("DIP", 14.0)))  # fingers behind a thumb; by eye


class Sideways:
    """Draws one scene, at any share of its movement."""

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        self.thumbs = scene.digits[0] == "thumb"
        self.rest = Pose((("CMC", self._thumb_out()),))

    def whole(self, pen: Pen, key: str) -> None:
        """Everything: hand, ghost, what is worn, and the movement."""
        scene = self.scene
        hand = self.at(0)
        if scene.purpose == "pillow":
            surround.pillow(pen, hand.arm)
        if scene.motion is not None:
            self._ghost(pen, self.at(1), scene.motion.joint)
            self._filmed(pen, key)
        else:
            self.frame(pen, 0)
        pivot = scene.motion.joint if scene.motion else None
        _bones(pen, "start", self._chains(hand), pivot)
        if scene.neighbours is not None:
            beside = body.arm(scene.neighbours, self._finger())
            _bones(pen, "beside", [beside.chain])
        if scene.motion is not None:
            _bones(pen, "end", self._chains(self.at(1)))
            motion.arcs(pen, self.way(scene.motion))
        if scene.purpose == "forbidden":
            surround.forbid(pen, self._broken(hand))

    def _broken(self, hand: Hand) -> list[complex]:
        """Joint centres of what stands where it must not: from the first joint that does."""
        joints = [span[0] for span in self.scene.prescribed]
        wrist = "wrist" in joints or not joints
        chain = hand.thumb.chain if self.thumbs and not wrist else hand.arm.chain
        first = min((chain.names.index(j) for j in joints if j in chain.names), default=2)
        return list(chain.points[first:])

    def part(self, pen: Pen, number: int) -> None:
        """One of the three drawings of a strip: 0 the start, 1 halfway, 2 the end."""
        self.frame(pen, number / 2)
        _bones(pen, ("start", "half", "end")[number], self._chains(self.at(number / 2)))
        if self.scene.motion is not None:
            way = self.way(self.scene.motion)
            pen.open("way")
            if number == 0:
                way.there(pen)
            if number == 2:
                way.wall(pen)
                way.back(pen)
            pen.close()

    def way(self, moves: Motion) -> motion.Way:
        """The arcs of the movement."""
        hands = self.at(0), self.at(1)
        wrist = moves.joint == "wrist"
        start, end = (h.thumb if self.thumbs and not wrist else h.arm for h in hands)
        return motion.way_of(moves, start, end)

    def frame(self, pen: Pen, share: float) -> None:
        """The hand with what is worn, a share of the way through its movement."""
        scene, hand = self.scene, self.at(share)
        start = self._start_with(hand)
        if scene.neighbours is not None:
            self._beside(pen, scene.neighbours)
        pen.curve("skin quiet" if self.thumbs else "skin", body.digit_skin(hand.arm, body.FINGER))
        pen.curve("skin", body.arm_skin(hand.arm))
        if not self.thumbs:
            self._finger_skin(pen, hand.arm)
        if scene.worn == "yoke" and not self.thumbs:
            pull.yoke_under(pen, hand.arm)
        self._worn(pen, hand)
        self._thumb_skin(pen, hand)
        if scene.band and scene.purpose != "open_splint":
            pulled = hand.thumb if self.thumbs else hand.arm
            pull.sling(pen, scene, hand.arm, pulled, start)

    def at(self, share: float) -> Hand:
        """Arm and thumb a share of the way through the movement."""
        scene = self.scene
        pose = scene.pose
        if scene.motion is not None and share:
            pose = between(pose, scene.motion.end, share)
        return self._hand(pose)

    def _hand(self, pose: Pose) -> Hand:
        wrist = tuple(each for each in pose.degrees if each[0] == "wrist")
        if self.thumbs:
            arm = body.arm(Pose(wrist + LOOSE.degrees), "index")
            return Hand(pose, arm, body.thumb(pose, arm.chain.bone(1)))
        arm = body.arm(pose, self._finger())
        return Hand(pose, arm, body.thumb(self.rest, arm.chain.bone(1), 0.84))

    def _finger(self) -> Digit:
        return "index" if self.thumbs else self.scene.digits[0]

    def _start_with(self, hand: Hand) -> Limb:
        """The pulled digit as it stands at the start, on the hand as it stands now."""
        wrist = hand.pose.at("wrist")
        start = dict(self.scene.pose.degrees)
        if wrist is not None:
            start["wrist"] = wrist
        then = self._hand(Pose(tuple(start.items())))
        return then.thumb if self.thumbs else then.arm

    def _finger_skin(self, pen: Pen, arm: Limb) -> None:
        pen.curve("skin", body.digit_skin(arm, body.FINGER))
        pen.curve("nail", smooth(body.nail(arm)))
        pen.lines("crease", *body.creases(arm, body.FINGER + 1))

    def _thumb_skin(self, pen: Pen, hand: Hand) -> None:
        """The thumb, in front; out of a hole where the splint passes it."""
        scene, limb = self.scene, hand.thumb
        palmar = scene.worn not in (None, "sling") or scene.purpose == "open_splint"
        hole = palmar and worn.reach(scene) is not None
        pen.curve("skin", body.digit_skin(limb, body.THUMB, round_base=hole), shut=hole)
        pen.curve("nail", smooth(body.nail(limb)))
        pen.lines("crease", *body.creases(limb, body.THUMB + 2))
        over = worn.thumb_reach(scene)
        if over is not None and scene.worn is not None:
            worn.thumb_piece(pen, limb, over, scene.worn, scene.purpose != "open_splint")

    def _worn(self, pen: Pen, hand: Hand) -> None:
        scene = self.scene
        limb, over = self._hand(worn.splinted(scene, hand.pose)).arm, worn.reach(scene)
        if over is None or scene.worn is None:
            return
        if scene.purpose == "open_splint":
            worn.splint(pen, limb, over, (), up=False)
            surround.undone(pen, limb, worn.strapped(scene, over))
        elif scene.worn == "slab":
            worn.bandage(pen, limb, over)
        elif scene.worn == "plaster":
            worn.plaster(pen, limb, over)
        else:
            straps = worn.strapped(scene, over)
            worn.splint(pen, limb, over, straps, up=scene.worn == "sling")

    def _beside(self, pen: Pen, pose: Pose) -> None:
        beside = body.arm(pose, self._finger())
        pen.curve("skin quiet", body.digit_skin(beside, body.FINGER))
        pull.yoke_over(pen, beside)

    def _ghost(self, pen: Pen, end: Hand, moved: Joint) -> None:
        pen.open("goal")
        if moved == "wrist":
            pen.curve("ghost", body.arm_skin(end.arm))
        if self.thumbs:
            pen.curve("ghost", body.digit_skin(end.thumb, body.THUMB))
        else:
            pen.curve("ghost", body.digit_skin(end.arm, body.FINGER))
        pen.close()

    def _filmed(self, pen: Pen, key: str) -> None:
        still = Pen(self.scene.side)
        self.frame(still, 0)
        pen.open("still")
        pen.include(still, still.parts)
        pen.close()
        drawn = []
        for share in film.shares():
            each = Pen(self.scene.side)
            self.frame(each, share)
            drawn.append(each)
        pen.open("moving")
        pen.include(drawn[-1], film.film(drawn, key))
        pen.close()

    def _chains(self, hand: Hand) -> list[Chain]:
        if not self.thumbs:
            return [hand.arm.chain]
        arm = hand.arm.chain
        return [Chain(("forearm", "wrist", "knuckle"), arm.points[:3]), hand.thumb.chain]

    def _thumb_out(self) -> float:
        """Degrees at the base of a loose thumb at which it hides the finger least."""
        scene = self.scene
        if scene.digits[0] == "thumb":
            return 0.0
        poses = [scene.pose, *((scene.motion.end,) if scene.motion else ())]
        chains = [body.arm(pose, scene.digits[0]).chain for pose in poses]

        def room(angle: float) -> float:
            rest = Pose((("CMC", angle),))
            thumbs = [body.thumb(rest, chain.bone(1), 0.84).chain for chain in chains]
            return min(clearance(a, b) for a, b in zip(chains, thumbs, strict=True))

        fits = next((angle for angle in THUMB_ANGLES if room(angle) > ROOM), None)
        return max(THUMB_ANGLES, key=room) if fits is None else fits


@dataclass(frozen=True, slots=True)
class Hand:
    """Arm and thumb in one pose."""

    pose: Pose
    arm: Limb
    thumb: Limb


def _bones(pen: Pen, which: str, chains: list[Chain], pivot: str | None = None) -> None:
    """Joint centres and the bones between them; the joint a movement turns about is shown."""
    pen.open(f"bones {which}")
    for chain in chains:
        pen.lines("axis", chain.points)
        for name, point in zip(chain.names, chain.points, strict=True):
            if name != "wrist" or chain.names[0] != "wrist":
                pen.dot(f"j {name}{' pivot' if name == pivot else ''}", point, 1.6)
    pen.close()
