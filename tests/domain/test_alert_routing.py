"""Who is told and when, as rules: the clinic's time, cover, lists, settings and load."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from homeprog.domain.alert import KINDS, LEVEL, LEVELS, TROUBLE
from homeprog.domain.alert.load import load, patient_days, taken
from homeprog.domain.alert.routing import (
    People,
    Standing,
    Told,
    Week,
    covering,
    is_due,
    step_after,
)
from homeprog.domain.alert.settings import (
    ClinicSetting,
    KindSetting,
    in_quiet,
    kind_setting,
    read_clinic,
    read_kind,
)
from homeprog.domain.errors import Invalid
from homeprog.domain.hours import Closing, DutyHours, WeekHours

HOURS = [WeekHours(weekday, time(8), time(17)) for weekday in range(5)]
DUTY = [DutyHours(weekday, time(8), time(20), "dora") for weekday in range(7)]
WEEK = Week("Europe/London", HOURS, DUTY, Closing(frozenset({date(2026, 6, 8)})))


def at(hour: int, minute: int = 0, day: int = 5) -> datetime:
    """June 2026 by the clinic's clock (UTC+1); the 5th is a Friday, the 8th a closing day."""
    return datetime(2026, 6, day, tzinfo=UTC) + timedelta(hours=hour - 1, minutes=minute)


@pytest.mark.parametrize(
    ("since", "until", "minutes"),
    [
        (at(10), at(10, 15), 15),
        (at(16, 50), at(18), 10),
        (at(16, 50), at(8, 5, day=9), 15),  # a weekend and a closing day stand still
        (at(12, day=6), at(12, day=8), 0),
        (at(10), at(9), 0),
    ],
)
def test_the_clock_runs_in_clinic_hours_alone(
    since: datetime, until: datetime, minutes: int
) -> None:
    assert WEEK.elapsed(since, until, trouble=False) == timedelta(minutes=minutes)


def test_for_trouble_hours_of_duty_count_too_and_no_hour_counts_twice() -> None:
    """Friday 16:00 to 21:00: open till 17, on duty till 20. A closing day is like a Sunday."""
    assert WEEK.elapsed(at(16), at(21), trouble=True) == timedelta(hours=4)
    assert WEEK.elapsed(at(0, day=8), at(24, day=8), trouble=True) == timedelta(hours=12)


def test_a_night_in_which_the_clocks_change_is_as_long_as_it_was() -> None:
    """25 October 2026: from 0:00 to 4:00 by the wall are 5 hours (date from memory)."""
    night = Week("Europe/London", [WeekHours(6, time(0), time(4))], [], Closing())
    since, until = datetime(2026, 10, 24, 22, tzinfo=UTC), datetime(2026, 10, 25, 10, tzinfo=UTC)
    assert night.elapsed(since, until, trouble=False) == timedelta(hours=5)


def test_without_hours_the_clock_never_stands_still() -> None:
    bare = Week("Europe/London", [], [], Closing())
    assert bare.elapsed(at(3), at(4), trouble=False) == timedelta(hours=1)
    assert bare.clinic_day(date(2026, 6, 7))


@given(st.integers(0, 20_000), st.integers(0, 20_000), st.integers(0, 20_000), st.booleans())
def test_elapsed_time_adds_up_however_it_is_cut(a: int, b: int, c: int, trouble: bool) -> None:
    one, two, three = (at(0, day=1) + timedelta(minutes=m) for m in sorted((a, b, c)))
    whole = WEEK.elapsed(one, three, trouble)
    assert whole == WEEK.elapsed(one, two, trouble) + WEEK.elapsed(two, three, trouble)
    assert timedelta() <= whole <= three - one


# ---- cover


def test_cover_is_followed_to_whoever_works_here_and_ends_in_a_circle() -> None:
    working = {"anna", "ben", "cleo"}
    assert covering("anna", {}, working) == "anna"
    assert covering("anna", {"anna": "ben", "ben": "cleo"}, working) == "cleo"
    assert covering("anna", {"anna": "gone"}, working) == "anna"
    assert covering("gone", {"gone": "ben"}, working) == "ben"
    assert covering("anna", {"anna": "ben", "ben": "anna"}, working) == "ben"
    assert covering("gone", {}, working) is None
    assert covering(None, {}, working) is None


# ---- steps

PEOPLE = People("tess", ("lena", "tess", "mark"), ("mark", "mona"))


def standing(kind: str = "silence", level: str = "now", **more: object) -> Standing:
    whole = Standing(kind, level, False, at(10), at(10))
    return replace(whole, **more)  # type: ignore[arg-type]


def all_steps(alert: Standing, setting: KindSetting, duty: tuple[str, ...]) -> list[tuple]:
    told: set[str] = set()
    found = []
    while step := step_after(told, alert, PEOPLE, setting, duty):
        found.append((step.people, step.why))
        told |= set(step.people)
    return found


def test_nobody_is_told_twice_and_the_managers_come_last() -> None:
    assert all_steps(standing(), KindSetting(True, "now"), ("dora",)) == [
        (("tess",), "first"), (("lena",), "next"), (("mark",), "next"), (("mona",), "manager"),
    ]  # fmt: skip


def test_trouble_goes_to_all_on_duty_together_before_the_list() -> None:
    steps = all_steps(standing("trouble"), kind_setting("trouble", None), ("dora", "tess"))
    assert [people for people, _ in steps] == [("dora", "tess"), ("lena",), ("mark",), ("mona",)]


@given(st.sampled_from(KINDS), st.sets(st.sampled_from(["tess", "lena", "mark", "mona", "dora"])))
def test_whoever_has_been_told_the_next_step_names_somebody_new_or_nobody(
    kind: str, told: set[str]
) -> None:
    step = step_after(told, standing(kind), PEOPLE, kind_setting(kind, None), ("dora",))
    if step is None:
        assert told >= {"lena", "mark", "mona", "tess"}
    else:
        assert not told & set(step.people)


@given(
    st.sampled_from(sorted(TROUBLE)), st.booleans(), st.sampled_from(LEVELS),
    st.sampled_from([None, ["00:00", "23:59"]]), st.integers(0, 7 * 24 * 60),
)  # fmt: skip
def test_no_setting_keeps_trouble_from_whoever_is_on_duty(
    kind: str, on: bool, level: str, quiet: list[str] | None, minute: int
) -> None:
    now = at(0, day=1) + timedelta(minutes=minute)
    setting = kind_setting(kind, {"on": on, "level": level, "quiet": quiet, "people": []})
    alert = standing(kind, level, opened=now, clock_starts=now + timedelta(days=3))
    due = is_due(alert, Told(), setting, ClinicSetting(), WEEK, now)
    assert due is bool(WEEK.on_duty(now))


# ---- settings


def test_every_kind_has_a_level_and_is_on_until_a_manager_says_otherwise() -> None:
    for kind in set(KINDS) - TROUBLE:
        setting = kind_setting(kind, None)
        assert (setting.on, setting.level, setting.quiet) == (True, LEVEL[kind], None)
    assert kind_setting("of a later version", None).level == "today"


def test_quiet_hours_are_half_open_and_may_pass_midnight() -> None:
    noon = KindSetting(True, "now", quiet=(time(12), time(13)))
    night = KindSetting(True, "now", quiet=(time(22), time(7)))
    assert [in_quiet(noon, time(h)) for h in (11, 12, 13)] == [False, True, False]
    assert [in_quiet(night, time(h)) for h in (21, 22, 3, 7)] == [False, True, True, False]


def test_a_form_is_read_or_refused_by_field() -> None:
    good = {"on": "yes", "level": "today", "people": ["anna", "anna", ""]}
    assert read_kind("silence", good, {"anna"})["people"] == ["anna"]
    for name, wrong in (
        ("level", {"level": "soon"}), ("people", {"people": ["eve"]}),
        ("quiet_to", {"quiet_from": "12:00", "quiet_to": ""}),
        ("quiet_to", {"quiet_from": "12:00", "quiet_to": "12:00"}),
    ):  # fmt: skip
        with pytest.raises(Invalid) as refused:
            read_kind("silence", good | wrong, {"anna"})
        assert set(refused.value.fields) == {name}
    with pytest.raises(Invalid):
        read_clinic({"now_minutes": "15", "today_hours": "0", "digest_at": "07:45"}, set())


# ---- load


def test_the_load_is_told_for_every_thirty_patients() -> None:
    """60 patients over 28 days, 20 of them clinic days: 120 alerts are 3 a day for each 30."""
    assert load(120, 20, 60 * 28, 28) == pytest.approx(3.0)
    assert load(5, 0, 60 * 28, 28) is None
    assert load(5, 20, 0, 28) is None


def test_patient_days_are_cut_at_both_ends() -> None:
    stays = [(at(0, day=1), None), (at(0, day=4), at(0, day=5)), (at(0, day=9), None)]
    assert patient_days(stays, at(0, day=3), at(0, day=6)) == pytest.approx(4.0)


def test_the_median_is_of_those_taken_up_and_the_rest_is_counted_beside_it() -> None:
    waits = [timedelta(minutes=m) for m in (1, 5, 60)]
    assert taken(waits, 2).median == timedelta(minutes=5)
    assert taken([], 2).median is None
