"""Adherence, whatever was logged: bounds stay in order, rows may come in any order."""

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from homeprog.domain.adherence import (
    day_figures,
    figures,
    judge,
    total,
)
from homeprog.domain.hold import Hold
from tests.domain.adherence_cases import WHOLE_DAY, known
from tests.domain.credit_cases import at, bout, hours


@st.composite
def days(draw):
    """A day of two phones, holds and words, looked at some time that day."""
    slots = hours(9, 5, dose=draw(st.integers(1, 10)))
    clock = st.integers(8 * 60, 15 * 60).map(lambda m: f"{m // 60:02}:{m % 60:02}")
    late = st.sampled_from([0, 30, 120, 500])
    device = st.sampled_from(["phone", "carer"])
    bouts = []
    for n in range(draw(st.integers(0, 8))):
        done, delay = draw(clock), draw(late)
        made = bout(f"b{n}", done, draw(st.integers(1, 12)), device=draw(device))
        entered = made.entered_at + delay * (at("00:01") - at("00:00"))
        made = replace(made, entered_at=entered, received_at=entered)
        if draw(st.booleans()) and delay == 500:
            made = replace(made, done_at=None, slot_start=at(f"{draw(st.integers(9, 13)):02}:00"))
        bouts.append(made)
    starts = draw(st.lists(clock, max_size=2))
    holds = [Hold("pause", at(c), at(c) + (at("01:00") - at("00:20"))) for c in starts]
    words = draw(st.lists(clock, max_size=2))
    return slots, bouts, holds, words, at(draw(clock)) + (at("04:00") - at("00:00"))


def summed(slots, bouts, holds, words, now):
    proof = known(*words, now=now)
    return day_figures("bend", slots, judge(slots, bouts, holds, {}, proof, now), bouts, WHOLE_DAY)


@settings(max_examples=300)
@given(days())
def test_lowest_is_at_most_shown_and_shown_at_most_highest(drawn):
    result = figures(summed(*drawn))
    for bounds in (result.dose, result.on_time, result.days):
        if bounds.shown is not None:
            assert 0 <= bounds.lowest <= bounds.shown <= bounds.highest <= 1


@given(st.lists(days(), min_size=2, max_size=4))
def test_bounds_stay_in_order_over_any_window_of_days(drawn):
    result = figures(total(summed(*one) for one in drawn))
    for bounds in (result.dose, result.on_time, result.days):
        if bounds.shown is not None:
            assert bounds.lowest <= bounds.shown <= bounds.highest


@given(days(), st.randoms(use_true_random=False))
def test_a_summary_is_the_same_whatever_the_order_of_its_rows(drawn, random):
    slots, bouts, holds, words, now = drawn
    expected = summed(*drawn)
    for rows in (slots, bouts, holds, words):
        random.shuffle(rows)
    assert summed(slots, bouts, holds, words, now) == expected


@given(days())
def test_a_slot_met_by_a_hold_is_excused_or_logged(drawn):
    slots, bouts, holds, words, now = drawn
    result = judge(slots, bouts, holds, {}, known(*words, now=now), now)
    for one in slots:
        if any(hold.meets(one.start, one.end) for hold in holds):
            assert result.standing[one.key] in {"excused", "logged"}
