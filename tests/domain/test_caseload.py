"""Who stands where in the caseload, and why."""

from datetime import UTC, date, datetime, timedelta

import pytest

from homeprog.domain.caseload import Circumstances, OpenAlert, Reason, place, reason_words

NOON = datetime(2026, 6, 5, 12, tzinfo=UTC)
OPENED = datetime(2026, 5, 20, 9, tzinfo=UTC)


def course(**more):
    return Circumstances(**{"opened": OPENED, "phones": 1, **more})


def alert(level="today", state="open", at=NOON, kind="few_logged", id="a"):
    return OpenAlert(id, kind, level, state, at)


def order(*courses):
    """Indexes of courses, most in need first."""
    return sorted(range(len(courses)), key=lambda n: place(courses[n]).rank)


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({"phones": 0}, "no_phone"),
        ({"holds": (Reason("paused"),)}, "paused"),
        ({"holds": (Reason("stopped"),)}, "stopped"),
        ({"alerts": (alert(kind="no_contact"),)}, "no_contact"),
        ({"silent": True}, "no_contact"),
    ],
)
def test_without_phone_paused_stopped_or_without_contact_is_not_watched(given, code):
    found = place(course(**given))
    assert found.group == "not_watched"
    assert [reason.code for reason in found.reasons] == [code]


def test_the_unwatched_stand_above_every_other_group():
    unwatched = course(phones=0)
    snap = course(alerts=(alert("now"),))
    assert order(course(), snap, unwatched) == [2, 1, 0]


def test_the_unwatched_are_sorted_by_how_long_nobody_has_seen_them():
    seen_lately = course(phones=0, last_seen=NOON)
    seen_long_ago = course(phones=0, last_seen=NOON - timedelta(days=9))
    never_seen = course(phones=0, opened=NOON - timedelta(days=12))
    assert order(seen_lately, seen_long_ago, never_seen) == [2, 1, 0]


def test_a_trouble_of_now_heads_even_the_longest_unseen():
    unseen = course(phones=0, last_seen=NOON - timedelta(days=30))
    snap = course(holds=(Reason("stopped"),), alerts=(alert("now"),), last_seen=NOON)
    assert order(unseen, snap) == [1, 0]


def test_an_emergency_heads_an_older_trouble_of_now_until_it_is_taken_up():
    snap = course(holds=(Reason("stopped"),), alerts=(alert("now", at=NOON - timedelta(hours=2)),))
    cold = OpenAlert("b", "trouble", "now", "open", NOON, emergency=True)
    white = course(holds=(Reason("stopped"),), alerts=(cold,))
    assert order(snap, white) == [1, 0]
    both = course(alerts=(alert("now", at=NOON - timedelta(hours=2)), cold))
    assert place(both).alerts[0].id == "b"


def test_a_lesser_alert_does_not_move_an_unwatched_patient_before_one_longer_unseen():
    longer = course(phones=0, last_seen=NOON - timedelta(days=5))
    alerted = course(phones=0, last_seen=NOON - timedelta(days=4), alerts=(alert("today"),))
    assert order(alerted, longer) == [1, 0]


def test_groups_follow_the_most_urgent_alert():
    week, today = course(alerts=(alert("this_week"),)), course(alerts=(alert("today"),))
    both = course(alerts=(alert("this_week", id="a"), alert("now", id="b")))
    assert [place(c).group for c in (week, today, both)] == ["this_week", "today", "now"]
    assert [a.id for a in place(both).alerts] == ["b", "a"]
    assert order(course(), week, today, both) == [3, 2, 1, 0]


def test_what_nobody_has_taken_up_comes_before_what_somebody_has():
    taken = course(alerts=(alert(state="taken_up", at=NOON - timedelta(days=1)),))
    fresh = course(alerts=(alert(at=NOON),))
    assert order(taken, fresh) == [1, 0]


def test_the_clock_of_an_alert_decides_within_its_group():
    older = course(alerts=(alert(at=NOON - timedelta(hours=2)),))
    newer = course(alerts=(alert(at=NOON),))
    assert order(newer, older) == [1, 0]


def test_where_nothing_asks_the_next_visit_comes_first_and_no_visit_last():
    monday = course(next_visit=date(2026, 6, 8))
    tuesday = course(next_visit=date(2026, 6, 9))
    assert place(monday).group == "nothing"
    assert order(course(), tuesday, monday) == [2, 1, 0]


def test_a_course_nobody_confirmed_asks_this_week():
    found = place(course(confirmed=False, has_regime=False, released=False))
    assert found.group == "this_week"
    assert [reason.code for reason in found.reasons] == ["not_confirmed"]


def test_ranks_fit_a_32_bit_column():
    last = place(course(opened=datetime(2126, 1, 1, tzinfo=UTC)))
    assert 0 <= last.rank < 2**31


def test_a_reason_is_told_in_words_in_the_clinics_zone():
    stopped = Reason("stopped", since=NOON, said="Felt a snap.")
    paused = Reason("paused", since=OPENED, until=NOON, said="flu")
    words = "Exercises are stopped since Friday 5 June 13:00: Felt a snap."
    assert reason_words(stopped, "Europe/London") == words
    assert reason_words(paused, "Europe/London") == "Paused until Friday 5 June 13:00: flu."
    assert reason_words(Reason("no_contact"), "UTC") == "No word from the phone."
