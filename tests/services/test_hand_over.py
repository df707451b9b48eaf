"""The app on the home screen takes a phone's place by a code the phone shows."""

from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.services.actor import Actor
from homeprog.services.hand_over import HandOver, end_handed_over, hand_over
from homeprog.services.pair_phone import (
    PairingGone,
    PairingUnknown,
    claim_pairing,
    create_pairing,
    end_device,
    plain_code,
)
from homeprog.storage.models import Course, Device, Pairing, Staff
from tests import cast
from tests.conftest import NOW

REAL = NOW + timedelta(days=40)  # the demo's clock and real time differ
MINUTE = timedelta(minutes=1)


@pytest.fixture
def anna(db: Session) -> Staff:
    who = cast.staff(db, cast.clinic(db, NOW), NOW)
    cast.signed(db, who, NOW)
    return who


@pytest.fixture
def course(db: Session, anna: Staff) -> Course:
    return cast.enrolled(db, anna, NOW)


@pytest.fixture
def tab(db: Session, course: Course) -> Device:
    """The carer's phone as it was paired in the browser."""
    return cast.phone(db, course, NOW, whose="carer")


def acting(device: Device) -> Actor:
    return Actor(device.clinic_id, "device", device.id)


def made(db: Session, tab: Device) -> HandOver:
    return hand_over(db, acting(tab), REAL, NOW)


def claim(db: Session, code: str, after: timedelta = timedelta()) -> Device:
    device, _, _ = claim_pairing(
        db, code=code, device_name="app", whose="patient", secret_key="k" * 40,
        real_now=REAL + after, now=NOW,
    )  # fmt: skip
    return device


def test_the_code_alone_links_the_app_to_the_same_patient_and_person(
    db: Session, tab: Device
) -> None:
    app = claim(db, made(db, tab).code.lower().replace("-", " "))
    assert (app.patient_id, app.whose) == (tab.patient_id, "carer")


def test_the_code_has_sixty_bits_and_is_kept_hashed(db: Session, tab: Device) -> None:
    code = plain_code(made(db, tab).code)
    assert len(code) * 5 == 60  # five bits a letter of base32
    kept = db.scalars(select(Pairing)).one()
    assert code.encode() not in kept.secret_hash
    assert code not in kept.code_hash


def test_the_phone_stays_linked_until_the_app_has_its_plan(db: Session, tab: Device) -> None:
    app = claim(db, made(db, tab).code)
    assert tab.ended_at is None
    end_handed_over(db, app, NOW + MINUTE)
    assert (tab.ended_at, tab.ended_how) == (NOW + MINUTE, "replaced")
    assert app.ended_at is None


def test_a_phone_that_nobody_handed_over_to_ends_no_other(db: Session, tab: Device) -> None:
    assert end_handed_over(db, tab, NOW) is None
    assert tab.ended_at is None


def test_a_code_is_good_once(db: Session, tab: Device) -> None:
    code = made(db, tab).code
    claim(db, code)
    with pytest.raises(PairingGone) as gone:
        claim(db, code)
    assert gone.value.code == "pairing_used"


def test_a_code_is_good_for_ten_minutes(db: Session, tab: Device) -> None:
    shown = made(db, tab)
    assert shown.minutes == 10
    with pytest.raises(PairingGone) as gone:
        claim(db, shown.code, after=10 * MINUTE)
    assert gone.value.code == "pairing_expired"


def test_a_newer_code_ends_the_older_one(db: Session, tab: Device) -> None:
    older = made(db, tab).code
    made(db, tab)
    with pytest.raises(PairingGone):
        claim(db, older)


def test_the_code_of_a_phone_that_staff_took_out_links_nothing(
    db: Session, anna: Staff, tab: Device
) -> None:
    code = made(db, tab).code
    end_device(db, cast.acting(anna), tab.id, "revoked", NOW)
    with pytest.raises(PairingGone):
        claim(db, code)


def test_the_clinics_code_links_nothing_without_the_patients_number(
    db: Session, anna: Staff, course: Course
) -> None:
    shown = create_pairing(db, cast.acting(anna), course.patient_id, REAL, NOW)
    with pytest.raises(PairingUnknown):
        claim(db, shown.code)


def test_wrong_tries_at_the_clinics_code_do_not_use_up_the_phones_own(
    db: Session, tab: Device
) -> None:
    code = made(db, tab).code
    for _ in range(6):
        with pytest.raises(PairingUnknown):
            claim_pairing(
                db, code="AAAA-AAAA", number="SH 40217", device_name="", whose="patient",
                secret_key="k" * 40, real_now=REAL, now=NOW,
            )  # fmt: skip
    assert claim(db, code).patient_id == tab.patient_id
