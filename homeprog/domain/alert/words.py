"""The words of an alert, made from its kind and figures when it is shown."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, datetime
from typing import Any

from ..clock import local

Words = tuple[str, tuple[str, ...]]  # headline, lines
Figures = Mapping[str, Any]

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
NOT_DONE = "What was logged, not what was done. Diaries over-report."


def words(kind: str, figures: Figures, zone: str = "UTC") -> Words:
    """(headline, lines) of an alert; times are told in `zone`, the clinic's.

    A kind this version does not know is shown by its name, never left out.
    """
    say = SAYINGS.get(kind)
    return say(figures, zone) if say else (kind.replace("_", " ").capitalize(), ())


def _trouble(figures: Figures, zone: str) -> Words:
    kind = str(figures.get("trouble", ""))
    lines = []
    if "entered_at" in figures:
        lines.append(f"Reported {_moment(figures['entered_at'], zone)}.")
    if figures.get("stop"):
        lines.append("Exercises are stopped until a clinician resumes them.")
    return TROUBLES.get(kind, kind.replace("_", " ").capitalize()), tuple(lines)


def _while_stopped(figures: Figures, _zone: str) -> Words:
    count = len(figures.get("bouts", ()))
    logs = "1 log" if count == 1 else f"{count} logs"
    return (
        "Exercise logged while stopped",
        (f"{logs} entered after the exercises were stopped.",
         "Ring: is the patient still exercising?"),
    )  # fmt: skip


def _no_contact(figures: Figures, zone: str) -> Words:
    last = figures.get("last_word")
    heard = f"Last word {_moment(last, zone)}." if last else "No word since it was paired."
    return "No contact with the phone", (heard, "What was logged since is not known here.")


def _few_logged(figures: Figures, _zone: str) -> Words:
    reached, known, days = figures["reached"], figures["known"], figures["days"]
    return (
        "Few logged",
        (f"{reached} of {known} known times logged in the last {days} whole days, "
         f"{figures['lowest']} to {figures['highest']} %, shown {figures['shown']}.",
         NOT_DONE),
    )  # fmt: skip


def _phase_not_released(figures: Figures, _zone: str) -> Words:
    name = figures.get("name") or figures.get("phase")
    if visit := figures.get("visit"):
        why = f"The visit for it was planned for {_day(visit)}."
    else:
        why = f"Possible since {_day(figures['earliest'])}; no visit is planned for it."
    return f"Not released: {name}", (why, "Until then the stage before goes on.")


def _release_lapsed(figures: Figures, _zone: str) -> Words:
    name = figures.get("name") or figures.get("phase")
    why = figures.get("why")
    return f"Release lapsed: {name}", ((str(why),) if why else ())


def _plan_not_received(figures: Figures, zone: str) -> Words:
    since = figures.get("since")
    lines = (f"Changed {_moment(since, zone)}.",) if since else ()
    return "Change not received by the phone: ring", lines


SAYINGS: Mapping[str, Callable[[Figures, str], Words]] = {
    "trouble": _trouble,
    "exercise_while_stopped": _while_stopped,
    "no_contact": _no_contact,
    "few_logged": _few_logged,
    "phase_not_released": _phase_not_released,
    "release_lapsed": _release_lapsed,
    "plan_not_received": _plan_not_received,
}


def _moment(iso: str, zone: str) -> str:
    wall = local(datetime.fromisoformat(iso), zone)
    return f"{wall:%A} {wall.day} {wall:%B} {wall:%H:%M}"


def _day(iso: str) -> str:
    day = date.fromisoformat(iso)
    return f"{day:%A} {day.day} {day:%B}"
