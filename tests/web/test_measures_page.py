"""The page of measures: any window, each figure with its bounds and what it is made of."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from homeprog.domain.timetable import course_day
from homeprog.extensions import db as extension
from homeprog.storage.models import DailyCheck, TroubleReport
from homeprog.storage.timelines import settings_of
from tests import cast
from tests.regime_cast import on_regime
from tests.web.staff_cast import browser, heard, logged, now, past_slots, summed_up


@pytest.fixture
def made(app):
    """On a dynamic regime for two days, day 12."""
    db = extension.session()
    return on_regime(db, now() - timedelta(days=2), operated_days_ago=10)


@pytest.fixture
def phone(made):
    return cast.phone(extension.session(), made.course, now() - timedelta(days=2))


def client(app, made):
    db = extension.session()
    who = cast.staff(db, made.clinic, now() - timedelta(days=3))
    summed_up(db, made.course, now())
    return browser(app, who)


def read(app, made, query="?window=all", status=200):
    answer = client(app, made).get(f"/courses/{made.course.id}/measures{query}")
    assert answer.status_code == status, answer.text
    return answer.text


def plain(text):
    """The words of a page, without its tags."""
    return " ".join(re.sub(r"<[^>]+>", " ", text).split())


def line(text, name):
    """(lowest, shown, highest, made of) of a measure."""
    found = re.search(rf'<th scope="row">{name}.*?</tr>', text, re.DOTALL).group()
    cells = [plain(cell) for cell in re.findall(r"<td.*?</td>", found, re.DOTALL)]
    return [*cells, plain(re.search(r'<span class="of">(.*?)</span>', found).group(1))]


def log_all(made, phone, number=None, **more):
    """Log the first slots; the phone holds nothing back."""
    db = extension.session()
    slots = past_slots(db, made.course, now())
    for slot in slots[:number]:
        db.add(logged(made.course, phone, slot, **more))
    heard(db, phone, now() - timedelta(seconds=30))
    return slots


def test_it_says_that_it_shows_what_was_logged_and_no_name_is_in_the_title(app, made):
    text = read(app, made)
    assert "What was logged, not what was done. Diaries over-report." in plain(text)
    assert "cannot show that the tendon is whole" in plain(text)
    assert made.patient.name not in re.search(r"<title>(.*?)</title>", text).group(1)
    assert made.patient.name in text
    assert "Left hand, middle finger" in text


def test_nothing_logged_and_no_word_is_not_known_yet_never_nought(app, made, phone):
    text = read(app, made)
    slots = len(past_slots(extension.session(), made.course, now()))
    for name in ("Dose logged", "Done inside the slot", "Longest waking time"):
        _, shown, _, behind = line(text, name)
        assert shown == "not known yet"
        assert behind.startswith(f"{slots} slot")
    assert line(text, "Dose logged")[:3:2] == ["0 %", "100 %"]
    assert "not known yet: nothing logged in" in plain(text)


def test_the_dose_has_its_bounds_and_its_slots(app, made, phone):
    slots = log_all(made, phone, 10)
    text = read(app, made)
    share = 100 * 10 / len(slots)
    lowest, _, _, behind = line(text, "Dose logged")
    assert lowest == f"{int(share)} %"
    assert behind == f"{len(slots)} slots"
    assert line(text, "Days that reach 80 %")[3].endswith("days")
    assert "borrowed from drug measures" in plain(text)
    assert "Not enough to say" in plain(text) or "Enough to say" in plain(text)


def test_a_window_of_two_dates_looks_at_these_days_alone(app, made, phone):
    log_all(made, phone)
    db = extension.session()
    today = course_day(settings_of(db, made.course, now()), now())
    yesterday = today - timedelta(days=1)
    text = read(app, made, f"?first={yesterday}&last={yesterday}")
    asked = [s for s in past_slots(db, made.course, now()) if s.date == yesterday]
    assert line(text, "Dose logged")[3] == f"{len(asked)} slots"
    assert f'name="first" value="{yesterday}"' in text


@pytest.mark.parametrize("first", ["first=2026-06-09&", "first=nonsense&", ""])
def test_dates_that_make_no_window_are_said_and_kept(app, made, first):
    text = read(app, made, f"?{first}last=2026-06-01", status=422)
    assert "Give two dates, the first not after the last." in text
    assert 'value="2026-06-01"' in text


def test_hours_are_a_table_with_a_row_for_each_hour_of_the_patients_clock(app, made, phone):
    log_all(made, phone, how="paced")
    text = read(app, made)
    table = text[text.index('id="hours"') : text.index('id="weekdays"')]
    hours = re.findall(r'<th scope="row">(\d\d:00)</th>', table)
    assert len(hours) >= 7
    assert sorted(hours) == hours  # waking first
    assert "100 to 100 %, shown 100" in plain(table)
    assert "counted aloud at its pace by the phone" in text


def test_without_a_leading_exercise_splint_wear_leads(app):
    db = extension.session()
    made = on_regime(db, now() - timedelta(days=2), operated_days_ago=3, release=None)
    text = read(app, made)
    assert "How the splint is worn leads." in text
    assert "Dose logged" not in text
    assert line(text, "Splint worn as told")[1] == "not known yet"


def check(made, phone, day, **answers):
    asked = ("splint_on", "splint_holds", "no_new_swelling", "comfortable")
    db = extension.session()
    db.add(
        DailyCheck(
            clinic_id=made.clinic.id, course_id=made.course.id, at=now(), day=day, details={},
            answers=dict.fromkeys(asked, "yes") | answers, average_pain=2, entered_at=now(),
            device_id=phone.id, digest="d",
        )
    )  # fmt: skip
    db.flush()


def reported(made, kind, at):
    extension.session().add(
        TroubleReport(
            clinic_id=made.clinic.id, course_id=made.course.id, at=now(), kind=kind, stop=False,
            details={}, entered_at=at, digest="d",
        )
    )  # fmt: skip


def test_an_unanswered_day_of_the_splint_is_unknown_and_a_report_counts_as_not_as_told(
    app, made, phone
):
    db = extension.session()
    today = course_day(settings_of(db, made.course, now()), now())
    check(made, phone, today)
    reported(made, "splint_off_and_back", now() - timedelta(days=1))
    text = read(app, made)
    lowest, shown, highest, behind = line(text, "Splint worn as told")
    assert (lowest, shown, highest) == ("33 %", "50 %", "67 %")
    assert behind == "3 days asked (1 not answered)"


def test_the_json_tells_the_same(app, made, phone):
    slots = log_all(made, phone, 10)
    answer = client(app, made).get(f"/api/v1/courses/{made.course.id}/measures?window=all")
    assert answer.status_code == 200, answer.text
    told = answer.json
    dose = next(each for each in told["lines"] if each["key"] == "dose")
    assert dose["lowest"] == int(1000 / len(slots))
    assert dose["behind"] == f"{len(slots)} slots"
    assert sum(each["slots"] for each in told["hours"]) == len(slots)
    assert sum(each["slots"] for each in told["weekdays"]) == len(slots)
    assert told["ways"]["counted"] == 10
    assert "not what was done" in told["not_shown"]


def test_the_json_refuses_dates_that_make_no_window(app, made):
    path = f"/api/v1/courses/{made.course.id}/measures"
    assert client(app, made).get(f"{path}?first=2026-06-09&last=2026-06-01").status_code == 422


def test_staff_of_another_clinic_do_not_find_it(app, made):
    db = extension.session()
    other = cast.staff(db, cast.clinic(db, now(), "Other Hand Unit"), now())
    summed_up(db, made.course, now())
    stranger = browser(app, other)
    assert stranger.get(f"/courses/{made.course.id}/measures").status_code == 404
    assert stranger.get(f"/api/v1/courses/{made.course.id}/measures").status_code == 404


def course_page(app, made):
    answer = client(app, made).get(f"/courses/{made.course.id}")
    assert answer.status_code == 200, answer.text
    return answer.text


def test_the_course_page_leads_to_the_measures_and_shows_the_splint(app, made, phone):
    db = extension.session()
    today = course_day(settings_of(db, made.course, now()), now())
    check(made, phone, today - timedelta(days=1), splint_on="no")
    text = course_page(app, made)
    assert f'href="/courses/{made.course.id}/measures"' in text
    words = plain(text)
    assert "Last 7 whole days 0 to 50 %, shown 0, of 2 days asked (1 not answered)" in words


def test_the_daily_check_is_told_in_words_not_by_key(app, made, phone):
    db = extension.session()
    today = course_day(settings_of(db, made.course, now()), now())
    check(made, phone, today, splint_on="no", wound_dry="cannot_see", no_new_swelling="no")
    text = course_page(app, made)
    told = plain(text[text.index('id="checks"') : text.index('id="plans"')]).replace(" ,", ",")
    assert "splint not on as told, new swelling, could not see the wound" in told
    assert "splint holds firmly, comfortable" in told
    assert "splint on," not in told
    assert "no new swelling" not in told


def test_where_no_exercise_leads_the_caseload_shows_splint_wear(app):
    db = extension.session()
    made = on_regime(db, now() - timedelta(days=2), operated_days_ago=3, release=None)
    phone = cast.phone(db, made.course, now() - timedelta(days=2))
    today = course_day(settings_of(db, made.course, now()), now())
    check(made, phone, today - timedelta(days=1))
    who = client(app, made)
    words = plain(who.get("/caseload").text)
    assert "Splint as told: 50 to 100 %, shown 100, of 2 days asked (1 not answered)" in words
    line = who.get("/api/v1/caseload").json["lines"][0]
    assert line["wear_7"].startswith("50 to 100 %")
    assert line["dose_7"] is None
