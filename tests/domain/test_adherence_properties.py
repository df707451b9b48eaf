"""Adherence, whatever was logged: bounds stay in order, rows may come in any order."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from homeprog.domain.adherence import (
    day_figures,
    figures,
    judge,
    total,
)
from homeprog.domain.bout import Bout
from homeprog.domain.credit import credit
from homeprog.domain.hold import Hold
from homeprog.domain.regime.dose import Dose, Schedule
from homeprog.domain.timetable import DEFAULT_WEEK, Asked, Setting, lay_out
from tests.domain.adherence_cases import WHOLE_DAY, known
from tests.domain.credit_cases import EVENING, at, bout, hours, slot


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


@given(days())
def test_a_second_phone_lowers_the_sum_only_by_making_one_go_of_two_entries(drawn):
    """The patient's only phone never does (test_credit_properties); the carer's may, by pairing."""
    slots, bouts, *_ = drawn
    for added in (each for each in bouts if each.device == "carer"):
        fewer = [each for each in bouts if each is not added]
        before, after = credit(slots, fewer, (), EVENING), credit(slots, bouts, (), EVENING)
        if _timely(after) < _timely(before):
            assert added.id in {*after.joined, *after.joined.values()}


def test_two_entries_of_one_go_may_be_worth_less_together_than_the_first_alone():
    """The carer's larger entry of the go counts, and it fell in a slot that was full already."""
    slots = [slot("09:00", "09:20"), slot("09:20", "09:40")]
    patients = [bout("a", "09:17"), bout("b", "09:36")]
    before = credit(slots, patients, (), EVENING)
    after = credit(slots, [*patients, bout("c", "09:26", 12, device="carer")], (), EVENING)
    assert (_timely(before), _timely(after)) == (20, 10)
    assert after.joined == {"a": "c"}


def _timely(result):
    """Credit by timely bouts, summed over all slots, ahead ones included."""
    return sum(each.timely for each in result.slots.values())


@given(days(), st.integers(1, 3))
def test_held_slots_change_no_ratio(drawn, held):
    slots, bouts, holds, words, _ = drawn
    far = hours(17, held)  # out of reach of every bout
    hold = Hold("hospital", far[0].start, far[-1].end)
    alone = figures(summed(slots, bouts, holds, words, EVENING))
    beside = figures(summed(slots + far, bouts, [*holds, hold], words, EVENING))
    assert (beside.dose, beside.on_time, beside.days, beside.later) == (
        alone.dose, alone.on_time, alone.days, alone.later,
    )  # fmt: skip
    assert (beside.slots, beside.not_asked) == (alone.slots, alone.not_asked + held)


OPENED = datetime(2026, 3, 5, 6, tzinfo=UTC)
ZONES = ("America/New_York", "Australia/Lord_Howe", "Pacific/Apia", "Asia/Kolkata")
bends = Asked("bend", Dose(10), Schedule("every", every=60))
HOME = Setting(OPENED, "Europe/London", DEFAULT_WEEK, "motion", 1, (bends,))


@given(
    st.integers(60, 5 * 24 * 60),
    st.sampled_from(ZONES),
    st.lists(st.tuples(st.integers(0, 5 * 24 * 60), st.integers(1, 12)), max_size=12),
)
def test_a_zone_change_never_creates_or_loses_a_slots_credit(minute, zone, goes):
    """A slot that had ended when the zone changed has what it had, by the bouts made until then."""
    change = OPENED + timedelta(minutes=minute)
    moved = replace(HOME, at=change, zone=zone)
    bouts = []
    for number, (after, amount) in enumerate(goes):
        done = OPENED + timedelta(minutes=after)
        if done < change:
            bouts.append(Bout(f"b{number}", "phone", "bend", amount, done, done, done))
    now = change + timedelta(days=3)
    stayed = credit(lay_out([HOME], now), bouts, (), now).slots
    gone = credit(lay_out([HOME, moved], now), bouts, (), now).slots
    for key, had in stayed.items():
        if key[1] + timedelta(hours=1) <= change:
            assert gone[key] == had
    over = timedelta(hours=1)  # further than the slot in progress at the change
    assert sum(each.timely for key, each in gone.items() if key[1] > change + over) == 0
