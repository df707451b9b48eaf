"""The words of trouble: each report, and exercise logged while stopped."""

from __future__ import annotations

from collections.abc import Mapping

from .said import Figures, Words, moment, plural

TROUBLES: Mapping[str, str] = {
    "snap": "Felt or heard a snap",
    "finger_no_longer_lifts": "A finger no longer lifts as before",
    "knock_or_fall": "A hard knock or a fall",
    "splint_gone": "Splint broken, lost or will not go back on",
    "band_no_longer_lifts": "The band no longer lifts the finger",
    "white_blue_cold": "Finger white, blue or cold",
    "numb": "New numbness",
    "severe_pain": "Severe or fast-growing pain",
    "wound": "Open wound or pus",
    "fever": "Fever or spreading redness",
    "told_to_stop": "Was told to stop",
    "not_my_hand": "'This is not my hand'",
    "bump": "A light bump, nothing new",
    "splint_off_and_back": "Splint was off and is back on",
    "told_different": "Was told something different",
    "splint_does_not_hold": "The splint does not hold firmly",
    "swelling": "New swelling",
    "skin": "Skin red or blistered",
    "tingling": "Tingling",
}


def trouble(figures: Figures, zone: str) -> Words:
    kind = str(figures.get("trouble", ""))
    lines = []
    if "entered_at" in figures:
        lines.append(f"Reported {moment(figures['entered_at'], zone)}.")
    if figures.get("stop"):
        lines.append("The phone has stopped the exercises until a clinician resumes them.")
    return TROUBLES.get(kind, kind.replace("_", " ").capitalize()), tuple(lines)


def while_stopped(figures: Figures, _zone: str) -> Words:
    logs = plural(len(figures.get("bouts", ())), "log")
    return (
        "Exercise logged while stopped",
        (f"{logs} entered on a phone that had already stopped the exercises.",
         "It may have been done before the stop and entered after it: ask."),
    )  # fmt: skip
