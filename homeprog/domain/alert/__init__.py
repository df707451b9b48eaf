"""Alerts: kinds, levels, states, when a settled one may come back, and their words."""

from .kinds import (
    GUESSES,
    KINDS,
    LEVEL,
    LEVELS,
    OWN_ROW,
    QUIET,
    TROUBLE,
    UNDER_NO_CONTACT,
    UNSETTLED,
    Circumstance,
    Kind,
    Level,
    State,
    is_trouble,
    quiet,
)
from .rules import (
    ACCEPT,
    ACCEPT_IS_SLOW,
    ADDED_TO,
    CAN_ACCEPT,
    DONE,
    RULE_VERSION,
    Done,
    Settled,
    accepted_level,
    may_open_again,
    merged,
    refuse_settling,
    worse,
)
from .words import TROUBLES, first_day, next_step, rule_works, why, words

__all__ = [
    "ACCEPT", "ACCEPT_IS_SLOW", "ADDED_TO", "CAN_ACCEPT", "DONE", "GUESSES", "KINDS", "LEVEL",
    "LEVELS", "OWN_ROW", "QUIET", "RULE_VERSION", "TROUBLE", "TROUBLES", "UNDER_NO_CONTACT",
    "UNSETTLED", "Circumstance", "Done", "Kind", "Level", "Settled", "State", "accepted_level",
    "first_day", "is_trouble", "may_open_again", "merged", "next_step", "quiet",
    "refuse_settling", "rule_works", "why", "words", "worse",
]  # fmt: skip
