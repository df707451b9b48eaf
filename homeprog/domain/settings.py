"""The clinic's settings and their defaults (docs/METHODS.md); a clinic may set its own."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

Value = int | float | bool | str


@dataclass(frozen=True, slots=True)
class Bound:
    """A default with the range a clinic may choose from, both ends included."""

    default: Value
    least: float = 0
    most: float = 0
    words: str = ""


SETTINGS: Mapping[str, Bound] = {
    "waking.wake": Bound("07:00", words="waking, local wall clock"),
    "waking.sleep": Bound("22:00", words="sleep, local wall clock"),
    "timely_minutes": Bound(45, 15, 120, "minutes after a slot's end in which a log is timely"),
    "grace_minutes": Bound(15, 0, 30, "minutes of grace at a slot's edge"),
    "fill_in_hours": Bound(48, 1, 48, "hours in which an ended slot can be filled in"),
    "done_share": Bound(0.8, 0.5, 1, "share of the dose that makes a slot logged"),
    "take_back_minutes": Bound(2, 0, 5, "minutes in which 'Pressed by mistake' is offered"),
    "trouble.ring_by_minutes": Bound(60, 10, 240, "minutes after a clinician has seen a report"),
    "pain.each_bout": Bound(True, words="pain is asked at each bout; otherwise 3 times a day"),
    "pain.red_flag_at": Bound(7, 5, 10, "pain (0-10) that opens the list of warning signs"),
    "pain.rise": Bound(3, 2, 5, "rise over yesterday's median that opens the list"),
    "pain.rise_floor": Bound(5, 3, 8, "pain (0-10) below which a rise opens nothing"),
    "reminders.soundless_minutes": Bound(30, 0, 90, "minutes after waking and before sleep"),
    "reminders.unanswered": Bound(3, 2, 10, "unanswered reminders in a row before it is quieter"),
    "chance.level": Bound(0.9, 0.8, 0.99, "level of the interval by which there is enough to say"),
    "chance.against": Bound(0.8, 0.5, 0.95, "share that interval is held against"),
    "persistence.days": Bound(3, 2, 14, "whole days without a go, all known, that are a stop"),
    "no_contact_hours": Bound(72, 24, 96, "hours without contact after which the phone says so"),
    "few_logged.p0": Bound(0.85, 0.6, 0.95, "share logged that is steady"),
    "few_logged.p1": Bound(0.55, 0.2, 0.8, "share logged that must be told"),
    "few_logged.rho": Bound(0.3, 0, 0.8, "how alike the slots of one day are"),
    "few_logged.false_in_days": Bound(150, 50, 600, "patient-days to one false alarm"),
    "few_logged.head_start": Bound(True, words="head start: half way up at the first release"),
    "silence.false_in_days": Bound(300, 100, 900, "patient-days to one false alarm"),
    "silence.waking_hours": Bound(6, 3, 14, "waking hours before the phone asks 'All well?'"),
    "silence.answer_hours": Bound(1, 0.5, 4, "hours 'All well?' waits before staff hear"),
    "pain_rise.over": Bound(2, 1, 4, "points over days 2 to 4 of a stage that are a rise"),
    "pain_rise.floor": Bound(4, 2, 7, "daily pain (0-10) below which nothing is a rise"),
    "average_pain.at": Bound(5, 4, 8, "average pain (0-10) that is told on two days running"),
    "average_pain.after_day": Bound(5, 0, 14, "day after which high average pain is told"),
    "second_pain.after_day": Bound(3, 0, 7, "day after which a second high pain is told"),
    "splint_off.days": Bound(2, 1, 4, "days not as told that are told"),
    "splint_off.of": Bound(4, 2, 7, "of so many days"),
    "splint_off.hours": Bound(2, 1, 12, "hours off at once that are told"),
    "later.share": Bound(0.5, 0.3, 0.9, "share of the credit told later; more is told"),
    "later.slots": Bound(20, 8, 60, "known times in 7 days, at least, before that is said"),
    "plan_received_clinic_hours": Bound(4, 1, 16, "clinic hours in which a change must arrive"),
    "excess.share": Bound(1.25, 1.1, 2, "share of the day's dose that is too much"),
    "excess.days": Bound(2, 1, 7, "days of 7 over it that are told"),
    "excess.slot": Bound(2.0, 1.5, 3, "times a slot's dose that is told at once"),
    "enough.share": Bound(1.5, 1.2, 2, "times a slot's dose up to which it is 'enough for now'"),
    "phase_overdue_clinic_days": Bound(3, 1, 10, "clinic days after a phase's earliest day"),
    "pause_days": Bound(3, 1, 14, "days a pause lasts unless another end is chosen"),
    "pause_longest_days": Bound(14, 3, 28, "days a pause lasts at most"),
    "regime.slab_off_day": Bound(21, 14, 56, "earliest day a slab comes off (static, V and VI)"),
    "regime.stop_index_middle": Bound(30, 0, 60, "flexion stop, index and middle, degrees"),
    "regime.stop_ring_small": Bound(40, 0, 60, "flexion stop, ring and small, degrees"),
    "regime.stop_until_day": Bound(21, 14, 56, "day until which the flexion stop stays"),
    "regime.never_stop": Bound(60, 45, 90, "flexion stop refused early, degrees"),
    "regime.never_stop_until_day": Bound(24, 21, 56, "day until which that stop is refused"),
    "regime.wrist_flexion_day": Bound(42, 28, 84, "day from which the wrist may rest in flexion"),
    "regime.thumb_dynamic_a_day": Bound(6, 1, 12, "times a day, early dynamic thumb"),
    "regime.thumb_dynamic_until_day": Bound(28, 14, 56, "day until which that is early"),
    "regime.reason_over": Bound(1.5, 1.1, 2, "times the template's daily total that need a reason"),
    "regime.refuse_over": Bound(2.5, 1.5, 4, "times the template's daily total that are refused"),
    "regime.slot_gap_minutes": Bound(20, 10, 60, "minutes between goes at one exercise"),
    "regime.resistance_day": Bound(56, 42, 112, "day from which resistance is not warned of"),
    "regime.resistance_late_day": Bound(70, 56, 140, "the same, transfer, graft or arthritis"),
    "regime.combined_flexion_day": Bound(42, 28, 84, "day wrist and fingers may bend together"),
    "regime.scar_massage_day": Bound(10, 7, 42, "day from which scars are massaged"),
    "regime.scar_massage_least": Bound(3, 1, 4, "times a day scars are massaged, at least"),
    "regime.scar_massage_most": Bound(4, 2, 8, "times a day scars are massaged, at most"),
    "regime.scar_massage_minutes": Bound(5, 1, 15, "minutes of scar massage at a time"),
    "not_again_clinic_days": Bound(3, 1, 20, "clinic days before a settled alert may return"),
    "closed_as_weekday": Bound(6, 0, 6, "weekday (0 Monday) a closing day is like"),
    "sign_in_idle_minutes": Bound(60, 5, 240, "minutes without a page after which staff are out"),
    "sign_in_hours": Bound(12, 1, 16, "hours after which staff sign in again"),
    "pairing_minutes": Bound(10, 2, 60, "minutes a pairing link and code are good for"),
    "device_after_closing_days": Bound(14, 1, 60, "days a phone may send after the last course"),
}  # fmt: skip

# (less, more): together they can only be meant in this order. The levels of few logged must
# differ; the others may be equal.
LESS_AND_MORE: tuple[tuple[str, str], ...] = (
    ("few_logged.p1", "few_logged.p0"),
    ("splint_off.days", "splint_off.of"),
    ("pause_days", "pause_longest_days"),
    ("regime.reason_over", "regime.refuse_over"),
    ("regime.scar_massage_least", "regime.scar_massage_most"),
    ("regime.resistance_day", "regime.resistance_late_day"),
)
MUST_DIFFER = "few_logged.p1"

DEFAULTS: Mapping[str, Value] = {key: bound.default for key, bound in SETTINGS.items()}


def fault(key: str, value: object) -> str | None:
    """What is wrong with a value for `key`, in a sentence; None where it may stand."""
    bound = SETTINGS.get(key)
    if bound is None:
        return f"There is no setting {key!r}."
    if isinstance(bound.default, bool):
        return None if isinstance(value, bool) else "Say true or false."
    if isinstance(bound.default, str):
        return None if isinstance(value, str) and value else "Say it as text."
    if isinstance(value, bool) or not isinstance(value, int | float):
        return "Say a number."
    if isinstance(bound.default, int) and value != int(value):
        return "Say a whole number."
    if not bound.least <= value <= bound.most:
        return f"{bound.words.capitalize()}: from {bound.least:g} to {bound.most:g}."
    return None


def contradictions(together: Mapping[str, Any], changed: Collection[str]) -> dict[str, str]:
    """Key -> what is wrong with it beside another; `together` is everything as it would be then.

    Only pairs of which one is `changed` are looked at.
    """
    found = {}
    for less, more in LESS_AND_MORE:
        low, high = together[less], together[more]
        wrong = low >= high if less == MUST_DIFFER else low > high
        if wrong and not {less, more}.isdisjoint(changed):
            key = less if less in changed else more
            must = "must be less than" if less == MUST_DIFFER else "must not be more than"
            found[key] = (
                f"{less} ({low:g}) {must} {more} ({high:g}). Choose another figure, or set both "
                "in one file."
            )
    return found
