"""Settings of a clinic that cannot be meant together are refused when they are saved."""

from __future__ import annotations

import pytest
from sqlalchemy.orm import Session

from homeprog.domain.errors import Invalid
from homeprog.domain.settings import DEFAULTS, LESS_AND_MORE, contradictions
from homeprog.services.actor import Actor
from homeprog.services.set_clinic import set_clinic
from homeprog.storage import clinics
from tests import cast
from tests.services.prompt_cast import at

NOW, LATER = at(9), at(10)


@pytest.fixture
def by(db: Session) -> Actor:
    return Actor(cast.clinic(db, at(8)).id, "system")


def test_only_who_may_take_up_alerts_is_put_on_duty(db: Session) -> None:
    clinic = cast.clinic(db, at(8))
    clerk = cast.staff(db, clinic, at(8), "enroller", None, "Ida Frey")
    nurse = cast.staff(db, clinic, at(8), "enroller", "nurse", "Eva Holm")

    def duty(who: str) -> dict[str, object]:
        return {"duty": [{"days": "Monday", "from": "08:00", "to": "17:00", "who": who}]}

    with pytest.raises(Invalid) as wrong:
        set_clinic(db, Actor(clinic.id, "system"), duty(clerk.sign_in), NOW)
    assert wrong.value.fields["duty"] == [
        f"{clerk.sign_in!r} is not a sign-in of this clinic that may take up alerts (a clinician, "
        "therapist or manager), nor 'nobody'."
    ]
    assert set_clinic(db, Actor(clinic.id, "system"), duty(nurse.sign_in), NOW) == ["duty"]


@pytest.mark.parametrize("few", [0.6, 0.65])
def test_few_logged_must_lie_below_the_steady_share_now_in_force(
    db: Session, by: Actor, few: float
) -> None:
    set_clinic(db, by, {"settings": {"few_logged.p0": 0.6}}, NOW)
    with pytest.raises(Invalid) as wrong:
        set_clinic(db, by, {"settings": {"few_logged.p1": few, "done_share": 0.7}}, LATER)
    said = f"few_logged.p1 ({few:g}) must be less than few_logged.p0 (0.6)."
    (message,) = wrong.value.fields["settings.few_logged.p1"]
    assert message == f"{said} Choose another figure, or set both in one file."
    assert clinics.setting(db, by.clinic_id, "few_logged.p1", LATER) == 0.55
    assert clinics.setting(db, by.clinic_id, "done_share", LATER) == 0.8


def test_a_steady_share_is_not_lowered_to_the_few_that_must_be_told(db: Session, by: Actor) -> None:
    set_clinic(db, by, {"settings": {"few_logged.p1": 0.7}}, NOW)
    with pytest.raises(Invalid) as wrong:
        set_clinic(db, by, {"settings": {"few_logged.p0": 0.65}}, LATER)
    assert "settings.few_logged.p0" in wrong.value.fields


def test_both_may_be_moved_in_one_file(db: Session, by: Actor) -> None:
    set_clinic(db, by, {"settings": {"few_logged.p1": 0.7}}, NOW)
    both = {"few_logged.p0": 0.65, "few_logged.p1": 0.5}
    set_clinic(db, by, {"settings": both}, LATER)
    assert clinics.setting(db, by.clinic_id, "few_logged.p0", LATER) == 0.65


def test_more_days_of_a_splint_off_than_are_looked_at_would_never_be_told(
    db: Session, by: Actor
) -> None:
    with pytest.raises(Invalid) as wrong:
        set_clinic(db, by, {"settings": {"splint_off.days": 4, "splint_off.of": 3}}, NOW)
    (message,) = wrong.value.fields["settings.splint_off.days"]
    assert message.startswith("splint_off.days (4) must not be more than splint_off.of (3).")
    set_clinic(db, by, {"settings": {"splint_off.days": 3, "splint_off.of": 3}}, NOW)


def test_the_defaults_contradict_nothing() -> None:
    every = [key for pair in LESS_AND_MORE for key in pair]
    assert contradictions(DEFAULTS, every) == {}


def test_what_nobody_changes_is_not_complained_of() -> None:
    wrong = {**DEFAULTS, "pause_days": 14, "pause_longest_days": 3}
    assert contradictions(wrong, ["done_share"]) == {}
    assert list(contradictions(wrong, ["pause_days"])) == ["pause_days"]
