"""What enrolment knows of a course that a regime must fit."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time

from ..course import (
    WRIST_EXTENSORS,
    AgeGroup,
    Digit,
    FollowsPlan,
    Joint,
    Side,
    Structure,
    Weakens,
    WithIt,
    Worn,
    Zone,
)


@dataclass(frozen=True, slots=True)
class Repair:
    """One repaired structure."""

    structure: Structure
    zone: Zone
    digit: Digit | None = None  # None for wrist tendons
    joint: Joint | None = None  # the joint it lies over, where noted
    wired: tuple[Joint, ...] = ()  # wired or fused joints of the digit (wrist: digit None)
    nerve: bool = False
    cut_in_part: bool = False
    cut_percent: int | None = None  # of the tendon, where noted; 1 to 99

    @property
    def words(self) -> str:
        """'EDC middle, zone VI'."""
        where = f" {self.digit}" if self.digit else ""
        return f"{self.structure.replace('_', ' ')}{where}, zone {self.zone}"


@dataclass(frozen=True, slots=True)
class RepairFacts:
    """The facts of a course as they stand now."""

    operation: date
    side: Side
    repairs: tuple[Repair, ...]
    with_it: frozenset[WithIt] = frozenset()
    age_group: AgeGroup = "adult"
    follows_plan: FollowsPlan = "alone"
    weakens: frozenset[Weakens] = frozenset()
    worn: Worn | None = None
    waking: tuple[tuple[time, time], ...] = ((time(7), time(22)),)  # (wake, sleep), local

    @property
    def zones(self) -> frozenset[Zone]:
        return frozenset(r.zone for r in self.repairs)

    @property
    def digits(self) -> frozenset[Digit]:
        return frozenset(r.digit for r in self.repairs if r.digit)

    @property
    def structures(self) -> frozenset[Structure]:
        return frozenset(r.structure for r in self.repairs)

    @property
    def wrist_extensor(self) -> bool:
        return bool(self.structures & WRIST_EXTENSORS)

    @property
    def all_cut_in_part(self) -> bool:
        """Whether every repair is of a tendon cut in part: then the surgeon sets removal."""
        return bool(self.repairs) and all(r.cut_in_part for r in self.repairs)
