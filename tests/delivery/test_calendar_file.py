"""The calendar file, read by two libraries of others: icalendar 7.3 and dateutil."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest
from dateutil.rrule import rrulestr

from homeprog.delivery.calendar_file import (
    Calendar,
    Ring,
    calendar_file,
    escaped,
    first_day,
    fold,
    rule,
    time_zone,
)

NOON = datetime(2026, 6, 5, 12, tzinfo=UTC)
EVERY_DAY = (0, 1, 2, 3, 4, 5, 6)


def made(
    *rings: Ring, zone: str = "Europe/London", title: str = "Open Homeprog",
    first: date = date(2026, 6, 6), days: int = 14,
) -> Calendar:  # fmt: skip
    return Calendar("0123abcd", title, zone, first, first + timedelta(days=days - 1), rings)


def read(calendar: Calendar) -> icalendar.Calendar:
    return icalendar.Calendar.from_ical(calendar_file(calendar, NOON))


def instants(calendar: Calendar) -> list[datetime]:
    """When it rings, in UTC, by the zone written into the file and dateutil's reading of it."""
    found = []
    for event in read(calendar).walk("VEVENT"):
        start = event.decoded("DTSTART")
        text = event["RRULE"].to_ical().decode()
        wall = start.replace(tzinfo=None)
        until = event["RRULE"]["UNTIL"][0].astimezone(start.tzinfo).replace(tzinfo=None)
        naive = ";".join(
            f"UNTIL={until:%Y%m%dT%H%M%S}" if part.startswith("UNTIL") else part
            for part in text.split(";")
        )
        own = zones(calendar)
        found += [at.replace(tzinfo=own).astimezone(UTC) for at in rrulestr(naive, dtstart=wall)]
    return sorted(found)


def zones(calendar: Calendar):
    """The zone as the file itself describes it, whatever this computer knows of its name."""
    [zone] = read(calendar).walk("VTIMEZONE")
    return zone.to_tz(lookup_tzid=False)


def test_it_is_a_calendar_of_version_2_with_every_part_it_must_have() -> None:
    calendar = read(made(Ring(time(8), EVERY_DAY), Ring(time(9, 30), (0, 4))))
    assert (calendar["VERSION"], calendar["PRODID"]) == ("2.0", "-//Homeprog//EN")
    events = calendar.walk("VEVENT")
    assert len(events) == 2
    for event in events:
        assert {"UID", "DTSTAMP", "DTSTART", "RRULE", "SUMMARY", "SEQUENCE"} <= set(event)
        assert event["SUMMARY"] == "Open Homeprog"
    assert not [error for part in calendar.walk() for error in getattr(part, "errors", [])]


def test_every_line_ends_in_crlf_and_has_at_most_75_octets() -> None:
    text = calendar_file(made(Ring(time(8), EVERY_DAY), title="افتح Homeprog " * 9), NOON)
    assert text.endswith("END:VCALENDAR\r\n")
    assert "\n" not in text.replace("\r\n", "")
    assert max(len(line.encode()) for line in text.split("\r\n")) <= 75
    assert icalendar.Calendar.from_ical(text).walk("VEVENT")[0]["SUMMARY"] == "افتح Homeprog " * 9


def test_a_line_is_folded_so_that_rfc_5545_section_3_1_unfolds_it() -> None:
    """RFC 5545 3.1: a folded line is unfolded by taking out CRLF and the blank after it.

    Its example: 'DESCRIPTION:This is a lo', ' ng description', '  that exists on a long line.'
    """
    example = "DESCRIPTION:This is a lo\r\n ng description\r\n  that exists on a long line."
    line = "DESCRIPTION:This is a long description that exists on a long line."
    assert example.replace("\r\n ", "") == line
    assert fold(line) == line  # 66 octets need no folding
    long = line * 3
    assert fold(long).replace("\r\n ", "") == long
    assert [len(piece) for piece in fold(long).split("\r\n ")][:2] == [75, 74]


def test_a_text_is_escaped_as_in_rfc_5545_section_3_3_11() -> None:
    r"""Its example: 'Project XYZ Final Review\nConference Room - 3B\nCome Prepared.'"""
    text = "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    assert escaped(text) == r"Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    assert escaped("a;b,c\\d") == r"a\;b\,c\\d"


def test_tuesday_and_thursday_for_five_weeks_is_the_example_of_rfc_5545_section_3_8_5_3() -> None:
    """'Weekly on Tuesday and Thursday for five weeks': 9:00 on ten dates from 2 September 1997."""
    text = rule((1, 3), date(1997, 10, 2), "America/New_York")
    assert text == "FREQ=WEEKLY;UNTIL=19971003T035959Z;BYDAY=TU,TH"
    start = datetime(1997, 9, 2, 9, tzinfo=ZoneInfo("America/New_York"))
    found = [(at.month, at.day) for at in rrulestr(text, dtstart=start)]
    september = [2, 4, 9, 11, 16, 18, 23, 25, 30]
    assert found == [*((9, day) for day in september), (10, 2)]


def test_the_first_ring_is_on_a_day_of_its_rule() -> None:
    saturday = date(2026, 6, 6)
    assert first_day(saturday, (5,)) == saturday
    assert first_day(saturday, (0, 4)) == date(2026, 6, 8)


def test_it_rings_on_its_days_at_its_time_and_ends_with_its_last_day() -> None:
    found = instants(made(Ring(time(8), EVERY_DAY), Ring(time(23, 59), (5,))))
    eights = [at for at in found if at.hour == 7]  # 8:00 in London's summer
    assert len(eights) == 14
    assert (min(eights).day, max(eights).day) == (6, 19)
    assert [at.day for at in found if at.hour == 22] == [6, 13]


@pytest.mark.parametrize(
    ("zone", "first", "hours"),
    [
        ("Europe/London", date(2026, 10, 20), {7, 8}),  # clocks go back on 25 October
        ("Europe/London", date(2026, 3, 25), {8, 7}),  # and forward on 29 March
        ("America/New_York", date(2026, 3, 1), {13, 12}),
        ("Asia/Kolkata", date(2026, 10, 20), {2}),  # no change
        ("Australia/Lord_Howe", date(2026, 3, 30), {21}),  # by half an hour
        ("Europe/Dublin", date(2026, 10, 20), {7, 8}),  # winter is the 'daylight' of its data
    ],
)
def test_over_a_change_of_the_clocks_it_keeps_to_the_clock_on_the_wall(
    zone: str, first: date, hours: set[int]
) -> None:
    calendar = made(Ring(time(8), EVERY_DAY), zone=zone, first=first)
    found = instants(calendar)
    days = [first + timedelta(days=n) for n in range(14)]
    wanted = [datetime.combine(day, time(8), ZoneInfo(zone)).astimezone(UTC) for day in days]
    assert found == wanted
    assert {at.hour for at in found} == hours


def test_a_change_of_the_clocks_is_told_as_in_rfc_5545_section_3_6_5() -> None:
    """Its New York: daylight from 2007-03-11 02:00 on the clock that ends, -0500 to -0400."""
    told = list(time_zone("America/New_York", date(2007, 3, 5), date(2007, 3, 18)))
    assert told[told.index("BEGIN:DAYLIGHT") :] == [
        "BEGIN:DAYLIGHT", "DTSTART:20070311T020000", "TZOFFSETFROM:-0500", "TZOFFSETTO:-0400",
        "TZNAME:EDT", "END:DAYLIGHT", "END:VTIMEZONE",
    ]  # fmt: skip


def test_a_time_too_near_to_sleep_stands_there_and_sounds_no_alarm() -> None:
    first, second = read(made(Ring(time(7), (0,), sounds=False), Ring(time(8), (0,)))).walk(
        "VEVENT"
    )
    assert first.walk("VALARM") == []
    [alarm] = second.walk("VALARM")
    assert alarm["ACTION"] == "DISPLAY"
    assert alarm.decoded("TRIGGER") == timedelta(0)
    assert alarm["DESCRIPTION"] == "Open Homeprog"


def test_a_later_file_takes_the_place_of_the_earlier_one() -> None:
    """RFC 5545 3.8.7.4: of the same UID the higher SEQUENCE is the newer."""
    calendar = made(Ring(time(8), (0,)))
    early, late = (
        icalendar.Calendar.from_ical(calendar_file(calendar, at)).walk("VEVENT")[0]
        for at in (NOON, NOON + timedelta(minutes=5))
    )
    assert early["UID"] == late["UID"]
    assert late["SEQUENCE"] == early["SEQUENCE"] + 5
    assert late["SEQUENCE"] < 2**31
    assert late.decoded("DTSTAMP") == NOON + timedelta(minutes=5)
