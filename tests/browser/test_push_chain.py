"""One reminder all the way: planned, sent, decrypted, shown by the worker, tapped, receipted."""

from __future__ import annotations

import base64
import json
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from homeprog.delivery import push_keys
from homeprog.storage.models import Prompt, PromptEvent, PromptSend, PromptSlot
from tests.browser.house import House, on_dynamic, pairing_link
from tests.browser.live import Live
from tests.browser.phone_hand import until
from tests.browser.push_cast import STUB, Keys, Worker, base64url, send_of
from tests.browser.receiver import Received, Receiver

pytestmark = pytest.mark.browser


def _pair(page: Page, live: Live, house: House, receiver: Receiver, keys: Keys) -> None:
    with live.db() as db:
        course = on_dynamic(db, house, live.now() - timedelta(minutes=10))
        link = pairing_link(db, house, course, live.origin, live.now())
    made = {"endpoint": f"{receiver.origin}/send/one", "keys": keys.told()}
    page.add_init_script(f"({STUB})({json.dumps(made)})")
    page.goto(link)
    page.get_by_role("button", name="Link", exact=True).click()
    expect(page.get_by_role("button", name="Start")).to_be_visible()


def _turn_reminders_on(page: Page) -> None:
    page.get_by_role("button", name="Menu").click()
    page.get_by_role("button", name="Reminders").click()
    page.get_by_role("button", name="Turn on").click()
    expect(page.get_by_role("heading", name="Reminders are on")).to_be_visible()


def _next_prompt(live: Live) -> tuple[str, datetime, datetime]:
    """The id of the send, the start and the end of the next planned reminder."""
    with live.reads() as db:
        send, due_at, ends_at = db.execute(
            select(PromptSend.id, Prompt.due_at, Prompt.ends_at)
            .join(Prompt, Prompt.id == PromptSend.prompt_id)
            .join(PromptSlot, PromptSlot.prompt_id == Prompt.id)
            .where(Prompt.due_at > live.now(), PromptSend.state == "due")
            .order_by(Prompt.due_at)
            .limit(1)
        ).one()
    return str(send), due_at, ends_at


def _events(live: Live, send: str) -> list[str]:
    with live.reads() as db:
        rows = db.execute(select(PromptEvent.send_id, PromptEvent.what).order_by(PromptEvent.at))
        return [what for send_id, what in rows if str(send_id) == send]


def _assert_sent_well(post: Received, live: Live, left: timedelta) -> None:
    assert post.headers["content-encoding"] == "aes128gcm"
    assert 0 < int(post.headers["ttl"]) <= left.total_seconds()
    assert post.headers["urgency"] == "high"
    assert 1 <= len(post.headers["topic"]) <= 32  # RFC 8030 section 5.4
    public = push_keys.public_key(Path(live.environ["HOMEPROG_INSTANCE"]))
    assert post.headers["authorization"].startswith("vapid t=")
    assert f"k={public}" in post.headers["authorization"]


def test_a_reminder_goes_all_the_way_and_its_receipts_come_back(
    live: Live, house: House, receiver: Receiver, phone: Callable[..., Page]
) -> None:
    keys, page = Keys(), phone()
    _pair(page, live, house, receiver, keys)
    _turn_reminders_on(page)
    asked = page.evaluate("window.askedFor")
    public = push_keys.public_key(Path(live.environ["HOMEPROG_INSTANCE"]))
    assert asked["visible"] is True
    assert base64url(base64.b64decode(asked["key"])) == public
    worker = Worker(page, live.origin)

    live.flask("dispatch", "--once")
    trial = keys.opened(receiver.take().body)
    worker.push(trial)
    until(page, lambda: "shown" in _events(live, send_of(trial)), "no receipt of the test")

    send, due_at, ends_at = _next_prompt(live)
    live.set_now(due_at + timedelta(seconds=5))
    left = ends_at - live.now()
    live.flask("dispatch", "--once")
    post = receiver.take()
    assert post.path == "/send/one"
    _assert_sent_well(post, live, left)
    payload = keys.opened(post.body)
    note = payload["notification"]
    assert (note["title"], note["body"], note["data"]["kind"]) == (
        "Homeprog", "Time for your plan.", "reminder",
    )  # fmt: skip
    assert send_of(payload) == send
    assert note["navigate"] == f"{live.origin}/phone/"
    assert datetime.fromisoformat(note["data"]["expires_at"]) == ends_at
    assert _events(live, send) == ["sent"]

    page.get_by_role("button", name="Go on").click()
    page.get_by_role("button", name="Menu").click()
    worker.push(payload)
    until(page, lambda: "shown" in _events(live, send), "no receipt: shown")
    assert worker.notes() == [{"title": "Homeprog", "body": "Time for your plan.", "tag": "due"}]
    expect(page.get_by_role("heading", name="Menu")).to_be_visible()

    worker.tap()
    expect(page.get_by_role("button", name="Start")).to_be_visible()
    assert page.title().startswith("Now")
    until(page, lambda: "tapped" in _events(live, send), "no receipt: tapped")
    assert worker.notes() == []
    assert not receiver.posts, "a reminder went out twice"
