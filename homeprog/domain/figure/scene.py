"""What one picture shows: whose hand, what is worn, where each joint stands, and what moves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ..course import Digit, Joint, Side, Worn, Zone

Purpose = Literal[
    "position",  # where the splint holds the hand
    "fingers",  # from the back of the hand: which fingers
    "exercise",  # start, end and limit of a movement
    "forbidden",  # the pose that must not be reached, crossed out
    "pillow",  # splint gone: the arm laid on a pillow as it was held
    "open_splint",  # straps undone, the arm left lying on the splint
]
Power = Literal["patient", "band", "other_hand"]
Span = tuple[Joint, int, int]  # (joint, straightest, most bent), degrees towards flexion


@dataclass(frozen=True, slots=True)
class Pose:
    """Degrees at the joints, counted towards flexion (30 back is -30).

    A joint that is left out is not prescribed and is drawn at rest.
    """

    degrees: tuple[tuple[Joint, float], ...]

    def at(self, joint: Joint) -> float | None:
        """Degrees at a joint; None where it is not prescribed."""
        return dict(self.degrees).get(joint)


@dataclass(frozen=True, slots=True)
class Motion:
    """From the scene's pose to `end` and back."""

    end: Pose
    joint: Joint  # whose arc is drawn: of the joints that move, the nearest to the wrist
    limit: float | None  # degrees towards flexion at `joint` that must not be passed
    there: Power  # who moves it to `end`
    back: Power


@dataclass(frozen=True, slots=True)
class Scene:
    """All that a picture is drawn from; hashable, so that a picture is drawn once."""

    purpose: Purpose
    side: Side
    digits: tuple[
        Digit, ...
    ]  # stands for these; the first is drawn from the side; of `fingers`: those that exercise
    pose: Pose
    prescribed: tuple[Span, ...] = ()  # held within; of `forbidden`: what the pose breaks
    motion: Motion | None = None
    worn: Worn | None = None
    holds: tuple[Digit, ...] = ()  # digits held in what is worn; in a yoke: held straighter
    held: tuple[Joint, ...] = ()  # joints it keeps still: how far it reaches
    band: tuple[Joint, ...] = ()  # joints a band holds straight
    neighbours: Pose | None = None  # of the digits beside it, where they are held otherwise (yoke)
    repaired: tuple[Digit, ...] = ()
    zone: Zone | None = None  # of the repair, where it is to be shown
    free: tuple[Span, ...] = ()  # may move within, but no movement is shown here
    easy: tuple[Joint, ...] = ()  # moves, but the regime gives no angle: drawn as a soft curl
    plate: tuple[tuple[Joint, float], ...] = ()  # held otherwise, moving here: where it stays
