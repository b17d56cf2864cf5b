"""Findings on the page: counted, put right by a link, explained for good, and open again when their facts change."""

from __future__ import annotations

import json

import pytest
from builders import tiny, write_folder
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction
from django.test.utils import CaptureQueriesContext

from register.models import FindingNote
from register.services.import_register import import_register
from tests.demo_register import plant_demo_register

pytestmark = pytest.mark.django_db


def said(answer):
    return answer.content.decode().replace("&nbsp;", " ").replace("\xa0", " ")


@pytest.fixture
def planted(tmp_path):
    """P1 has no source, its fitting is fine; the restricted P8 is of unknown whereabouts."""
    tables = tiny(parts=[{"part_id": "P8", "name": "CANARY-PART", "mass": "1 kg", "access": "restricted"}],
                  installations=[{"position_id": "Q2", "part_id": "P8", "fitted": "1990", "removed": "1995"}])
    tables["installations"][1]["removed"] = "1989"
    import_register(write_folder(tmp_path / "planted", tables))


def test_page_and_command_tell_the_same_and_the_vehicle_page_counts_them(planted, officer, capsys):
    call_command("check_register", "L1", "--json")
    found = json.loads(capsys.readouterr().out)
    assert {tuple(one) for one in found} == {("code", "record", "message")}
    assert {(one["code"], one["record"]) for one in found} == {("unsupported", "parts/P1"), ("whereabouts-unknown", "parts/P2"), ("whereabouts-unknown", "parts/P8")}
    page = officer.get("/vehicles/l1/findings/")
    assert [one.finding.message for one in page.context["shown"]] == [one["message"] for one in found]
    assert f"What does not agree ({len(found)})" in said(officer.get("/vehicles/l1/"))


def test_every_link_leads_to_a_form(officer):
    plant_demo_register()
    page = officer.get("/vehicles/c12/findings/")
    links = {one.finding.code: one.url for one in page.context["shown"]}
    assert len(links) > 5
    for code, url in links.items():
        assert officer.get(url).status_code == 200, (code, url)


def test_an_explained_finding_is_no_longer_counted_and_keeps_its_reason(planted, officer):
    finding = next(one.finding for one in officer.get("/vehicles/l1/findings/").context["shown"] if one.finding.record == "P1")
    address = f"/vehicles/l1/findings/{finding.fingerprint}/"
    token = officer.get(address).context["token"]
    for _ in range(2):  # a double tap
        assert officer.post(address, {"reason": "The stamp is <under> the lagging.", "verb": "explain", "token": token}).status_code == 302
    assert FindingNote.objects.count() == 1
    page = officer.get("/vehicles/l1/findings/")
    assert "1 explained" in said(page) and "The stamp is &lt;under&gt; the lagging." in said(page)
    assert finding.fingerprint not in {one.finding.fingerprint for one in page.context["shown"]}
    assert "What does not agree (2)" in said(officer.get("/vehicles/l1/"))


def test_it_opens_again_when_its_facts_change_or_an_officer_says_so(planted, officer):
    finding = next(one.finding for one in officer.get("/vehicles/l1/findings/").context["shown"] if one.finding.record == "P1")
    address = f"/vehicles/l1/findings/{finding.fingerprint}/"
    officer.post(address, {"reason": "seen", "verb": "explain"})
    officer.post("/change/parts/p1/", {"name": "chimney, first"})  # no fact of the finding
    assert len(officer.get("/vehicles/l1/findings/").context["explained"]) == 1
    officer.post(address, {"reason": "it was not", "verb": "open"})
    assert len(officer.get("/vehicles/l1/findings/").context["explained"]) == 0
    officer.post(address, {"reason": "seen after all", "verb": "explain"})
    officer.post("/new/assessments/", {"part_id": "P1", "assessed_on": "2024-05-01", "status": "original", "state": "accepted"})
    page = officer.get("/vehicles/l1/findings/")
    assert len(page.context["explained"]) == 0 and "unsupported" in {one.finding.code for one in page.context["shown"]}
    stale = officer.post(address, {"reason": "late", "verb": "explain"}, follow=True)
    assert "no longer there as it was" in said(stale)
    assert FindingNote.objects.count() == 3


@pytest.mark.parametrize("reason", ["", "   ", "x" * 10_000, "\0"])
def test_a_reason_is_needed_and_need_not_be_a_book(reason, planted, officer):
    finding = officer.get("/vehicles/l1/findings/").context["shown"][0].finding
    answer = officer.post(f"/vehicles/l1/findings/{finding.fingerprint}/", {"reason": reason, "verb": "explain"})
    assert answer.status_code == 422 and "<title>Error:" in said(answer) and not FindingNote.objects.exists()


def test_what_was_said_is_never_changed_or_deleted(planted, officer):
    finding = officer.get("/vehicles/l1/findings/").context["shown"][0].finding
    officer.post(f"/vehicles/l1/findings/{finding.fingerprint}/", {"reason": "seen", "verb": "explain"})
    for change in (lambda: FindingNote.objects.update(reason="other"), lambda: FindingNote.objects.all().delete()):
        with pytest.raises(DatabaseError), transaction.atomic():
            change()
    assert FindingNote.objects.get().reason == "seen"


def test_who_may_not_read_a_restricted_part_reads_no_finding_of_it(planted, sign_in):
    page = said(sign_in("recorder").get("/vehicles/l1/findings/"))
    assert "CANARY" not in page and "P8" not in page and "1 more concerns restricted parts" in page
    assert "/explain" not in page and "Explain" not in page
    assert "CANARY-PART" in said(sign_in("officer").get("/vehicles/l1/findings/"))


def test_findings_are_no_errors_but_an_unknown_vehicle_is(planted, capsys):
    call_command("check_register")
    assert "findings." in capsys.readouterr().out
    with pytest.raises(SystemExit) as left:
        call_command("check_register", "NOBODY")
    assert left.value.code == 1 and "no vehicle NOBODY" in capsys.readouterr().err


def test_the_number_of_queries_does_not_grow(tmp_path, officer):
    from benchmarks.generate import register as generated
    from builders import empty_the_register

    counts = []
    for positions in (100, 1000):
        empty_the_register()
        import_register(write_folder(tmp_path / str(positions), generated(positions)))
        for address in ("/vehicles/v0/findings/", "/vehicles/v0/"):
            officer.get(address)
            with CaptureQueriesContext(connection) as queries:
                assert officer.get(address).status_code == 200
            counts.append(len(queries))
    assert counts[:2] == counts[2:] and counts[0] <= 12, counts
