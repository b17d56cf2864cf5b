"""What visitors read is what was published: it does not drift, and when it is taken back it says so."""

from __future__ import annotations

import re

import pytest
from builders import change, planted, write_folder

from register.exchange.faults import Refused
from register.models import Entry, Vehicle
from register.services.change_sets import apply
from register.services.import_register import import_register
from register.services.issuing import withdraw_statement
from register.services.publishing import publish, take_back
from register.services.verifying import faults
from tests.services.issued import AT, issue, plant

pytestmark = pytest.mark.django_db
PAGE = "/id/vehicles/l1/"


def text_of(answer):
    return re.sub(r"\s+", " ", answer.content.decode())


def test_a_published_statement_is_shown_and_never_drifts(tmp_path, client):
    plant(tmp_path)
    assert client.get(PAGE).status_code == 404
    issue()
    assert client.get(PAGE).status_code == 404
    publish("CS-0001", user=None, at=AT)
    before = text_of(client.get(PAGE))
    assert "CS-0001" in before and "1 June 2024" in before and "Larkspur" in before
    apply([change("vehicles", vehicle_id="L1", name="Renamed", summary="New words."), change("parts", part_id="P1", name="first chimney", mass="1 kg")], kind="test")
    assert re.sub("csrf.*?>", "", text_of(client.get(PAGE))) == re.sub("csrf.*?>", "", before)
    assert "Larkspur" in text_of(client.get("/id/")) and "Renamed" not in text_of(client.get("/id/"))
    assert client.get("/id/statements/CS-0001/statement.pdf").content.startswith(b"%PDF")
    assert list(faults(recompute=True)) == []


def test_the_officer_sees_what_would_change_before_publishing_again(tmp_path, officer):
    plant(tmp_path)
    assert "Issue one" in text_of(officer.get("/vehicles/l1/publish/"))
    issue()
    first = text_of(officer.get("/vehicles/l1/publish/"))
    assert "They would read" in first and "Publish CS-0001" in first
    assert officer.post("/vehicles/l1/publish/", {"do": "publish", "number": "CS-0001"}).status_code == 302
    assert Vehicle.objects.get(key="l1").published
    apply([change("vehicles", vehicle_id="L1", summary="A small engine."), change("treatments", part_id="P1", date="2021-01-01", work="new top", replaced="0.5")], kind="test")
    issue(why="more is known")
    page = text_of(officer.get("/vehicles/l1/publish/"))
    assert "A small engine." in page and "They would read instead" in page and "knowledge" in page
    assert "CS-0001" in text_of(officer.get(PAGE))
    officer.post("/vehicles/l1/publish/", {"do": "publish", "number": "CS-0002"})
    assert "CS-0002" in text_of(officer.get(PAGE)) and "A small engine." in text_of(officer.get(PAGE))


def test_pressing_twice_publishes_once_and_an_old_page_publishes_nothing(tmp_path, officer):
    plant(tmp_path)
    issue()
    for _ in range(2):
        officer.post("/vehicles/l1/publish/", {"do": "publish", "number": "CS-0001"})
    assert Entry.objects.filter(kind="published").count() == 1
    issue(why="again")
    answer = officer.post("/vehicles/l1/publish/", {"do": "publish", "number": "CS-0001"})
    assert answer.status_code == 422 and "another one by now" in text_of(answer)


def test_what_was_taken_back_answers_410_and_never_404(tmp_path, officer, client):
    plant(tmp_path)
    issue()
    publish("CS-0001", user=None, at=AT)
    assert officer.post("/vehicles/l1/publish/", {"do": "take back", "reason": " "}).status_code == 422
    assert officer.post("/vehicles/l1/publish/", {"do": "take back", "reason": "CANARY-WHY"}).status_code == 302
    client.logout()
    answer = client.get(PAGE)
    assert answer.status_code == 410 and "taken back" in text_of(answer) and "CANARY-WHY" not in text_of(answer)
    assert "Larkspur" not in text_of(client.get("/id/"))
    assert client.get("/id/statements/CS-0001/statement.pdf").status_code == 404
    assert "Larkspur" not in text_of(client.get("/id/statements/CS-0001/"))


def test_a_withdrawn_statement_is_not_shown(tmp_path, client):
    plant(tmp_path)
    issue()
    publish("CS-0001", user=None, at=AT)
    withdraw_statement("CS-0001", user=None, reason="wrong", at=AT)
    assert client.get(PAGE).status_code == 410
    with pytest.raises(Refused, match="withdrawn"):
        publish("CS-0001", user=None, at=AT)
    with pytest.raises(Refused, match="there is no statement"):
        publish("CS-0009", user=None, at=AT)
    with pytest.raises(Refused, match="no statement of this vehicle"):
        take_back("l2", user=None, reason="x", at=AT)


def test_a_vehicle_published_before_any_statement_follows_the_register_and_says_so(tmp_path, client):
    plant(tmp_path)
    apply([change("vehicles", vehicle_id="L1", published="yes")], kind="test")
    assert "follows the register from day to day" in text_of(client.get(PAGE))


def test_nothing_private_is_on_a_published_page_nor_in_its_paper(tmp_path, client):
    from io import BytesIO

    from pypdf import PdfReader

    import_register(write_folder(tmp_path / "planted", planted()))
    issue("L1")
    publish("CS-0001", user=None, at=AT)
    pdf = client.get("/id/statements/CS-0001/statement.pdf").content
    paper = " ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)
    for said in (text_of(client.get(PAGE)), text_of(client.get("/id/statements/CS-0001/")), paper, str(PdfReader(BytesIO(pdf)).metadata)):
        assert "CANARY" not in said, re.findall(r".{60}CANARY.{40}", said)


def test_other_roles_publish_nothing(tmp_path, sign_in):
    plant(tmp_path)
    issue()
    for role in ("engineer", "recorder", "administrator"):
        assert sign_in(role).post("/vehicles/l1/publish/", {"do": "publish", "number": "CS-0001"}).status_code == 403
    assert not Entry.objects.filter(kind="published").exists()


def test_the_public_list_asks_the_same_number_of_queries_however_long_it_is(tmp_path, client):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    plant(tmp_path)
    apply([change("installations", position_id="G1", part_id="P3", fitted="1900")], kind="test")
    for number, vehicle in enumerate(("L1", "L2"), 1):
        issue(vehicle)
        publish(f"CS-000{number}", user=None, at=AT)
        client.get("/id/")  # what is frozen is read once a process
        with CaptureQueriesContext(connection) as asked:
            client.get("/id/")
        if number == 1:
            few = len(asked)
    assert len(asked) == few
