"""The words of alerts on what staff have in hand: stages, visits, understanding."""

from __future__ import annotations

from collections.abc import Mapping

from .said import Figures, Words, day, moment

LAPSED: Mapping[str, str] = {  # grounds of domain.regime.ahead
    "trouble": "Trouble was reported and is not settled.",
    "held": "Exercises are off, or facts were corrected.",
    "not_lifting": "The daily check says a finger lifts less well.",
    "splint_missing": "The splint is off and will not go back.",
    "said_wrong": "The patient said that something is wrong since the visit.",
    "regime_changed": "The regime it was signed under has changed.",
    "no_contact": "No word from the phone for 72 hours after its day.",
}
STAYS = "Until it is released the patient goes on with the stage before."


def phase_not_released(figures: Figures, _zone: str) -> Words:
    name = figures.get("name") or figures.get("phase")
    if visit := figures.get("visit"):
        why = f"The visit for it was planned for {day(visit)}; nobody has released it."
    else:
        why = f"It could have begun on {day(figures['earliest'])}; no visit is planned for it."
    return f"Next stage not released: {name}", (why, STAYS)


def release_lapsed(figures: Figures, zone: str) -> Words:
    name = figures.get("name") or figures.get("phase")
    why = str(figures.get("why") or "")
    lines = [LAPSED.get(why, why)] if why else []
    if at := figures.get("lapsed"):
        lines.append(f"So this stage, signed ahead, did not begin: lapsed {moment(at, zone)}.")
    return f"Release lapsed: {name}", (*lines, STAYS)


def visit_missed(figures: Figures, _zone: str) -> Words:
    stage = figures.get("for")
    lines = [
        f"Planned for {day(figures['planned'])}" + (f", to release '{stage}'." if stage else ".")
    ]
    return "Visit missed", (*lines, "It was not marked as kept, moved or cancelled.")


def not_yet(figures: Figures, zone: str) -> Words:
    return (
        f"Not yet understood: {figures['item']}",
        (f"Noted as 'not yet' {moment(figures['said'], zone)}, when the patient was asked to "
         "say it back.", "Nobody has noted since that it is understood."),
    )  # fmt: skip
