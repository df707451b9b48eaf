"""Our web push against the published examples of RFC 8188, RFC 8291 and RFC 8292."""

import base64
import json
import uuid
from datetime import UTC, datetime

import http_ece
import pytest
import pywebpush
from cryptography.hazmat.primitives.asymmetric import ec
from py_vapid import Vapid02

from homeprog.delivery.push import Address, payload
from homeprog.delivery.web_push import encrypted


def octets(text: str) -> bytes:
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


def private_key(text: str) -> ec.EllipticCurvePrivateKey:
    return ec.derive_private_key(int.from_bytes(octets(text), "big"), ec.SECP256R1())


# RFC 8291 section 5 and appendix A.
PLAINTEXT = b"When I grow up, I want to be a watermelon"
SERVER_KEY = private_key("yfWPiYE-n46HLnH0KqZOF1fJJU3MYrct3AELtAQ-oRw")
PHONE_KEY = private_key("q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94")
PHONE = Address(
    "https://push.example.net/push/JzLQ3raZJfFBR0aqvOMsLrt54w4rJUsV",
    "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4",
    "BTBZMqHH6r4Tts7J_aSIgg",
)
SALT = octets("DGv6ra1nlYgDCS1FRnbzlw")
BODY = octets(
    "DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6"
    "TlzAC8wEqKK6PBru3jl7A_yl95bQpu6cVPTpK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulc"
    "y4a-fN"
)


@pytest.fixture
def fixed(monkeypatch: pytest.MonkeyPatch) -> None:
    """The salt and the sender's key of the example, in place of random ones."""

    class FixedSalt:
        urandom = staticmethod(lambda count: SALT[:count])

    monkeypatch.setattr(http_ece, "os", FixedSalt)
    monkeypatch.setattr(pywebpush.ec, "generate_private_key", lambda *_: SERVER_KEY)


@pytest.mark.usefixtures("fixed")
def test_our_body_is_that_of_rfc_8291_section_5_octet_for_octet() -> None:
    body = encrypted(PHONE, PLAINTEXT)
    assert body == BODY
    assert len(body) == 144


def opened(body: bytes) -> bytes:
    """What the phone's browser reads from a body."""
    return bytes(
        http_ece.decrypt(
            body, private_key=PHONE_KEY, auth_secret=octets(PHONE.auth), version="aes128gcm"
        )
    )


def test_the_body_of_rfc_8291_section_5_opens_with_the_phones_keys() -> None:
    assert opened(BODY) == PLAINTEXT


def test_what_we_send_opens_on_the_phone_and_always_has_one_length() -> None:
    sent = uuid.UUID(int=7)
    until = datetime(2026, 6, 5, 15, tzinfo=UTC)
    bodies = {
        words: encrypted(PHONE, payload(sent, words, until))
        for words in ("Time for your plan.", "This is a test. Reminders reach this phone.")
    }
    assert {len(body) for body in bodies.values()} == {512 + 86 + 17}  # header, delimiter and tag
    for words, body in bodies.items():
        told = json.loads(opened(body))
        note = told["notification"]
        assert (note["body"], note["data"]["send"]) == (words, str(sent))


def test_each_message_has_its_own_salt_and_key() -> None:
    one, two = encrypted(PHONE, PLAINTEXT), encrypted(PHONE, PLAINTEXT)
    assert one[:16] != two[:16]
    assert one[21:86] != two[21:86]


@pytest.mark.parametrize(
    ("key", "body"),
    [
        (  # RFC 8188 section 3.1
            "yqdlZ-tYemfogSmv7Ws5PQ",
            "I1BsxtFttlv3u_Oo94xnmwAAEAAA-NAVub2qFgBEuQKRapoZu-IxkIva3MEB1PD-ly8Thjg",
        ),
        (  # RFC 8188 section 3.2: two records, a key id, padding
            "BO3ZVPxUlnLORbVGMpbT1Q",
            "uNCkWiNYzKTnBN9ji3-qWAAAABkCYTHOG8chz_gnvgOqdGYovxyjuqRyJFjEDyoF1Fvkj6hQPdPHI51OEUKEpgz3"
            "SsLWIqS_uA",
        ),
    ],
)
def test_the_content_encoding_opens_the_examples_of_rfc_8188(key: str, body: str) -> None:
    told = http_ece.decrypt(octets(body), key=octets(key), version="aes128gcm")
    assert told == b"I am the walrus"


def test_the_content_encoding_makes_the_first_example_of_rfc_8188() -> None:
    key, body = (
        octets("yqdlZ-tYemfogSmv7Ws5PQ"),
        octets("I1BsxtFttlv3u_Oo94xnmwAAEAAA-NAVub2qFgBEuQKRapoZu-IxkIva3MEB1PD-ly8Thjg"),
    )
    made = http_ece.encrypt(
        b"I am the walrus", salt=body[:16], key=key, version="aes128gcm", rs=4096
    )
    assert made == body


def test_the_signature_of_rfc_8292_section_2_4_verifies_and_a_changed_one_does_not() -> None:
    token = (
        "eyJ0eXAiOiJKV1QiLCJhbGciOiJFUzI1NiJ9.eyJhdWQiOiJodHRwczovL3B1c2guZXhhbXBsZS5uZXQiLCJleHAi"
        "OjE0NTM1MjM3NjgsInN1YiI6Im1haWx0bzpwdXNoQGV4YW1wbGUuY29tIn0.i3CYb7t4xfxCDquptFOepC9GAu_HL"
        "GkMlMuCGSK2rpiUfnK9ojFwDXb1JrErtmysazNjjvW2L9OkSSHzvoD1oA"
    )
    key = "BA1Hxzyi1RUM1b5wjxsn7nGxAszw2u61m164i3MrAIxHF6YK5h4SDYic-dRuU_RCPCfA5aq9ojSwk5Y2EmClBPs"
    assert Vapid02.verify(f"vapid t={token},k={key}")
    assert not Vapid02.verify(f"vapid t={token.replace('.i3C', '.i3D')},k={key}")
    claims = json.loads(octets(token.split(".")[1]))
    assert claims == {
        "aud": "https://push.example.net",
        "exp": 1453523768,
        "sub": "mailto:push@example.com",
    }
