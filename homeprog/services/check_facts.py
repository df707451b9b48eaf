"""What a course's facts may be: each fault at once, a message per field."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, get_args

from ..domain.course import (
    DIGITS,
    JOINTS,
    STRUCTURES,
    THUMB_ZONES,
    WITH_IT,
    WORN,
    WRIST_EXTENSORS,
    ZONES,
    AgeGroup,
    FollowsPlan,
    Side,
    Weakens,
    joints_of,
)

Faults = dict[str, list[str]]
LONG_AGO = timedelta(days=365)
ONE_OF: Mapping[str, tuple[str, ...]] = {
    "side": get_args(Side),
    "handedness": ("left", "right", "both"),
    "worn": WORN,
    "age_group": get_args(AgeGroup),
    "follows_plan": get_args(FollowsPlan),
}
SOME_OF: Mapping[str, tuple[str, ...]] = {"with_it": WITH_IT, "weakens": get_args(Weakens)}
WORDS = frozenset({"surgeon", "restrictions", "operation_date_reason"})
KNOWN = frozenset({"operation_date", "therapist", *ONE_OF, *SOME_OF, *WORDS})
ONLY_ON: Mapping[str, tuple[str, ...]] = {  # the digits a tendon moves; anatomy
    "EDC": ("index", "middle", "ring", "small"),
    "EIP": ("index",),
    "EDM": ("small",),
    "EPL": ("thumb",),
    "EPB": ("thumb",),
    "APL": ("thumb",),
}
ANY_DIGIT_ZONES = frozenset({"VII", "VIII", "IX"})  # wrist and forearm


@dataclass(frozen=True, slots=True)
class RepairEntry:
    """One repaired structure as entered."""

    structure: str
    zone: str
    digit: str | None = None
    joint: str | None = None
    wired: bool = False
    nerve: bool = False
    cut_in_part: int | None = None  # per cent; 0 where noted without a figure, None: through


def fact_faults(
    facts: Mapping[str, Any], today: date, born: date, clinicians: Mapping[uuid.UUID, str]
) -> Faults:
    """What is wrong with the facts entered; `today` by the clinic's clock."""
    faults: Faults = {}
    for what, value in facts.items():
        if message := _fault(what, value, clinicians):
            faults[what] = [message]
    operated = facts.get("operation_date")
    if isinstance(operated, date):
        given = str(facts.get("operation_date_reason") or "")
        if message := operation_fault(operated, today, born, given):
            faults["operation_date"] = [message]
    return faults


def operation_fault(operated: date, today: date, born: date, reason: str) -> str | None:
    """What is wrong with an operation date; one long ago needs a reason."""
    if operated > today:
        return "The operation date lies in the future."
    if operated < born:
        return "The operation date lies before the birth date."
    if today - operated > LONG_AGO and not reason.strip():
        return "More than 365 days ago: say why below, or mend the date."
    return None


def _fault(what: str, value: Any, clinicians: Mapping[uuid.UUID, str]) -> str | None:
    if what in ONE_OF:
        known = value in ONE_OF[what]
        return None if known else f"Choose one of {_list(ONE_OF[what])}."
    if what in SOME_OF:
        return None if set(value) <= set(SOME_OF[what]) else f"Known: {_list(SOME_OF[what])}."
    if what == "operation_date":
        return None if isinstance(value, date) else "Say the date."
    if what == "therapist":
        named = value in {str(i) for i in clinicians}
        return None if named else "Choose a clinician of this clinic."
    if what in WORDS:
        return None if isinstance(value, str) else "Say it in words."
    return "There is no fact of this name."


def _list(words: Sequence[str]) -> str:
    return ", ".join(w.replace("_", " ") for w in words)


def repair_faults(repairs: Sequence[RepairEntry]) -> Faults:
    """What is wrong with the repairs, by 'repairs.0.zone'."""
    faults: Faults = {}
    for n, repair in enumerate(repairs):
        for name, message in _faults_of(repair):
            faults.setdefault(f"repairs.{n}.{name}", []).append(message)
        if repair in repairs[:n]:
            faults.setdefault(f"repairs.{n}.structure", []).append("This one is entered twice.")
    return faults


def _faults_of(r: RepairEntry) -> list[tuple[str, str]]:
    found = []
    if r.structure not in STRUCTURES:
        found.append(("structure", "Choose the structure."))
    if r.zone not in ZONES:
        found.append(("zone", "Choose the zone."))
    if r.digit is not None and r.digit not in DIGITS:
        found.append(("digit", "Choose the digit."))
    if r.joint is not None and r.joint not in JOINTS:
        found.append(("joint", "Choose the joint."))
    if r.cut_in_part is not None and not 0 <= r.cut_in_part < 100:
        found.append(("cut_percent", "From 1 to 99 per cent, or leave it empty."))
    return found or _fit(r)


def _fit(r: RepairEntry) -> list[tuple[str, str]]:
    """Whether digit, structure, zone and joint can belong together."""
    found = []
    on_digit = r.structure not in WRIST_EXTENSORS and r.structure != "muscle_belly"
    if on_digit and r.digit is None:
        found.append(("digit", "Choose the digit."))
    if r.structure in WRIST_EXTENSORS and r.digit is not None:
        found.append(("digit", "A wrist tendon has no digit: leave it empty."))
    if r.digit and r.structure in ONLY_ON and r.digit not in ONLY_ON[r.structure]:
        found.append(("digit", f"{r.structure} does not go to the {r.digit}."))
    if (
        r.zone not in ANY_DIGIT_ZONES
        and r.digit
        and (r.digit == "thumb") != (r.zone in THUMB_ZONES)
    ):
        found.append(("zone", "Zones TI to TV are the thumb's, I to VI the fingers'."))
    of_digit = r.joint in ("MCP", "PIP", "DIP", "IP", "CMC")
    if r.digit and of_digit and r.joint not in joints_of(r.digit):  # type: ignore[arg-type]
        found.append(("joint", f"The {r.digit} has no {r.joint} joint here."))
    if r.wired and r.joint is None:
        found.append(("joint", "Say which joint is wired or fused."))
    return found
