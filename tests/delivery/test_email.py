"""E-mail to staff, handed to a real SMTP server on this machine."""

from __future__ import annotations

import datetime as dt
import ipaddress
import socket
import ssl
import uuid
from collections.abc import Iterator
from dataclasses import replace
from email import message_from_bytes
from email.message import Message
from pathlib import Path
from typing import Any

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult, LoginPassword
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509.oid import NameOID

from homeprog.delivery.email import Email, Server, is_address
from homeprog.delivery.errors import DeliveryError
from homeprog.delivery.notice import Notice

AT = dt.datetime(2026, 6, 5, 13, 10, tzinfo=dt.UTC)
ALERT = uuid.UUID(int=7)
NOTICE = Notice(
    id=uuid.UUID(int=1), clinic=uuid.UUID(int=2), staff=uuid.UUID(int=3), level="now", alert=ALERT,
    count=1, at=AT,
)  # fmt: skip
ORIGIN = "https://homeprog.example.org"


class Taken:
    """What the server was given; `answer` is its reply to RCPT where it is not 250."""

    def __init__(self, answer: str | None = None) -> None:
        self.mails: list[tuple[list[str], Message]] = []
        self.tls: list[bool] = []
        self.answer = answer

    async def handle_RCPT(
        self, server: Any, session: Any, envelope: Any, address: str, options: list[str]
    ) -> str:
        if self.answer:
            return self.answer
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        self.mails.append((list(envelope.rcpt_tos), message_from_bytes(envelope.content)))
        self.tls.append(session.ssl is not None)
        return "250 OK"


def started(taken: Taken, **more: Any) -> Controller:
    """A server on a free port; the caller stops it."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = Controller(
        taken, hostname="127.0.0.1", port=port, server_hostname="localhost",  # not looked up
        ready_timeout=30, **more,
    )  # fmt: skip
    server.start()
    return server


@pytest.fixture
def taken() -> Taken:
    return Taken()


@pytest.fixture
def plain(taken: Taken) -> Iterator[Server]:
    """A server on this host, without TLS."""
    server = started(taken)
    yield Server("127.0.0.1", server.port, "homeprog@unit.example", starttls=False)
    server.stop()


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A certificate for 127.0.0.1 that only we trust, with its key, in one file."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "127.0.0.1")])
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(1)
        .not_valid_before(dt.datetime(2020, 1, 1))  # noqa: DTZ001 - cryptography takes UTC so
        .not_valid_after(dt.datetime(2120, 1, 1))  # noqa: DTZ001
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .add_extension(
            x509.SubjectAlternativeName([x509.IPAddress(ipaddress.ip_address("127.0.0.1"))]), False
        )
        .sign(key, hashes.SHA256())
    )
    file = tmp_path_factory.mktemp("tls") / "both.pem"
    secret = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    file.write_bytes(secret + made.public_bytes(Encoding.PEM))
    return file


@pytest.fixture
def secured(taken: Taken, certificate: Path) -> Iterator[Server]:
    """A server that wants STARTTLS and then user and password."""

    def known(server: Any, session: Any, envelope: Any, mechanism: str, data: Any) -> AuthResult:
        right = isinstance(data, LoginPassword) and data == LoginPassword(b"unit", b"secret")
        return AuthResult(success=right, handled=False)

    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate)
    server = started(
        taken, tls_context=context, require_starttls=True, authenticator=known, auth_required=True
    )
    trusted = ssl.create_default_context(cafile=str(certificate))
    yield Server("127.0.0.1", server.port, "homeprog@unit.example", "unit", "secret", True, trusted)
    server.stop()


def test_a_mail_says_that_an_alert_waits_and_where_and_nothing_else(
    plain: Server, taken: Taken
) -> None:
    Email(plain, ORIGIN).send("anna@unit.example", NOTICE)
    ((to, mail),) = taken.mails
    assert to == ["anna@unit.example"]
    assert mail["Subject"] == "Homeprog: an alert (now) is waiting"
    assert mail["From"] == "homeprog@unit.example"
    assert mail["Auto-Submitted"] == "auto-generated"
    assert mail["Date"] == "Fri, 05 Jun 2026 13:10:00 +0000"
    assert mail.get_payload().replace("\r\n", "\n") == (
        "Homeprog: an alert (now) is waiting.\n\n"
        f"https://homeprog.example.org/alerts/{ALERT}\n\n"
        "This message says no more on purpose: it names nobody. Sign in to read.\n"
        "A message does not replace the telephone: patients are told to ring.\n"
    )


def test_a_digest_leads_to_the_caseload_and_says_how_many_wait(plain: Server, taken: Taken) -> None:
    Email(plain, ORIGIN).send(
        "anna@unit.example", replace(NOTICE, alert=None, level="this_week", count=3)
    )
    mail = taken.mails[0][1]
    assert mail["Subject"] == "Homeprog: 3 alerts (this week) are waiting"
    assert "https://homeprog.example.org/caseload" in mail.get_payload()


def test_a_retry_is_the_same_message_to_whoever_receives_it(plain: Server, taken: Taken) -> None:
    for _ in range(2):
        Email(plain, ORIGIN).send("anna@unit.example", NOTICE)
    assert len({mail["Message-ID"] for _, mail in taken.mails}) == 1


def test_it_goes_over_tls_with_user_and_password(secured: Server, taken: Taken) -> None:
    Email(secured, ORIGIN).send("anna@unit.example", NOTICE)
    assert taken.tls == [True]
    assert len(taken.mails) == 1


def test_a_certificate_nobody_vouches_for_is_refused_before_the_password_is_said(
    secured: Server, taken: Taken
) -> None:
    with pytest.raises(DeliveryError) as refused:
        Email(replace(secured, ca=None), ORIGIN).send("anna@unit.example", NOTICE)
    assert (refused.value.reason, refused.value.permanent) == ("TLS failed", False)
    assert taken.mails == []


def test_a_wrong_password_is_said_by_its_code_and_tried_again(secured: Server) -> None:
    with pytest.raises(DeliveryError) as refused:
        Email(replace(secured, password="other"), ORIGIN).send("anna@unit.example", NOTICE)
    assert (refused.value.reason, refused.value.permanent) == ("535 authentication", False)


@pytest.mark.parametrize(
    ("answer", "permanent"), [("550 no such user anna", True), ("450 later", False)]
)
def test_a_recipient_refused_for_now_is_tried_again_and_one_refused_for_good_is_not(
    answer: str, permanent: bool
) -> None:
    server = started(Taken(answer))
    plain = Server("127.0.0.1", server.port, "homeprog@unit.example", starttls=False)
    with pytest.raises(DeliveryError) as refused:
        Email(plain, ORIGIN).send("anna@unit.example", NOTICE)
    server.stop()
    assert refused.value.permanent is permanent
    assert refused.value.reason == f"{answer[:3]} recipient refused"  # not the server's own words


def test_no_server_and_one_that_says_nothing_are_failures_that_pass() -> None:
    with socket.socket() as silent:
        silent.bind(("127.0.0.1", 0))
        port = silent.getsockname()[1]
        server = Server("127.0.0.1", port, "homeprog@unit.example", starttls=False)
        with pytest.raises(DeliveryError) as gone:
            Email(server, ORIGIN).send("anna@unit.example", NOTICE)
    assert (gone.value.reason, gone.value.permanent) == ("connection refused", False)


def test_a_server_that_takes_the_call_and_never_speaks_is_left_in_time(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("homeprog.delivery.email.TIMEOUT", 0.3)
    with socket.socket() as silent:
        silent.bind(("127.0.0.1", 0))
        silent.listen()
        server = Server(
            "127.0.0.1", silent.getsockname()[1], "homeprog@unit.example", starttls=False
        )
        with pytest.raises(DeliveryError) as late:
            Email(server, ORIGIN).send("anna@unit.example", NOTICE)
    assert (late.value.reason, late.value.permanent) == ("no answer in time", False)


@pytest.mark.parametrize(
    "said",
    ["anna", "anna@", "@unit.example", "anna@unit.example, ben@unit.example",
     "anna@unit.example\r\nBcc: x@y.example", "Anna <anna@unit.example>", "a" * 65 + "@b.example"],
)  # fmt: skip
def test_what_is_not_one_plain_address_is_never_handed_on(said: str) -> None:
    assert not is_address(said)
    with pytest.raises(DeliveryError) as refused:
        Email(Server("127.0.0.1", 1, "h@unit.example"), ORIGIN).send(said, NOTICE)
    assert refused.value.permanent


def test_plain_addresses_are_taken() -> None:
    assert all(map(is_address, ("anna.b+unit@hand.nhs.example", "o'neil@unit.example")))
