"""Contact since: which words of which phones prove that nothing waits to be sent."""

from datetime import timedelta

import pytest

from homeprog.domain.contact import ContactMark, Phone, contacts
from tests.domain.credit_cases import EVENING, at

PHONE, CARER = Phone("phone", at("08:00", 1)), Phone("carer", at("08:00", 1))
END, AFTER = at("10:00"), at("10:45")
YESTERDAY = at("12:00", 10)


def word(clock, device="phone", empty=True):
    return ContactMark(device, at(clock), empty)


def heard(*marks, phones=(PHONE,), receipts=(("phone", YESTERDAY),), now=EVENING):
    return contacts(phones, marks, receipts, now).since(END, AFTER)


@pytest.mark.parametrize(("clock", "proof"), [("10:45", False), ("10:45:01", True)])
def test_contact_is_a_word_later_than_45_minutes_after_the_end(clock, proof):
    assert heard(word(clock)) is proof


def test_no_word_is_no_contact():
    assert not heard()


def test_a_word_with_bouts_still_waiting_on_the_phone_is_no_contact():
    assert not heard(word("11:00", empty=False))
    assert heard(word("11:00", empty=False), word("11:05"))


def test_an_earlier_empty_outbox_is_proof_though_a_later_word_says_more_is_waiting():
    assert heard(word("11:00"), word("12:00", empty=False))


def test_a_word_after_now_is_not_seen():
    assert not heard(word("11:00"), now=at("10:59:59"))
    assert heard(word("11:00"), now=at("11:00"))


def test_each_of_two_phones_in_use_must_have_spoken():
    both = {"phones": (PHONE, CARER), "receipts": [("phone", YESTERDAY), ("carer", YESTERDAY)]}
    assert not heard(word("11:00"), **both)
    assert not heard(word("11:00"), word("10:00", "carer"), **both)
    assert heard(word("11:00"), word("12:00", "carer"), **both)


def test_a_second_phone_no_bout_came_from_need_not_speak():
    assert heard(word("11:00"), phones=(PHONE, CARER))
    assert not heard(word("11:00", "carer"), phones=(PHONE, CARER))


WEEK = timedelta(days=7)


@pytest.mark.parametrize(
    ("received", "needed"),
    [
        (END - WEEK, True),
        (END - WEEK - timedelta(seconds=1), False),
        (END - timedelta(seconds=1), True),
        (END, False),
    ],
)
def test_a_phone_is_in_use_if_a_bout_came_from_it_in_the_7_days_before_the_slots_end(
    received, needed
):
    receipts = [("phone", YESTERDAY), ("carer", received)]
    assert heard(word("11:00"), phones=(PHONE, CARER), receipts=receipts) is not needed


def test_a_phone_no_longer_paired_need_not_speak():
    ended = Phone("carer", at("08:00", 1), ended_at=at("11:00"))
    both = {"phones": (PHONE, ended), "receipts": [("phone", YESTERDAY), ("carer", YESTERDAY)]}
    assert not heard(word("10:50"), now=at("10:59"), **both)
    assert heard(word("10:50"), now=at("11:00"), **both)


def test_where_no_phone_was_in_use_a_word_of_any_will_do():
    assert heard(word("11:00", "carer"), phones=(PHONE, CARER), receipts=())
    assert not heard(word("10:00", "carer"), phones=(PHONE, CARER), receipts=())


@pytest.mark.parametrize(("linked", "proof"), [("09:59", True), ("10:00", False)])
def test_a_phone_linked_after_a_slot_ended_says_nothing_of_it(linked, proof):
    """What was done then could be logged on no phone: nobody knows, which is not 'not logged'."""
    assert heard(word("11:00"), phones=(Phone("phone", at(linked)),), receipts=()) is proof


def test_what_staff_log_makes_no_phone_speak():
    assert heard(word("11:00"), receipts=[("staff", YESTERDAY)])


def test_a_bout_received_after_now_brings_no_phone_into_use():
    later = contacts((PHONE,), (), [("phone", at("09:00"))], at("08:59"))
    assert later.in_use(END) == frozenset()
    assert contacts((PHONE,), (), [("phone", at("09:00"))], at("09:00")).in_use(END) == {"phone"}


def test_the_order_of_words_and_receipts_never_matters():
    marks = [word("11:00"), word("09:00"), word("10:50", "carer")]
    receipts = [("phone", YESTERDAY), ("phone", at("08:00")), ("phone", at("08:00", 2))]
    one = contacts((PHONE, CARER), marks, receipts, EVENING)
    other = contacts((CARER, PHONE), marks[::-1], receipts[::-1], EVENING)
    assert one == other
