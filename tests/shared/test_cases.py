"""The cases that phone and server share: here they are run by the server's rules."""

from __future__ import annotations

import json
import uuid
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from homeprog.domain.adherence import judge
from homeprog.domain.bout import Bout
from homeprog.domain.contact import ContactMark, Phone, contacts
from homeprog.domain.credit import DEFAULT_RULES
from homeprog.domain.hold import Hold
from homeprog.domain.regime.dose import Dose
from homeprog.domain.settings import DEFAULTS
from homeprog.domain.timetable import Slot
from homeprog.domain.trouble import TROUBLES, can_take_back
from homeprog.phrases import fill, look_up

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "shared" / "cases"
MINUTE = timedelta(minutes=1)


def shared(name: str) -> dict[str, Any]:
    told: dict[str, Any] = json.loads((FOLDER / f"{name}.json").read_text())
    return told


def instant(told: str) -> datetime:
    return datetime.fromisoformat(told).astimezone(UTC)


def slot_of(told: dict[str, Any]) -> Slot:
    start, end = instant(told["start"]), instant(told["end"])
    return Slot(told["exercise"], "phase", 1, start, end, start.date(), Dose(told["amount"]))


STANDING = shared("standing")
SLOT = slot_of(STANDING["slot"])
HERE = [case for case in STANDING["cases"] if "only" not in case]


def bouts_of(case: dict[str, Any]) -> list[Bout]:
    """The bouts of the phone, and one for what the server had credited before."""
    made = [_bout(str(n), each) for n, each in enumerate(case["bouts"])]
    if case["credited"]:
        late = case["told"] == "later"
        at = SLOT.end + 46 * MINUTE if late else SLOT.start + MINUTE
        fills = SLOT.start if late else None
        before = Bout(
            "before", "phone", "bend", case["credited"], None if late else at, at, at, fills
        )
        made.append(before)
    return made


def _bout(name: str, told: dict[str, Any]) -> Bout:
    done = instant(told["done_at"]) if "done_at" in told else None
    entered = instant(told.get("entered_at", told.get("done_at", "")))
    fills = instant(told["slot_start"]) if "slot_start" in told else None
    return Bout(name, "phone", "bend", told["amount"], done, entered, entered, fills)


@pytest.mark.parametrize("case", HERE, ids=lambda case: f"{case['now'][11:19]} {case['sign']}")
def test_the_standing_of_a_slot_is_the_sign_the_phone_shows(case: dict[str, Any]) -> None:
    now = instant(case["now"])
    said = case["told"] == "not_logged"  # the server has heard since, and knew of no bout
    marks = [ContactMark("phone", SLOT.end + 45 * MINUTE + timedelta(seconds=1), True)]
    known = contacts([Phone("phone", SLOT.start - 60 * MINUTE)], marks if said else [], [], now)
    holds = [Hold("pause", SLOT.start)] if case["told"] == "excused" else []
    judged = judge([SLOT], bouts_of(case), holds, {}, known, now)
    assert judged.standing[SLOT.key] == case["sign"]


def test_what_only_the_phone_says_says_why() -> None:
    alone = [case["only"] for case in STANDING["cases"] if "only" in case]
    assert all(why.startswith("phone: ") for why in alone)
    assert len(HERE) >= 11


@pytest.mark.parametrize("case", shared("fill_in")["cases"], ids=lambda case: case["at"][8:19])
def test_a_slot_can_be_filled_in_as_long_as_on_the_phone(case: dict[str, Any]) -> None:
    slot = slot_of(shared("fill_in")["slot"])
    assert DEFAULT_RULES.fillable(slot, instant(case["at"])) == case["fillable"]


@pytest.mark.parametrize(
    "case", shared("take_back")["cases"], ids=lambda case: f"{case['kind']} {case['after_s']}"
)
def test_a_report_can_be_taken_back_as_on_the_phone(case: dict[str, Any]) -> None:
    assert TROUBLES[case["kind"]].can_be_pressed_by_mistake == case["mistake_allowed"]
    reported = datetime(2026, 11, 27, 14, 0, tzinfo=UTC)
    now = reported + timedelta(seconds=case["after_s"])
    assert can_take_back(case["kind"], reported, now) == case["can"]


@pytest.mark.parametrize("case", shared("uuid7")["cases"], ids=lambda case: case["id"][:8])
def test_the_phones_ids_read_as_version_7_with_their_milliseconds(case: dict[str, Any]) -> None:
    made = uuid.UUID(case["id"])
    assert (made.version, made.variant) == (7, uuid.RFC_4122)
    assert made.int >> 80 == case["ms"]


@pytest.mark.parametrize(
    "case", shared("plural")["cases"], ids=lambda case: f"{case['language']} {case['n']}"
)
def test_a_number_takes_the_form_of_its_language_as_on_the_phone(case: dict[str, Any]) -> None:
    say = look_up(case["language"], {"counted": shared("plural")["forms"]})
    assert say("counted", {"n": case["n"]}) == case["says"]


def test_a_form_that_is_missing_is_said_by_the_general_one_as_on_the_phone() -> None:
    case = shared("plural")["where_a_form_is_missing"]
    assert fill(case["forms"], case["language"], {"n": case["n"]}) == case["says"]


@pytest.mark.parametrize("case", shared("plural")["holes"], ids=lambda case: case["says"])
def test_holes_are_filled_as_on_the_phone(case: dict[str, Any]) -> None:
    assert fill(case["phrase"], "en", case["holes"]) == case["says"]


@pytest.mark.parametrize("key", ["red_flag_at", "rise", "rise_floor"])
def test_the_list_opens_at_the_clinics_defaults(key: str) -> None:
    used = {case["rule"][key] for case in shared("red_flag")["cases"]}
    assert used == {DEFAULTS[f"pain.{key}"]}


def test_every_file_of_cases_is_run_on_both_sides_or_is_the_phones_alone() -> None:
    here = Path(__file__).read_text()
    phone = "".join(path.read_text() for path in (ROOT / "tests" / "js").glob("*.test.mjs"))
    for name in (path.stem for path in FOLDER.glob("*.json")):
        assert f'shared("{name}")' in here, name
        assert f'cases("{name}")' in phone or f"cases/{name}.json" in phone, name
