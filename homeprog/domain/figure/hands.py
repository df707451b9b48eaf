"""The hand of a scene, at any share of its movement."""

from __future__ import annotations

from dataclasses import dataclass

from ..course import Digit, Joint
from . import body
from .outline import Limb
from .scene import Pose, Scene
from .skeleton import THUMB_ANGLES, Chain, between, clearance

ROOM = 21.0  # mm between the lines of a finger and of a loose thumb that does not hide it
ASLANT = 0.84  # of a loose thumb's length shows: it points partly at the viewer
LOOSE = Pose((("MCP", 24.0), ("PIP", 30.0), ("DIP", 14.0)))  # fingers behind a thumb; by eye

RAISED = Pose((("MCP", -6.0), ("PIP", 12.0), ("DIP", 6.0)))  # clear of a band on it; by eye
NEARLY_STRAIGHT: dict[Joint, float] = {"MCP": 4, "PIP": 4, "DIP": 2}  # no figure prescribed; by eye


@dataclass(frozen=True, slots=True)
class Hand:
    """Arm and thumb in one pose."""

    pose: Pose
    arm: Limb
    thumb: Limb


class Hands:
    """The poses of one scene as hands."""

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        self.of_thumb = scene.digits[0] == "thumb"  # the thumb is what the scene is about
        self.digit: Digit = "index" if self.of_thumb else scene.digits[0]
        # Where a bar stands at a stop, the finger goes straight up to it.
        self._stops = not self.of_thumb and (
            scene.purpose == "forbidden"
            or (scene.motion is not None and scene.motion.limit is not None)
        )
        self._thumb = Pose((("CMC", 0.0 if self.of_thumb else self._thumb_out()),))

    def at(self, share: float) -> Hand:
        """A share of the way through the movement."""
        pose = self.scene.pose
        if self.scene.motion is not None and share:
            pose = between(pose, self.scene.motion.end, share)
        return self.posed(pose)

    def posed(self, pose: Pose) -> Hand:
        """This hand in another pose."""
        if self._stops:
            pose = Pose(tuple(({**NEARLY_STRAIGHT, **dict(pose.degrees)}).items()))
        if not self.of_thumb:
            arm = body.arm(pose, self.digit)
            return Hand(pose, arm, body.thumb(self._thumb, arm.chain.bone(1), ASLANT))
        wrist = tuple(each for each in pose.degrees if each[0] == "wrist")
        loose = RAISED if self.scene.band else LOOSE
        arm = body.arm(Pose(wrist + loose.degrees), self.digit)
        return Hand(pose, arm, body.thumb(pose, arm.chain.bone(1)))

    def subject(self, hand: Hand) -> Limb:
        """The limb with the digit that the scene is about."""
        return hand.thumb if self.of_thumb else hand.arm

    def begun(self, hand: Hand) -> Limb:
        """That limb as it stands at the start, on the palm as it lies now."""
        start = dict(self.scene.pose.degrees)
        wrist = hand.pose.at("wrist")
        if wrist is not None:
            start["wrist"] = wrist
        return self.subject(self.posed(Pose(tuple(start.items()))))

    def chains(self, hand: Hand) -> list[Chain]:
        """What the outline is drawn round: of a finger one chain, of a thumb the arm's and its."""
        if not self.of_thumb:
            return [hand.arm.chain]
        arm = Chain(("forearm", "wrist", "knuckle"), hand.arm.chain.points[:3])
        return [arm, hand.thumb.chain]

    def _thumb_out(self) -> float:
        """Degrees at the base of a loose thumb at which it hides the finger least."""
        scene = self.scene
        poses = [scene.pose, *((scene.motion.end,) if scene.motion else ())]
        chains = [body.arm(pose, self.digit).chain for pose in poses]

        def room(angle: float) -> float:
            rest = Pose((("CMC", angle),))
            thumbs = [body.thumb(rest, chain.bone(1), ASLANT).chain for chain in chains]
            return min(clearance(a, b) for a, b in zip(chains, thumbs, strict=True))

        fits = next((angle for angle in THUMB_ANGLES if room(angle) > ROOM), None)
        return max(THUMB_ANGLES, key=room) if fits is None else fits
