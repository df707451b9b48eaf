"""Silence: 'All well?' on the phone, and a row of slots without a log that staff hear of."""

import random
from datetime import timedelta

import pytest

from homeprog.domain.monitor import (
    Asked,
    AskRule,
    DueSlot,
    ask_all_well,
    own_gap,
    silence_row,
    silent,
)
from homeprog.domain.monitor.row import row_run
from homeprog.domain.monitor.silence import awake_between, silent_since, waiting_since
from tests.domain.credit_cases import at

RULE = AskRule()
AWAKE = [(at("07:00", d), at("22:00", d)) for d in range(1, 15)]
HOUR = timedelta(hours=1)


def asks(now, last_log, ended=2, asked_today=None):
    return ask_all_well(now, last_log, AWAKE, ended, asked_today, RULE)


# --- the phone ---


def test_the_phone_asks_at_6_waking_hours_since_the_last_log():
    assert not asks(at("13:59"), at("08:00"))
    assert asks(at("14:00"), at("08:00"))


def test_the_night_is_not_counted_and_the_hours_go_on_after_it():
    assert not asks(at("10:59", 12), at("20:00"))  # 2 waking hours before the night
    assert asks(at("11:00", 12), at("20:00"))


def test_it_asks_only_if_two_due_and_unmuted_slots_have_ended_without_a_log():
    assert not asks(at("18:00"), at("08:00"), ended=1)
    assert asks(at("18:00"), at("08:00"), ended=2)


def test_it_asks_once_a_day():
    assert not asks(at("18:00"), at("08:00"), asked_today=Asked(at("14:00")))
    busy = Asked(at("14:00"), at("14:01"), "busy")
    assert not asks(at("21:59"), at("08:00"), asked_today=busy)


def test_after_something_is_wrong_it_asks_again_once_6_waking_hours_have_passed():
    wrong = Asked(at("14:00"), at("14:05"), "something_wrong")
    assert not asks(at("20:04"), at("08:00"), asked_today=wrong)
    assert asks(at("20:05"), at("08:00"), asked_today=wrong)


def test_waking_time_is_what_lies_within_waking_spans():
    assert awake_between(at("06:00"), at("08:00"), AWAKE) == HOUR
    assert awake_between(at("21:00"), at("08:00", 12), AWAKE) == 2 * HOUR
    assert awake_between(at("23:00"), at("05:00", 12), AWAKE) == timedelta(0)


# --- staff ---


def hourly(first, last, day=11, **more):
    values = {"credited": False, "reminder": "shown", **more}
    return [
        DueSlot(at(f"{h:02}:00", day), at(f"{h + 1:02}:00", day), **values)
        for h in range(first, last)
    ]


ROW = [*hourly(18, 22, 10), *hourly(8, 16)]  # 12, over a night
LAST = at("17:30", 10)
ASKED = [Asked(at("10:00"))]
NOW = at("16:46")


def heard(slots=ROW, r=12, last=LAST, asked=ASKED, own=None, now=NOW):
    return silent(slots, r, last, asked, own, now)


def test_staff_hear_of_r_slots_in_a_row_counted_over_the_night():
    assert heard() == at("18:00", 10)
    assert heard(r=13) is None


def test_a_bout_done_or_entered_since_the_first_of_them_began_ends_it():
    assert heard(last=at("17:59:59", 10)) is not None
    assert heard(last=at("18:00", 10)) is None


def test_credit_of_any_of_them_ends_it():
    told = [*ROW[:5], DueSlot(ROW[5].start, ROW[5].end, True, "shown"), *ROW[6:]]
    assert heard(told) is None


def test_what_was_logged_before_the_last_r_is_no_part_of_the_row():
    before = hourly(16, 17, 10, credited=True)
    assert heard([*before, *ROW], last=at("16:30", 10)) == at("18:00", 10)
    assert heard(r=6) == at("10:00")


@pytest.mark.parametrize("state", ["muted", "not_shown"])
def test_muted_slots_and_those_whose_reminder_was_not_shown_neither_break_nor_lengthen(state):
    between = hourly(16, 18, 10, reminder=state)
    assert heard([*between, *ROW], last=at("15:30", 10)) == at("18:00", 10)
    assert heard([*between, *ROW[1:]], last=at("15:30", 10)) is None
    inside = [*ROW[:4], *hourly(7, 8, reminder=state), *ROW[4:]]
    assert heard(inside) == at("18:00", 10)


def test_a_reminder_of_which_nothing_is_known_counts_as_shown():
    assert heard([*hourly(18, 22, 10, reminder="not_known"), *ROW[4:]]) == at("18:00", 10)


def test_a_patient_without_push_is_silent_only_on_proof_of_contact():
    by_contact = [DueSlot(s.start, s.end, False, None, contact=True) for s in ROW]
    assert heard(by_contact) == at("18:00", 10)
    assert heard([*by_contact[:-1], DueSlot(ROW[-1].start, ROW[-1].end, False, None)]) is None


def test_the_order_in_which_slots_are_given_does_not_matter():
    assert heard(ROW[::-1]) == heard()


def test_staff_hear_only_when_all_well_has_waited_an_hour():
    assert heard(asked=[]) is None
    assert heard(asked=[Asked(NOW - HOUR + timedelta(seconds=1))]) is None
    assert heard(asked=[Asked(NOW - HOUR)]) is not None


@pytest.mark.parametrize("answer", ["busy", "sore", "phone", "something_wrong"])
def test_any_answer_keeps_it_quiet(answer):
    assert heard(asked=[Asked(at("10:00"), at("16:45"), answer)]) is None


def test_a_second_question_does_not_start_the_hour_anew():
    again = [Asked(at("14:00", 10)), Asked(NOW)]
    assert waiting_since(again, at("13:00", 10)) == at("14:00", 10)
    assert heard(asked=[Asked(at("19:00", 10)), Asked(NOW)]) is not None


def test_an_answer_or_a_bout_settles_the_questions_before_it():
    first, second = Asked(at("14:00", 10), at("14:10", 10), "busy"), Asked(at("10:00"))
    assert waiting_since([first, second], None) == at("10:00")
    assert waiting_since([Asked(at("14:00", 10)), second], at("15:00", 10)) == at("10:00")
    assert waiting_since([Asked(at("14:00", 10))], at("15:00", 10)) is None


def test_nobody_who_never_logged_is_spared():
    assert silent_since(ROW, 12, None) == at("18:00", 10)
    assert heard(last=None) is not None


# --- the patient's own habit ---


def test_staff_do_not_hear_below_the_patients_own_90th_percentile():
    gone = NOW - LAST
    assert heard(own=gone + HOUR) is None
    assert heard(own=gone) is not None


def evenings(*days):
    """Logs at bedtime only."""
    return [at("21:00", day) for day in days]


def test_it_is_the_time_since_the_last_bout_at_this_clock_hour():
    assert own_gap(evenings(*range(1, 15)), at("16:00", 15), "UTC") == 19 * HOUR
    assert own_gap(evenings(*range(1, 15)), at("20:59", 15), "UTC") == 23 * HOUR + 59 * HOUR / 60


def test_nine_of_ten_days_are_not_longer_than_it():
    """14 looks: the 13th of them in order of length."""
    one_long = [d for d in range(1, 28) if d != 20]
    assert own_gap(evenings(*one_long), at("16:00", 28), "UTC") == 19 * HOUR
    two_long = [d for d in range(1, 28) if d not in (16, 20)]
    assert own_gap(evenings(*two_long), at("16:00", 28), "UTC") == 43 * HOUR


def test_it_needs_5_days_of_logs_in_the_last_14():
    assert own_gap(evenings(20, 22, 24, 26), at("16:00", 28), "UTC") is None
    assert own_gap(evenings(20, 22, 24, 25, 26), at("16:00", 28), "UTC") is not None
    assert own_gap(evenings(20, 22, 24, 25, 25, 25), at("16:00", 28), "UTC") is None
    assert own_gap(evenings(1, 2, 3, 24, 25, 26, 27), at("16:00", 28), "UTC") is None


def test_it_keeps_to_the_wall_clock_when_the_clocks_change():
    """Vienna, 29 March 2026: after the change 14:00 UTC is 16:00, before it was 15:00."""
    done = [at("20:00", day) for day in range(14, 29)]
    assert own_gap(done, at("14:00", 30), "Europe/Vienna") == 19 * HOUR


# --- how long the row must be ---


@pytest.mark.parametrize(("slots", "r"), [(4, 6), (6, 8), (12, 12), (16, 14)])
def test_r_for_one_false_silence_in_300_patient_days(slots, r):
    """As a simulation made apart from this code had them."""
    assert silence_row(slots, 0.85, 0.3, 300) == r
    assert row_run(r - 1, slots, 0.85, 0.3) < 300 <= row_run(r, slots, 0.85, 0.3)


def test_six_in_a_row_at_12_slots_would_be_false_every_33_to_38_days():
    assert 33 <= row_run(6, 12, 0.85, 0.3) <= 38


def test_the_chain_of_rows_says_what_a_seeded_simulation_says():
    draw = random.Random(11)
    runs = [days_to_row(draw, 5, 6) for _ in range(3000)]
    assert sum(runs) / len(runs) == pytest.approx(row_run(5, 6, 0.85, 0.3), rel=0.06)


def days_to_row(draw, r, slots, level=0.85, rho=0.3):
    """Patient-days in parts until r slots in a row have no log."""
    gone, row = 0, 0
    while True:
        share = draw.betavariate(level * (1 / rho - 1), (1 - level) * (1 / rho - 1))
        for n in range(1, slots + 1):
            row = 0 if draw.random() < share else row + 1
            if row == r:
                return gone + n / slots
        gone += 1
