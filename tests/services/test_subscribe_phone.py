"""A phone's push subscription, its test reminder, and receipts."""

import uuid

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.delivery.recorder import Recorder
from homeprog.domain.errors import Invalid, NotFound
from homeprog.services.actor import Actor
from homeprog.services.dispatch_prompts import dispatch_due
from homeprog.services.mark_receipt import mark_receipt
from homeprog.services.plan_prompts import plan_prompts
from homeprog.services.subscribe_phone import subscribe_phone
from homeprog.storage.models import Course, Device, Prompt, PromptEvent, PromptSend, Subscription
from homeprog.storage.reminders import reminder_states
from tests.services.prompt_cast import (
    AUTH,
    OTHER_AUTH,
    P256DH,
    at,
    hourly,
    phone,
    quiet,
    sends_at,
    therapist,
)

ENDPOINT = "https://fcm.googleapis.com/fcm/send/one"
OTHER = "https://fcm.googleapis.com/fcm/send/other"


def acting(device: Device) -> Actor:
    return Actor(device.clinic_id, "device", device.id)


def trials_of(db: Session, device: Device) -> list[PromptSend]:
    """The test reminders queued for a phone."""
    return list(
        db.scalars(
            select(PromptSend)
            .join(Prompt, Prompt.id == PromptSend.prompt_id)
            .where(PromptSend.device_id == device.id, Prompt.due_at < at(13, 30))
        )
    )


def dispatch(db: Session, minute: int, hour: int = 13) -> Recorder:
    db.commit()
    recorder = Recorder()
    dispatch_due(db, recorder, lambda: at(hour, minute))
    return recorder


def test_a_phone_that_subscribes_is_planned_for_and_gets_a_test_reminder(db: Session) -> None:
    course = hourly(db, therapist(db))
    device = phone(db, course, endpoint="")
    subscribe_phone(db, acting(device), ENDPOINT, P256DH, AUTH, at(13, 10))
    assert len(sends_at(db, at(14))) == 1
    sent = dispatch(db, 10).sent
    assert [push.address.endpoint for push in sent if push.address] == [ENDPOINT]
    assert b"This is a test." in sent[0].payload


def test_saying_the_same_again_changes_nothing(db: Session) -> None:
    device = phone(db, hourly(db, therapist(db)), endpoint="")
    first = subscribe_phone(db, acting(device), ENDPOINT, P256DH, AUTH, at(13, 10))
    again = subscribe_phone(db, acting(device), ENDPOINT, P256DH, AUTH, at(13, 20))
    assert again.id == first.id
    assert len(trials_of(db, device)) == 1


def test_a_test_reminder_outlives_planning_at_the_same_instant(db: Session) -> None:
    device = phone(db, hourly(db, therapist(db)), endpoint="")
    subscribe_phone(db, acting(device), ENDPOINT, P256DH, AUTH, at(13, 10))
    plan_prompts(db, device.patient_id, at(13, 10))
    assert len(dispatch(db, 10).sent) == 1


def test_a_new_endpoint_takes_the_place_of_the_phones_old_one(db: Session) -> None:
    device = phone(db, hourly(db, therapist(db)), endpoint="")
    old = subscribe_phone(db, acting(device), ENDPOINT, P256DH, AUTH, at(13, 10))
    new = subscribe_phone(db, acting(device), OTHER, P256DH, OTHER_AUTH, at(13, 20))
    assert (old.dead_at, new.dead_at) == (at(13, 20), None)
    assert {p.address.endpoint for p in dispatch(db, 21).sent if p.address} == {OTHER}


def test_an_endpoint_paired_anew_to_another_patient_never_gets_the_first_ones_reminders(
    db: Session,
) -> None:
    by = therapist(db)
    one, two = phone(db, hourly(db, by), ""), phone(db, hourly(db, by, number="SH 2"), "")
    subscribe_phone(db, acting(one), ENDPOINT, P256DH, AUTH, at(13, 10))
    subscribe_phone(db, acting(two), ENDPOINT, P256DH, AUTH, at(13, 20))
    dispatch(db, 21)
    patients = {push.patient for push in dispatch(db, 1, hour=14).sent}
    assert patients == {two.patient_id}


def test_a_subscription_that_died_and_is_said_again_lives_again(db: Session) -> None:
    device = phone(db, hourly(db, therapist(db)), endpoint="")
    kept = subscribe_phone(db, acting(device), ENDPOINT, P256DH, AUTH, at(13, 10))
    kept.dead_at = at(13, 15)
    subscribe_phone(db, acting(device), ENDPOINT, P256DH, AUTH, at(13, 20))
    assert kept.dead_at is None
    assert len(trials_of(db, device)) == 2


@pytest.mark.parametrize(
    ("endpoint", "p256dh", "auth", "field"),
    [
        ("https://evil.example/x", P256DH, AUTH, "endpoint"),
        ("http://127.0.0.1:9999/x", P256DH, AUTH, "endpoint"),
        (ENDPOINT, "AAAA", AUTH, "keys.p256dh"),
        (ENDPOINT, P256DH, "AAAA", "keys.auth"),
    ],
)
def test_a_strange_host_or_key_is_refused_by_its_field(
    db: Session, endpoint: str, p256dh: str, auth: str, field: str
) -> None:
    device = phone(db, hourly(db, therapist(db)), endpoint="")
    with pytest.raises(Invalid) as raised:
        subscribe_phone(db, acting(device), endpoint, p256dh, auth, at(13, 10))
    assert set(raised.value.fields) == {field}
    assert db.scalars(select(Subscription)).all() == []


def test_an_exact_loopback_origin_is_taken_where_it_is_configured(db: Session) -> None:
    device = phone(db, hourly(db, therapist(db)), endpoint="")
    extra = ("http://127.0.0.1:9999",)
    kept = subscribe_phone(
        db, acting(device), "http://127.0.0.1:9999/x", P256DH, AUTH, at(13, 10), extra
    )
    assert kept.dead_at is None


def test_the_receipt_of_a_test_reminder_proves_that_the_phone_returns_receipts(
    db: Session,
) -> None:
    device = phone(db, hourly(db, therapist(db)), endpoint="")
    subscribe_phone(db, acting(device), ENDPOINT, P256DH, AUTH, at(13, 10))
    send = dispatch(db, 10).sent[0].send
    mark_receipt(db, acting(device), send, "shown", at(13, 10), at(13, 11))
    assert device.receipt_proven


def test_the_receipt_of_another_reminder_does_not(db: Session) -> None:
    course = hourly(db, therapist(db))
    device = phone(db, course)
    plan_prompts(db, course.patient_id, at(13, 10))
    send = dispatch(db, 0, hour=14).sent[0].send
    mark_receipt(db, acting(device), send, "shown", at(14), at(14, 1))
    assert not device.receipt_proven


def test_a_receipt_is_noted_once(db: Session) -> None:
    course = hourly(db, therapist(db))
    device = phone(db, course)
    plan_prompts(db, course.patient_id, at(13, 10))
    send = dispatch(db, 0, hour=14).sent[0].send
    for what in ("shown", "shown", "tapped"):
        mark_receipt(db, acting(device), str(send), what, at(14), at(14, 1))
    told = db.scalars(select(PromptEvent.what).where(PromptEvent.send_id == send)).all()
    assert sorted(told) == ["sent", "shown", "tapped"]


def test_a_receipt_for_another_phones_reminder_is_answered_as_an_unknown_one(db: Session) -> None:
    course = hourly(db, therapist(db))
    phone(db, course)
    carers = phone(db, course, endpoint="")
    plan_prompts(db, course.patient_id, at(13, 10))
    send = dispatch(db, 0, hour=14).sent[0].send
    for unknown in (send, uuid.uuid4(), "not an id"):
        with pytest.raises(NotFound):
            mark_receipt(db, acting(carers), unknown, "shown", at(14), at(14, 1))


def test_a_receipt_says_shown_or_tapped(db: Session) -> None:
    device = phone(db, hourly(db, therapist(db)), endpoint="")
    with pytest.raises(Invalid):
        mark_receipt(db, acting(device), uuid.uuid4(), "loved", at(14), at(14, 1))


@pytest.fixture
def sent(db: Session) -> PromptSend:
    """The reminder of the slot 14:00 to 15:00, sent to a phone that returns receipts."""
    course = hourly(db, therapist(db))
    phone(db, course, receipt_proven=True)
    plan_prompts(db, course.patient_id, at(13, 10))
    dispatch(db, 1, hour=14)
    return sends_at(db, at(14))[0]


def states(db: Session, send: PromptSend, hour: int = 15) -> dict[tuple[str, int], str]:
    """The states of the slots that start from 14:00 to 15:59, as known at `hour`:01."""
    slot = db.scalars(select(Prompt).where(Prompt.id == send.prompt_id)).one()
    course = hourly_course(db, slot)
    found = reminder_states(db, course, at(14), at(16), at(hour, 1))
    return {(exercise, start.hour): state for (exercise, start), state in found.items()}


def hourly_course(db: Session, prompt: Prompt) -> uuid.UUID:
    return db.scalars(select(Course.id).where(Course.patient_id == prompt.patient_id)).one()


def test_a_reminder_with_a_receipt_was_shown(db: Session, sent: PromptSend) -> None:
    device = db.get_one(Device, sent.device_id)
    mark_receipt(db, acting(device), sent.id, "shown", at(14, 1), at(14, 2))
    assert states(db, sent)["bend", 14] == "shown"


def test_a_reminder_without_a_receipt_was_not_shown_once_its_slot_is_over(
    db: Session, sent: PromptSend
) -> None:
    assert states(db, sent, hour=14) == {("bend", 14): "not_known", ("bend", 15): "not_known"}
    assert states(db, sent) == {("bend", 14): "not_shown", ("bend", 15): "not_known"}


def test_a_phone_that_never_proved_its_receipts_leaves_it_not_known(
    db: Session, sent: PromptSend
) -> None:
    db.get_one(Device, sent.device_id).receipt_proven = False
    assert states(db, sent)["bend", 14] == "not_known"


def test_a_receipt_that_comes_later_is_not_seen_before_it_came(
    db: Session, sent: PromptSend
) -> None:
    device = db.get_one(Device, sent.device_id)
    mark_receipt(db, acting(device), sent.id, "shown", at(14, 1), at(15, 30))
    assert states(db, sent, hour=15)["bend", 14] == "not_shown"
    assert states(db, sent, hour=16)["bend", 14] == "shown"


def test_a_muted_reminder_is_muted(db: Session) -> None:
    course = hourly(db, therapist(db))
    phone(db, course, receipt_proven=True)
    quiet(db, course, at(13), ends=at(14, 30))
    plan_prompts(db, course.patient_id, at(13, 10))
    dispatch(db, 1, hour=14)
    assert states(db, sends_at(db, at(14))[0])["bend", 14] == "muted"


def test_shown_at_one_of_two_phones_is_shown(db: Session, sent: PromptSend) -> None:
    device = db.get_one(Device, sent.device_id)
    other = phone_of_same_patient(db, device)
    plan_prompts(db, device.patient_id, at(14, 0))
    dispatch(db, 5, hour=14)
    send = next(each for each in sends_at(db, at(14)) if each.device_id == other.id)
    mark_receipt(db, acting(other), send.id, "tapped", at(14, 6), at(14, 6))
    assert states(db, sent)["bend", 14] == "shown"


def phone_of_same_patient(db: Session, device: Device) -> Device:
    course = db.scalars(select(Course).where(Course.patient_id == device.patient_id)).one()
    return phone(db, course, receipt_proven=True, whose="carer")
