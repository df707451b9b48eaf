"""E-mail to staff by SMTP, over TLS unless the server stands on this host."""

from __future__ import annotations

import re
import smtplib
import ssl
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from email.message import EmailMessage
from email.utils import format_datetime
from urllib.parse import urlsplit

from .errors import DeliveryError
from .notice import NEVER, WHY_SO_SHORT, Notice

TIMEOUT = 10  # seconds for each answer of the server
TLS_PORT = 465  # TLS from the first octet (RFC 8314 section 3.3)
PERMANENT = 500  # SMTP replies from here on are final for that message (RFC 5321 section 4.2.1)
ADDRESS = re.compile(r"[A-Za-z0-9._%+'-]{1,64}@[A-Za-z0-9-]+(\.[A-Za-z0-9-]+)*")
LONGEST_ADDRESS = 254  # characters


@dataclass(frozen=True, slots=True)
class Server:
    """Where mail is handed in, and how."""

    host: str
    port: int
    sender: str
    user: str = ""
    password: str = ""
    starttls: bool = True
    ca: ssl.SSLContext | None = None  # whom to trust; None: the system's own list


class Email:
    """Hands notices to one SMTP server. `origin` is where the links lead."""

    def __init__(self, server: Server, origin: str) -> None:
        self._server, self._origin = server, origin

    def send(self, to: str, notice: Notice) -> None:
        """Raises DeliveryError unless the server takes it. A retry has the same Message-ID."""
        if not is_address(to):
            raise DeliveryError("not an e-mail address", permanent=True)
        message = self.message(to, notice)
        try:
            with self._open() as smtp:
                smtp.send_message(message)
        except smtplib.SMTPRecipientsRefused as refused:
            code = next(iter(refused.recipients.values()))[0]
            raise DeliveryError(f"{code} recipient refused", permanent=code >= PERMANENT) from None
        except smtplib.SMTPResponseException as error:
            raise DeliveryError(_reply(error), permanent=False) from None
        except (smtplib.SMTPException, OSError) as error:
            raise DeliveryError(_fault(error), permanent=False) from None

    def message(self, to: str, notice: Notice) -> EmailMessage:
        """The mail: a heading, a link, and why it says no more."""
        mail = EmailMessage()
        mail["From"], mail["To"] = self._server.sender, to
        mail["Subject"] = notice.heading
        mail["Date"] = format_datetime(notice.at)
        host = urlsplit(self._origin).hostname or "homeprog.invalid"
        mail["Message-ID"] = f"<{notice.id}@{host}>"
        mail["Auto-Submitted"] = "auto-generated"  # RFC 3834: no automatic answer to it
        link = f"{self._origin}{notice.path}"
        mail.set_content(f"{notice.heading}.\n\n{link}\n\n{WHY_SO_SHORT}\n{NEVER}\n")
        return mail

    @contextmanager
    def _open(self) -> Iterator[smtplib.SMTP]:
        server, context = self._server, self._server.ca or ssl.create_default_context()
        if server.port == TLS_PORT:
            made: smtplib.SMTP = smtplib.SMTP_SSL(
                server.host, server.port, timeout=TIMEOUT, context=context
            )
        else:
            made = smtplib.SMTP(server.host, server.port, timeout=TIMEOUT)
        with made as smtp:
            if server.starttls and server.port != TLS_PORT:
                smtp.starttls(context=context)
            if server.user:
                smtp.login(server.user, server.password)
            yield smtp


def is_address(said: str) -> bool:
    """Whether it can be an e-mail address of a staff member; one line, one address."""
    return len(said) <= LONGEST_ADDRESS and ADDRESS.fullmatch(said) is not None


def _reply(error: smtplib.SMTPResponseException) -> str:
    """The code and the kind: the server's own words may repeat what it was told."""
    kind = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", type(error).__name__.removeprefix("SMTP"))
    return f"{error.smtp_code} {kind.removesuffix(' Error').lower()}"


def _fault(error: Exception) -> str:
    if isinstance(error, TimeoutError) or "timed out" in str(error):  # smtplib tells by words only
        return "no answer in time"
    if isinstance(error, smtplib.SMTPServerDisconnected):
        return "the server broke off"
    if isinstance(error, ssl.SSLError):
        return "TLS failed"
    if isinstance(error, OSError) and error.strerror:
        return error.strerror.lower()
    return type(error).__name__
