"""Several repairs in one course: for each joint the longest protection wins, and is named."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ..course import WRIST_EXTENSORS, Digit, Joint, Structure
from .case import Case
from .facts import Repair, RepairFacts
from .finding import Finding
from .limits import Limits

CROSSES: dict[Structure, tuple[Joint, ...]] = {
    "EDC": ("MCP",),
    "EIP": ("MCP",),
    "EDM": ("MCP",),
    "EPL": ("MCP", "IP"),
    "EPB": ("CMC", "MCP"),
    "APL": ("CMC",),
    "sagittal_band": ("MCP",),
    "central_slip": ("PIP",),
    "muscle_belly": ("MCP",),
}


@dataclass(frozen=True, slots=True)
class Protection:
    """A joint and how long it is protected. `until` None: the surgeon gives the day."""

    joint: Joint
    digit: Digit | None  # None for the wrist
    until: int | None  # post-operative day
    because: str  # the repair that asks for it

    @property
    def words(self) -> str:
        joint = f"{self.digit} {self.joint}" if self.digit else self.joint
        day = "until the surgeon's day" if self.until is None else f"until day {self.until}"
        return f"{joint[0].upper()}{joint[1:]}: protected {day} ({self.because})."


def protections(facts: RepairFacts, limits: Limits) -> list[Protection]:
    """The longest protection of each joint that a repair crosses."""
    longest: dict[tuple[Joint, Digit | None], Protection] = {}
    for repair in facts.repairs:
        for each in _of_repair(repair, limits):
            key = (each.joint, each.digit)
            if key not in longest or _lasts(each) > _lasts(longest[key]):
                longest[key] = each
    return list(longest.values())


def protection_findings(case: Case) -> Iterator[Finding]:
    """Name the longest protections where there are several repairs."""
    if case.facts is None or len(case.facts.repairs) < 2:
        return
    for each in protections(case.facts, case.limits):
        yield Finding("phases", each.words, "warn", "longest_protection")


def _of_repair(repair: Repair, limits: Limits) -> Iterator[Protection]:
    surgeons = repair.cut_in_part or repair.zone in limits.surgeon_removal_zones
    until = None if surgeons else limits.slab_off
    if repair.structure in WRIST_EXTENSORS:
        wrist = None if surgeons else limits.wrist_flexion_from
        yield Protection("wrist", None, wrist, repair.words)
        return
    yield Protection("wrist", None, until, repair.words)
    for joint in CROSSES[repair.structure]:
        yield Protection(joint, repair.digit, until, repair.words)


def _lasts(protection: Protection) -> float:
    return float("inf") if protection.until is None else protection.until
