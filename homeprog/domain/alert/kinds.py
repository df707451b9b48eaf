"""The kinds of alert: how urgent each is, which are trouble, and when each goes quiet."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Literal, get_args

Kind = Literal[
    "trouble",  # a report of the patient's; each its own row
    "exercise_while_stopped",  # one open a course; each bout is added to it
    "no_contact",
    "few_logged",
    "silence",  # due times in a row without a log, and 'All well?' not answered
    "reminders_not_arriving",  # takes the place of few logged
    "not_started",  # no bout by the second waking after the first release
    "pain_rise",
    "average_pain",  # high on two days running
    "second_pain",  # high for a second time on one day
    "excess",
    "entered_later",  # most of what is shown was told later
    "splint_off",
    "second_day",  # swelling, comfort or skin, for the second day running
    "phase_not_released",
    "release_lapsed",  # a release signed ahead lapsed before it began
    "visit_missed",
    "plan_not_received",  # a change that takes something back has not reached the phone
    "not_yet",  # understanding 'not yet', and nobody has rung
]
Level = Literal["now", "today", "this_week"]
State = Literal["open", "taken_up", "settled", "passed"]
Circumstance = Literal["closed", "paused", "stopped", "in_hospital", "held", "no_leading"]

KINDS: tuple[Kind, ...] = get_args(Kind)
LEVELS: tuple[Level, ...] = get_args(Level)  # most urgent first
TROUBLE: frozenset[Kind] = frozenset({"trouble", "exercise_while_stopped"})
UNSETTLED: tuple[State, ...] = ("open", "taken_up")
OWN_ROW: frozenset[Kind] = frozenset({"trouble"})  # never merged, not even with the same report

# The level of each kind unless a clinic chooses another; that of trouble is its report's.
LEVEL: Mapping[Kind, Level] = {
    "trouble": "now",
    "exercise_while_stopped": "now",
    "no_contact": "today",
    "few_logged": "today",
    "silence": "today",
    "reminders_not_arriving": "today",
    "not_started": "today",
    "pain_rise": "today",
    "average_pain": "this_week",
    "second_pain": "today",
    "excess": "this_week",
    "entered_later": "this_week",
    "splint_off": "today",
    "second_day": "this_week",
    "phase_not_released": "today",
    "release_lapsed": "today",
    "visit_missed": "today",
    "plan_not_received": "today",
    "not_yet": "today",
}

# Guesses from what was logged, with a false-alarm rate. Every other kind tells what is on record.
GUESSES: frozenset[Kind] = frozenset({
    "few_logged", "silence", "reminders_not_arriving", "pain_rise", "average_pain", "second_pain",
    "excess", "entered_later",
})  # fmt: skip
# Held under 'no contact': a phone that says nothing tells nothing of these.
UNDER_NO_CONTACT: frozenset[Kind] = frozenset(
    {"silence", "reminders_not_arriving", "plan_not_received"}
)

HELD: frozenset[Circumstance] = frozenset({"paused", "stopped", "in_hospital", "held"})
CLOSED: frozenset[Circumstance] = frozenset({"closed"})
# In which circumstances a kind goes quiet: none is opened, and an open one passes. Trouble never.
QUIET: Mapping[Kind, frozenset[Circumstance]] = {
    "trouble": frozenset(),
    "exercise_while_stopped": frozenset(),
    # Of the dose: nothing is asked for while held, and without a leading exercise there is none.
    "few_logged": CLOSED | HELD | {"no_leading"},
    "silence": CLOSED | HELD | {"no_leading"},
    "reminders_not_arriving": CLOSED | HELD | {"no_leading"},
    "not_started": CLOSED | HELD | {"no_leading"},
    "entered_later": CLOSED | HELD | {"no_leading"},
    "excess": CLOSED | {"no_leading"},
    # A phone that reminds of nothing has little to say.
    "no_contact": CLOSED | HELD,
    # The daily check is asked on; in hospital others look at the hand.
    "pain_rise": CLOSED | {"in_hospital"},
    "average_pain": CLOSED | {"in_hospital"},
    "second_pain": CLOSED | {"in_hospital"},
    "splint_off": CLOSED | {"in_hospital"},
    "second_day": CLOSED | {"in_hospital"},
    # Until a stopped hand has been looked at, the next stage is no question.
    "phase_not_released": CLOSED | {"stopped", "in_hospital"},
    "release_lapsed": CLOSED,
    "visit_missed": CLOSED,
    "plan_not_received": CLOSED,  # a hold is what must be received
    "not_yet": CLOSED,
}


def is_trouble(kind: str) -> bool:
    """Trouble cannot be switched off, delayed or merged, and never passes by itself."""
    return kind in TROUBLE


def quiet(kind: Kind, circumstances: Collection[Circumstance]) -> bool:
    """Whether a kind says nothing while a course is so."""
    return not QUIET[kind].isdisjoint(circumstances)
