"""Alerts: kinds, levels, states, when a settled one may come back, and their words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal, get_args

from ..errors import Conflict, Forbidden, Invalid

Kind = Literal[
    "trouble",  # a report of the patient's; each its own row
    "exercise_while_stopped",  # one open a course; each bout is added to it
    "no_contact",
    "few_logged",
    "phase_not_released",
    "release_lapsed",  # a release signed ahead lapsed before it began
    "plan_not_received",  # a change that takes something back has not reached the phone
]
Level = Literal["now", "today", "this_week"]
State = Literal["open", "taken_up", "settled", "passed"]
Done = Literal["rang", "talked_through", "changed_regime", "called_in", "no_action"]

KINDS: tuple[Kind, ...] = get_args(Kind)
LEVELS: tuple[Level, ...] = get_args(Level)  # most urgent first
TROUBLE: frozenset[Kind] = frozenset({"trouble", "exercise_while_stopped"})
UNSETTLED: tuple[State, ...] = ("open", "taken_up")
OWN_ROW: frozenset[Kind] = frozenset({"trouble"})  # never merged, not even with the same report
RULE_VERSION: Mapping[Kind, int] = dict.fromkeys(KINDS, 1)  # counted up when a rule changes

DONE: Mapping[Done, str] = {
    "rang": "Rang the patient",
    "talked_through": "Talked it through",
    "changed_regime": "Changed the regime",
    "called_in": "Called in to be seen",
    "no_action": "Nothing to do",
}


@dataclass(frozen=True, slots=True)
class Settled:
    """The last alert of a kind, once settled."""

    level: Level
    ended: bool  # its condition has ended since
    not_again_before: date | None  # the day chosen at settlement


def is_trouble(kind: str) -> bool:
    """Trouble cannot be switched off, delayed or merged, and never passes by itself."""
    return kind in TROUBLE


def worse(one: str, other: str) -> bool:
    """Whether level `one` is more urgent than `other`."""
    return _rank(one) < _rank(other)


def _rank(level: str) -> int:
    return LEVELS.index(level)


def may_open_again(kind: str, settled: Settled, level: str, today: date) -> bool:
    """Whether the condition of a settled alert, holding now, opens a new one.

    Only when it has ended and come back, has become worse by a level, or on the day chosen at
    settlement. Trouble is not bound by this.
    """
    if is_trouble(kind) or settled.ended or worse(level, settled.level):
        return True
    return settled.not_again_before is not None and today >= settled.not_again_before


def refuse_settling(kind: str, state: str, clinician: bool, done: str, words: str) -> None:
    """Raises Conflict, Forbidden or Invalid where an alert may not be settled so."""
    if state not in UNSETTLED:
        raise Conflict("alert_not_open", "This alert has been settled, or has passed.")
    if is_trouble(kind) and not clinician:
        raise Forbidden("clinician_only", "Only a clinician may settle trouble.")
    fields: dict[str, list[str]] = {}
    if done not in DONE:
        fields["done"] = ["Say what was done."]
    if done == "no_action" and not words.strip():
        fields["words"] = ["Say why nothing was done."]
    if fields:
        raise Invalid("settlement_invalid", "Say what was done.", fields)


def merged(kind: str, old: Mapping[str, Any], new: Mapping[str, Any]) -> dict[str, Any]:
    """The figures of an unsettled alert whose condition is told once more."""
    if kind != "exercise_while_stopped":
        return dict(new)
    bouts = dict.fromkeys([*old.get("bouts", []), *new.get("bouts", [])])
    return {**old, **new, "bouts": list(bouts)}
