"""Our sender: whom it sends to, what it says, and what it makes of the answers."""

import base64
import json
import uuid
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import get_args

import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from py_vapid import Vapid02

from homeprog.delivery.errors import DeliveryError
from homeprog.delivery.push import PAYLOAD_OCTETS, Address, Kind, Push, payload
from homeprog.delivery.push_hosts import allowed, origin_of
from homeprog.delivery.push_keys import faults, load, make_once, public_key
from homeprog.delivery.web_push import WebPush, retry_after
from homeprog.phrases import LANGUAGES, phrases_of
from tests.delivery.receiver import Service, base64url, point, running

NOON = datetime(2026, 6, 5, 12, tzinfo=UTC)
PATIENT = uuid.UUID(int=1)
ours = Vapid02()
ours.generate_keys()


def phone_key() -> str:
    return point(ec.generate_private_key(ec.SECP256R1()))


@pytest.fixture
def service() -> Iterator[Service]:
    with running() as service:
        yield service


@pytest.fixture
def web(service: Service) -> Iterator[WebPush]:
    sender = WebPush(ours, "mailto:ops@clinic.example", lambda: NOON, (service.origin,))
    yield sender
    sender.close()


def push(endpoint: str, patient: uuid.UUID = PATIENT, ttl: int = 3300) -> Push:
    address = Address(endpoint, phone_key(), base64url(b"sixteen octets.."))
    told = payload(uuid.UUID(int=2), "Time for your plan.", NOON + timedelta(hours=1))
    return Push(uuid.UUID(int=2), patient, address, told, ttl)


def test_a_push_says_how_long_it_lives_what_it_replaces_and_that_it_is_urgent(
    service: Service, web: WebPush
) -> None:
    web.send(push(f"{service.origin}/send/abc"))
    path, headers, body = service.came[0]
    assert path == "/send/abc"
    assert (headers["TTL"], headers["Urgency"]) == ("3300", "high")
    assert headers["Content-Encoding"] == "aes128gcm"
    assert len(headers["Topic"]) == 16
    assert len(body) == 615


def test_the_topic_is_one_a_patient_and_tells_nothing_of_them(
    service: Service, web: WebPush
) -> None:
    for patient in (PATIENT, PATIENT, uuid.UUID(int=9)):
        web.send(push(service.origin + "/s", patient))
    topics = [headers["Topic"] for _, headers, _ in service.came]
    assert topics[0] == topics[1] != topics[2]
    assert len(base64.urlsafe_b64decode(topics[0])) == 12
    assert PATIENT.bytes not in base64.urlsafe_b64decode(topics[0])


def claims_of(headers: dict[str, str]) -> dict[str, object]:
    token = headers["Authorization"].removeprefix("vapid t=").split(",")[0]
    middle = token.split(".")[1]
    told: dict[str, object] = json.loads(
        base64.urlsafe_b64decode(middle + "=" * (-len(middle) % 4))
    )
    return told


def test_the_token_is_signed_for_the_push_services_own_origin(
    service: Service, web: WebPush
) -> None:
    web.send(push(service.origin + "/s"))
    headers = service.came[0][1]
    assert Vapid02.verify(headers["Authorization"])
    assert claims_of(headers) == {
        "aud": service.origin,
        "exp": int((NOON + timedelta(hours=12)).timestamp()),
        "sub": "mailto:ops@clinic.example",
    }


def test_a_token_is_kept_under_12_hours_and_then_made_anew(service: Service) -> None:
    times = iter([NOON, NOON + timedelta(hours=10), NOON + timedelta(hours=11, minutes=30)])
    web = WebPush(ours, "mailto:ops@clinic.example", lambda: next(times), (service.origin,))
    for _ in range(3):
        web.send(push(service.origin + "/s"))
    web.close()
    tokens = [headers["Authorization"] for _, headers, _ in service.came]
    assert tokens[0] == tokens[1] != tokens[2]


def test_another_origin_never_gets_the_first_ones_claims(service: Service) -> None:
    with running() as other:
        web = WebPush(ours, "mailto:o@c.example", lambda: NOON, (service.origin, other.origin))
        for origin in (service.origin, other.origin):
            web.send(push(origin + "/s"))
        web.close()
    assert claims_of(service.came[0][1])["aud"] == service.origin
    assert claims_of(other.came[0][1])["aud"] == other.origin


@pytest.mark.parametrize("status", [301, 302, 303, 307, 308])
def test_a_redirect_is_a_failure_and_is_not_followed(
    service: Service, web: WebPush, status: int
) -> None:
    service.answers.append((status, {"Location": service.origin + "/elsewhere"}, b""))
    with pytest.raises(DeliveryError) as raised:
        web.send(push(service.origin + "/s"))
    assert raised.value.permanent
    assert [path for path, _, _ in service.came] == ["/s"]


@pytest.mark.parametrize(
    ("status", "permanent", "gone"),
    [
        (400, True, False), (401, True, False), (403, True, False), (413, True, False),
        (404, True, True), (410, True, True),
        (408, False, False), (429, False, False), (500, False, False), (503, False, False),
    ],
)  # fmt: skip
def test_each_answer_says_whether_trying_again_can_help(
    service: Service, web: WebPush, status: int, permanent: bool, gone: bool
) -> None:
    service.answers.append((status, {}, b""))
    with pytest.raises(DeliveryError) as raised:
        web.send(push(service.origin + "/s"))
    assert (raised.value.permanent, raised.value.gone) == (permanent, gone)


@pytest.mark.parametrize("status", [200, 201, 202, 204])
def test_any_success_is_taken_as_sent(service: Service, web: WebPush, status: int) -> None:
    service.answers.append((status, {}, b""))
    web.send(push(service.origin + "/s"))
    assert [path for path, _, _ in service.came] == ["/s"]


def test_a_busy_service_says_when_to_come_back(service: Service, web: WebPush) -> None:
    service.answers.append((429, {"Retry-After": "120"}, b""))
    with pytest.raises(DeliveryError) as raised:
        web.send(push(service.origin + "/s"))
    assert raised.value.retry_after == timedelta(seconds=120)


@pytest.mark.parametrize(
    ("header", "wait"),
    [
        ("90", timedelta(seconds=90)),
        ("Fri, 05 Jun 2026 12:05:00 GMT", timedelta(minutes=5)),
        ("Fri, 05 Jun 2026 11:00:00 GMT", timedelta()),
        ("soon", None),
        (None, None),
    ],
)
def test_retry_after_is_seconds_or_a_date(header: str | None, wait: timedelta | None) -> None:
    assert retry_after(header, NOON) == wait


def test_an_answer_is_read_only_so_far_and_cannot_forge_a_log_line(
    service: Service, web: WebPush, caplog: pytest.LogCaptureFixture
) -> None:
    said = b"BadTopic\r\n2026 ERROR forged <b>" + b"x" * 100_000
    service.answers.append((400, {}, said))
    with pytest.raises(DeliveryError) as raised:
        web.send(push(service.origin + "/s"))
    assert raised.value.reason.startswith("400 BadTopic2026 ERROR forged b")
    assert len(raised.value.reason) <= 84
    assert "\n" not in caplog.records[0].getMessage()


def test_a_service_that_is_down_is_tried_again(web: WebPush, service: Service) -> None:
    service.shutdown()
    service.server_close()
    with pytest.raises(DeliveryError) as raised:
        web.send(push(service.origin + "/s"))
    assert not raised.value.permanent


def test_pushes_to_one_service_share_a_connection(service: Service, web: WebPush) -> None:
    for _ in range(3):
        web.send(push(service.origin + "/s"))
    pools = web._http.get_adapter(service.origin).poolmanager.pools  # type: ignore[attr-defined]
    assert [pools[key].num_connections for key in pools.keys()] == [1]  # noqa: SIM118


HOSTILE = [
    "http://fcm.googleapis.com/fcm/send/x",  # not https
    "https://fcm.googleapis.com:8443/x",  # another port
    "https://fcm.googleapis.com.evil.example/x",
    "https://evil.example/fcm.googleapis.com",
    "https://evilpush.apple.com.example/x",
    "https://notpush.apple.com/x",  # the suffix begins with a dot
    "https://user@fcm.googleapis.com/x",
    "https://fcm.googleapis.com@evil.example/x",
    "https://fcm.googleapis.com\\@evil.example/x",
    "https://evil.example#fcm.googleapis.com/x",
    "https://fcm.googleapis.com\n.evil.example/x",
    "https://fcm.googleapis.com /x",
    "https://fcm.googleapis.com:99999/x",
    "https://127.0.0.1/x",
    "https://[::1]/x",
    "https://169.254.169.254/latest",
    "https://localhost/x",
    "file:///etc/passwd",
    "https://ｆcm.googleapis.com/x",
    "//fcm.googleapis.com/x",
    "",
    "https://fcm.googleapis.com/" + "x" * 3000,
]


@pytest.mark.parametrize("endpoint", HOSTILE)
def test_a_hostile_address_is_refused_at_the_door_and_again_at_the_send(
    web: WebPush, endpoint: str
) -> None:
    assert not allowed(endpoint)
    with pytest.raises(DeliveryError, match="not allowed") as raised:
        web.send(push(endpoint))
    assert raised.value.permanent


@pytest.mark.parametrize(
    "endpoint",
    [
        "https://fcm.googleapis.com/fcm/send/dA:APA91b_x-y",
        "https://fcm.googleapis.com:443/fcm/send/x",
        "https://updates.push.services.mozilla.com/wpush/v2/gAAA=",
        "https://autopush.push.services.mozilla.com/wpush/v2/x",
        "https://web.push.apple.com/QGu",
        "https://db5p.notify.windows.com/w/?token=BQ%2b",
    ],
)
def test_the_known_push_services_are_allowed(endpoint: str) -> None:
    assert allowed(endpoint)


def test_an_extra_origin_is_exact_and_on_loopback() -> None:
    extra = ("http://127.0.0.1:9999", "http://evil.example")
    assert allowed("http://127.0.0.1:9999/send", extra)
    assert not allowed("http://127.0.0.1:9998/send", extra)
    assert not allowed("http://localhost:9999/send", extra)
    assert not allowed("http://evil.example/send", extra)
    assert not allowed("http://127.0.0.1:9999/send")


def test_the_origin_leaves_out_the_schemes_own_port() -> None:
    assert origin_of("https://fcm.googleapis.com:443/x") == "https://fcm.googleapis.com"
    assert origin_of("http://127.0.0.1:9999/x") == "http://127.0.0.1:9999"


def test_a_payload_longer_than_one_record_is_not_sent(service: Service, web: WebPush) -> None:
    told = push(service.origin + "/s")
    longer = Push(told.send, told.patient, told.address, b"x" * 3994, 60)
    with pytest.raises(DeliveryError, match="too long"):
        web.send(longer)
    fits = Push(told.send, told.patient, told.address, b"x" * 3993, 60)
    web.send(fits)
    assert len(service.came[0][2]) == 4096


@pytest.mark.parametrize(
    "words", ["exercise", "bend", "hand", "finger", "tendon", "splint", "pain"]
)
def test_a_payload_holds_no_word_of_health(words: str) -> None:
    for kind in get_args(Kind):
        body = phrases_of("en")(f"push.{kind}")
        assert words.encode() not in payload(PATIENT, body, NOON, kind=kind).lower()


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_payload_has_its_one_length_in_every_language(language: str) -> None:
    """A longer script must not be told from a shorter one by what goes over the wire."""
    origin = "https://a-rather-long-name.hospital.example.org"
    for kind in get_args(Kind):
        told = payload(PATIENT, phrases_of(language)(f"push.{kind}"), NOON, True, origin, kind)
        assert len(told) == PAYLOAD_OCTETS


def test_a_phones_keys_are_checked() -> None:
    good = Address("https://web.push.apple.com/x", phone_key(), base64url(b"sixteen octets.."))
    assert faults(good) == {}
    off_the_curve = base64url(b"\x04" + b"\x01" * 64)
    for p256dh in ("", "####", "AAAA", off_the_curve):
        assert set(faults(Address(good.endpoint, p256dh, good.auth))) == {"keys.p256dh"}
    for auth in ("", "AAAA", "not base64!"):
        assert set(faults(Address(good.endpoint, good.p256dh, auth))) == {"keys.auth"}


def test_our_key_pair_is_made_once_and_for_the_owner_alone(tmp_path: Path) -> None:
    assert public_key(tmp_path) is None
    assert make_once(tmp_path)
    first = public_key(tmp_path)
    assert not make_once(tmp_path)
    assert public_key(tmp_path) == first
    assert (tmp_path / "vapid_private.pem").stat().st_mode & 0o777 == 0o600
    loaded = load(tmp_path)
    assert loaded is not None
    assert Vapid02.verify(
        loaded.sign({"aud": "https://a.example", "sub": "mailto:a@b.example"})["Authorization"]
    )
