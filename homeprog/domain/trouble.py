"""Trouble: what a patient can report, what it stops, and which text answers it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal, get_args

from .course import CAN_COME_OFF, WORN, Worn

Kind = Literal[
    "snap", "finger_no_longer_lifts", "knock_or_fall", "splint_gone", "band_no_longer_lifts",
    "white_blue_cold", "numb", "severe_pain", "wound", "fever", "told_to_stop", "not_my_hand",
    "bump", "splint_off_and_back", "told_different", "splint_does_not_hold", "swelling", "skin",
    "tingling",
]  # fmt: skip
Level = Literal["now", "today", "week", "line"]  # "line": in the list, on the second day running

KINDS: tuple[Kind, ...] = get_args(Kind)
TAKE_BACK = timedelta(minutes=2)  # how long 'Pressed by mistake' is offered; clinic setting


@dataclass(frozen=True, slots=True)
class Trouble:
    """What a kind of trouble does."""

    stop: bool  # stops exercise prompts and the start button at once
    emergency: bool  # the text sends the patient to an emergency department
    can_be_pressed_by_mistake: bool  # whether it may be taken back for 2 minutes
    level: Level
    by_worn: bool = False  # the text differs by what is worn
    only: tuple[Worn, ...] = WORN  # offered only where one of these is worn


TROUBLES: Mapping[Kind, Trouble] = {
    "snap": Trouble(True, False, False, "now"),
    "finger_no_longer_lifts": Trouble(True, False, False, "now"),
    "knock_or_fall": Trouble(True, False, True, "now"),
    "splint_gone": Trouble(True, False, True, "now", by_worn=True),
    "band_no_longer_lifts": Trouble(True, False, True, "now", only=("sling",)),
    "white_blue_cold": Trouble(True, True, False, "now", by_worn=True),
    "numb": Trouble(True, False, True, "now", by_worn=True),
    "severe_pain": Trouble(True, True, True, "now"),
    "wound": Trouble(True, False, True, "now"),
    "fever": Trouble(True, True, True, "now"),
    "told_to_stop": Trouble(True, False, True, "now"),
    "not_my_hand": Trouble(True, False, False, "now"),
    "bump": Trouble(False, False, True, "today"),
    # An alert by itself only on 2 of 4 days, or over 2 h at once: adherence's rule, not this one.
    "splint_off_and_back": Trouble(False, False, True, "line", by_worn=True, only=CAN_COME_OFF),
    "told_different": Trouble(False, False, True, "today"),
    "splint_does_not_hold": Trouble(False, False, True, "today", by_worn=True),
    "swelling": Trouble(False, False, True, "line", by_worn=True),
    "skin": Trouble(False, False, True, "line"),
    "tingling": Trouble(False, False, True, "line"),
}

STOP_SCREEN = "screen.stop"
BEFORE_CONFIRMATION: tuple[str, ...] = ("before.keep_dry", "before.do_not_use")
ALWAYS: tuple[str, ...] = (
    STOP_SCREEN,
    "screen.checking_plan",
    "screen.no_contact_72h",
    "screen.nobody_on_duty",
    "screen.carry_on",
    "screen.old_splint",
)


def is_stop(kind: Kind) -> bool:
    """Whether a report of this kind is a stop flag."""
    return TROUBLES[kind].stop


def any_stop(kinds: Iterable[Kind]) -> bool:
    """Whether any of the kinds reported together is a stop flag."""
    return any(TROUBLES[kind].stop for kind in kinds)


def can_take_back(
    kind: Kind, reported_at: datetime, now: datetime, within: timedelta = TAKE_BACK
) -> bool:
    """Whether 'Pressed by mistake' is still offered; the report and its alert stay."""
    return TROUBLES[kind].can_be_pressed_by_mistake and now - reported_at <= within


def offered(worn: Worn | None) -> tuple[Kind, ...]:
    """The kinds a patient can choose from; all of them while it is not known what is worn."""
    return tuple(kind for kind in KINDS if worn is None or worn in TROUBLES[kind].only)


def text_key(kind: Kind, worn: Worn) -> str:
    """The key of the text that answers a report, 'trouble.numb.plaster'."""
    key = f"trouble.{kind}"
    return f"{key}.{worn}" if TROUBLES[kind].by_worn else key


def required_texts(worn: Worn | None) -> list[str]:
    """Keys of the texts a clinic must have signed before a phone is paired.

    None: it is not known yet what is worn, so the texts of everything that can be.
    """
    kinds_of_wear: tuple[Worn, ...] = WORN if worn is None else (worn,)
    keys = [text_key(kind, each) for each in kinds_of_wear for kind in offered(each)]
    return list(dict.fromkeys([*BEFORE_CONFIRMATION, *ALWAYS, *keys]))
