"""From a phase to its scenes: what is drawn and told is what the phase states, and no more.

Without a scene stay: exercises of joints far from the hand (shoulder, elbow, forearm), scar
massage, movements by another's hand or of wrist and fingers together that have no figure, and,
where a phase states no position, everything but the fingers and what is done as far as is easy.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

from ..course import CAN_COME_OFF, DIGITS, Digit, Joint, Side, Worn, Zone
from ..regime.body import Exercise, Phase
from .forbidden import forbidden_scene
from .movement import Movement, Path, movement, splint_off
from .ranges import FINGERS, drawn_joints, held, moving, stop
from .scene import Motion, Pose, Scene, Span

FINGER_JOINTS: tuple[Joint, ...] = ("MCP", "PIP", "DIP")
WITH_STRAPS: frozenset[Worn] = frozenset({"slab", "splint", "sling"})
Keyed = tuple[str, Scene]


def scenes_of(
    phase: Phase, side: Side, repaired: tuple[Digit, ...], zone: Zone | None
) -> tuple[Keyed, ...]:
    """(key, scene) of a phase on one hand; `zone` None: none is marked.

    Keys: `position`, `fingers`, `exercise.<key>`, `forbidden`, `pillow`, `open_splint`. Digits
    with other angles or stops have a scene of their own, `position.2`; that of a repaired digit
    comes first.
    """
    made = _Phase(phase, side, repaired, zone)
    return (
        *_numbered("position", made.each(made.position)),
        *made.fingers(),
        *(keyed for exercise in phase.exercises for keyed in made.exercise(exercise)),
        *made.forbidden(),
        *made.trouble(),
    )


class _Phase:
    """A phase on one hand."""

    def __init__(
        self, phase: Phase, side: Side, repaired: tuple[Digit, ...], zone: Zone | None
    ) -> None:
        self.phase, self.side, self.repaired, self.zone = phase, side, repaired, zone

    def each(
        self, of: Callable[[Digit], Scene | None], digits: Iterable[Digit] = ()
    ) -> list[Scene]:
        """One scene for all digits that look alike, with a repaired one in front."""
        groups: dict[Scene, list[Digit]] = {}
        for digit in sorted(digits or self._digits(), key=self._rank):
            scene = of(digit)
            if scene is not None:
                groups.setdefault(replace(scene, digits=()), []).append(digit)
        return [replace(scene, digits=tuple(alike)) for scene, alike in groups.items()]

    def position(self, digit: Digit) -> Scene | None:
        """How the hand is held; None where no joint of this digit or the wrist has a position."""
        pose = self._pose(digit)
        if not pose.degrees:
            return None
        return self._worn(
            Scene("position", self.side, (digit,), pose, self._held(digit), free=self._free(digit)),
            digit,
        )

    def fingers(self) -> Iterator[Keyed]:
        """From the back of the hand: which are repaired, held, and exercise."""
        splint, leads = self.phase.splint, self.phase.leads
        exercising = leads.digits if leads else ()
        if not (exercising or splint.holds or self.repaired):
            return
        scene = Scene(
            "fingers", self.side, exercising, Pose(()), worn=splint.worn, holds=splint.holds,
            repaired=self.repaired, zone=self.zone,
        )  # fmt: skip
        yield "fingers", scene

    def exercise(self, exercise: Exercise) -> list[Keyed]:
        """Start, end and limit of an exercise."""
        digits = exercise.digits or self._wrist_digits()
        scenes = self.each(lambda digit: self._exercise(exercise, digit), digits)
        return _numbered(f"exercise.{exercise.key}", scenes)

    def forbidden(self) -> list[Keyed]:
        """What must not be done, of the repaired digits; of a template, of the first."""
        scenes = self.each(lambda digit: forbidden_scene(self.phase, self.side, digit))
        marked = [scene for scene in scenes if set(scene.digits) & set(self.repaired)]
        return _numbered("forbidden", self._mark(marked or scenes[:1]))

    def trouble(self) -> Iterator[Keyed]:
        """The arm on a pillow as it was held, and the splint opened under it."""
        first = next(iter(self.each(self.position)), None)
        worn = self.phase.splint.worn
        if first is None or worn not in CAN_COME_OFF:
            return
        lies = replace(first, prescribed=self._laid(first), free=(), zone=None)
        bare = replace(lies, worn=None, holds=(), held=(), band=(), neighbours=None)
        yield "pillow", replace(bare, purpose="pillow")
        if worn in WITH_STRAPS and "wrist" in first.held:
            yield "open_splint", replace(lies, purpose="open_splint")

    def _laid(self, scene: Scene) -> tuple[Span, ...]:
        """What was held stays so, and what a band held straight lies straight."""
        band = ((joint, round(scene.pose.at(joint) or 0)) for joint in scene.band)
        return (*scene.prescribed, *((joint, at, at) for joint, at in band))

    def _exercise(self, exercise: Exercise, digit: Digit) -> Scene | None:
        moves = movement(self.phase, exercise, digit)
        if moves is None:
            return None
        moved = {path[0] for path in moves.paths}
        still = [span for span in self._still(exercise, digit) if span[0] not in moved]
        pose = self._pose(digit, moves.paths, still, self.phase.wear.by_day)
        scene = Scene(
            "exercise", self.side, (digit,), pose, tuple(still),
            motion=self._motion(moves, digit, pose), easy=tuple(path[0] for path in moves.easy),
        )  # fmt: skip
        off = splint_off(self.phase, exercise)
        return self._mark([scene])[0] if off else self._worn(scene, digit, moved)

    def _still(self, exercise: Exercise, digit: Digit) -> list[Span]:
        """Joints to be kept still in an exercise."""
        if exercise.motion != "active_ip_flexion" or "MCP" not in drawn_joints(digit):
            return list(self._held(digit)) if self.phase.wear.by_day else []
        kept = [span for span in self._held(digit) if self.phase.wear.by_day]
        if "MCP" not in [span[0] for span in kept]:  # 'big knuckles held straight'
            kept.append(("MCP", 0, 0))
        return kept

    def _motion(self, moves: Movement, digit: Digit, pose: Pose) -> Motion:
        ends = {joint: end for joint, _, end in moves.paths}
        end = Pose(tuple((joint, ends.get(joint, at)) for joint, at in pose.degrees))
        joint = moves.paths[0][0]
        return Motion(end, joint, stop(self.phase, digit, joint), moves.there, moves.back)

    def _pose(
        self,
        digit: Digit,
        paths: tuple[Path, ...] = (),
        still: Iterable[Span] = (),
        splinted: bool = True,
    ) -> Pose:
        """Where each joint stands: at a movement's start, midway of what is held, or at rest."""
        starts = {joint: start for joint, start, _ in paths}
        kept = {joint: (low, high) for joint, low, high in still}
        degrees: list[tuple[Joint, float]] = []
        for joint in drawn_joints(digit):
            within = kept.get(joint) or (held(self.phase, digit, joint) if splinted else None)
            if joint in starts:
                degrees.append((joint, starts[joint]))
            elif within is not None:
                degrees.append((joint, sum(within) / 2))
            elif moving(self.phase, digit, joint) is not None:
                degrees.append((joint, self._resting(digit, joint)))
        return Pose(tuple(degrees))

    def _resting(self, digit: Digit, joint: Joint) -> float:
        """Where a joint that may move lies: where the leading exercise, or its range, begins."""
        leads, range_ = self.phase.leads, moving(self.phase, digit, joint)
        assert range_ is not None
        moves = movement(self.phase, leads, digit) if leads and digit in leads.digits else None
        starts = {path[0]: path[1] for path in moves.paths} if moves else {}
        return starts.get(joint, min(range_) if joint in self._band(digit) else range_[0])

    def _held(self, digit: Digit) -> tuple[Span, ...]:
        """(joint, straightest, most bent) of the joints held still."""
        spans = ((joint, held(self.phase, digit, joint)) for joint in drawn_joints(digit))
        return tuple((joint, *span) for joint, span in spans if span)

    def _free(self, digit: Digit) -> tuple[Span, ...]:
        """(joint, straightest, most bent) of the joints that may move."""
        return tuple(
            (joint, min(range_), max(range_))
            for joint in drawn_joints(digit)
            if (range_ := moving(self.phase, digit, joint)) and not held(self.phase, digit, joint)
        )

    def _worn(self, scene: Scene, digit: Digit, moved: Iterable[Joint] = ()) -> Scene:
        """The scene with what is worn: how far it reaches, its band, and the yoke's neighbours."""
        splint = self.phase.splint
        own = splint.worn not in (None, "yoke") and digit in (splint.holds or DIGITS)
        reach = [
            joint
            for joint, _, _ in self._held(digit)
            if joint not in moved and splint.worn and (own or joint == "wrist")
        ]
        worn = replace(
            scene, worn=splint.worn, holds=splint.holds, held=tuple(reach),
            band=self._band(digit), neighbours=self._neighbours(scene, digit),
            plate=self._plate(digit, set(moved)) if own else (),
        )  # fmt: skip
        return self._mark([worn])[0]

    def _plate(self, digit: Digit, moved: set[Joint]) -> tuple[tuple[Joint, float], ...]:
        """Where it stays under a finger that an exercise lifts from it: (joint, degrees)."""
        held = {joint: (low + high) / 2 for joint, low, high in self._held(digit)}
        if digit == "thumb" or "wrist" in moved or not moved & set(held):
            return ()
        stays = {joint: float(high) for joint, _, high in self._free(digit)} | held
        return tuple((joint, stays[joint]) for joint in FINGER_JOINTS if joint in stays)

    def _band(self, digit: Digit) -> tuple[Joint, ...]:
        band = self.phase.band
        if band is None or digit not in (band.digits or (digit,)):
            return ()
        return tuple(joint for joint in band.joints if joint in drawn_joints(digit))

    def _neighbours(self, scene: Scene, digit: Digit) -> Pose | None:
        """In a yoke: the finger beside a digit held straighter, where it has its own position."""
        splint = self.phase.splint
        if splint.worn != "yoke" or digit not in splint.holds or scene.motion or digit == "thumb":
            return None
        place = FINGERS.index(digit)
        beside = [FINGERS[at] for at in (place - 1, place + 1) if 0 <= at < len(FINGERS)]
        poses = [self._pose(each) for each in beside if each not in splint.holds]
        return next((pose for pose in poses if pose.degrees and pose != scene.pose), None)

    def _mark(self, scenes: list[Scene]) -> list[Scene]:
        """With the repair: which digits, and its zone."""
        return [
            replace(scene, repaired=self.repaired, zone=self.zone if self.repaired else None)
            for scene in scenes
        ]

    def _digits(self) -> tuple[Digit, ...]:
        """The digits a picture from the side may show."""
        named = {digit for each in self.phase.positions for digit in each.digits}
        there = named | set(self.phase.splint.holds)
        return tuple(digit for digit in DIGITS if digit in there) or self._wrist_digits()

    def _wrist_digits(self) -> tuple[Digit, ...]:
        """The digits drawn where a position or a movement is the wrist's alone."""
        return tuple(digit for digit in self.repaired if digit != "thumb") or FINGERS

    def _rank(self, digit: Digit) -> tuple[bool, int]:
        return digit not in self.repaired, DIGITS.index(digit)


def _numbered(key: str, scenes: list[Scene]) -> list[Keyed]:
    """The first under the key, the next under `key.2` and so on."""
    return [(key if n == 1 else f"{key}.{n}", scene) for n, scene in enumerate(scenes, 1)]
