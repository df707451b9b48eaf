"""The standing of a slot: the first that fits."""

from fractions import Fraction

import pytest

from homeprog.domain.adherence import (
    judge,
)
from homeprog.domain.contact import ContactMark, Phone, contacts
from homeprog.domain.credit import Rules
from tests.domain.adherence_cases import KEY, PHONE, judged, pause, standing
from tests.domain.credit_cases import EVENING, at, bout, hours, slot


@pytest.mark.parametrize(("amount", "expected"), [(8, "logged"), (7, "part"), (1, "part")])
def test_a_slot_is_logged_from_80_percent_of_its_dose_on(amount, expected):
    assert standing(bout("a", "09:20", amount)) == expected


def test_80_percent_is_exact():
    slots = [slot(dose=6)]  # 80 % is 4.8
    assert judged(slots, bout("a", "09:20", 4)).standing[KEY] == "part"
    assert judged(slots, bout("a", "09:20", 5)).standing[KEY] == "logged"


def test_a_slot_that_reaches_it_with_later_entries_alone_is_later():
    assert standing(bout("a", "09:20", 8, entered="12:00")) == "later"
    assert standing(bout("a", "09:20", 7, entered="12:00")) == "part"
    both = bout("a", "09:20", 4), bout("b", "09:40", 4, entered="12:00")
    assert standing(*both) == "later"


def test_a_slot_is_ahead_until_later_than_45_minutes_after_its_end():
    assert standing(now=at("08:00")) == "ahead"
    assert standing(now=at("10:45")) == "ahead"
    assert standing(bout("a", "09:20", 5), now=at("10:45")) == "ahead"
    assert standing(now=at("10:45:01")) == "unknown"
    assert standing(bout("a", "09:20", 8), now=at("09:30")) == "logged"


def test_without_a_bout_it_is_not_logged_with_contact_since_and_unknown_without():
    assert standing(words=("10:46",)) == "not_logged"
    assert standing(words=("10:45",)) == "unknown"
    assert standing(words=()) == "unknown"


def test_a_later_upload_changes_a_standing():
    waited = bout("a", "09:20", received_at=at("18:00"))
    assert standing(waited, words=(), now=at("17:59")) == "unknown"
    assert standing(waited, words=(), now=at("18:00")) == "logged"


@pytest.mark.parametrize(
    ("start", "end", "expected"),
    [
        ("08:00", None, "excused"),
        ("09:30", "09:31", "excused"),
        ("08:00", "09:00", "not_logged"),
        ("08:00", "09:01", "excused"),
        ("10:00", "11:00", "not_logged"),
        ("09:59", "11:00", "excused"),
    ],
)
def test_a_slot_any_part_of_which_lies_in_a_hold_is_excused(start, end, expected):
    assert standing(holds=[pause(start, end)]) == expected


def test_a_hold_of_another_exercise_excuses_nothing():
    assert standing(holds=[pause("08:00", exercise="lift")]) == "not_logged"
    assert standing(holds=[pause("08:00", exercise="bend")]) == "excused"


def test_a_slot_in_which_a_revision_took_its_exercise_back_is_excused():
    assert standing(cut={KEY: at("09:30")}) == "excused"


def test_an_excused_slot_stays_excused_whatever_is_logged_in_it_afterwards():
    for amount in (4, 10):
        assert standing(bout("a", "09:40", amount), holds=[pause("09:30")]) == "excused"
    assert standing(bout("a", "09:20", 10, entered="09:31"), holds=[pause("09:30")]) == "excused"
    assert standing(bout("a", "09:20", 10, entered="09:30"), holds=[pause("09:30")]) == "excused"


def test_a_slot_made_logged_by_bouts_entered_before_the_hold_began_is_logged():
    assert standing(bout("a", "09:20", 8), holds=[pause("09:30")]) == "logged"
    assert standing(bout("a", "09:20", 7), holds=[pause("09:30")]) == "excused"
    assert standing(bout("a", "09:20", 8), cut={KEY: at("09:30")}) == "logged"


def test_the_first_of_two_holds_decides_which_bouts_were_before():
    holds = [pause("09:10", "09:12"), pause("09:30")]
    assert standing(bout("a", "09:20", 10), holds=holds) == "excused"
    assert standing(bout("a", "09:20", 10), holds=holds[1:]) == "logged"


def test_a_bout_made_just_before_a_slot_counts_there_though_a_hold_begins_in_it():
    slots = hours(count=2)
    bouts = bout("a", "09:20"), bout("b", "09:50")
    result = judged(slots, *bouts, holds=[pause("10:30")])
    assert result.standing["bend", at("10:00")] == "logged"
    assert judged(slots, *bouts, holds=[pause("09:50")]).standing == {
        KEY: "logged",
        ("bend", at("10:00")): "excused",
    }


def test_a_slot_met_by_a_hold_that_later_bouts_draw_from_is_excused_not_blamed():
    # b is timely only for 10 o'clock, and takes a, which lies after it, along.
    bouts = bout("a", "09:50", 8), bout("b", "09:46", 2, entered="10:50")
    result = judged(hours(count=2), *bouts, holds=[pause("09:52", "09:54")])
    assert result.credit.slots[KEY].told == 0
    assert result.standing == {KEY: "excused", ("bend", at("10:00")): "logged"}


def test_a_slot_stays_excused_before_it_is_past():
    assert standing(holds=[pause("08:00")], now=at("08:30")) == "excused"


def test_two_phones_one_of_them_silent_leave_a_slot_unknown():
    phones = [PHONE, Phone("carer", at("08:00", 1))]
    receipts = [("phone", at("09:00", 10)), ("carer", at("09:00", 10))]
    marks = [ContactMark("phone", at("12:00"), True), ContactMark("carer", at("12:00"), False)]
    proof = contacts(phones, marks, receipts, EVENING)
    assert judge(hours(count=1), [], [], {}, proof, EVENING).standing[KEY] == "unknown"
    spoken = [*marks, ContactMark("carer", at("13:00"), True)]
    proof = contacts(phones, spoken, receipts, EVENING)
    assert judge(hours(count=1), [], [], {}, proof, EVENING).standing[KEY] == "not_logged"


def test_the_clinics_own_settings_are_used():
    rules = Rules(done=Fraction(1, 2))
    assert standing(bout("a", "09:20", 5), rules=rules) == "logged"
