"""Credit: which bout counts for which slot, what joins, what is excess."""

import pytest

from homeprog.domain.credit import Rules, credit
from tests.domain.credit_cases import EVENING, at, bout, fill_in, hours, slot

NINE, TEN, ELEVEN = (("bend", at(clock)) for clock in ("09:00", "10:00", "11:00"))


def credited(slots, *bouts, excused=(), now=EVENING, **more):
    return credit(slots, bouts, excused, now, **more)


def told(result):
    return [slot.told for slot in result.slots.values()]


# Where a bout goes


def test_a_bout_counts_whole_for_the_slot_it_falls_in():
    result = credited(hours(), bout("a", "10:20", 8))
    assert result.place == {"a": TEN}
    assert told(result) == [0, 8, 0]
    assert result.slots[TEN].bouts == ("a",)


def test_a_slot_begins_with_its_start_and_ends_before_its_end():
    result = credited(hours(), bout("a", "10:00"), bout("b", "10:59:59"))
    assert result.place == {"a": TEN, "b": ELEVEN}  # b by the grace: 10:00 is full
    assert credited(hours(), bout("a", "10:00")).place == {"a": TEN}


def test_a_bout_of_another_exercise_never_counts():
    result = credited(hours(), bout("a", "10:20", exercise="scar massage"))
    assert told(result) == [0, 0, 0]
    assert result.place == {"a": None}


def test_exercises_are_credited_apart():
    slots = [*hours(), *hours(exercise="lift", dose=4)]
    result = credited(slots, bout("a", "10:20"), bout("b", "10:21", 4, exercise="lift"))
    assert result.slots["bend", at("10:00")].told == 10
    assert result.slots["lift", at("10:00")].told == 4


def test_credit_never_passes_the_dose():
    result = credited(hours(), bout("a", "10:20", 8), bout("b", "10:40", 8))
    assert told(result) == [0, 10, 0]


def test_a_missed_slot_is_not_made_up_by_doubling_the_next():
    result = credited(hours(), bout("a", "10:30", 20))
    assert told(result) == [0, 10, 0]
    assert result.excess == {"a": 10}


# Grace


@pytest.mark.parametrize(("done", "place"), [("09:45", TEN), ("09:44:59", NINE), ("09:59", TEN)])
def test_a_second_bout_within_15_minutes_of_the_end_goes_to_the_next_slot(done, place):
    result = credited(hours(), bout("a", "09:20"), bout("b", done))
    assert result.place == {"a": NINE, "b": place}


@pytest.mark.parametrize(("done", "place"), [("10:15", NINE), ("10:15:01", TEN), ("10:00", NINE)])
def test_a_first_bout_within_15_minutes_of_the_start_goes_to_the_slot_before(done, place):
    result = credited(hours(), bout("a", done), bout("b", "10:40"))
    assert result.place == {"a": place, "b": TEN}


@pytest.mark.parametrize(("done", "place"), [("09:15", "09:20"), ("09:14:59", "09:00")])
def test_the_grace_is_a_quarter_of_the_shorter_slot(done, place):
    slots = [slot("09:00", "09:20"), slot("09:20", "10:20")]
    result = credited(slots, bout("a", "09:05"), bout("b", done))
    assert result.place["b"] == ("bend", at(place))


@pytest.mark.parametrize(
    ("done", "place"),
    [("08:45", NINE), ("08:44:59", None), ("12:15", ELEVEN), ("12:15:01", None)],
)
def test_a_bout_in_no_slot_goes_to_one_whose_edge_is_15_minutes_away_at_most(done, place):
    assert credited(hours(), bout("a", done)).place == {"a": place}


def test_the_grace_at_a_gap_is_a_quarter_of_the_slot_beside_it():
    slots = [slot("09:00", "09:20"), slot("10:00", "12:00")]
    result = credited(slots, bout("a", "09:25"), bout("b", "09:26"))
    assert result.place == {"a": ("bend", at("09:00")), "b": None}


def test_a_bout_in_a_slot_does_not_reach_over_a_gap():
    slots = [slot("09:00", "10:00"), slot("10:05", "11:05")]
    result = credited(slots, bout("a", "09:20"), bout("b", "09:58"))
    assert result.place["b"] == NINE


def test_bouts_before_a_cut_go_left_and_those_after_it_right():
    # Crossing over would earn 14: 10 in the first, 4 in the second.
    slots = [slot("09:00", "10:00", 10), slot("10:00", "11:00", 4)]
    result = credited(slots, bout("a", "09:50", 4), bout("b", "10:05", 10))
    assert result.place == {"a": NINE, "b": NINE}
    assert told(result) == [10, 0]


def test_timely_credit_outweighs_credit_by_all():
    # At home b earns 4 timely and both 10 in all of two slots; moved, b earns 6 timely.
    slots = [slot("09:00", "10:00", 10), slot("10:00", "11:00", 10)]
    bouts = [
        bout("a", "09:10", 6),
        bout("b", "09:50", 6),
        bout("c", "10:30", 10, entered="23:00"),
    ]
    result = credited(slots, *bouts)
    assert result.place["b"] == TEN
    assert [s.timely for s in result.slots.values()] == [6, 6]
    assert told(result) == [6, 10]


def test_a_timely_bout_may_lower_what_later_ones_add():
    # t raises credit by timely bouts from 9 to 12 by going right, and takes the later b along.
    bouts = (
        bout("a", "09:20", 9),
        bout("b", "09:55", 1, entered="20:00"),
        bout("c", "10:30", 10, entered="20:00"),
    )
    before = credited(hours(count=2), *bouts)
    after = credited(hours(count=2), *bouts, bout("t", "09:52", 3))
    assert [(s.timely, s.told) for s in before.slots.values()] == [(9, 10), (0, 10)]
    assert [(s.timely, s.told) for s in after.slots.values()] == [(9, 9), (3, 10)]


def test_a_bout_stays_at_home_where_moving_it_earns_no_more():
    assert credited(hours(), bout("a", "09:50")).place == {"a": NINE}
    assert credited(hours(), bout("a", "10:05")).place == {"a": TEN}
    full = [bout("a", "09:20"), bout("b", "10:20"), bout("c", "09:50")]
    assert credited(hours(count=2), *full).place["c"] == NINE


def test_a_bout_in_no_slot_stays_there_where_moving_it_earns_no_more():
    result = credited(hours(), bout("a", "11:20"), bout("b", "12:05"))
    assert result.place["b"] is None
    assert result.excess["b"] == 10


def test_of_two_cuts_worth_the_same_the_earlier_is_taken():
    slots = [slot("09:00", "10:00"), slot("10:10", "11:10")]
    assert credited(slots, bout("a", "10:02")).place == {"a": ("bend", at("10:10"))}


def test_an_excused_slot_draws_no_bout():
    bouts = bout("a", "09:20"), bout("b", "09:50")
    assert credited(hours(), *bouts, excused={TEN}).place["b"] == NINE
    assert credited(hours(), *bouts).place["b"] == TEN


def test_an_excused_slot_gives_its_bout_to_a_neighbour_that_wants_it():
    result = credited(hours(), bout("a", "10:05"), excused={TEN})
    assert result.place == {"a": NINE}
    assert credited(hours(), bout("a", "10:20"), excused={TEN}).place == {"a": TEN}


def test_a_slot_ahead_draws_a_bout():
    result = credited(hours(), bout("a", "09:20"), bout("b", "09:50"), now=at("09:55"))
    assert result.place["b"] == TEN


# Timely and later


def test_a_bout_entered_45_minutes_after_the_end_is_timely_and_a_second_later_is_not():
    result = credited(hours(), bout("a", "09:30", 6, entered="10:45"))
    assert (result.slots[NINE].timely, result.slots[NINE].told) == (6, 6)
    result = credited(hours(), bout("a", "09:30", 6, entered="10:45:01"))
    assert (result.slots[NINE].timely, result.slots[NINE].told) == (0, 6)


def test_timely_is_by_when_it_was_entered_not_by_when_it_came():
    result = credited(hours(), bout("a", "09:30", received_at=at("21:00")))
    assert result.slots[NINE].timely == 10


def test_timely_is_measured_at_the_slot_a_bout_is_credited_to():
    # Entered 11:00: too late for 9 to 10, in which it was done; in time for 10 to 11.
    result = credited(hours(), bout("a", "09:50", entered="11:00"))
    assert result.place == {"a": TEN}
    assert result.slots[TEN].timely == 10


def test_on_time_credit_is_by_bouts_done_inside_the_slot():
    result = credited(hours(), bout("a", "09:20"), bout("b", "09:50", 6), bout("c", "10:30", 3))
    ten = result.slots[TEN]
    assert (ten.timely, ten.told, ten.on_time, ten.on_time_told) == (9, 9, 3, 3)


def test_a_bout_done_at_the_very_end_of_the_slot_it_is_credited_to_is_not_on_time():
    result = credited(hours(), bout("a", "10:00", 6), bout("b", "10:30"))
    assert result.place["a"] == NINE
    assert (result.slots[NINE].timely, result.slots[NINE].on_time) == (6, 0)


# Fill-ins


def test_a_fill_in_goes_to_the_slot_it_names():
    result = credited(hours(), fill_in("a", "09:00", "20:00"))
    nine = result.slots[NINE]
    assert result.place == {"a": NINE}
    assert (nine.timely, nine.told, nine.on_time, nine.on_time_told) == (0, 10, 0, 0)


def test_a_fill_in_soon_enough_is_timely_but_not_on_time():
    nine = credited(hours(), fill_in("a", "09:00", "10:20")).slots[NINE]
    assert (nine.timely, nine.told, nine.on_time, nine.on_time_told) == (10, 10, 0, 0)


def test_a_fill_in_goes_to_the_slot_that_now_holds_its_start_else_to_none():
    result = credited([slot("09:30", "10:30")], fill_in("a", "10:00", "20:00"))
    assert result.place == {"a": ("bend", at("09:30"))}
    result = credited([slot("09:30", "10:30")], fill_in("a", "09:00", "20:00"))
    assert result.place == {"a": None}
    assert result.excess == {"a": 10}


def test_no_cut_moves_a_fill_in_and_cuts_reckon_with_it():
    result = credited(hours(), fill_in("a", "09:00", "10:05"), bout("b", "09:50"))
    assert result.place == {"a": NINE, "b": TEN}


def test_a_slot_can_be_filled_in_from_its_end_for_48_hours():
    rules, nine = Rules(), hours()[0]
    assert not rules.fillable(nine, at("09:59:59"))
    assert rules.fillable(nine, at("10:00"))
    assert rules.fillable(nine, at("10:00", day=13))
    assert not rules.fillable(nine, at("10:00:01", day=13))


# Two phones


@pytest.mark.parametrize(("done", "joined"), [("10:29:59", {"b": "a"}), ("10:30", {})])
def test_bouts_of_two_phones_under_10_minutes_apart_are_one_go(done, joined):
    result = credited(hours(), bout("a", "10:20", 6), bout("b", done, 6, device="carer"))
    assert result.joined == joined
    assert result.slots[TEN].told == (6 if joined else 10)


def test_two_bouts_of_one_phone_are_two_goes():
    result = credited(hours(), bout("a", "10:20", 4), bout("b", "10:22", 4))
    assert result.joined == {}
    assert told(result) == [0, 8, 0]


def test_bouts_of_two_exercises_are_two_goes():
    result = credited(hours(), bout("a", "10:20"), bout("b", "10:20", exercise="x", device="q"))
    assert result.joined == {}


def test_the_larger_timely_bout_of_a_go_counts():
    result = credited(hours(), bout("a", "10:20", 6), bout("b", "10:22", 8, device="carer"))
    assert result.joined == {"a": "b"}
    late = bout("b", "10:22", 8, entered="20:00", device="carer")
    assert credited(hours(), bout("a", "10:20", 6), late).joined == {"b": "a"}


def test_if_none_of_a_go_is_timely_the_larger_counts():
    one = bout("a", "10:20", 6, entered="20:00")
    other = bout("b", "10:22", 8, entered="20:00", device="carer")
    assert credited(hours(), one, other).joined == {"a": "b"}


def test_of_equal_bouts_of_a_go_the_smaller_id_counts():
    result = credited(hours(), bout("b", "10:20"), bout("a", "10:22", device="carer"))
    assert result.joined == {"b": "a"}


def test_a_fill_in_joins_the_other_phones_bout_in_that_slot():
    result = credited(
        hours(), bout("a", "10:20", 6), fill_in("b", "10:00", "20:00", 9, device="carer")
    )
    assert result.joined == {"b": "a"}
    assert result.slots[TEN].told == 6


def test_a_fill_in_joins_a_bout_by_the_slot_it_falls_in_before_the_cuts():
    # b alone would be drawn to 10 o'clock, since 9 o'clock is full; it fell in 9 o'clock.
    bouts = bout("a", "09:20"), bout("b", "09:50", device="carer", amount=9)
    result = credited(hours(), *bouts, fill_in("c", "10:00", "20:00", 4))
    assert result.joined == {}
    assert credited(hours(), *bouts, fill_in("c", "09:00", "20:00", 4)).joined == {"c": "b"}


def test_two_phones_that_fill_in_one_slot_made_one_go():
    one, other = fill_in("a", "10:00", "12:00"), fill_in("b", "10:00", "20:00", device="carer")
    assert credited(hours(), one, other).joined == {"b": "a"}
    assert credited([], one, other).joined == {"b": "a"}  # the slot has gone since


def test_fill_ins_of_two_slots_are_two_goes():
    one, other = fill_in("a", "10:00", "12:00"), fill_in("b", "11:00", "12:00", device="carer")
    assert credited(hours(), one, other).joined == {}
    assert credited([], one, other).joined == {}


def test_pairs_join_nearest_first_and_no_phone_is_twice_in_a_go():
    bouts = bout("a", "10:20"), bout("b", "10:25", 9, device="carer"), bout("c", "10:27", 8)
    assert credited(hours(), *bouts).joined == {"c": "b"}


def test_a_go_may_be_a_chain():
    bouts = (
        bout("a", "10:20", 10),
        bout("b", "10:28", 8, device="carer"),
        bout("c", "10:36", 9, device="staff"),
    )
    assert credited(hours(), *bouts).joined == {"b": "a", "c": "a"}


def test_of_equally_near_pairs_the_smaller_ids_join():
    bouts = bout("a", "10:20"), bout("b", "10:25", 9, device="carer"), bout("c", "10:30")
    assert credited(hours(), *bouts).joined == {"b": "a"}


def test_a_bout_that_staff_split_off_stands_alone():
    bouts = bout("a", "10:20", 5), bout("b", "10:22", 5, device="carer")
    result = credited(hours(), *bouts, apart={"b"})
    assert result.joined == {}
    assert told(result) == [0, 10, 0]


def test_a_bout_that_does_not_count_has_no_slot_and_no_excess():
    result = credited(hours(), bout("a", "10:20"), bout("b", "10:22", device="carer"))
    assert "b" not in result.place
    assert "b" not in result.excess
    assert result.slots[TEN].bouts == ("a",)


# Excess


def test_what_bouts_bring_beyond_the_dose_is_excess_of_the_later_ones():
    result = credited(hours(), bout("b", "10:20", 7), bout("a", "10:35", 7))
    assert result.excess == {"b": 0, "a": 4}


def test_a_bout_in_no_slot_is_excess():
    result = credited(hours(), bout("a", "15:00", 7))
    assert result.no_slot() == {"a"}
    assert result.excess == {"a": 7}


def test_a_bout_made_under_an_older_plan_version_is_never_excess():
    result = credited(
        hours(),
        bout("a", "10:20", 30, excess_exempt=True),
        bout("b", "15:00", 7, excess_exempt=True),
    )
    assert result.excess == {"a": 0, "b": 0}
    assert told(result) == [0, 10, 0]


# Now


def test_a_bout_received_after_now_is_not_seen():
    late = bout("a", "10:20", received_at=at("11:00:01"))
    assert credited(hours(), late, now=at("11:00")).place == {}
    assert credited(hours(), late, now=at("11:00:01")).place == {"a": TEN}
