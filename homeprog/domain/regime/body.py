"""The body of a revision (schema 1): what is prescribed, phase by phase."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from ..course import Digit, Joint, Structure, Worn, Zone
from .dose import Dose, Schedule

SCHEMA = 1
BLANK_FRAME = "blank-frame"  # the template that prefills nothing

Direction = Literal["flexion", "extension"]
ComesOff = Literal["for_exercise", "for_washing_hand_held_flat", "at_rest"]
Motion = Literal[
    "free_joint",  # a joint the repair does not cross: shoulder, elbow, finger joints left free
    "active_flexion_against_band",
    "active_extension",
    "active",  # bending and straightening by the hand's own power
    "active_ip_flexion",  # end joints bend, big knuckles held straight
    "place_and_hold",
    "passive_flexion",
    "wrist_active",
    "combined_flexion",  # wrist and fingers bend together
    "resistance",
    "scar_massage",
]

DIRECTIONS: tuple[Direction, ...] = get_args(Direction)
COMES_OFF: tuple[ComesOff, ...] = get_args(ComesOff)
MOTIONS: tuple[Motion, ...] = get_args(Motion)
STILL: frozenset[Motion] = frozenset({"free_joint", "scar_massage"})  # leave the repair at rest


@dataclass(frozen=True, slots=True)
class Angle:
    """A joint angle: a number that is never negative, beside its word."""

    degrees: int  # 0 to 120
    direction: Direction

    @property
    def bent(self) -> int:
        """Degrees counted towards flexion, for comparing two angles; never stored or shown."""
        return self.degrees if self.direction == "flexion" else -self.degrees


@dataclass(frozen=True, slots=True)
class Position:
    """Where a joint is held, or between what it may move."""

    joint: Joint
    digits: tuple[Digit, ...]  # empty for wrist, forearm, elbow, shoulder
    start: Angle  # "from" in JSON
    end: Angle  # "to" in JSON
    moves: bool = False  # False: held at an angle between start and end

    @property
    def span(self) -> tuple[int, int]:
        """(straightest, most bent), in degrees counted towards flexion."""
        low, high = sorted((self.start.bent, self.end.bent))
        return low, high


@dataclass(frozen=True, slots=True)
class Splint:
    """What is worn in a phase."""

    worn: Worn | None  # None: nothing
    words: str
    holds: tuple[Digit, ...] = ()  # digits held in it; in a yoke: the digits held straighter


@dataclass(frozen=True, slots=True)
class Wear:
    """When it is worn, in words that can be checked."""

    by_day: bool
    by_night: bool
    outdoors: bool
    comes_off: tuple[ComesOff, ...]  # empty: never
    words: str


@dataclass(frozen=True, slots=True)
class Band:
    """The rubber band of a dynamic splint, and what to do when it breaks."""

    joints: tuple[Joint, ...]  # joints the band holds straight
    digits: tuple[Digit, ...]
    broken_by_day: str
    broken_by_night: str


@dataclass(frozen=True, slots=True)
class CheckQuestions:
    """Which questions of the daily check fit this phase."""

    active_extension_allowed: bool = False
    band_lifts: bool = False
    after_dressing: bool = False


@dataclass(frozen=True, slots=True)
class Exercise:
    """A prescribed movement."""

    key: str  # stable: bouts and slots name it
    name: str
    steps: tuple[str, ...]
    dose: Dose
    schedule: Schedule
    motion: Motion
    digits: tuple[Digit, ...] = ()  # exercising digits; empty for shoulder, scar
    joints: tuple[Joint, ...] = ()
    with_splint: str = ""  # 'Keep the splint on.'
    held_until_release: bool = False  # held apart from its phase
    daily_total: int | None = None  # amount a day the template means, in the dose's unit

    @property
    def moves_repair(self) -> bool:
        return self.motion not in STILL


@dataclass(frozen=True, slots=True)
class Rehearsal:
    """A movement the surgeon left free, practised at some hours; never adherence, never alert."""

    key: str
    name: str
    steps: tuple[str, ...]
    schedule: Schedule

    @property
    def dose(self) -> Dose:
        """One go: no dose is prescribed."""
        return Dose(1)


@dataclass(frozen=True, slots=True)
class Phase:
    """A step of the regime. Phase 0 is in force from confirmation, the others from release."""

    key: str
    name: str
    earliest_day: int | None  # post-operative day; None: the surgeon enters it
    splint: Splint
    wear: Wear
    positions: tuple[Position, ...] = ()
    exercises: tuple[Exercise, ...] = ()
    leading: str | None = None  # key of the exercise that moves the repair; None: rest, static
    flexion_limits: Mapping[Digit, int] | None = None  # degrees of flexion at the big knuckle
    band: Band | None = None
    cautions: tuple[str, ...] = ()  # the first is the top one
    forbidden: tuple[str, ...] = ()
    check: CheckQuestions = CheckQuestions()
    rehearsal: Rehearsal | None = None
    gated: bool = True  # False only in phase 0

    def exercise(self, key: str | None) -> Exercise | None:
        """The exercise of that key, or None."""
        return next((e for e in self.exercises if e.key == key), None)

    @property
    def leads(self) -> Exercise | None:
        """The leading exercise; None where splint wear leads."""
        return self.exercise(self.leading)

    @property
    def limits(self) -> Mapping[Digit, int]:
        return self.flexion_limits or {}


@dataclass(frozen=True, slots=True)
class Regime:
    """What is prescribed. `template` is the key it was started from, None for a free one."""

    name: str
    zones: tuple[Zone, ...]
    structures: tuple[Structure, ...]
    digits: tuple[Digit, ...]  # digits it may treat
    joints: tuple[Joint, ...]  # joints it may move
    phases: tuple[Phase, ...]
    template: str | None = None
    schema: int = SCHEMA

    def phase(self, key: str) -> Phase | None:
        """The phase of that key, or None."""
        return next((p for p in self.phases if p.key == key), None)

    @property
    def phase_zero(self) -> Phase:
        return self.phases[0]
