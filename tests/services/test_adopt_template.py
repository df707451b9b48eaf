"""A template is adopted by one clinician and approved by another before use."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from homeprog.domain.errors import Conflict, Forbidden, Invalid, NotFound
from homeprog.services.adopt_template import adopt_template, approve_template, starting_points
from homeprog.services.set_regime import Wanted, set_regime
from homeprog.storage.regimes import standing, templates
from tests.regime_cast import DYNAMIC, a_clinic, a_clinician, a_course

NOW = datetime(2026, 6, 5, 13, 10, 20, tzinfo=UTC)
DAY = timedelta(days=1)


@pytest.mark.parametrize("key", sorted(starting_points()))
def test_every_shipped_regime_may_be_adopted_and_waits_for_another_clinician(db, key):
    clinic = a_clinic(db, NOW)
    one, other = (a_clinician(db, clinic, NOW, each) for each in ("hand_therapist", "surgeon"))
    row = adopt_template(db, one, key, NOW)
    assert standing(db, row).words == "adopted, waits for approval"
    with pytest.raises(Forbidden):
        approve_template(db, one, row.id, NOW + 2 * DAY, "alone")
    approve_template(db, other, row.id, NOW)
    assert standing(db, row).usable


def test_a_template_that_waits_is_not_prescribed(db):
    clinic = a_clinic(db, NOW)
    by = a_clinician(db, clinic, NOW, "hand_therapist")
    course = a_course(db, clinic, NOW.date() - 8 * DAY, NOW)
    row = adopt_template(db, by, DYNAMIC, NOW)
    with pytest.raises(Invalid) as refused:
        set_regime(db, by, course.id, Wanted(row.id, row.body, "x"), NOW)
    assert set(refused.value.fields) == {"template"}


def test_a_units_only_clinician_approves_alone_after_a_day_with_a_reason(db):
    by = a_clinician(db, a_clinic(db, NOW), NOW, "hand_therapist")
    row = adopt_template(db, by, DYNAMIC, NOW)
    with pytest.raises(Conflict):
        approve_template(db, by, row.id, NOW + DAY - timedelta(seconds=1), "no one else")
    with pytest.raises(Invalid):
        approve_template(db, by, row.id, NOW + DAY)
    assert approve_template(db, by, row.id, NOW + DAY, "no one else").reason == "no one else"


def test_the_same_body_is_adopted_once(db):
    by = a_clinician(db, a_clinic(db, NOW), NOW, "hand_therapist")
    adopt_template(db, by, DYNAMIC, NOW)
    with pytest.raises(Conflict):
        adopt_template(db, by, DYNAMIC, NOW)


def test_only_clinicians_adopt_and_approve(db):
    by = a_clinician(db, a_clinic(db, NOW), NOW, "hand_therapist")
    clerk = replace(by, profession=None)
    with pytest.raises(Forbidden):
        adopt_template(db, clerk, DYNAMIC, NOW)
    row = adopt_template(db, by, DYNAMIC, NOW)
    with pytest.raises(Forbidden):
        approve_template(db, clerk, row.id, NOW)


def test_a_template_of_one_clinic_is_unknown_in_another(db):
    by = a_clinician(db, a_clinic(db, NOW), NOW, "hand_therapist")
    outsider = a_clinician(db, a_clinic(db, NOW), NOW, "surgeon")
    row = adopt_template(db, by, DYNAMIC, NOW)
    with pytest.raises(NotFound):
        approve_template(db, outsider, row.id, NOW)
    assert templates(db, outsider.clinic_id) == []


def test_an_unknown_starting_point_is_not_found(db):
    by = a_clinician(db, a_clinic(db, NOW), NOW, "hand_therapist")
    with pytest.raises(NotFound):
        adopt_template(db, by, "hourly-fist", NOW)
