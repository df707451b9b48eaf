"""The words of alerts on what staff have in hand: stages, visits, understanding."""

from __future__ import annotations

from collections.abc import Mapping

from .said import Figures, Words, day, moment

LAPSED: Mapping[str, str] = {
    "trouble": "Trouble was reported and is not settled.",
    "not_lifting": "The daily check said a finger does not lift as before.",
    "splint_missing": "The daily check said the splint is off and not back on.",
    "held": "Exercises are held, or facts were corrected.",
    "regime_changed": "The regime it was signed under has changed.",
    "no_contact": "The patient was not heard from after its day.",
}


LAPSED = {  # grounds of domain.regime.ahead
    "trouble": "Trouble was reported and is not settled.",
    "held": "Exercises are off, or facts were corrected.",
    "not_lifting": "The daily check says a finger lifts less well.",
    "splint_missing": "The splint is off and will not go back.",
    "regime_changed": "The regime it was signed under has changed.",
    "no_contact": "No word from the phone for 72 hours after its day.",
}


def phase_not_released(figures: Figures, _zone: str) -> Words:
    name = figures.get("name") or figures.get("phase")
    if visit := figures.get("visit"):
        why = f"The visit for it was planned for {day(visit)}."
    else:
        why = f"Possible since {day(figures['earliest'])}; no visit is planned for it."
    return f"Not released: {name}", (why, "Until then the stage before goes on.")


def release_lapsed(figures: Figures, zone: str) -> Words:
    name = figures.get("name") or figures.get("phase")
    why = str(figures.get("why") or "")
    lines = [LAPSED.get(why, why)] if why else []
    if at := figures.get("lapsed"):
        lines.append(f"Lapsed {moment(at, zone)}.")
    return f"Release lapsed: {name}", (*lines, "The stage before goes on.")


def visit_missed(figures: Figures, _zone: str) -> Words:
    stage = figures.get("for")
    lines = [
        f"Planned for {day(figures['planned'])}" + (f", to release '{stage}'." if stage else ".")
    ]
    return "Visit missed", (*lines, "It was not marked as kept, moved or cancelled.")


def not_yet(figures: Figures, zone: str) -> Words:
    return (
        "Not yet understood",
        (f"'{figures['item']}': not yet, {moment(figures['said'], zone)}.",
         "Nobody has noted since that it is understood."),
    )  # fmt: skip
