"""A regime is saved as an immutable revision, and what widens a released phase waits."""

from __future__ import annotations

import copy
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy.orm import Session

from homeprog.domain.errors import Conflict, Forbidden, Invalid
from homeprog.domain.regime import Limits, Reason
from homeprog.domain.timetable import lay_out
from homeprog.services.actor import Actor
from homeprog.services.release_phase import Signed, release_phase
from homeprog.services.set_regime import Saved, Wanted, regime_findings, set_regime
from homeprog.storage.limits import limits_of
from homeprog.storage.models import ClinicSetting
from homeprog.storage.timelines import phase_in_force, regime_in_force, settings_of
from tests.regime_cast import OnRegime, on_regime

NOW = datetime(2026, 6, 5, 13, 10, 20, tzinfo=UTC)  # a Friday, 14:10:20 in London
LATER = datetime(2026, 6, 5, 15, 30, 40, tzinfo=UTC)


def body(cast: OnRegime, **dose: int) -> dict:
    """The regime in force with another amount for an exercise of the dynamic phase."""
    changed = copy.deepcopy(cast.revision.body)
    for exercise in changed["phases"][2]["exercises"]:
        if exercise["key"] in dose:
            exercise["dose"]["amount"] = dose[exercise["key"]]
    return changed


def save(db: Session, cast: OnRegime, changed: dict, now: datetime, **more: object) -> Saved:
    wanted = Wanted(cast.template.id, changed, "talked over", **more)
    return set_regime(db, cast.therapist, cast.course.id, wanted, now)


def amounts(db: Session, cast: OnRegime, now: datetime) -> list[tuple[str, int]]:
    """Start (UTC) and dose of the leading exercise's slots of 5 June."""
    until = datetime(2026, 6, 5, 23, tzinfo=UTC)
    slots = lay_out(settings_of(db, cast.course, now), until)
    return [(f"{s.start:%H:%M}", s.dose.amount) for s in slots if s.exercise == "bend_to_stop"]


def test_from_adoption_to_slots_of_the_released_phase(db):
    cast = on_regime(db, NOW)
    # 7 to 22 in London is 6 to 21 UTC; the window of 13:00 is kept from 13:11: over half is left.
    assert amounts(db, cast, NOW) == [
        ("13:11", 10), ("14:00", 10), ("15:00", 10), ("16:00", 10), ("17:00", 10), ("18:00", 10),
        ("19:00", 10), ("20:00", 10),
    ]  # fmt: skip
    assert cast.revision.effective_from == datetime(2026, 6, 5, 13, 11, tzinfo=UTC)
    assert cast.revision.number == 1
    assert phase_in_force(db, cast.course, NOW).key == "dynamic"


def test_less_of_an_exercise_takes_effect_at_the_next_whole_minute(db):
    cast = on_regime(db, NOW)
    saved = save(db, cast, body(cast, bend_to_stop=6), LATER)
    assert saved.revision.number == 2
    assert saved.revision.effective_from == datetime(2026, 6, 5, 15, 31, tzinfo=UTC)
    assert saved.waits == {}
    assert amounts(db, cast, LATER)[2:4] == [("15:00", 10), ("16:00", 6)]


def test_more_of_an_exercise_in_the_phase_in_force_waits_for_a_release_under_it(db):
    cast = on_regime(db, NOW)
    saved = save(db, cast, body(cast, bend_to_stop=12), LATER)
    assert saved.revision.effective_from is None
    assert list(saved.waits) == ["dynamic"]
    assert amounts(db, cast, LATER + timedelta(hours=1))[-1] == ("20:00", 10)
    signed = Signed("dynamic", True, True, revision_id=saved.revision.id)
    released = LATER + timedelta(hours=1)
    release_phase(db, cast.therapist, cast.course.id, signed, released)
    assert saved.revision.effective_from == datetime(2026, 6, 5, 16, 31, tzinfo=UTC)
    assert amounts(db, cast, released)[-5:] == [
        ("16:00", 10), ("17:00", 12), ("18:00", 12), ("19:00", 12), ("20:00", 12),
    ]  # fmt: skip


def test_more_in_a_phase_that_is_not_released_takes_effect_at_once(db):
    cast = on_regime(db, NOW, release="static")
    saved = save(db, cast, body(cast, bend_to_stop=12), LATER)
    assert saved.revision.effective_from is not None
    assert saved.waits == {}


def test_what_widens_may_not_also_take_back(db):
    cast = on_regime(db, NOW)
    with pytest.raises(Invalid) as refused:
        save(db, cast, body(cast, bend_to_stop=12, shoulder=3), LATER)
    assert refused.value.code == "widens_and_limits"
    assert any("Takes back" in words for words in refused.value.fields["phases.2"])
    assert regime_in_force(db, cast.course, LATER)[0].number == 1


def test_what_widens_may_not_be_marked_as_limiting(db):
    cast = on_regime(db, NOW)
    with pytest.raises(Invalid):
        save(db, cast, body(cast, bend_to_stop=12), LATER, limits=("bend_to_stop",))


def test_saving_another_cancels_the_one_that_waits_and_says_so(db):
    cast = on_regime(db, NOW)
    waiting = save(db, cast, body(cast, bend_to_stop=12), LATER).revision
    saved = save(db, cast, body(cast, bend_to_stop=11), LATER + timedelta(minutes=5))
    assert saved.cancelled is waiting
    assert waiting.cancelled_by_id == saved.revision.id
    signed = Signed("dynamic", True, True, revision_id=waiting.id)
    with pytest.raises(Conflict):
        release_phase(db, cast.therapist, cast.course.id, signed, LATER + timedelta(minutes=9))


def test_one_that_waits_does_not_cancel_one_about_to_take_something_back(db):
    cast = on_regime(db, NOW)
    save(db, cast, body(cast, bend_to_stop=6), LATER)
    with pytest.raises(Conflict) as refused:
        save(db, cast, body(cast, bend_to_stop=10), LATER + timedelta(seconds=5))
    assert refused.value.code == "revision_pending"


def test_a_limit_about_to_take_effect_is_kept_by_the_one_that_cancels_it(db):
    cast = on_regime(db, NOW)
    save(db, cast, body(cast, bend_to_stop=8), LATER, limits=("bend_to_stop",))
    saved = save(db, cast, body(cast, bend_to_stop=6), LATER + timedelta(seconds=5))
    assert saved.revision.limits == ["bend_to_stop"]
    last = settings_of(db, cast.course, LATER + timedelta(seconds=5))[-1]
    assert last.limits == {"bend_to_stop"}
    assert last.asked[0].dose.amount == 6


def test_what_the_rules_refuse_has_a_message_under_its_field(db):
    cast = on_regime(db, NOW)
    early = copy.deepcopy(cast.revision.body)
    early["phases"][2]["flexion_limits"]["middle"] = 60
    early["phases"][1]["name"] = ""
    with pytest.raises(Invalid) as meant:
        save(db, cast, early, LATER)
    assert "phases.1.name" in meant.value.fields
    early["phases"][1]["name"] = "Splint, at rest"
    with pytest.raises(Invalid) as refused:
        save(db, cast, early, LATER)
    assert "phases.2.flexion_limits.middle" in refused.value.fields


def test_a_surgeons_reason_lets_pass_what_needs_one_and_is_kept(db):
    cast = on_regime(db, NOW, release="static")
    wide = copy.deepcopy(cast.revision.body)
    wide["phases"][2]["flexion_limits"]["middle"] = 45
    with pytest.raises(Invalid):
        save(db, cast, wide, LATER)
    reason = Reason("strong repair", "Invented Surgeon", "letter", LATER.date())
    saved = save(db, cast, wide, LATER, reasons={"flexion_stop_wide": reason})
    assert saved.revision.surgeon_reasons[0]["surgeon"] == "Invented Surgeon"


def test_times_of_day_outside_the_waking_hours_are_refused(db):
    cast = on_regime(db, NOW, release="static")
    night = body(cast)
    night["phases"][2]["exercises"][1]["schedule"] = {"kind": "at", "at": ["08:00", "23:30"]}
    with pytest.raises(Invalid) as refused:
        save(db, cast, night, LATER)
    assert "phases.2.exercises.1.schedule" in refused.value.fields


def test_a_regime_needs_a_reason_of_its_author(db):
    cast = on_regime(db, NOW)
    wanted = Wanted(cast.template.id, body(cast), " ")
    with pytest.raises(Invalid) as refused:
        set_regime(db, cast.therapist, cast.course.id, wanted, LATER)
    assert refused.value.fields == {"reason": ["Say why."]}


def test_the_stage_in_force_stays_in_the_regime(db):
    cast = on_regime(db, NOW)
    without = copy.deepcopy(cast.revision.body)
    del without["phases"][2]
    with pytest.raises(Invalid) as refused:
        save(db, cast, without, LATER)
    assert refused.value.code == "phase_missing"


def test_only_a_clinician_sets_a_regime(db):
    cast = on_regime(db, NOW)
    clerk = Actor(cast.clinic.id, "staff", cast.therapist.id, "enroller")
    wanted = Wanted(cast.template.id, body(cast), "x")
    with pytest.raises(Forbidden):
        set_regime(db, clerk, cast.course.id, wanted, LATER)


def test_the_clinics_own_limits_are_what_a_regime_is_held_against(db):
    cast = on_regime(db, NOW)
    changed = copy.deepcopy(cast.revision.body)
    changed["phases"][2]["exercises"][0]["schedule"] = {"kind": "every", "every": 40}
    said = {
        f.rule for f in regime_findings(db, cast.therapist, cast.course.id, wanted(changed), LATER)
    }
    assert "slot_gap" not in said
    row = ClinicSetting(
        at=NOW, clinic_id=cast.clinic.id, key="regime.slot_gap_minutes", value={"is": 45},
        valid_from=NOW,
    )  # fmt: skip
    db.add(row)
    db.flush()
    said = {
        f.rule for f in regime_findings(db, cast.therapist, cast.course.id, wanted(changed), LATER)
    }
    assert "slot_gap" in said
    with pytest.raises(Invalid) as refused:
        save(db, cast, changed, LATER)
    assert refused.value.fields["phases.2.exercises.0.schedule"] == [
        "Goes at one exercise must be at least 45 minutes apart."
    ]


def test_without_settings_of_its_own_a_clinics_limits_are_the_defaults(db):
    cast = on_regime(db, NOW)
    assert limits_of(db, cast.clinic.id, LATER) == Limits()


def wanted(changed: dict) -> Wanted:
    return Wanted(None, changed, "talked over")
