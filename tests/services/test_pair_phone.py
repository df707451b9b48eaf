"""Pairing: what it waits for, single use, ten real minutes, five tries."""

from datetime import datetime, time, timedelta
from itertools import product

import pytest
from sqlalchemy import select, update
from sqlalchemy.orm import Session

from homeprog.domain.errors import Conflict, NotFound
from homeprog.services.pair_phone import (
    Invitation,
    PairingGone,
    PairingUnknown,
    claim_pairing,
    create_pairing,
    csrf_for,
    end_device,
    hashed,
    pair_at_first_visit,
    plain_code,
)
from homeprog.storage import clinics, courses, patients
from homeprog.storage.models import Consent, Course, Device, Number, Pairing, SignedText, Staff
from tests import cast
from tests.conftest import NOW

REAL = NOW + timedelta(days=40)  # the demo's clock and real time differ
KEY = "k" * 40
MINUTE = timedelta(minutes=1)


@pytest.fixture
def anna(db: Session) -> Staff:
    who = cast.staff(db, cast.clinic(db, NOW), NOW)
    cast.signed(db, who, NOW)
    return who


@pytest.fixture
def course(db: Session, anna: Staff) -> Course:
    return cast.enrolled(db, anna, NOW)


def invite(db: Session, anna: Staff, course: Course) -> Invitation:
    return create_pairing(db, cast.acting(anna), course.patient_id, REAL, NOW)


def claim(db: Session, real: datetime = REAL, **by: str) -> tuple[Device, str, str]:
    return claim_pairing(
        db, **by, device_name="Grace's phone", whose="patient", secret_key=KEY,
        real_now=real, now=NOW,
    )  # type: ignore[arg-type]  # fmt: skip


def test_the_link_pairs_a_phone_once_and_keeps_only_hashes(
    db: Session, anna: Staff, course: Course
) -> None:
    invitation = invite(db, anna, course)
    link = invitation.link("https://hand.example")
    assert link == f"https://hand.example/phone/#pair={invitation.secret}"
    device, token, csrf = claim(db, secret=invitation.secret)
    assert device.patient_id == course.patient_id
    assert device.token_hash == hashed(token)
    assert csrf == csrf_for(hashed(token), KEY)
    assert patients.device_by_token(db, hashed(token)) is device
    kept = db.scalars(select(Pairing)).one()
    assert invitation.secret.encode() not in kept.secret_hash
    assert plain_code(invitation.code) not in kept.code_hash
    with pytest.raises(PairingGone) as gone:
        claim(db, secret=invitation.secret)
    assert (gone.value.code, gone.value.status) == ("pairing_used", 410)


def test_a_secret_has_128_bits_and_a_code_eight_letters_that_read_as_typed(
    db: Session, anna: Staff, course: Course
) -> None:
    invitation = invite(db, anna, course)
    assert len(invitation.secret) == 22  # base64url of 16 bytes
    assert len(plain_code(invitation.code)) == 8
    assert invitation.code[4] == "-"
    assert plain_code("o1l-i abc") == "0111ABC"


def test_the_code_pairs_with_the_patients_number_however_they_are_typed(
    db: Session, anna: Staff, course: Course
) -> None:
    invitation = invite(db, anna, course)
    typed = invitation.code.lower().replace("-", " ")
    device, _, _ = claim(db, code=typed, number="sh40217")
    assert device.patient_id == course.patient_id


def test_the_code_does_not_pair_with_another_patients_number(
    db: Session, anna: Staff, course: Course
) -> None:
    cast.enrolled(db, anna, NOW, number="SH 50000", name="Peter Lang")
    with pytest.raises(PairingUnknown):
        claim(db, code=invite(db, anna, course).code, number="SH 50000")


def test_an_unknown_secret_is_unknown(db: Session, anna: Staff, course: Course) -> None:
    with pytest.raises(PairingUnknown) as unknown:
        claim(db, secret="x" * 22)
    assert (unknown.value.code, unknown.value.status) == ("pairing_unknown", 404)


def test_it_holds_ten_minutes_of_real_time_whatever_the_demo_clock_says(
    db: Session, anna: Staff, course: Course
) -> None:
    invitation = invite(db, anna, course)
    with pytest.raises(PairingGone) as gone:
        claim(db, secret=invitation.secret, real=REAL + 10 * MINUTE)
    assert gone.value.code == "pairing_expired"
    assert claim(db, secret=invitation.secret, real=REAL + 9 * MINUTE)


def test_five_wrong_codes_end_it_and_wrong_tries_outlive_the_refusal(
    db: Session, anna: Staff, course: Course
) -> None:
    invitation = invite(db, anna, course)
    db.commit()
    for _ in range(5):
        with pytest.raises((PairingUnknown, PairingGone)):
            claim(db, code="00000000", number="SH 40217")
        db.rollback()  # as the web does with a refusal
    assert db.scalars(select(Pairing.tries)).one() == 5
    for by in ({"code": invitation.code, "number": "SH 40217"}, {"secret": invitation.secret}):
        with pytest.raises(PairingGone):
            claim(db, **by)


def test_the_fifth_try_may_be_the_right_one(db: Session, anna: Staff, course: Course) -> None:
    invitation = invite(db, anna, course)
    for _ in range(4):
        with pytest.raises(PairingUnknown):
            claim(db, code="00000000", number="SH 40217")
    assert claim(db, code=invitation.code, number="SH 40217")
    with pytest.raises(PairingGone) as gone:
        claim(db, code=invitation.code, number="SH 40217")
    assert gone.value.code == "pairing_used"


def test_a_new_invitation_ends_the_one_before(db: Session, anna: Staff, course: Course) -> None:
    first, second = invite(db, anna, course), invite(db, anna, course)
    with pytest.raises(PairingGone):
        claim(db, secret=first.secret, real=REAL + MINUTE)
    assert claim(db, secret=second.secret, real=REAL + MINUTE)


def refused(db: Session, anna: Staff, course: Course) -> list[str]:
    with pytest.raises(Conflict) as wrong:
        invite(db, anna, course)
    assert db.scalars(select(Pairing)).all() == []
    return wrong.value.fields["missing"]


def test_it_is_refused_while_an_hour_of_the_week_has_no_number(
    db: Session, anna: Staff, course: Course
) -> None:
    db.execute(
        update(Number).where(Number.weekday == 6, Number.kind == "clinic").values(opens=time(9))
    )
    assert refused(db, anna, course) == ["No number to ring: Sunday 00:00 to 09:00."]


def test_it_is_refused_naming_each_text_that_is_not_signed_for_what_is_worn(
    db: Session, anna: Staff, course: Course
) -> None:
    for key, worn in product(("trouble.numb",), ("plaster", "splint")):
        row = db.scalars(select(SignedText).where(SignedText.key == f"{key}.{worn}")).one()
        db.delete(row)
    db.flush()
    assert refused(db, anna, course) == ["Text not signed: trouble.numb.splint."]


def test_it_is_refused_without_consent_and_without_an_open_course(
    db: Session, anna: Staff, course: Course
) -> None:
    for row in db.scalars(select(Consent)):
        db.delete(row)
    db.flush()
    assert refused(db, anna, course) == ["Consent is not recorded."]


def test_another_clinic_cannot_invite_its_phone(db: Session, anna: Staff, course: Course) -> None:
    other = cast.staff(db, cast.clinic(db, NOW, "Quay Hand Unit"), NOW, name="Stig Ek")
    with pytest.raises(NotFound):
        create_pairing(db, cast.acting(other), course.patient_id, REAL, NOW)


def test_put_off_to_the_first_visit_it_is_one_task_done_by_the_pairing(
    db: Session, anna: Staff, course: Course
) -> None:
    by = cast.acting(anna)
    first = pair_at_first_visit(db, by, course.id, NOW)
    assert pair_at_first_visit(db, by, course.id, NOW) is first
    claim(db, secret=invite(db, anna, course).secret)
    assert courses.open_tasks(db, course) == []
    assert first.done_at == NOW


def test_a_revoked_phone_keeps_its_row_and_is_not_paired(
    db: Session, anna: Staff, course: Course
) -> None:
    device, token, _ = claim(db, secret=invite(db, anna, course).secret)
    end_device(db, cast.acting(anna), device.id, "revoked", NOW + MINUTE)
    end_device(db, cast.acting(anna), device.id, "unpaired", NOW + 2 * MINUTE)
    assert patients.paired(db, course.patient_id) == []
    known = patients.device_by_token(db, hashed(token))
    assert known is not None
    assert (known.ended_how, known.ended_at) == ("revoked", NOW + MINUTE)


def test_nothing_is_missing_for_a_clinic_that_is_set(db: Session, anna: Staff) -> None:
    assert clinics.missing_for_phones(db, anna.clinic_id, None, NOW) == []
