"""Who is told of an alert, who is next, and what a failing channel does."""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest
from sqlalchemy import select

from homeprog.delivery.errors import DeliveryError
from homeprog.delivery.staff_post import Carriers
from homeprog.domain.alert import KINDS, TROUBLE
from homeprog.domain.alert.settings import WHOLE_CLINIC
from homeprog.jobs import notify, run_due
from homeprog.services.change_staff import change_staff
from homeprog.services.end_staff import end_staff
from homeprog.services.notify_staff import MOST_TRIES
from homeprog.services.open_alert import open_alert
from homeprog.services.plan_notices import plan_notices
from homeprog.services.settle_alert import settle_alert
from homeprog.services.take_up_alert import take_up_alert
from homeprog.storage import notices as stored
from homeprog.storage import telling
from homeprog.storage.alert_settings import level_of
from homeprog.storage.models import Cover, Notice
from tests import cast
from tests.services.notice_cast import BEGAN, HookBox, Unit, at, trouble, unit

DOWN = DeliveryError("connection refused", permanent=False)


@pytest.fixture
def here(db) -> Unit:
    return unit(db)


def minutes(here: Unit, since, until):
    """(instant, people) of every minute in (since, until] in which somebody was told."""
    found, now = [], since
    while now < until:
        now += timedelta(minutes=1)
        if told := here.minute(now):
            found.append((now, told))
    return found


def test_the_responsible_therapist_is_told_first_and_once(here):
    here.alert("silence", "now", at(10))
    assert here.minute(at(10, 1)) == ["anna"]
    assert minutes(here, at(10, 1), at(10, 15)) == []


def test_whoever_covers_is_told_in_their_place_and_only_while_they_cover(here):
    here.db.add(
        Cover(
            clinic_id=here.clinic.id, at=BEGAN, staff_id=here.anna.id, covered_by_id=here.ben.id,
            starts=at(0, day=4), ends=at(12, day=5),
        )
    )  # fmt: skip
    here.alert("silence", "now", at(10))
    assert here.minute(at(10)) == ["ben"]
    here.alert("few_logged", "today", at(13))
    assert here.minute(at(13)) == ["anna", "mona"]  # mona: nobody took the first one up


def test_without_a_therapist_whoever_is_on_duty_then_the_list_then_the_manager(here):
    here.anna.ended_at = at(9)
    here.alert("silence", "today", at(10))
    assert here.minute(at(10)) == ["mona"]
    here.listed(here.cleo)
    here.alert("few_logged", "today", at(10, 1))
    assert here.minute(at(10, 1)) == ["cleo"]
    cast.on_duty(here.db, here.ben, BEGAN)
    here.alert("no_contact", "today", at(10, 2))
    assert here.minute(at(10, 2)) == ["ben"]


def test_not_taken_up_the_next_on_the_list_is_told_and_after_them_the_manager(here):
    here.listed(here.ben, here.cleo)
    here.alert("silence", "now", at(10))
    assert minutes(here, at(9, 59), at(12)) == [
        (at(10), ["anna"]), (at(10, 15), ["ben"]), (at(10, 30), ["cleo"]), (at(10, 45), ["mona"]),
    ]  # fmt: skip
    assert [row.why for row in here.notices()] == ["first", "next", "next", "manager"]


def test_an_alert_for_today_waits_four_clinic_hours_for_each(here):
    here.listed(here.ben)
    here.alert("silence", "today", at(8))
    told = [(now, here.minute(now)) for now in (at(8), at(11, 59), at(12), at(15, 59), at(16))]
    assert [who for _, who in told] == [["anna"], [], ["ben"], [], ["mona"]]


def test_the_clock_runs_in_clinic_hours_alone_and_stands_still_on_a_closing_day(here):
    """Friday 16:50 to 17:00 are 10 minutes; Monday is closed; the other 5 are on Tuesday."""
    here.closed(date(2026, 6, 8))
    here.listed(here.ben)
    here.alert("silence", "now", at(16, 50))
    assert here.minute(at(16, 50)) == ["anna"]
    for still in (at(17, 30), at(12, day=6), at(12, day=8), at(8, 4, day=9)):
        assert here.minute(still) == [], still
    assert here.minute(at(8, 5, day=9)) == ["ben"]


def test_out_of_clinic_hours_nobody_is_told_of_what_is_no_trouble(here):
    here.alert("silence", "now", at(20))
    assert [here.minute(now) for now in (at(20), at(7, 59, day=8))] == [[], []]
    assert here.minute(at(8, day=8)) == ["anna"]


def test_taken_up_or_settled_nobody_is_told_any_more(here):
    here.listed(here.ben)
    one, other = here.alert("silence", "now", at(10)), here.alert("no_contact", "now", at(10))
    here.minute(at(10))
    take_up_alert(here.db, cast.acting(here.cleo), one.id, at(10, 5))
    settle_alert(here.db, cast.acting(here.cleo), other.id, "rang", "", at(10, 5))
    here.db.commit()
    assert minutes(here, at(10, 5), at(12)) == []


def test_a_notice_not_yet_sent_is_dropped_once_the_alert_is_taken_up(here):
    row = here.alert("silence", "now", at(10))
    here.mail.fails = [DOWN]
    assert here.minute(at(10)) == []
    take_up_alert(here.db, cast.acting(here.cleo), row.id, at(10, 1))
    here.db.commit()
    assert here.minute(at(10, 5)) == []
    assert {(n.state, n.outcome) for n in here.notices()} == {("dropped", "taken up")}


def test_an_alert_that_has_become_worse_is_told_again_from_the_first_person_on(here):
    here.listed(here.ben)
    row = here.alert("silence", "today", at(10))
    assert here.minute(at(10)) == ["anna"]
    here.alert("silence", "now", at(11))
    assert row.level == "now"
    assert minutes(here, at(10, 59), at(11, 40)) == [
        (at(11), ["anna"]), (at(11, 15), ["ben"]), (at(11, 30), ["mona"]),
    ]  # fmt: skip
    assert here.notices()[1].why == "raised"


def test_worse_after_it_was_taken_up_tells_the_one_who_took_it_up_and_nobody_else(here):
    here.listed(here.ben)
    row = here.alert("silence", "today", at(10))
    here.minute(at(10))
    take_up_alert(here.db, cast.acting(here.cleo), row.id, at(10, 5))
    here.db.commit()
    here.alert("silence", "now", at(11))
    assert minutes(here, at(10, 59), at(12)) == [(at(11), ["cleo"])]


def test_what_is_for_this_week_tells_nobody_in_the_day(here):
    here.listed(here.ben)
    here.alert("excess", "this_week", at(10))
    assert [here.minute(at(hour)) for hour in (10, 12, 16)] == [[], [], []]


# ---- settings


def test_a_kind_that_is_switched_off_tells_nobody_from_then_on(here):
    here.listed(here.ben)
    here.alert("silence", "now", at(10))
    assert here.minute(at(10)) == ["anna"]
    here.set("silence", at(10, 5), on=False)
    assert here.minute(at(10, 30)) == []


def test_quiet_hours_put_off_the_first_word_and_a_retry(here):
    here.set("silence", quiet=["12:00", "13:00"])
    here.alert("silence", "now", at(12, 10))
    assert [here.minute(now) for now in (at(12, 10), at(12, 59), at(13))] == [[], [], ["anna"]]
    here.set("no_contact", quiet=["14:00", "15:00"])
    here.alert("no_contact", "today", at(13, 59))
    here.mail.fails = [DOWN]
    assert [here.minute(now) for now in (at(13, 59), at(14, 30), at(14, 50))] == [[], ["mona"], []]
    assert here.minute(at(15, 5)) == ["anna"]


def test_a_kinds_own_list_goes_before_the_clinics_and_may_come_before_the_therapist(here):
    here.listed(here.ben)
    here.set("silence", people=[str(here.cleo.id)], therapist_first=False)
    here.alert("silence", "now", at(10))
    assert here.minute(at(10)) == ["cleo"]
    assert here.minute(at(10, 15)) == ["mona"]


def test_the_time_to_take_up_is_the_clinics(here):
    here.listed(here.ben, now_minutes=5)
    here.alert("silence", "now", at(10))
    assert [here.minute(now) for now in (at(10), at(10, 4), at(10, 5))] == [["anna"], [], ["ben"]]


# ---- trouble


def everything_off(here: Unit) -> None:
    """As much as rows could say, also such as no form would let through."""
    for kind in KINDS:
        here.set(kind, on=False, level="this_week", quiet=["00:00", "23:59"], people=[])


def test_trouble_is_told_at_once_with_everything_else_switched_off(here):
    everything_off(here)
    cast.on_duty(here.db, here.ben, BEGAN)
    trouble(here, at(10))
    assert here.minute(at(10)) == ["ben"]
    assert {level_of(here.db, here.clinic.id, kind, at(10)) for kind in TROUBLE} == {"now"}
    here.alert("silence", "now", at(10, 1))
    assert here.minute(at(10, 1)) == []


def test_trouble_of_any_level_is_told_at_once_and_each_report_by_itself(here):
    cast.on_duty(here.db, here.ben, BEGAN)
    for level in ("today", "this_week"):
        here.alert("trouble", level, at(10), trouble="swelling")
    assert here.minute(at(10)) == ["ben", "ben"]


def test_in_a_nobody_hour_no_one_is_woken_and_the_first_word_comes_at_the_opening(here):
    cast.on_duty(here.db, here.ben, BEGAN)  # Monday to Friday, 8 to 17
    here.listed(here.cleo)
    row = trouble(here, at(21))
    assert row.clock_starts == at(8, day=8)
    assert [here.minute(now) for now in (at(21), at(3, day=7), at(7, 59, day=8))] == [[], [], []]
    assert here.minute(at(8, day=8)) == ["ben"]
    assert here.minute(at(8, 14, day=8)) == []
    assert here.minute(at(8, 15, day=8)) == ["cleo"]


def test_trouble_while_the_clinic_is_open_and_nobody_on_duty_goes_to_the_therapist(here):
    trouble(here, at(10))
    assert here.minute(at(10)) == ["anna"]


def test_trouble_reaches_whoever_comes_on_duty_before_the_list(here):
    weekend = cast.Duty(
        clinic_id=here.clinic.id, at=BEGAN, set_id=here.clinic.id, weekday=5, staff_id=here.ben.id,
        opens=time(11), closes=time(14),
    )  # fmt: skip
    here.db.add(weekend)
    here.listed(here.cleo)
    trouble(here, at(21))
    assert here.minute(at(10, day=6)) == []
    noon = at(12, day=6)  # Saturday, in the hours of duty
    assert here.minute(noon) == ["ben"]
    assert here.minute(noon + timedelta(minutes=15)) == ["cleo"]  # the clock runs on duty too


def test_a_whole_tick_tells_of_trouble_reported_in_it(here):
    """The jobs' own page, with the channels it is given."""
    cast.on_duty(here.db, here.ben, BEGAN)
    trouble(here, at(10))
    run_due(here.db, at(10), carriers=Carriers(email=here.mail))
    assert here.mail.take() == ["ben"]


# ---- channels


def test_whoever_no_channel_reaches_is_noted_and_passed_over_at_once(here):
    here.anna.email = None
    here.listed(here.ben)
    here.alert("silence", "today", at(10))
    assert here.minute(at(10)) == ["ben"]
    first = here.notices()[0]
    told = {(row.staff_id, row.channel, row.state) for row in here.notices()}
    assert told == {(here.anna.id, "none", "failed"), (here.ben.id, "email", "sent")}
    assert first.at == at(10)


def test_an_address_that_is_refused_for_good_makes_way_for_the_next_person(here):
    here.listed(here.ben)
    here.alert("silence", "today", at(10))
    here.mail.fails = [DeliveryError("550 recipient refused", permanent=True)]
    assert here.minute(at(10)) == []
    assert here.minute(at(10, 1)) == ["ben"]


def test_a_failing_mail_server_is_shown_with_its_error_and_tried_again(here):
    here.alert("silence", "today", at(10))
    here.mail.fails = [DOWN, DeliveryError("no answer in time", permanent=False)]
    assert here.minute(at(10)) == []
    assert here.minute(at(10, 1)) == []
    (failing,) = stored.failing(here.db, here.clinic.id, at(10, 2))
    assert (failing.channel, failing.since, failing.detail) == (
        "email",
        at(10),
        "no answer in time",
    )
    (row,) = here.notices()
    assert (row.state, row.outcome) == ("due", "no answer in time")
    assert here.minute(at(10, 5)) == ["anna"]
    assert stored.failing(here.db, here.clinic.id, at(10, 6)) == []
    assert [row.state for row in here.notices()] == ["sent"]


def test_a_server_that_is_down_is_tried_once_a_pass_and_less_and_less_often(here):
    for kind in ("silence", "no_contact", "not_started"):
        here.alert(kind, "today", at(10))
    here.mail.fails = [DOWN] * 1000
    here.minute(at(10))
    assert len(here.mail.fails) == 999
    assert {row.tries for row in here.notices()} == {0, 1}
    for minute in range(1, 180):
        here.minute(at(10) + timedelta(minutes=minute))
    assert here.mail.fails
    assert max(row.tries for row in here.notices()) <= MOST_TRIES


def test_urgent_word_that_cannot_be_sent_goes_to_the_next_person_at_once(here):
    """What is for today waits for the server; what is for now does not."""
    here.listed(here.ben)
    here.alert("no_contact", "today", at(10))
    here.mail.fails = [DOWN]
    assert here.minute(at(10)) == []
    here.alert("silence", "now", at(10, 10))
    here.mail.fails = [DOWN]
    assert here.minute(at(10, 10)) == []
    assert "ben" in here.minute(at(10, 11))


def test_after_the_last_try_a_notice_is_given_up_and_kept(here):
    here.alert("silence", "today", at(10))
    here.mail.fails = [DOWN] * 1000
    now = at(10)
    while now < at(16):
        here.minute(now)
        now += timedelta(minutes=5)
    first = here.notices()[0]
    assert (first.state, first.tries, first.outcome) == ("failed", MOST_TRIES, "connection refused")


def test_a_house_without_any_channel_tells_nobody_and_keeps_no_notice(here):
    trouble(here, at(10))
    notify(here.db, Carriers(), lambda: at(10))
    assert here.notices() == []


def test_two_dispatchers_at_once_put_down_each_notice_once(here):
    trouble(here, at(10))
    assert plan_notices(here.db, at(10), {"email"}) == 1
    row = here.notices()[0]
    again = {c.name: getattr(row, c.name) for c in Notice.__table__.columns if c.name != "id"}
    assert stored.make(here.db, [again]) == 0


def test_a_pass_that_died_after_its_claim_is_taken_over_when_the_lease_is_over(here):
    trouble(here, at(10))
    plan_notices(here.db, at(10), {"email"})
    assert stored.claim_next(here.db, at(10), timedelta(minutes=2)) is not None
    here.db.commit()
    assert here.minute(at(10, 1)) == []
    assert here.minute(at(10, 3)) == ["anna"]


def test_the_webhook_is_posted_once_a_step_and_reaches_nobody_unless_the_clinic_says_so(here):
    here.hook = HookBox()
    here.anna.email = here.mona.email = None
    row = trouble(here, at(10))
    assert here.minute(at(10)) == []
    assert [(m.alert, m.level) for m in here.hook.sent] == [(row.id, "now")]
    assert {n.staff_id for n in here.notices() if n.channel == "none"} == {
        here.anna.id, here.mona.id,
    }  # fmt: skip


def test_where_the_webhooks_receiver_rings_the_person_told_has_their_time(here):
    here.hook = HookBox()
    here.anna.email = None
    here.set(WHOLE_CLINIC, webhook_wakes=True, people=[str(here.ben.id)])
    trouble(here, at(10))
    assert [here.minute(now) for now in (at(10), at(10, 14), at(10, 15))] == [[], [], ["ben"]]
    assert len(here.hook.sent) == 2


def test_another_clinics_people_are_told_nothing(here, db):
    there = cast.clinic(db, BEGAN, "Hill Hand Unit")
    other = cast.staff(db, there, BEGAN, "manager", name="Otto")
    other.email = "otto@hill.example"
    here.listed(here.ben, other)  # as a damaged row might say
    row = trouble(here, at(10))
    told = [who for _, people in minutes(here, at(9, 59), at(11)) for who in people]
    assert told == ["anna", "ben", "mona"]
    assert {n.clinic_id for n in here.notices()} == {row.clinic_id}


def test_an_alert_of_no_change_is_opened_once_and_told_once(here):
    """Told again by the rules each minute, it stays the alert it was."""
    here.alert("silence", "now", at(10))
    here.minute(at(10))
    open_alert(here.db, here.course, "silence", "now", {"more": 1}, at(10, 5))
    here.db.commit()
    assert here.minute(at(10, 5)) == []
    assert len(here.db.scalars(select(Notice)).all()) == 1


def test_one_clinic_in_which_something_goes_wrong_does_not_keep_the_others_from_being_told(
    here, monkeypatch, caplog
):
    """Whichever of the two is read first."""
    for name in ("A Unit", "Z Unit"):
        broken = cast.clinic(here.db, BEGAN, name)
        monkeypatch.setattr(telling, "house", breaking(telling.house, broken.id))
    here.alert("trouble", "now", at(10), trouble="snap", stop=True)
    assert here.minute(at(10)) == ["anna"]
    assert f"tell staff of clinic {broken.id}: ZeroDivisionError" in caplog.text
    here.alert("excess", "this_week", at(10))
    assert here.minute(at(8, day=8)) == ["anna", "mona"]  # the digest; trouble not taken up


def test_what_somebody_who_leaves_had_taken_up_is_told_anew_though_everybody_knew_of_it(here):
    here.listed(here.ben)
    held = here.alert("silence", "now", at(10))
    assert [told for _, told in minutes(here, at(9, 59), at(11))] == [["anna"], ["ben"], ["mona"]]
    take_up_alert(here.db, cast.acting(here.anna), held.id, at(11))
    told = end_staff(here.db, cast.acting(here.mona, None), here.anna.id, at(11, 5), at(11, 5))
    here.db.commit()
    assert [each.to for each in told.alerts] == [("Ben",)]
    assert minutes(here, at(11, 4), at(11, 30)) == [(at(11, 5), ["ben"]), (at(11, 20), ["mona"])]


def test_trouble_taken_up_by_no_clinician_is_told_on_until_a_clinician_has_it(here):
    here.listed(here.ben, here.cleo)
    held = trouble(here, at(10))
    assert here.minute(at(10)) == ["anna"]
    take_up_alert(here.db, cast.acting(here.mona, None), held.id, at(10, 5))
    here.db.commit()
    assert minutes(here, at(10, 5), at(10, 20)) == [(at(10, 15), ["ben"])]
    settle_alert(here.db, cast.acting(here.ben), held.id, "rang", "", at(10, 20))
    here.db.commit()
    assert minutes(here, at(10, 20), at(12)) == []


def test_other_alerts_taken_up_by_a_manager_are_told_no_further(here):
    here.listed(here.ben)
    held = here.alert("silence", "now", at(10))
    assert here.minute(at(10)) == ["anna"]
    take_up_alert(here.db, cast.acting(here.mona, None), held.id, at(10, 5))
    here.db.commit()
    assert minutes(here, at(10, 5), at(12)) == []


def test_whoever_may_not_take_up_alerts_is_told_of_none_whatever_list_names_them(here):
    here.listed(here.ben, here.cleo)
    cast.on_duty(here.db, here.ben, BEGAN)
    for who in (here.anna, here.ben):
        change_staff(here.db, cast.acting(here.mona, None), who.id, "enroller", None, at(9), at(9))
    here.db.commit()
    trouble(here, at(10))
    assert here.minute(at(10)) == ["cleo"]


def breaking(real, clinic_id):
    def house(db, asked, now):
        return real(db, asked, now) if asked != clinic_id else 1 / 0

    return house
