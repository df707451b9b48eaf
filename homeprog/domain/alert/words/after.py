"""Why a kind of alert rings, how often in error, and what usually comes next.

The tool tells; a clinician decides. Each sentence is for somebody who never saw the tool.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from .said import Figures, number

RECORD = "This is no guess: it tells what is on record."
SHARED = (
    "This is a guess from what was entered, and it can be wrong: the rules on pain, on too much "
    "and on late entry together ring falsely at most about once in {days} days with a patient "
    "in whom nothing changes."
)
OTHERS_IN_DAYS = 300  # docs/METHODS.md, 'The budget of false alarms'


def _few_logged(figures: Figures) -> str:
    return (
        f"This is a guess from what was logged: fewer than a patient logs who keeps to "
        f"{_steady(figures)} %. With such a patient it rings falsely about once in "
        f"{figures['false_in_days']} days."
    )


def _steady(figures: Figures) -> str:
    return number(round(100 * figures["p0"]))


def _reminders(figures: Figures) -> str:
    return (
        f"Half or more of what was not logged had no reminder shown, as far as it is known. "
        f"{_few_logged(figures)}"
    )


def _silence(figures: Figures) -> str:
    return (
        f"This is a guess: {figures['r']} due times in a row and no answer are rare in a patient "
        f"who logs {_steady(figures)} %. With such a patient it rings falsely about once in "
        f"{figures['false_in_days']} days."
    )


def _shared(grounds: str) -> Callable[[Figures], str]:
    def say(_figures: Figures) -> str:
        return f"{grounds} {SHARED.format(days=OTHERS_IN_DAYS)}"

    return say


def _record(grounds: str) -> Callable[[Figures], str]:
    return lambda _figures: f"{grounds} {RECORD}"


def _pain_rise(figures: Figures) -> str:
    rise = number(figures["now"] - figures["baseline"])
    return _shared(f"Pain is {rise} points of 10 above the start of this stage.")(figures)


def _average(figures: Figures) -> str:
    grounds = f"Average pain of {figures['at_least']} or more on two days running."
    return _shared(grounds)(figures)


def _excess(figures: Figures) -> str:
    grounds = (
        f"Over {figures['over']} % of the day's dose on 2 of 7 days, or over twice the dose at one "
        "time."
    )
    return _shared(grounds)(figures)


WHY: Mapping[str, Callable[[Figures], str]] = {
    "trouble": _record("The patient, or someone for the patient, reported it."),
    "exercise_while_stopped": _record("The phone knew of the stop when this was entered."),
    "no_contact": _record(
        "No phone of the patient's was heard from between one getting-up time and the next."
    ),
    "few_logged": _few_logged,
    "silence": _silence,
    "reminders_not_arriving": _reminders,
    "not_started": _record("It rings on the second morning after the first release."),
    "pain_rise": _pain_rise,
    "average_pain": _average,
    "second_pain": _shared("A second high pain on one day, not in the first days."),
    "excess": _excess,
    "entered_later": _shared("More than half of the last 7 whole days was entered later."),
    "splint_off": _record("It was answered so in the daily check, or reported."),
    "second_day": _record("It was answered so in the daily check, or reported, on both days."),
    "phase_not_released": _record("Its earliest day, or the visit for it, is past."),
    "release_lapsed": _record("It was signed ahead, and something now speaks against it."),
    "visit_missed": _record("The day of a planned visit is past."),
    "plan_not_received": _record("Nothing shows that the phone holds the changed plan."),
    "not_yet": _record("It was answered 'not yet', and no call is noted since."),
}

NEXT: Mapping[str, str] = {
    "trouble": "Ring now: what happened, and does the finger lift as before? See the hand if you "
    "are in any doubt. Exercises go on only when a clinician resumes them.",
    "exercise_while_stopped": "Ring: stop the exercises, keep the splint on. "
    "Ask what was done, and whether the finger lifts as before.",
    "no_contact": "Ring. Is all well with the hand? Is the phone on, charged and online? "
    "Until it is heard from, nothing here says how the patient is.",
    "few_logged": "Ring and ask what gets in the way: pain, swelling, work, the splint, the phone. "
    "Ask too whether it was done and only not logged. See which hours go unlogged.",
    "silence": "Ring: is all well? Ask about pain, swelling and the splint, then about the phone.",
    "reminders_not_arriving": "Ring about the phone before anything else: are notifications "
    "allowed, is the sound on, does a battery saver hold them back? What does its Reminders "
    "screen say? Ask later whether they come.",
    "not_started": "Ring: is the splint on, is the plan clear, "
    "does anything hold the patient back?",
    "pain_rise": "Ring or see: look for swelling, a tight splint, infection, "
    "and for more done than asked.",
    "average_pain": "See the hand this week: look for CRPS, splint, infection.",
    "second_pain": "Ring today: go through the warning signs. "
    "See the hand if pain keeps growing or tablets do not help.",
    "excess": "Ring this week: more can strain the repair. "
    "Agree the amount; a log made twice by mistake can be put right on the phone.",
    "entered_later": "Ask at the next contact how it is logged. Times of day in the record "
    "say little; the amount may still be right.",
    "splint_off": "Ring today: why was it off, and does it fit? Does the finger lift as before? "
    "A splint that hurts needs a visit.",
    "second_day": "Ask at the next contact; see the hand sooner if it grows.",
    "phase_not_released": "See the hand and release it, or book the visit for it.",
    "release_lapsed": "Ring or see the hand. Release again only if it is right.",
    "visit_missed": "Ring and book another day. If it was kept after all, enter the next visit.",
    "plan_not_received": "Ring and tell the change: the phone still shows the plan before.",
    "not_yet": "Ring: go through it again, have it said back, and note the answer at settling.",
}
# Trouble that is asked about otherwise, by its kind.
NEXT_IN_TROUBLE: Mapping[str, str] = {
    "not_my_hand": "Ring now: compare side and finger with the operation note, and correct the "
    "facts if they are wrong. Exercises go on only when a clinician resumes them.",
    "told_to_stop": "Ring now: who said stop, and why? "
    "Exercises go on only when a clinician resumes them.",
    "told_different": "Ring today: what was the patient told, and by whom? "
    "Correct the plan if that is right, or say that the plan stands.",
    "bump": "Ring today: does the finger lift as before? If not, it is a stop: see the hand.",
    "splint_does_not_hold": "Ring today: what is loose or slips? Book the splint to be seen to.",
}
