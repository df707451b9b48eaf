"""Days, visits, hands and hours in words, in every language that ships."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from homeprog.domain.hours import Ring
from homeprog.phrases import LANGUAGES, phrases_of
from homeprog.services.put_in_words import (
    date_words,
    day_words,
    finger_words,
    hand_words,
    read_words,
    visit_words,
)

MONDAY = date(2026, 6, 8)
NIGHT = datetime(2026, 6, 5, 17, tzinfo=UTC)  # a Friday, 18:00 in London


def ring(read: bool, until: datetime | None) -> Ring:
    return Ring(
        NIGHT, NIGHT + timedelta(hours=2), "Ring the ward", "1", read, until, "Europe/London"
    )


@pytest.mark.parametrize(
    ("language", "said"),
    [
        ("en", "day 23 (3 weeks 2 days)"),
        ("es", "día 23 (3 semanas y 2 días)"),
        ("ar", "اليوم 23 (3 أسابيع ويومان)"),
        ("hi", "दिन 23 (3 हफ़्ते 2 दिन)"),
    ],
)
def test_a_day_is_said_with_its_weeks(language, said):
    assert day_words(phrases_of(language), 23) == said


def test_a_day_of_the_first_week_is_said_alone_and_a_whole_week_without_days():
    say = phrases_of("en")
    assert [day_words(say, n) for n in (0, 5, 7)] == ["day 0", "day 5", "day 7 (1 week)"]


@pytest.mark.parametrize(
    ("language", "said"),
    [
        ("en", "Monday 8 June, 14:10"),
        ("es", "lunes 8 de junio, 14:10"),
        ("ar", "الاثنين 8 يونيو، الساعة 14:10"),
        ("hi", "सोमवार, 8 जून, 14:10"),
    ],
)
def test_a_visit_is_said_by_its_weekday_and_day(language, said):
    """Names of days and months: CLDR's, as Babel carries them."""
    say = phrases_of(language)
    assert visit_words(say, MONDAY, "14:10", language) == said
    assert said.startswith(date_words(say, MONDAY, language))
    assert visit_words(say, MONDAY, None, language) == date_words(say, MONDAY, language)


@pytest.mark.parametrize(
    ("language", "said"),
    [
        ("en", "index finger and middle finger"),
        ("es", "dedo índice y dedo medio"),
        ("ar", "السبابة والإصبع الوسطى"),
        ("hi", "तर्जनी (पहली उँगली) और बीच की उँगली"),
    ],
)
def test_fingers_are_listed_from_the_thumb_on(language, said):
    assert finger_words(phrases_of(language), {"middle", "index"}, language) == said


def test_a_wrist_tendon_alone_is_of_the_wrist_and_nothing_is_said_of_what_is_not_known():
    say = phrases_of("en")
    assert finger_words(say, {None}, "en") == "wrist"
    assert finger_words(say, set(), "en") is None
    assert (hand_words(say, "left"), hand_words(say, None)) == ("Left hand", None)


UNTIL = [
    None, NIGHT + timedelta(hours=1), NIGHT + timedelta(hours=6),
    NIGHT + timedelta(days=2, hours=14), NIGHT + timedelta(days=9),
]  # fmt: skip


@pytest.mark.parametrize("until", UNTIL, ids=str)
@pytest.mark.parametrize("read", [True, False])
def test_the_phone_is_told_of_duty_as_staff_are(read, until):
    """In English both say the same; elsewhere the number beside the hour is the same one."""
    told = ring(read, until)
    assert read_words(phrases_of("en"), told, "en") == told.read_words
    for language in LANGUAGES:
        said = read_words(phrases_of(language), told, language)
        assert [c for c in said if c.isdigit()] == [c for c in told.read_words if c.isdigit()]


def test_whom_to_ring_when_nobody_reads_it_any_more_is_told_beside_until_when():
    told = ring(True, NIGHT + timedelta(hours=1))
    number = "\u2066020\u00a07946\u00a00199\u2069"  # in one piece, left to right
    assert read_words(phrases_of("en"), told, "en", "020 7946 0199") == (
        f"The clinic reads this until 19:00. After 19:00 nobody reads this. Then ring {number}."
    )
    for language in LANGUAGES:
        said = read_words(phrases_of(language), told, language, "020 7946 0199")
        assert (said.count("19:00"), said.count(number)) == (2, 1)
