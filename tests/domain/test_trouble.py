"""Trouble: what stops, what may be taken back, which texts must be there."""

from datetime import UTC, datetime, timedelta

import pytest

from homeprog.domain.course import WORN, Worn
from homeprog.domain.trouble import (
    KINDS,
    TROUBLES,
    Kind,
    any_stop,
    can_take_back,
    is_stop,
    offered,
    required_texts,
    text_key,
)

REPORTED = datetime(2026, 3, 9, 10, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    "kind",
    [
        "snap",
        "finger_no_longer_lifts",
        "knock_or_fall",
        "splint_gone",
        "band_no_longer_lifts",
        "white_blue_cold",
        "numb",
        "severe_pain",
        "wound",
        "fever",
        "told_to_stop",
        "not_my_hand",
    ],
)
def test_a_stop_flag_stops_and_alerts_now(kind: Kind) -> None:
    assert is_stop(kind)
    assert TROUBLES[kind].level == "now"


@pytest.mark.parametrize(
    ("kind", "level"),
    [
        ("bump", "today"),
        ("told_different", "today"),
        ("splint_does_not_hold", "today"),
        ("splint_off_and_back", "line"),
        ("swelling", "line"),
        ("skin", "line"),
        ("tingling", "line"),
    ],
)
def test_what_is_no_stop_flag_lets_exercise_go_on(kind: Kind, level: str) -> None:
    assert not is_stop(kind)
    assert TROUBLES[kind].level == level


def test_every_kind_has_its_rule_and_no_other_has_one() -> None:
    assert set(TROUBLES) == set(KINDS)


def test_one_stop_flag_among_others_stops() -> None:
    assert any_stop(["bump", "snap"])
    assert not any_stop(["bump", "skin"])


def test_pressed_by_mistake_is_offered_for_two_minutes() -> None:
    assert can_take_back("knock_or_fall", REPORTED, REPORTED + timedelta(minutes=2))
    assert not can_take_back("knock_or_fall", REPORTED, REPORTED + timedelta(minutes=2, seconds=1))


@pytest.mark.parametrize("kind", ["snap", "finger_no_longer_lifts", "white_blue_cold"])
def test_a_snap_a_finger_that_no_longer_lifts_and_a_change_of_colour_cannot_be_taken_back(
    kind: Kind,
) -> None:
    assert not can_take_back(kind, REPORTED, REPORTED)


@pytest.mark.parametrize("kind", ["white_blue_cold", "severe_pain", "fever"])
def test_colour_pain_that_grows_and_fever_are_emergencies(kind: Kind) -> None:
    assert TROUBLES[kind].emergency


def test_the_band_is_asked_about_only_where_one_is_worn() -> None:
    assert "band_no_longer_lifts" in offered("sling")
    assert "band_no_longer_lifts" not in offered("splint")


def test_while_it_is_not_known_what_is_worn_everything_is_offered() -> None:
    assert offered(None) == KINDS


def test_a_text_differs_by_what_is_worn_only_where_it_matters() -> None:
    assert text_key("numb", "plaster") == "trouble.numb.plaster"
    assert text_key("snap", "plaster") == "trouble.snap"


@pytest.mark.parametrize("worn", WORN)
def test_every_kind_offered_has_a_text_required(worn: Worn) -> None:
    assert {text_key(kind, worn) for kind in offered(worn)} <= set(required_texts(worn))


def test_the_texts_for_anything_worn_are_those_of_each_together() -> None:
    together = {key for worn in WORN for key in required_texts(worn)}
    assert set(required_texts(None)) == together
    assert len(required_texts(None)) == len(together)
