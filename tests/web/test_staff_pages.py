"""The manager's pages of staff: change a place, end an employment, see what is left to do."""

from __future__ import annotations

from datetime import timedelta

import pytest

from homeprog.extensions import db as extension
from homeprog.services.refresh_line import refresh_line
from homeprog.storage.models import Staff
from tests import cast
from tests.web.staff_cast import browser, now


@pytest.fixture
def head(app):
    """The manager of a clinic with one therapist and her patient."""
    db, begun = extension.session(), now() - timedelta(days=3)
    where = cast.clinic(db, begun)
    who = cast.staff(db, where, begun, "manager", None, "Ruth Head")
    anna = cast.staff(db, where, begun)
    refresh_line(db, cast.confirmed(db, anna, begun), begun)
    return who


def anna():
    return extension.session.query(Staff).filter_by(name="Anna Berg").one()


def test_a_manager_sees_who_works_here_and_how_many_patients_each_has(app, head):
    text = browser(app, head).get("/staff").text
    assert "Anna Berg" in text
    assert f'<a href="/caseload?therapist={anna().id}">1</a>' in text
    assert "no responsible therapist" not in text


def test_the_bar_of_somebodys_page_names_who_is_signed_in(app, head):
    text = browser(app, head).get(f"/staff/{anna().id}").text
    assert "<h1>Anna Berg</h1>" in text
    assert "<span>Ruth Head, manager</span>" in text


def test_staff_pages_are_the_managers_alone(app, head):
    client = browser(app, anna())
    assert client.get("/staff").status_code == 403
    assert client.post(f"/staff/{head.id}/ending", data={"sure": "yes"}).status_code == 403


def test_an_ending_is_ticked_signs_out_at_once_and_lists_the_patients_left(app, head):
    theirs, client = browser(app, anna()), browser(app, head)
    where = f"/staff/{anna().id}"
    unticked = client.post(f"{where}/ending")
    assert unticked.status_code == 422
    assert "Tick that this is meant." in unticked.text
    assert theirs.get("/caseload").status_code == 200
    done = client.post(f"{where}/ending", data={"sure": "yes"}, follow_redirects=True).text
    assert "1 patient needs another responsible therapist." in done
    assert "1 patient at home has no responsible therapist who works here." in done
    assert theirs.get("/caseload").headers["Location"].startswith("/sign-in")
    assert "Grace Obi" in client.get("/caseload?therapist=nobody").text
    assert "Does not work here any more." in client.get(where).text


def test_a_change_that_cannot_be_is_said_at_its_field(app, head):
    client, where = browser(app, head), f"/staff/{anna().id}/place"
    wrong = client.post(where, data={"role": "enroller", "profession": "surgeon"})
    assert wrong.status_code == 422
    assert "A surgeon who signs in has the role therapist." in wrong.text
    last = client.post(f"/staff/{head.id}/place", data={"role": "enroller", "profession": ""})
    assert last.status_code == 409
    assert "is the only manager" in last.text
    done = client.post(where, data={"role": "therapist", "profession": "surgeon"})
    assert done.status_code == 303
    assert "<td>surgeon</td>" in client.get("/staff").text
