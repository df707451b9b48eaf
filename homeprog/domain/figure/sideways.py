"""A scene seen from the thumb's side."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from ..course import Joint
from . import body, film, motion, pull, surround, worn
from .hands import Hand, Hands
from .outline import smooth
from .scene import Motion, Scene
from .skeleton import Chain
from .svg import Pen

Layer = tuple[bool, Callable[[Pen, Hand], None]]  # whether it changes with the movement, drawing


class Sideways:
    """Draws one scene, layer by layer from the back to the front."""

    def __init__(self, scene: Scene) -> None:
        self.scene, self.hands = scene, Hands(scene)

    def whole(self, pen: Pen, key: str) -> None:
        """Everything: hand, goal, what is worn, and the movement."""
        scene, hand = self.scene, self.hands.at(0)
        if scene.purpose == "pillow":
            surround.pillow(pen, hand.arm)
        if scene.motion is not None:
            self._goal(pen, self.hands.at(1), scene.motion.joint)
        for changes, draw in self._layers():
            if changes and scene.motion is not None:
                self._filmed(pen, draw, scene.motion, key)
            else:
                draw(pen, hand)
        self._bones(pen)
        if scene.motion is not None:
            motion.arcs(pen, self._way(scene.motion))
        if scene.purpose == "forbidden":
            surround.forbid(pen, self._broken(hand))

    def part(self, pen: Pen, number: int) -> None:
        """One of the three drawings of a strip: 0 the start, 1 halfway, 2 the end."""
        hand = self.hands.at(number / 2)
        for _, draw in self._layers():
            draw(pen, hand)
        _bones(pen, ("start", "half", "end")[number], self.hands.chains(hand))
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

    def _beside(self, pen: Pen, _: Hand) -> None:
        """The finger next to one in a yoke."""
        assert self.scene.neighbours is not None
        beside = self.hands.posed(self.scene.neighbours).arm
        pen.curve("skin quiet", body.digit_skin(beside, body.FINGER))
        pull.yoke_over(pen, beside)

    def _arm(self, pen: Pen, hand: Hand) -> None:
        if self.hands.of_thumb:
            pen.curve("skin quiet", body.digit_skin(hand.arm, body.FINGER))
        pen.curve("skin", body.arm_skin(hand.arm))

    def _finger(self, pen: Pen, hand: Hand) -> None:
        pen.curve("skin", body.digit_skin(hand.arm, body.FINGER))
        pen.curve("nail", smooth(body.nail(hand.arm)))
        pen.lines("crease", *body.creases(hand.arm, body.FINGER + 1))
        if self.scene.worn == "yoke":
            pull.yoke_under(pen, hand.arm)

    def _thumb(self, pen: Pen, hand: Hand) -> None:
        """The thumb, in front; out of a hole where a splint along the palm lets it pass."""
        scene, limb = self.scene, hand.thumb
        along_palm = scene.worn != "sling" or scene.purpose == "open_splint"
        hole = along_palm and worn.reach(scene) is not None
        pen.curve("skin", body.digit_skin(limb, body.THUMB, round_base=hole), shut=hole)
        pen.curve("nail", smooth(body.nail(limb)))
        pen.lines("crease", *body.creases(limb, body.THUMB + 2))

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
            surround.undone(pen, limb, straps)
        elif scene.worn == "slab":
            worn.bandage(pen, limb, over)
        elif scene.worn == "plaster":
            worn.plaster(pen, limb, over)
        else:
            worn.splint(pen, limb, over, straps, up=scene.worn == "sling")

    def _sling(self, pen: Pen, hand: Hand) -> None:
        pulled, begun = self.hands.subject(hand), self.hands.begun(hand)
        pull.sling(pen, self.scene, hand.arm, pulled, begun)

    def _goal(self, pen: Pen, end: Hand, moved: Joint) -> None:
        """Where the movement ends, dashed."""
        pen.open("goal")
        if moved == "wrist":
            pen.curve("ghost", body.arm_skin(end.arm))
        first = body.THUMB if self.hands.of_thumb else body.FINGER
        pen.curve("ghost", body.digit_skin(self.hands.subject(end), first))
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
        pivot = scene.motion.joint if scene.motion else None
        _bones(pen, "start", hands.chains(hands.at(0)), pivot)
        if scene.neighbours is not None:
            _bones(pen, "beside", [hands.posed(scene.neighbours).arm.chain])
        if scene.motion is not None:
            _bones(pen, "end", hands.chains(hands.at(1)))

    def _way(self, moves: Motion) -> motion.Way:
        """The arcs of the movement."""
        start, end = self.hands.at(0), self.hands.at(1)
        if moves.joint == "wrist":
            return motion.way_of(moves, start.arm, end.arm)
        return motion.way_of(moves, self.hands.subject(start), self.hands.subject(end))

    def _broken(self, hand: Hand) -> list[complex]:
        """Joint centres of what stands where it must not: from the first joint that does."""
        joints = [span[0] for span in self.scene.prescribed]
        chain = hand.arm.chain if "wrist" in joints else self.hands.subject(hand).chain
        first = min((chain.names.index(j) for j in joints if j in chain.names), default=2)
        return list(chain.points[first:])


def _bones(pen: Pen, which: str, chains: list[Chain], pivot: str | None = None) -> None:
    """Joint centres and the bones between them; the joint a movement turns about is shown."""
    pen.open(f"bones {which}")
    for chain in chains:
        pen.lines("axis", chain.points)
        for name, point in zip(chain.names, chain.points, strict=True):
            if (name, chain.names[0]) != ("wrist", "wrist"):  # the arm has its own
                pen.dot(f"j {name}{' pivot' if name == pivot else ''}", point, 1.6)
    pen.close()
