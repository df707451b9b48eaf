"""Credit, whatever was logged: the best of all cuts, in any order, nothing lost."""

from datetime import UTC, datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from homeprog.domain.bout import Bout
from homeprog.domain.credit import credit
from homeprog.domain.regime.dose import Dose
from homeprog.domain.timetable import Slot
from tests.domain.brute_credit import best
from tests.domain.credit_cases import DAY, EVENING


def instant(minute: int) -> datetime:
    return datetime(2026, 3, 11, 9, tzinfo=UTC) + timedelta(minutes=minute)


@st.composite
def short_days(draw, most=6):
    """Up to four slots, adjacent or not, and bouts that crowd round their edges."""
    slots, minute = [], 0
    for _ in range(draw(st.integers(1, 4))):
        length = draw(st.sampled_from([20, 30, 60, 61]))
        slots.append((minute, minute + length, draw(st.integers(1, 12))))
        minute += length + draw(st.sampled_from([0, 0, 0, 3, 20, 90]))
    edges = [minute for start, end, _ in slots for minute in (start, end)]
    near = st.builds(lambda e, by: e + by, st.sampled_from(edges), st.integers(-17, 17))
    bouts = draw(
        st.lists(
            st.tuples(near, st.integers(1, 12), st.sampled_from([0, 0, 40, 46, 100, 300])),
            max_size=most,
        )
    )
    named = [
        (f"b{n}", minute, amount, minute + late) for n, (minute, amount, late) in enumerate(bouts)
    ]
    return slots, named


def as_slots(slots):
    return [
        Slot("bend", "motion", 1, instant(start), instant(end), DAY, Dose(dose))
        for start, end, dose in slots
    ]


def as_bouts(bouts):
    return [
        Bout(name, "phone", "bend", amount, instant(minute), instant(entered), instant(entered))
        for name, minute, amount, entered in bouts
    ]


def total_credit(slots, bouts, excused=()):
    result = credit(slots, bouts, excused, EVENING)
    counted = [c for key, c in result.slots.items() if key not in excused]
    return sum(c.timely for c in counted), sum(c.told for c in counted)


@settings(max_examples=400, deadline=None)
@given(short_days(), st.sets(st.integers(0, 3), max_size=2))
def test_the_cuts_are_the_best_of_all_cuts(day, excused):
    slots, bouts = day
    places, timely, told = best(slots, bouts, excused)
    laid = as_slots(slots)
    keys = {laid[number].key for number in excused if number < len(laid)}
    result = credit(laid, as_bouts(bouts), keys, EVENING)
    assert result.place == {
        name: None if number is None else laid[number].key for name, number in places.items()
    }
    assert total_credit(laid, as_bouts(bouts), keys) == (timely, told)


@given(short_days(most=9), st.randoms(use_true_random=False))
def test_the_order_in_which_rows_arrived_never_matters(day, random):
    slots, bouts = as_slots(day[0]), as_bouts(day[1])
    devices = ["phone", "carer", "staff"]
    bouts = [
        Bout(b.id, devices[n % 3], b.exercise, b.amount, b.done_at, b.entered_at, b.received_at)
        for n, b in enumerate(bouts)
    ]
    expected = credit(slots, bouts, (), EVENING)
    random.shuffle(slots)
    random.shuffle(bouts)
    assert credit(slots, bouts, (), EVENING) == expected


@settings(max_examples=300)
@given(short_days(most=9), st.sets(st.integers(0, 3), max_size=2))
def test_one_more_bout_of_one_phone_never_lowers_the_sum_over_all_slots(day, excused):
    slots, bouts = as_slots(day[0]), as_bouts(day[1])
    keys = {slots[number].key for number in excused if number < len(slots)}
    for left_out in range(len(bouts)):
        fewer = bouts[:left_out] + bouts[left_out + 1 :]
        assert total_credit(slots, bouts, keys) >= total_credit(slots, fewer, keys)


@given(short_days(most=9))
def test_amounts_are_credit_or_excess_and_nothing_is_lost(day):
    slots, bouts = as_slots(day[0]), as_bouts(day[1])
    result = credit(slots, bouts, (), EVENING)
    credit_and_excess = sum(slot.told for slot in result.slots.values()) + sum(
        result.excess.values()
    )
    assert credit_and_excess == sum(b.amount for b in bouts)
    assert set(result.place) == {b.id for b in bouts}
