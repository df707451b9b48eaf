"""Whatever kind of alert it is, nothing of it leaves the house but its level and ids."""

from __future__ import annotations

import json
import re
import uuid
from datetime import UTC, datetime

import pytest

from homeprog.delivery.email import Email, Server
from homeprog.delivery.notice import LEVELS, Notice, payload
from homeprog.delivery.push import PAYLOAD_OCTETS
from homeprog.delivery.webhook import body
from homeprog.domain.alert import KINDS
from homeprog.services.notify_staff import message_of
from homeprog.storage import models
from tests.services.notice_cast import at, unit

ORIGIN = "https://homeprog.example.org"
UUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
ALLOWED = {
    "homeprog", "an", "alert", "alerts", "are", "is", "waiting", "now", "today", "this", "week",
}  # fmt: skip


def told(notice: Notice) -> str:
    """Everything that leaves the house about a notice, ids taken out."""
    mail = Email(Server("127.0.0.1", 25, "homeprog@unit.example"), ORIGIN)
    said = [payload(notice), mail.message("anna@unit.example", notice).as_bytes(), body(notice)]
    return UUID.sub("ID", b"\n".join(said).decode())


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("level", LEVELS)
def test_a_kind_leaves_no_trace_in_any_message(db, kind, level):
    """Alerts that differ in all but their level are told in the same octets."""
    here = unit(db)
    figures = {"trouble": "snap", "name": "Grace Obi", "finger": "middle", "phase": "dynamic"}
    row = here.alert(kind, level, at(10), **figures)
    notice = models.Notice(
        id=uuid.uuid4(), at=at(10), clinic_id=row.clinic_id, alert_id=row.id, alerts=[],
        staff_id=here.anna.id, level=row.level,
    )  # fmt: skip
    other = Notice(
        id=uuid.uuid4(), clinic=uuid.uuid4(), staff=uuid.uuid4(), level=level, alert=uuid.uuid4(),
        count=1, at=at(10),
    )  # fmt: skip
    assert told(message_of(notice)) == told(other)


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("count", [1, 12])
def test_the_heading_is_made_of_a_few_known_words(level, count):
    notice = Notice(uuid.uuid4(), uuid.uuid4(), uuid.uuid4(), level, None, count, datetime.now(UTC))
    assert set(re.findall(r"[a-z]+", notice.heading.lower())) <= ALLOWED


def test_a_push_to_staff_holds_heading_and_link_and_is_as_long_as_any_push():
    alert = uuid.uuid4()
    notice = Notice(uuid.uuid4(), uuid.uuid4(), uuid.uuid4(), "now", alert, 1, datetime.now(UTC))
    sent = payload(notice)
    said = json.loads(sent)
    assert len(sent) == PAYLOAD_OCTETS
    assert said.pop("pad").strip("0") == ""
    assert said == {
        "v": 1, "title": "Homeprog: an alert (now) is waiting", "url": f"/alerts/{alert}",
    }  # fmt: skip


def test_the_notice_has_no_field_a_name_or_a_kind_could_stand_in():
    assert set(Notice.__dataclass_fields__) == {
        "id", "clinic", "staff", "level", "alert", "count", "at",
    }  # fmt: skip
