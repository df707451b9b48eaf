"""By hour and by weekday: which hours go unlogged, and what is not known of them."""

from datetime import date
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from homeprog.domain.adherence.pattern import SlotSeen, by_day, by_hour, by_weekday, share

MONDAY = date(2026, 6, 1)
SUNDAY = date(2026, 6, 7)


def seen(standing, hour=9, day=MONDAY, past=True, may_grow=False):
    return SlotSeen(day, hour, standing, past, may_grow)


def test_lowest_counts_timely_logs_shown_what_is_known_highest_what_may_still_come():
    found = share([
        seen("logged"), seen("later"), seen("not_logged"), seen("part", may_grow=True),
        seen("unknown"),
    ])  # fmt: skip
    assert (found.slots, found.known, found.unknown) == (5, 4, 1)
    assert found.bounds.lowest == Fraction(1, 5)
    assert found.bounds.shown == Fraction(2, 4)
    assert found.bounds.highest == Fraction(4, 5)


def test_a_part_that_the_phone_holds_no_more_of_stays_a_part():
    assert share([seen("part"), seen("logged")]).bounds.highest == Fraction(1, 2)


def test_an_excused_slot_is_counted_apart_and_is_in_no_share():
    found = share([seen("logged"), seen("excused")])
    assert (found.slots, found.not_asked) == (1, 1)
    assert found.bounds.lowest == found.bounds.highest == 1


def test_a_slot_not_past_yet_is_left_out_whatever_is_logged_in_it():
    assert share([seen("logged", past=False), seen("ahead", past=False)]).slots == 0


def test_without_a_known_slot_nothing_is_shown():
    bounds = share([seen("unknown")]).bounds
    assert (bounds.lowest, bounds.shown, bounds.highest) == (0, None, 1)
    assert share([]).bounds.lowest is None


def test_hours_ascend_from_waking_and_the_hour_after_midnight_comes_last():
    found = by_hour([seen("logged", 24), seen("logged", 7), seen("not_logged", 7)])
    assert list(found) == [7, 24]
    assert found[7].bounds.shown == Fraction(1, 2)


def test_a_slot_after_midnight_belongs_to_the_weekday_of_its_waking():
    found = by_weekday([seen("logged", 24, SUNDAY), seen("not_logged", 9, MONDAY)])
    assert list(found) == [0, 6]
    assert found[6].bounds.shown == 1


slots = st.lists(
    st.builds(
        SlotSeen,
        date=st.dates(MONDAY, SUNDAY),
        hour=st.integers(6, 25),
        standing=st.sampled_from(
            ["logged", "part", "later", "not_logged", "unknown", "excused", "ahead"]
        ),
        past=st.booleans(),
        may_grow=st.booleans(),
    ).map(lambda s: s if s.standing != "ahead" else SlotSeen(s.date, s.hour, "ahead", False)),
    max_size=30,
)


@given(slots)
def test_bounds_stay_in_order_in_every_group(drawn):
    for groups in (by_hour(drawn), by_weekday(drawn), by_day(drawn)):
        for one in groups.values():
            if one.bounds.shown is not None:
                assert 0 <= one.bounds.lowest <= one.bounds.shown <= one.bounds.highest <= 1


@given(slots)
def test_hours_and_weekdays_part_the_same_slots(drawn):
    whole = share(drawn)
    for groups in (by_hour(drawn), by_weekday(drawn), by_day(drawn)):
        for name in ("logged", "later", "known", "unknown", "may_become", "not_asked"):
            assert sum(getattr(each, name) for each in groups.values()) == getattr(whole, name)


@given(slots, st.integers(0, 5))
def test_held_slots_change_no_share(drawn, held):
    more = drawn + [seen("excused")] * held
    assert share(more).bounds == share(drawn).bounds
