"""The regime: what is prescribed, phase by phase, and whether it may be."""

from .body import BLANK_FRAME, SCHEMA, Exercise, Phase, Regime, Rehearsal
from .change import (
    limited_phases,
    widened_phases,
    widens,
    withdrawn_exercises,
    withdraws_or_limits,
)
from .check import check
from .facts import Repair, RepairFacts
from .finding import Finding, Reason, Reasons, blocking, refuse_blocked
from .limits import Limits
from .protection import Protection, protections
from .reading import parse
from .writing import plan_hash, to_json

__all__ = [
    "BLANK_FRAME",
    "SCHEMA",
    "Exercise",
    "Finding",
    "Limits",
    "Phase",
    "Protection",
    "Reason",
    "Reasons",
    "Regime",
    "Rehearsal",
    "Repair",
    "RepairFacts",
    "blocking",
    "check",
    "limited_phases",
    "parse",
    "plan_hash",
    "protections",
    "refuse_blocked",
    "to_json",
    "widened_phases",
    "widens",
    "withdrawn_exercises",
    "withdraws_or_limits",
]
