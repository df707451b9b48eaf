"""Why a kind of alert rings, how often in error, and what usually comes next.

The tool tells; a clinician decides. Each sentence is for somebody who never saw the tool.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from .said import Figures, number

RECORD = "This is no guess: it tells what is on record."
SHARED = (
    "A guess from what was logged. All rules of this sort together may ring falsely once in "
    "{days} days with a patient who goes on steadily."
)
OTHERS_IN_DAYS = 300  # docs/METHODS.md, 'The budget of false alarms'


def _few_logged(figures: Figures) -> str:
    steady = number(round(100 * figures["p0"]))
    return (
        f"A guess from what was logged: too few for a patient who logs {steady} %. With such a "
        f"patient it rings falsely about once in {figures['false_in_days']} days."
    )


def _reminders(figures: Figures) -> str:
    return f"{_few_logged(figures)} Half or more of what was not logged had no reminder shown."


def _silence(figures: Figures) -> str:
    return (
        f"A guess: {figures['r']} due times in a row and no answer. With a patient who logs "
        f"{number(round(100 * figures['p0']))} % it rings falsely about once in "
        f"{figures['false_in_days']} days."
    )


def _shared(grounds: str) -> Callable[[Figures], str]:
    def say(_figures: Figures) -> str:
        return f"{grounds} {SHARED.format(days=OTHERS_IN_DAYS)}"

    return say


def _record(grounds: str) -> Callable[[Figures], str]:
    return lambda _figures: f"{grounds} {RECORD}"


WHY: Mapping[str, Callable[[Figures], str]] = {
    "trouble": _record("The patient, or someone for the patient, reported it."),
    "exercise_while_stopped": _record("The phone knew of the stop when this was entered."),
    "no_contact": _record("No phone has spoken from one waking to the next."),
    "few_logged": _few_logged,
    "silence": _silence,
    "reminders_not_arriving": _reminders,
    "not_started": _record("Told at the second waking after the first release."),
    "pain_rise": _shared("2 points or more above the start of this stage, and 4 or more."),
    "average_pain": _shared("Average pain of 5 or more on two days running, after day 5."),
    "second_pain": _shared("A second high pain on one day, after day 3."),
    "excess": _shared("Over 125 % of the dose on 2 days of 7, or over twice a time's dose."),
    "entered_later": _shared("More than half of the last 7 whole days was entered later."),
    "splint_off": _record("As answered in the daily check, or reported."),
    "second_day": _record("As answered in the daily check, or reported, two days running."),
    "phase_not_released": _record("Its earliest day, or the visit for it, is past."),
    "release_lapsed": _record("It was signed ahead and a ground to lapse was found."),
    "visit_missed": _record("The day of a planned visit is past."),
    "plan_not_received": _record("Nothing shows that the phone holds the changed plan."),
    "not_yet": _record("It was answered 'not yet' at teach-back."),
}

NEXT: Mapping[str, str] = {
    "trouble": "Ring now. Look at the hand if you are in any doubt. "
    "Exercises go on only when a clinician resumes them.",
    "exercise_while_stopped": "Ring: stop the exercises, keep the splint on. "
    "Ask what was done, and whether the finger lifts as before.",
    "no_contact": "Ring. Is the phone on, charged and online? Is all well with the hand? "
    "Until it speaks nothing here says how the patient is.",
    "few_logged": "Ring and ask what gets in the way: pain, swelling, work, the splint, the phone. "
    "Ask too whether it was done and only not logged. See which hours go unlogged.",
    "silence": "Ring: is all well? Ask about pain, swelling and the splint, then about the phone.",
    "reminders_not_arriving": "Ring about the phone before anything else: "
    "notifications allowed, sound, battery saver. Send a test reminder while you speak.",
    "not_started": "Ring: is the splint on, is the plan clear, "
    "does anything hold the patient back?",
    "pain_rise": "Ring or see: look for swelling, a tight splint, infection, "
    "and for more done than asked.",
    "average_pain": "See the hand this week: look for CRPS, splint, infection.",
    "second_pain": "Ring today: go through the warning signs. "
    "See the hand if pain keeps growing or tablets do not help.",
    "excess": "Ring this week: more can strain the repair. "
    "Agree the amount; a log made twice by mistake can be corrected.",
    "entered_later": "Ask at the next contact how it is logged. Times of day in the record "
    "say little; the amount may still be right.",
    "splint_off": "Ring today: why was it off, and does it fit? A splint that hurts needs a visit.",
    "second_day": "Ask at the next contact; see the hand sooner if it grows.",
    "phase_not_released": "See the hand and release, or book the visit for it. "
    "The patient carries on with the stage before.",
    "release_lapsed": "Ring or see the hand, then sign it again.",
    "visit_missed": "Ring and book another day. If it was kept, enter it as kept.",
    "plan_not_received": "Ring and tell the change: the phone still shows the plan before.",
    "not_yet": "Ring: go through it again, have it said back, and note the answer.",
}
