"""The daily check on the phone: which questions fit, and what a 'no' leads to."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ..domain.course import Worn
from ..domain.regime import Phase
from ..domain.trouble import CAN_COME_OFF, Kind, text_key

Question = dict[str, Any]
YES_NO = ("yes", "no")


def questions(phase: Phase, worn: Worn | None, texts_worn: Worn) -> list[Question]:
    """The questions that fit a phase, in the order to ask; 'no' is always the worse answer.

    `worn` is what the phase has the patient wear; `texts_worn` names the texts where it is None.
    """
    return [*_splint(worn), *_lifting(phase), *_always(worn, texts_worn), *_wound(phase)]


def _question(key: str, label: str, on_no: Any, help: str | None = None) -> Question:
    return {"key": key, "label": label, "help": help, "answers": list(YES_NO), "on_no": on_no}


def _report(kind: Kind) -> dict[str, str]:
    return {"trouble": kind}


def _splint(worn: Worn | None) -> Iterator[Question]:
    if worn in CAN_COME_OFF:
        label = "Was your splint on as told, day and night?"
        yield _question("splint_on", label, {"ask": "off", **_report("splint_gone")})
    if worn is not None:
        label = "Does it hold firmly, without slipping?"
        yield _question("splint_holds", label, _report("splint_does_not_hold"))


def _lifting(phase: Phase) -> Iterator[Question]:
    if phase.check.active_extension_allowed or phase.check.band_lifts:
        label = "Do all your fingers and your thumb lift as well as yesterday?"
        yield _question("fingers_lift", label, _report("finger_no_longer_lifts"))
    if phase.check.band_lifts:
        label = "Does the band lift the finger right up by itself?"
        yield _question("band_lifts", label, _report("band_no_longer_lifts"))


def _always(worn: Worn | None, texts_worn: Worn) -> Iterator[Question]:
    swelling = {"text": text_key("swelling", texts_worn)}
    label = "Is your hand free of new swelling?"
    yield _question("no_new_swelling", label, swelling, "Look at both hands side by side.")
    if worn is not None:
        help = "A red mark should be gone 30 minutes after easing a strap."
        yield _question("comfortable", "Is it comfortable?", {"text": "trouble.skin"}, help)


def _wound(phase: Phase) -> Iterator[Question]:
    if phase.check.after_dressing:
        asked = _question("wound_dry", "Is the wound dry and closed?", {"text": "trouble.wound"})
        yield asked | {"answers": [*YES_NO, "cannot_see"]}
