"""A scene in the patient's words: made from the same scene as the drawing, so of the same figures.

`say` looks a phrase up by its key (`figure.*`, `hand.*` and `finger.*` of shared/phrases), fills
its holes, and picks the plural form by the hole `n`. Degrees are told as positive numbers beside
a word, never a sign.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ..course import DIGITS, Digit, Joint
from .angle_words import Say, angle, never_past, range_, stop_at
from .movement import ORDER
from .ranges import FINGERS
from .scene import Motion, Pose, Scene

TIPS: tuple[Joint, ...] = ("DIP", "IP", "PIP", "MCP", "CMC", "wrist")  # furthest first


def describe(scene: Scene, say: Say) -> tuple[str, str]:
    """(title, description) for a screen reader and for reading aloud, at most 12 words a sentence.

    What the regime does not state is drawn at rest and named nowhere.
    """
    words = _Words(scene, say)
    sentences = (f"{each[:1].upper()}{each[1:]}" for each in words.sentences())
    return words.title(), " ".join(sentences)


class _Words:
    """One scene, told."""

    def __init__(self, scene: Scene, say: Say) -> None:
        self.scene, self.say = scene, say

    def title(self) -> str:
        """Hand and fingers first, then what it shows."""
        purpose: str = self.scene.purpose
        if purpose == "position" and not (self.scene.prescribed or self.scene.band):
            purpose = "free"
        return self.say(f"figure.title.{purpose}", {"who": self._who()})

    def sentences(self) -> Iterator[str]:
        """The description, a sentence each; the first letter is not yet a capital."""
        yield from {
            "position": self._position,
            "fingers": self._fingers,
            "exercise": self._exercise,
            "forbidden": self._forbidden,
            "pillow": self._trouble,
            "open_splint": self._trouble,
        }[self.scene.purpose]()

    def _position(self) -> Iterator[str]:
        yield from self._worn()
        yield from self._held()
        yield from self._beside()
        for span in self.scene.free:
            yield self._line("figure.free", span[0], range=range_(self.say, *span))

    def _fingers(self) -> Iterator[str]:
        scene = self.scene
        yield self._plain("from_back")
        straighter = ".yoke" if scene.worn == "yoke" else ""
        yield from self._these("figure.repaired", scene.repaired)
        if scene.worn:
            yield from self._these(f"figure.holds{straighter}", scene.holds)
        yield from self._these("figure.moves", scene.digits)
        if scene.zone and scene.repaired:
            yield self._plain("marked")

    def _exercise(self) -> Iterator[str]:
        motion = self.scene.motion
        if motion is None:
            return
        yield from self._worn()
        yield from self._moving(motion)
        yield from self._easy(motion)
        yield self._power(motion)
        if "band" in (motion.there, motion.back):
            yield self._plain("arrows")
        if self.scene.prescribed:
            yield self._plain("still")
            yield from self._held()

    def _forbidden(self) -> Iterator[str]:
        yield self._plain("forbidden")
        for joint, _, most in self.scene.prescribed:
            yield self._line("figure.never", joint, past=never_past(self.say, joint, most))

    def _trouble(self) -> Iterator[str]:
        yield self._plain(self.scene.purpose)
        yield from self._held()
        yield self._plain("no_fist")

    def _worn(self) -> Iterator[str]:
        """What is worn, how far it reaches, its band and its yoke."""
        scene = self.scene
        if scene.worn is None:
            return
        yield self._plain(f"worn.{scene.worn}")
        if scene.motion is None:
            yield from self._reach()
        if scene.band and scene.motion is None:
            yield self.say("figure.band", {"joints": self._joints(scene.band)})
        if scene.worn == "yoke" and set(scene.digits) & set(scene.holds):
            yield from self._these("figure.yoke", scene.holds)

    def _reach(self) -> Iterator[str]:
        """How far it reaches; unsaid where the fingers it holds have no position."""
        scene = self.scene
        furthest = next((joint for joint in TIPS if joint in scene.held), None)
        unstated = furthest == "wrist" and scene.worn != "sling" and scene.digits[0] in scene.holds
        if furthest and "wrist" in scene.held and not unstated:
            yield self._plain(f"reach.{self._named(furthest)}")

    def _held(self) -> Iterator[str]:
        for span in self.scene.prescribed:
            yield self._line("figure.held", span[0], angle=angle(self.say, *span))

    def _beside(self) -> Iterator[str]:
        """The finger next to one in a yoke, where it is held otherwise."""
        beside, own = self.scene.neighbours or Pose(()), self.scene.pose
        for joint, at in beside.degrees:
            if at != own.at(joint):
                words = angle(self.say, joint, round(at), round(at))
                yield self._line("figure.beside", joint, angle=words)

    def _moving(self, motion: Motion) -> Iterator[str]:
        """From where to where, joint by joint, with the stop beside the joint it holds for."""
        for joint, start in self.scene.pose.degrees:
            end = motion.end.at(joint)
            if end is None or end == start or joint in self.scene.easy:
                continue
            way = range_(self.say, joint, round(start), round(end))
            yield self._line(f"figure.{_verb(joint, start, end)}", joint, range=way)
            if joint == motion.joint:
                yield from self._stop(motion, bends=end > start)

    def _easy(self, motion: Motion) -> Iterator[str]:
        """What moves as far as is easy: no figure is prescribed, so none is told."""
        if not self.scene.easy:
            return
        joints = tuple(joint for joint in ORDER if joint in self.scene.easy)
        first, start = joints[0], self.scene.pose.at(joints[0]) or 0
        verb = _verb(first, start, motion.end.at(first) or 0)
        yield self.say(f"figure.easy.{verb}", {"joints": self._joints(joints)})
        if motion.joint in joints:
            yield from self._stop(motion, bends=verb == "bend")
        yield self._plain("easy")
        yield self._plain("no_angle")

    def _stop(self, motion: Motion, *, bends: bool) -> Iterator[str]:
        if motion.limit is not None:
            yield stop_at(self.say, motion.joint, round(motion.limit), bends=bends)

    def _power(self, motion: Motion) -> str:
        if motion.there == motion.back == "patient":
            start, end = self.scene.pose.at(motion.joint) or 0, motion.end.at(motion.joint) or 0
            return self._plain(f"power.{_verb(motion.joint, start, end)}")
        return self._plain(f"power.{motion.there}.{motion.back}")

    def _who(self) -> str:
        """Hand and fingers, or the hand alone where nothing shown is a finger's own."""
        hand = self.say(f"hand.{self.scene.side}", {})
        told = {span[0] for span in (*self.scene.prescribed, *self.scene.free)}
        motion = self.scene.motion
        told |= set(self.scene.easy) | ({motion.joint} if motion else set(self.scene.band))
        if self.scene.purpose == "fingers" or told <= {"wrist"}:
            return hand
        return self.say("figure.who", {"hand": hand, "fingers": self._digits(self.scene.digits)})

    def _plain(self, key: str) -> str:
        return self.say(f"figure.{key}", {})

    def _line(self, key: str, joint: Joint, **holes: object) -> str:
        return self.say(key, {"joint": self._joint(joint), **holes})

    def _joint(self, joint: Joint) -> str:
        return self.say(f"figure.joint.{self._named(joint)}", {"n": len(self.scene.digits)})

    def _named(self, joint: Joint) -> str:
        """The joint's part of a key: the thumb's knuckle is not a finger's."""
        thumb = joint == "MCP" and self.scene.digits[:1] == ("thumb",)
        return "thumb_MCP" if thumb else joint

    def _joints(self, joints: Iterable[Joint]) -> str:
        return self._list([self._joint(joint) for joint in joints])

    def _these(self, key: str, digits: tuple[Digit, ...]) -> Iterator[str]:
        if digits:
            yield self.say(key, {"fingers": self._digits(digits)})

    def _digits(self, digits: Iterable[Digit]) -> str:
        there = tuple(sorted(digits, key=DIGITS.index))
        if there in (DIGITS, FINGERS):
            return self._plain("all_digits" if there == DIGITS else "all_fingers")
        return self._list([self.say(f"finger.{digit}", {}) for digit in there])

    def _list(self, names: list[str]) -> str:
        *some, last = names
        if not some:
            return last
        return self.say("figure.and", {"some": self._plain("comma").join(some), "last": last})


def _verb(joint: Joint, start: float, end: float) -> str:
    if joint == "wrist":
        return "wrist"
    return "bend" if end > start else "straighten"
