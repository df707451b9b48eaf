"""The words of alerts on what phones said, and did not."""

from __future__ import annotations

from .said import Figures, Words, moment, plural

CHANGES = {
    "hold": "Exercises were stopped or paused",
    "revision": "A change of regime took something back",
    "release": "The stage was set back",
}


def no_contact(figures: Figures, zone: str) -> Words:
    last = figures.get("last_word")
    heard = f"Last heard from {moment(last, zone)}." if last else "Never heard from since paired."
    lines = [heard, "What was logged since is not known here: the phone may hold it."]
    if change := figures.get("change"):
        lines.append(f"{_changed(change, zone)} The phone does not know: ring.")
    return "No contact with the phone", tuple(lines)


def plan_not_received(figures: Figures, zone: str) -> Words:
    lines = [_changed(figures, zone)] if figures.get("since") else []
    if figures.get("phones"):
        waiting = plural(figures["phones"], "phone")
        verb = "has" if figures["phones"] == 1 else "have"
        lines.append(f"{waiting} {verb} not fetched the plan since: the patient may not know.")
    return "Change not received by the phone: ring", tuple(lines)


def _changed(figures: Figures, zone: str) -> str:
    what = CHANGES.get(str(figures.get("what")), "Changed")
    return f"{what} {moment(figures['since'], zone)}."
