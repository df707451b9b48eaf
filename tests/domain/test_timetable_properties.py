"""The timetable: what holds for any course of changes."""

from collections import Counter
from datetime import UTC, datetime, time, timedelta
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from homeprog.domain.clock import local
from homeprog.domain.regime.dose import Dose, Schedule
from homeprog.domain.timetable import (
    Asked,
    Setting,
    Waking,
    course_day,
    cut_slots,
    lay_out,
    prompt_groups,
)

OPENED = datetime(2026, 3, 5, 9, tzinfo=UTC)  # clocks change in New York and London soon
UNTIL = OPENED + timedelta(days=40)
ZONES = (
    "Europe/London",
    "America/New_York",
    "Australia/Lord_Howe",
    "Pacific/Apia",
    "Pacific/Honolulu",
)

times = st.builds(time, st.integers(0, 23), st.sampled_from((0, 15, 30)))
weeks = st.one_of(
    st.just((Waking(),) * 7),
    st.tuples(*[st.builds(Waking, times, times)] * 7),
)
schedules = st.one_of(
    st.builds(lambda n: Schedule("every", every=n), st.integers(20, 240)),
    st.builds(lambda n: Schedule("times_a_day", times=n), st.integers(1, 20)),
    st.builds(
        lambda at: Schedule("at", at=tuple(sorted(at))), st.sets(times, min_size=1, max_size=6)
    ),
)
asked = st.lists(
    st.builds(Asked, st.sampled_from("abc"), st.just(Dose(10)), schedules),
    max_size=3,
    unique_by=lambda a: a.exercise,
).map(tuple)


@st.composite
def courses(draw, least=1):
    """Settings that ascend, hours to days apart, in any zone and with any hours."""
    at, settings = OPENED, []
    for number in range(draw(st.integers(least, 5))):
        settings.append(
            Setting(
                at,
                draw(st.sampled_from(ZONES)),
                draw(weeks),
                draw(st.sampled_from(("motion", "motion", "motion", None))),
                number,
                draw(asked),
                draw(st.frozensets(st.sampled_from("abc"), max_size=1)),
            )
        )
        at += timedelta(minutes=draw(st.integers(0, 3 * 24 * 60)))
    return settings


@given(courses())
def test_slots_of_one_exercise_never_overlap(settings):
    laid = lay_out(settings, UNTIL)
    for exercise in "abc":
        for one, two in pairwise(s for s in laid if s.exercise == exercise):
            assert one.end <= two.start


@given(courses())
def test_every_slot_lies_inside_the_waking_hours_of_its_setting_on_its_date(settings):
    by_number = {s.revision: s for s in settings}
    for slot in lay_out(settings, UNTIL):
        rules = by_number[slot.revision]
        hours = rules.week[slot.date.weekday()]
        wakes = datetime.combine(slot.date, hours.wake)
        sleeps = datetime.combine(slot.date, hours.sleep)
        if sleeps <= wakes:
            sleeps += timedelta(days=1)
        begins = local(slot.start, rules.zone).replace(tzinfo=None)
        ends = local(slot.end, rules.zone).replace(tzinfo=None)
        assert slot.start < slot.end
        assert wakes <= begins
        # an end that the spring change leaves out is told as the first time that exists
        assert ends <= sleeps or (ends - sleeps <= timedelta(hours=1) and _is_gap(slot.end, rules))


def _is_gap(instant, rules):
    before = local(instant - timedelta(minutes=1), rules.zone).utcoffset()
    return local(instant, rules.zone).utcoffset() > before


@given(courses())
def test_every_slot_belongs_to_the_course_day_of_its_start(settings):
    for slot in lay_out(settings, UNTIL):
        assert course_day(settings, slot.start) == slot.date


@given(courses())
def test_every_slot_begins_under_the_setting_in_force(settings):
    for slot in lay_out(settings, UNTIL):
        in_force = [s for s in settings if s.at <= slot.start][-1]
        assert slot.revision == in_force.revision
        assert slot.exercise in {a.exercise for a in in_force.asked}
        assert in_force.phase is not None


@given(courses(), st.integers(1, 40 * 24 * 60))
def test_a_later_until_never_changes_what_was_laid_out_before(settings, minutes):
    until = OPENED + timedelta(minutes=minutes)
    longer = lay_out(settings, UNTIL)
    assert lay_out(settings, until) == tuple(s for s in longer if s.start < until)


@given(courses(), st.integers(-600, 40 * 24 * 60))
def test_since_only_leaves_out_slots_that_have_ended(settings, minutes):
    since = OPENED + timedelta(minutes=minutes)
    whole = lay_out(settings, UNTIL)
    assert lay_out(settings, UNTIL, since) == tuple(s for s in whole if s.end > since)


@given(courses(least=2))
def test_a_later_setting_never_changes_slots_that_began_before_it(settings):
    last = settings[-1].at
    before = [s for s in lay_out(settings[:-1], UNTIL) if s.start < last]
    assert [s for s in lay_out(settings, UNTIL) if s.start < last] == before


@given(courses())
def test_course_days_never_go_back(settings):
    instants = [OPENED + timedelta(hours=7 * n) for n in range(80)]
    days = [course_day(settings, instant) for instant in instants]
    assert days == sorted(days)


@given(courses(least=2))
def test_after_a_change_a_day_has_at_most_the_new_number_or_what_had_begun(settings):
    last = settings[-1]
    whole_days = Counter(
        (s.exercise, s.date) for s in lay_out([_long_before(last)], UNTIL + timedelta(days=3))
    )
    begun = Counter(
        (s.exercise, s.date) for s in lay_out(settings[:-1], UNTIL) if s.start < last.at
    )
    for key, number in Counter((s.exercise, s.date) for s in lay_out(settings, UNTIL)).items():
        assert number <= max(whole_days[key], begun[key])


def _long_before(setting):
    return Setting(
        OPENED - timedelta(days=5), setting.zone, setting.week, "motion", 99, setting.asked
    )


@given(courses())
def test_every_cut_lies_inside_its_slot_and_at_a_change(settings):
    laid = lay_out(settings, UNTIL)
    changes = {s.at for s in settings}
    by_key = {s.key: s for s in laid}
    for key, at in cut_slots(settings, laid).items():
        assert by_key[key].start < at < by_key[key].end
        assert at in changes


@given(courses(), courses())
def test_every_slot_stands_in_one_prompt_with_no_other_of_its_kind(left, right):
    members = [("left", s) for s in lay_out(left, OPENED + timedelta(days=3))]
    members += [("right", s) for s in lay_out(right, OPENED + timedelta(days=3))]
    groups = prompt_groups(members)
    prompted = [member for _, group in groups for member in group]
    assert Counter(prompted) == Counter(members)
    for due, group in groups:
        assert len({(course, s.exercise) for course, s in group}) == len(group)
        assert all(timedelta() <= s.start - due <= timedelta(minutes=10) for _, s in group)
