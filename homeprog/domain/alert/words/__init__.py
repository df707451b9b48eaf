"""The words of an alert, made from its kind and figures when it is shown."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, datetime

from ...clock import local
from . import care, hand, logged, phones, trouble
from .after import NEXT, NEXT_IN_TROUBLE, WHY
from .rule import HOW
from .said import Figures, Words

TROUBLES = trouble.TROUBLES

SAYINGS: Mapping[str, Callable[[Figures, str], Words]] = {
    "trouble": trouble.trouble,
    "exercise_while_stopped": trouble.while_stopped,
    "no_contact": phones.no_contact,
    "few_logged": logged.few_logged,
    "silence": logged.silence,
    "reminders_not_arriving": logged.reminders_not_arriving,
    "not_started": logged.not_started,
    "pain_rise": hand.pain_rise,
    "average_pain": hand.average_pain,
    "second_pain": hand.second_pain,
    "excess": logged.excess,
    "entered_later": logged.entered_later,
    "splint_off": hand.splint_off,
    "second_day": hand.second_day,
    "phase_not_released": care.phase_not_released,
    "release_lapsed": care.release_lapsed,
    "visit_missed": care.visit_missed,
    "plan_not_received": phones.plan_not_received,
    "not_yet": care.not_yet,
}
# Where the first of the days concerned stands among the figures of a kind.
FIRST = (
    "first", "planned", "earliest", "last_word", "since", "entered_at", "lapsed", "released",
    "said",
)  # fmt: skip


def words(kind: str, figures: Figures, zone: str = "UTC") -> Words:
    """(headline, lines) of an alert; times are told in `zone`, the clinic's.

    A kind this version does not know is shown by its name, never left out; figures that an
    earlier version of a rule kept leave the headline alone.
    """
    say = SAYINGS.get(kind)
    named = kind.replace("_", " ").capitalize()
    if say is None:
        return named, ()
    try:
        return say(figures, zone)
    except (KeyError, TypeError, ValueError):
        return named, ()


def why(kind: str, figures: Figures) -> str:
    """Why this rings, with the rule's own rate of false alarms; '' for an unknown kind."""
    say = WHY.get(kind)
    try:
        return say(figures) if say else ""
    except (KeyError, TypeError):
        return ""


def next_step(kind: str, figures: Figures | None = None) -> str:
    """What usually comes next, in usual words; '' for an unknown kind.

    `figures` tell which trouble it is, for that has steps of its own.
    """
    told = str((figures or {}).get("trouble", ""))
    return NEXT_IN_TROUBLE.get(told) or NEXT.get(kind, "")


def rule_works(kind: str, figures: Figures) -> str:
    """The figures inside a rule, for whoever wants them; '' where a rule has none."""
    say = HOW.get(kind)
    try:
        return say(figures) if say else ""
    except (KeyError, TypeError):
        return ""


def first_day(figures: Figures, opened: datetime, zone: str) -> date:
    """The first of the days an alert is about, else the one it was opened on."""
    for name in FIRST:
        if told := figures.get(name):
            whole = len(told) == len("2026-06-08")
            return date.fromisoformat(told) if whole else _date(datetime.fromisoformat(told), zone)
    return _date(opened, zone)


def _date(instant: datetime, zone: str) -> date:
    return local(instant, zone).date()
