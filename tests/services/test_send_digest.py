"""The morning digest: once a person and clinic day, never of what is urgent."""

from __future__ import annotations

from datetime import date

import pytest

from homeprog.domain.alert.settings import WHOLE_CLINIC
from homeprog.services.send_digest import plan_digests
from homeprog.services.take_up_alert import take_up_alert
from homeprog.storage.models import StaffSubscription
from tests import cast
from tests.services.notice_cast import Unit, at, trouble, unit


@pytest.fixture
def here(db) -> Unit:
    return unit(db)


def test_what_is_for_this_week_comes_in_one_message_on_the_next_clinic_morning(here):
    """Opened on Friday in the day: Monday 7:45, not before and not again."""
    rows = [here.alert(kind, "this_week", at(10)) for kind in ("excess", "average_pain")]
    weekend = [here.minute(now) for now in (at(10), at(7, 45, day=6), at(7, 45, day=7))]
    assert weekend == [[], [], []]
    assert here.minute(at(7, 44, day=8)) == []
    assert here.minute(at(7, 45, day=8)) == ["anna"]
    (row,) = here.notices()
    assert (row.why, row.alert_id, sorted(row.alerts)) == (
        "digest", None, sorted(str(each.id) for each in rows),
    )  # fmt: skip
    assert [here.minute(at(hour, day=8)) for hour in (8, 12, 23)] == [[], [], []]


def test_no_digest_comes_on_a_closing_day(here):
    here.closed(date(2026, 6, 8))
    here.alert("excess", "this_week", at(10))
    assert [here.minute(now) for now in (at(9, day=8), at(7, 45, day=9))] == [[], ["anna"]]


def test_what_opens_after_the_digests_time_waits_for_the_next_one(here):
    here.alert("excess", "this_week", at(9))
    assert here.minute(at(9, 1)) == []
    assert here.minute(at(7, 45, day=8)) == ["anna"]


def test_a_dispatcher_that_was_down_in_the_morning_sends_it_late_and_once(here):
    here.alert("excess", "this_week", at(10, day=4))
    assert here.minute(at(11)) == ["anna"]
    assert here.minute(at(11, 1)) == []


def test_a_channel_added_after_the_digest_brings_no_second_one(here):
    here.alert("excess", "this_week", at(10, day=4))
    assert here.minute(at(7, 45)) == ["anna"]
    here.db.add(
        StaffSubscription(
            clinic_id=here.clinic.id, at=at(8), staff_id=here.anna.id, name="new", auth="a",
            endpoint="https://fcm.googleapis.com/x", p256dh="p",
        )
    )  # fmt: skip
    here.db.commit()
    assert plan_digests(here.db, at(9), {"email", "push"}) == 0


def test_it_comes_each_clinic_morning_while_something_waits_and_not_once_taken_up(here):
    row = here.alert("excess", "this_week", at(10, day=3))
    assert here.minute(at(7, 45, day=4)) == ["anna"]
    assert here.minute(at(7, 45, day=5)) == ["anna"]
    take_up_alert(here.db, cast.acting(here.anna), row.id, at(9))
    here.db.commit()
    assert here.minute(at(7, 45, day=8)) == []


def test_it_never_holds_trouble_or_what_is_for_today(here):
    trouble(here, at(10, day=4))
    here.alert("trouble", "this_week", at(10, day=4), trouble="skin")
    here.alert("silence", "today", at(10, day=4))
    here.minute(at(10, day=4))
    here.minute(at(7, 45))
    assert [row for row in here.notices() if row.why == "digest"] == []


def test_what_is_for_this_week_never_goes_on_to_the_next_person(here):
    here.listed(here.ben)
    here.alert("excess", "this_week", at(10, day=1))
    told = {tuple(here.minute(at(hour, day=day))) for day in (2, 3, 4, 5) for hour in (8, 16)}
    assert told == {("anna",), ()}


def test_its_time_is_the_clinics(here):
    here.set(WHOLE_CLINIC, digest_at="07:00")
    here.alert("excess", "this_week", at(10, day=4))
    assert [here.minute(now) for now in (at(6, 59), at(7))] == [[], ["anna"]]


def test_a_kind_that_is_switched_off_is_in_no_digest(here):
    here.alert("excess", "this_week", at(10, day=4))
    here.set("excess", at(11, day=4), on=False)
    assert here.minute(at(7, 45)) == []


def test_each_person_has_their_own_and_whoever_no_channel_reaches_is_noted(here):
    other = cast.confirmed(here.db, here.ben, at(8, day=1), number="SH 2", name="Olu Ade")
    here.ben.email = None
    here.alert("excess", "this_week", at(10, day=4))
    here.course = other
    here.alert("excess", "this_week", at(10, day=4))
    assert here.minute(at(7, 45)) == ["anna"]
    told = {(row.staff_id, row.channel, row.state, len(row.alerts)) for row in here.notices()}
    assert told == {(here.anna.id, "email", "sent", 1), (here.ben.id, "none", "failed", 1)}
