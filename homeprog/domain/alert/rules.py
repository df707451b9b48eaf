"""Alerts: when a settled one may come back, how it is settled, what is added to an open one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from ..errors import Conflict, Forbidden, Invalid
from .kinds import KINDS, LEVELS, UNSETTLED, Kind, Level, is_trouble

Done = Literal[
    "rang", "talked_through", "changed_regime", "called_in", "back_to_static", "no_action"
]
RULE_VERSION: Mapping[Kind, int] = {  # counted up when a rule changes
    **dict.fromkeys(KINDS, 1),
    "few_logged": 2,  # 1 was the mean of three days
}

DONE: Mapping[Done, str] = {
    "rang": "Rang the patient",
    "talked_through": "Talked it through",
    "changed_regime": "Changed the regime",
    "called_in": "Called in to be seen",
    "back_to_static": "Back to the static splint",
    "no_action": "Nothing to do, because",
}
CAN_ACCEPT: frozenset[Kind] = frozenset({"few_logged", "reminders_not_arriving"})  # of one sum
ACCEPT = "Accept this level until the next visit"
ACCEPT_IS_SLOW = (
    "The rule then watches for a fall from this level. At low levels a further fall is seen "
    "slowly: with 12 times a day, from half of them to a quarter, a median of 7 days."
)
NEAREST = 20  # an accepted level is kept to the nearest twentieth: 5 %
LEAST, MOST = 1, 19  # twentieths
ADDED_TO: frozenset[Kind] = frozenset({"exercise_while_stopped", "no_contact"})


@dataclass(frozen=True, slots=True)
class Settled:
    """The last alert of a kind, once settled."""

    level: Level
    ended: bool  # its condition has ended since
    not_again_before: date | None  # the day chosen at settlement


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


def refuse_settling(
    kind: str, state: str, clinician: bool, done: str, words: str, accept: bool = False
) -> None:
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
    if accept and kind not in CAN_ACCEPT:
        fields["accept"] = ["Only where few were logged can a level be accepted."]
    if fields:
        raise Invalid("settlement_invalid", "Say what was done.", fields)


def accepted_level(reached: int, known: int) -> float:
    """The level of few logged that is accepted, to the nearest 5 %, from 5 to 95 %."""
    twentieths = round(NEAREST * reached / known) if known else LEAST
    return max(LEAST, min(MOST, twentieths)) / NEAREST


def merged(kind: str, old: Mapping[str, Any], new: Mapping[str, Any]) -> dict[str, Any]:
    """The figures of an unsettled alert whose condition is told once more."""
    if kind == "no_contact":
        return {**old, **({"change": new["change"]} if new.get("change") else {})}
    if kind != "exercise_while_stopped":
        return dict(new)
    bouts = dict.fromkeys([*old.get("bouts", []), *new.get("bouts", [])])
    return {**old, **new, "bouts": list(bouts)}
