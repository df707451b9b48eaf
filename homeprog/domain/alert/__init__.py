"""Alerts: kinds, levels, states, when a settled one may come back, and their words."""

from .rules import (
    DONE,
    KINDS,
    LEVELS,
    OWN_ROW,
    RULE_VERSION,
    TROUBLE,
    UNSETTLED,
    Done,
    Kind,
    Level,
    Settled,
    State,
    is_trouble,
    may_open_again,
    merged,
    refuse_settling,
    worse,
)
from .words import TROUBLES, words

__all__ = [
    "DONE",
    "KINDS",
    "LEVELS",
    "OWN_ROW",
    "RULE_VERSION",
    "TROUBLE",
    "TROUBLES",
    "UNSETTLED",
    "Done",
    "Kind",
    "Level",
    "Settled",
    "State",
    "is_trouble",
    "may_open_again",
    "merged",
    "refuse_settling",
    "words",
    "worse",
]
