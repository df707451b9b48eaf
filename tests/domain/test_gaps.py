"""The longest waking gap: a clock that stands still by night and in a hold."""

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from homeprog.domain.adherence.gaps import Go, Window, longest_gap

HOUR = timedelta(hours=1)


def at(hour, day=1):
    return datetime(2026, 6, day, tzinfo=UTC) + hour * HOUR


def windows(*standings, first=8, day=1):
    """Slots of an hour from `first` on."""
    return [
        Window(at(first + n, day), at(first + n + 1, day), standing)
        for n, standing in enumerate(standings)
    ]


def go(hour, day=1, timely=True):
    return Go(at(hour, day), at(hour, day), timely)


def test_the_longest_stretch_lies_between_two_goes():
    found = longest_gap(windows(*["not_logged"] * 8), [go(8.25), go(13.5), go(15)])
    assert found.lowest == found.shown == found.highest == 5.25 * HOUR
    assert found.slots == 8


def test_it_counts_from_the_first_slot_and_to_the_last():
    assert longest_gap(windows(*["not_logged"] * 8), [go(14)]).shown == 6 * HOUR
    assert longest_gap(windows(*["not_logged"] * 8), [go(10)]).shown == 6 * HOUR
    assert longest_gap(windows(*["not_logged"] * 8), []).shown == 8 * HOUR


def test_the_night_neither_counts_nor_breaks_a_stretch():
    """The last go at 20:00 of a day that ends at 22:00, the next at 9:30 after waking at 7."""
    days = [*windows(*["logged"] * 15, first=7), *windows(*["logged"] * 15, first=7, day=2)]
    every = [go(h) for h in range(7, 21)] + [go(9.5, 2)] + [go(h, 2) for h in range(10, 22)]
    assert longest_gap(days, every).shown == 4.5 * HOUR


def test_held_slots_stand_outside_the_clock():
    held = windows("logged", "excused", "excused", "excused", "not_logged", "logged")
    assert longest_gap(held, [go(8.5), go(13)]).shown == 1.5 * HOUR


def test_unknown_slots_count_for_the_highest_stand_outside_for_shown_and_break_the_lowest():
    day = windows("logged", "unknown", "unknown", "not_logged", "logged")
    found = longest_gap(day, [go(8.5), go(12)])
    assert found.highest == 3.5 * HOUR
    assert found.shown == 1.5 * HOUR
    assert found.lowest == 1 * HOUR


def test_later_entries_break_the_shown_stretch_and_not_the_highest():
    day = windows(*["logged"] * 6)
    found = longest_gap(day, [go(8), go(11, timely=False), go(14)])
    assert (found.shown, found.highest) == (3 * HOUR, 6 * HOUR)


def test_a_fill_in_takes_its_slot_out_for_it_names_no_minute():
    day = windows("logged", "later", "logged")
    filled = Go(at(9), at(10), False)
    assert longest_gap(day, [go(8), filled, go(11)]).shown == 1 * HOUR


def test_a_go_in_the_night_breaks_the_stretch_where_the_clock_stands():
    days = [*windows("logged", "logged", first=20), *windows("logged", "logged", first=7, day=2)]
    assert longest_gap(days, [go(20), go(23), go(9, 2)]).shown == 2 * HOUR


def test_without_a_known_slot_nothing_is_shown_and_without_a_slot_there_is_no_gap():
    found = longest_gap(windows("unknown", "unknown"), [])
    assert (found.lowest, found.shown, found.highest) == (timedelta(0), None, 2 * HOUR)
    assert longest_gap([], []) is None
    assert longest_gap(windows("excused"), []) is None


standings = st.sampled_from(["logged", "part", "later", "not_logged", "unknown", "excused"])
hours = st.integers(8 * 4, 20 * 4).map(lambda quarter: quarter / 4)


@given(st.lists(standings, max_size=12), st.lists(st.tuples(hours, st.booleans()), max_size=8))
def test_lowest_is_at_most_shown_and_shown_at_most_highest(day, gone):
    found = longest_gap(windows(*day), [go(hour, timely=timely) for hour, timely in gone])
    if found is not None and found.shown is not None:
        assert timedelta(0) <= found.lowest <= found.shown <= found.highest <= len(day) * HOUR
