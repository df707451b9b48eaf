"""A scene seen from the thumb's side."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from ..course import Joint
from . import body, film, lines, motion, pull, surround, worn
from .hands import Hand, Hands
from .outline import smooth
from .scene import Motion, Pose, Scene
from .skeleton import Chain
from .svg import Pen

Layer = tuple[bool, Callable[[Pen, Hand], None]]  # whether it changes with the movement, drawing
# mm from joints that must not stand so to the ring behind them
RINGS: dict[Joint, float] = {"wrist": 48, "MCP": 32, "IP": 25}


class Sideways:
    """Draws one scene, layer by layer from the back to the front."""

    def __init__(self, scene: Scene) -> None:
        self.scene, self.hands = scene, Hands(scene)

    def whole(self, pen: Pen, key: str) -> None:
        """Everything: hand, goal, what is worn, and the movement."""
        scene, hand = self.scene, self.hands.at(0)
        if scene.purpose == "pillow":
            surround.pillow(pen, hand.arm)
        if scene.purpose == "forbidden":
            surround.ring(pen, *self._wrong(hand))
        past = self._past(hand)
        if past is not None:
            self._goal(pen, past[0], past[1].joint)
        if scene.motion is not None:
            self._goal(pen, self.hands.at(1), scene.motion.joint)
        for changes, draw in self._layers():
            if changes and scene.motion is not None:
                self._filmed(pen, draw, scene.motion, key)
            else:
                draw(pen, hand)
        if scene.worn == "yoke" and scene.holds:
            pull.yoke_end_on(pen, scene)
        self._bones(pen)
        if scene.motion is not None:
            motion.arcs(pen, self._way(scene.motion))
        if past is not None:
            surround.crossed(pen, self._wrong(hand)[0][0], self._too_far(hand).points[-1])
            surround.struck_out(pen, self._between(past[1], past[0], hand))

    def part(self, pen: Pen, number: int) -> None:
        """One of the three drawings of a strip: 0 the start, 1 halfway, 2 the end."""
        hand = self.hands.at(number / 2)
        for _, draw in self._layers():
            draw(pen, hand)
        lines.bones(pen, ("start", "half", "end")[number], self.hands.chains(hand))
        if self.scene.motion is None:
            return
        way = self._way(self.scene.motion)
        pen.open("way")
        if number == 0:
            way.there(pen)
        if number == 2:
            way.wall(pen)
            way.back(pen)
        pen.close()

    def _layers(self) -> Iterator[Layer]:
        scene, thumbs = self.scene, self.hands.of_thumb
        wrist = scene.motion is not None and scene.motion.joint == "wrist"
        if scene.neighbours is not None:
            yield False, self._beside
        if scene.purpose == "open_splint":
            yield False, self._undone
        if not thumbs and len(scene.digits) > 1:
            yield True, self._others
        yield wrist, self._arm
        if not thumbs:
            yield True, self._finger
        if worn.reach(scene) is not None:
            yield wrist, self._worn
        yield wrist or thumbs, self._thumb
        if worn.thumb_reach(scene) is not None:
            yield wrist or thumbs, self._thumb_piece
        if scene.band and scene.purpose != "open_splint":
            yield True, self._sling
        if scene.motion is not None and "other_hand" in (scene.motion.there, scene.motion.back):
            yield True, self._other_hand

    def _beside(self, pen: Pen, _: Hand) -> None:
        """The finger next to one in a yoke."""
        assert self.scene.neighbours is not None
        beside = self.hands.posed(self.scene.neighbours).arm
        lines.faint_finger(pen, beside)
        pull.yoke_over(pen, beside)

    def _arm(self, pen: Pen, hand: Hand) -> None:
        if self.hands.of_thumb:
            lines.faint_finger(pen, hand.arm)
        pen.curve("skin", body.arm_skin(hand.arm))

    def _others(self, pen: Pen, hand: Hand) -> None:
        lines.others(pen, hand.arm, self.scene)

    def _finger(self, pen: Pen, hand: Hand) -> None:
        skin = body.digit_skin(hand.arm, body.FINGER)
        pen.curve("skin", skin)
        if self.scene.purpose == "forbidden":  # a fist lies fold upon fold
            for bone in (body.FINGER + 1, body.FINGER + 2):
                pen.curve("skin", body.digit_skin(hand.arm, bone))
        pen.curve("nail", smooth(body.nail(hand.arm)))
        if self.scene.purpose != "forbidden":
            pen.lines("crease", *body.creases(hand.arm, body.FINGER + 1))
        if self.scene.worn == "yoke":
            pull.yoke_under(pen, hand.arm)

    def _thumb(self, pen: Pen, hand: Hand) -> None:
        """The thumb, in front; out of a hole where what is worn lets it pass."""
        scene, limb = self.scene, hand.thumb
        pen.curve("skin", body.digit_skin(limb, body.THUMB))
        pen.curve("nail", smooth(body.nail(limb)))
        pen.lines("crease", *body.creases(limb, body.THUMB + 2))
        if scene.worn is not None and worn.has_hole(scene):
            worn.collar(pen, limb, "splint" if scene.purpose == "open_splint" else scene.worn)

    def _thumb_piece(self, pen: Pen, hand: Hand) -> None:
        scene, over = self.scene, worn.thumb_reach(self.scene)
        if over is not None and scene.worn is not None:
            worn.thumb_piece(pen, hand.thumb, over, scene.worn, scene.purpose != "open_splint")

    def _worn(self, pen: Pen, hand: Hand) -> None:
        scene, over = self.scene, worn.reach(self.scene)
        if over is None:
            return
        limb, straps = self.hands.posed(worn.splinted(scene, hand.pose)).arm, worn.strapped(scene)
        if scene.purpose == "open_splint":
            worn.splint(pen, limb, over, (), up=False)
        elif scene.worn == "slab":
            worn.bandage(pen, limb, over)
        elif scene.worn == "plaster":
            worn.plaster(pen, limb, over)
        else:
            worn.splint(pen, limb, over, straps, up=scene.worn == "sling")

    def _sling(self, pen: Pen, hand: Hand) -> None:
        pulled, begun = self.hands.subject(hand), self.hands.begun(hand)
        pull.sling(pen, self.scene, hand.arm, pulled, begun)

    def _other_hand(self, pen: Pen, hand: Hand) -> None:
        moves = self.scene.motion
        assert moves is not None
        bends = (moves.end.at(moves.joint) or 0) > (self.scene.pose.at(moves.joint) or 0)
        limb = hand.arm if moves.joint == "wrist" else self.hands.subject(hand)
        pull.other_hand(pen, limb, moves.joint, bends == (moves.there == "other_hand"))

    def _undone(self, pen: Pen, hand: Hand) -> None:
        surround.undone(pen, hand.arm, worn.strapped(self.scene))

    def _goal(self, pen: Pen, end: Hand, moved: Joint) -> None:
        """Where the movement ends, dashed, with all that goes there."""
        pen.open("goal")
        if moved == "wrist":
            pen.curve("ghost", body.arm_skin(end.arm))
        limb = self.hands.subject(end)
        first = body.THUMB if self.hands.of_thumb else body.FINGER
        pen.curve("ghost", body.digit_skin(limb, first))
        if not (self.hands.of_thumb and self.scene.band):  # its loop lies there
            pen.curve("ghost", smooth(body.nail(limb)))
        over = worn.reach(self.scene)
        if moved == "wrist" and over is not None and self.scene.worn in ("splint", "sling"):
            pen.curve("ghost", worn.shell_of(end.arm, over, self.scene.worn == "sling"), shut=True)
        if moved == "wrist" and not self.hands.of_thumb and self.scene.motion is not None:
            pen.curve("ghost", body.digit_skin(end.thumb, body.THUMB))
            pen.curve("ghost", smooth(body.nail(end.thumb)))
        if self.scene.band and self.scene.purpose != "open_splint":
            pull.loop(pen, "ghost", self.scene, limb)
        pen.close()

    def _filmed(self, pen: Pen, draw: Callable[[Pen, Hand], None], moves: Motion, key: str) -> None:
        """A layer twice: still, and moving."""
        drawn = []
        for share in film.shares(moves, self.scene.pose):
            drawn.append(Pen(self.scene.side, places=int(share in (0, 1))))  # between: whole mm
            draw(drawn[-1], self.hands.at(share))
        pen.open("still")
        pen.include(drawn[0], drawn[0].parts)
        pen.close()
        pen.open("moving")
        pen.include(drawn[-1], film.film(drawn, key))
        pen.close()

    def _bones(self, pen: Pen) -> None:
        scene, hands = self.scene, self.hands
        lines.bones(pen, "start", hands.chains(hands.at(0)), self._turning())
        if scene.neighbours is not None:
            lines.bones(pen, "beside", [hands.posed(scene.neighbours).arm.chain])
        if scene.motion is not None:
            lines.bones(pen, "end", hands.chains(hands.at(1)))

    def _turning(self) -> set[str]:
        """Joints that the picture marks: all that move, or that stand as they must not."""
        scene = self.scene
        if scene.motion is None:
            return {span[0] for span in scene.prescribed if scene.purpose == "forbidden"}
        return {j for j, at in scene.motion.end.degrees if at != scene.pose.at(j)}

    def _way(self, moves: Motion) -> motion.Way:
        """The arcs of the movement."""
        return self._between(moves, self.hands.at(0), self.hands.at(1))

    def _between(self, moves: Motion, start: Hand, end: Hand) -> motion.Way:
        of_wrist = moves.joint == "wrist"
        one, other = (h.arm if of_wrist else self.hands.subject(h) for h in (start, end))
        first = body.THUMB if self.hands.of_thumb and not of_wrist else body.FINGER
        skins = (body.digit_skin(one, first)[::3], body.digit_skin(other, first)[::3])
        return motion.way_of(moves, (one, other), skins)

    def _wrong(self, hand: Hand) -> tuple[list[complex], float]:
        """Joints that stand as they must not, and the room a ring round them needs, mm."""
        chain, joints = self._too_far(hand), [span[0] for span in self.scene.prescribed]
        points = [chain.points[chain.names.index(joint)] for joint in joints]
        return points, RINGS.get(joints[0], RINGS["MCP"])

    def _too_far(self, hand: Hand) -> Chain:
        """The bones of which something stands as it must not."""
        of_wrist = "wrist" in (span[0] for span in self.scene.prescribed)
        return hand.arm.chain if of_wrist else self.hands.subject(hand).chain

    def _past(self, hand: Hand) -> tuple[Hand, Motion] | None:
        """The hand bent as far as it may, and the way from there to where it must not go."""
        scene = self.scene
        if scene.purpose != "forbidden":
            return None
        most = {joint: float(bent) for joint, _, bent in scene.prescribed}
        allowed = Pose(tuple((joint, most.get(joint, at)) for joint, at in scene.pose.degrees))
        joint = scene.prescribed[0][0]
        way = Motion(scene.pose, joint, most[joint], "patient", "patient")
        return self.hands.posed(allowed), way
