"""The daily check on the phone: its words, and what a 'no' leads to."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..domain import check
from ..domain.course import Worn
from ..domain.regime import Phase
from ..domain.trouble import Kind, text_key
from ..phrases import Say

Question = dict[str, Any]
YES_NO = ("yes", "no")

HELPED = ("fingers_lift", "no_new_swelling", "comfortable")
REPORTS: Mapping[str, Kind] = {
    "splint_on": "splint_gone",
    "splint_holds": "splint_does_not_hold",
    "fingers_lift": "finger_no_longer_lifts",
    "band_lifts": "band_no_longer_lifts",
}


def questions(phase: Phase, texts_worn: Worn, say: Say) -> list[Question]:
    """The questions that fit a phase, in the order to ask; 'no' is always the worse answer.

    `texts_worn` names the texts by what is worn.
    """
    return [_question(key, texts_worn, say) for key in check.questions(phase)]


def _question(key: str, texts_worn: Worn, say: Say) -> Question:
    answers = [*YES_NO, "cannot_see"] if key == "wound_dry" else list(YES_NO)
    return {
        "key": key,
        "label": say(f"question.{key}"),
        "help": say(f"question.help.{key}") if key in HELPED else None,
        "answers": answers,
        "on_no": _on_no(key, texts_worn),
    }


def _on_no(key: str, texts_worn: Worn) -> dict[str, str]:
    """What a 'no' leads to: a report, or a text to read."""
    if key in REPORTS:
        asks = {"ask": "off"} if key == "splint_on" else {}
        return asks | {"trouble": REPORTS[key]}
    texts = {
        "no_new_swelling": text_key("swelling", texts_worn),
        "comfortable": "trouble.skin",
        "wound_dry": "trouble.wound",
    }
    return {"text": texts[key]}
