"""Who reads what of a period report: the magazine's edition leaks nothing, and a role reads what it may."""

from __future__ import annotations

from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

import pytest
from builders import change, changes_of, planted, tiny
from django.core.management import call_command
from picture_files import with_exif
from pypdf import PdfReader

from register.documents.period_content import MAGAZINE, TRUSTEES, texts_of
from register.documents.period_paper import render
from register.exchange.records import Change
from register.models import ChangeSet, Event, ReviewEntry, Treatment, Vehicle
from register.services import proposals
from register.services.issuing import Asked as Issuing
from register.services.issuing import issue_statement, withdraw_statement
from register.services.period_pictures import may_be_printed
from register.services.photographs import keep_original
from register.services.proposal_decision import decline, submit
from register.services.proposal_fields import QUESTIONS
from register.services.publishing import publish
from register.services.sight import Sight, sight_of
from tests.services.issued import accept_all
from tests.services.periods import lines, of, on, report

pytestmark = pytest.mark.django_db


def text_of(data: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(data)).pages).split())


def kept(folder: Path, **exif: object) -> str:
    path = folder / f"{len(list(folder.iterdir()))}.jpg"
    path.write_bytes(with_exif(taken="2026:02:03 10:00:00", gps=True, filler=len(list(folder.iterdir())) * 60 + 60))
    return keep_original(path)


@pytest.fixture
def secrets(db, tmp_path, django_user_model):
    """A published engine with CANARY in all that the public may not see, before the period and in it."""
    on("2025-06-01", *changes_of(planted()))
    hashes = [kept(tmp_path) for _ in range(5)]
    on("2026-02-03", *changes_of({
        "people": [{"person_id": "NN", "name": "CANARY-FITTER"}],
        "parts": [{"part_id": "P20", "name": "new lamp", "remarks": "CANARY-REMARK", "owner": "CANARY-OWNER-2"}, {"part_id": "P21", "name": "CANARY-SECRET-GAUGE", "access": "restricted", "mass": "9 kg"}],
        "assessments": [{"part_id": "P20", "assessed_on": "2026-02-02", "status": "replica", "assessor": "NN", "reason": "CANARY-WHY-REPLICA"},
                        {"part_id": "P1", "assessed_on": "2026-02-02", "status": "restored", "fraction": "0.9", "reason": "CANARY-WHY-RESTORED", "assessor": "OK"}],
        "treatments": [{"part_id": "P1", "date": "2026-02-01", "work": "patched", "replaced": "0.1", "done_by": "NN"}, {"part_id": "P5", "date": "2026-02-01", "work": "CANARY-WORK"},
                       {"part_id": "P1", "date": "1931", "work": "riveted", "done_by": "NN"}],
        "movements": [{"part_id": "P1", "moved_on": "2026-02-02", "place_id": "ST", "reason": "CANARY-MOVED"}, {"part_id": "P2", "moved_on": "2026-02-02", "with_part": "P5", "reason": "CANARY-WITH"}],
        "events": [{"vehicle_id": "L1", "date": "2026-02-02", "kind": "other", "title": "CANARY-CLOSED-EVENT", "access": "restricted"},
                   {"vehicle_id": "L1", "date": "2026-02-02", "kind": "examination", "title": "Examined", "reference": "CANARY-PAPER", "holder": "NN", "source_id": "S2"},
                   {"vehicle_id": "L2", "date": "2026-02-02", "kind": "other", "title": "CANARY-OTHER-EVENT-2"}],
        "photographs": [{"file": "a.jpg", "sha256": hashes[0], "vehicle_id": "L1", "caption": "CANARY-CLOSED-PICTURE", "licence": "CC0", "access": "restricted", "taken": "2026-02-03"},
                        {"file": "b.jpg", "sha256": hashes[1], "part_id": "P5", "caption": "CANARY-PICTURE-OF-SECRET", "licence": "CC0", "taken": "2026-02-03"},
                        {"file": "c.jpg", "sha256": hashes[2], "part_id": "P1", "caption": "CANARY-NOT-TO-PRINT", "licence": "CC BY-NC 4.0", "taken": "2026-02-03"},
                        {"file": "d.jpg", "sha256": hashes[3], "vehicle_id": "L2", "caption": "CANARY-PICTURE-OF-OTHER", "licence": "CC0", "taken": "2026-02-03"},
                        {"file": "e.jpg", "sha256": hashes[4], "part_id": "P1", "caption": "The chimney, patched", "credit": "A. Bell", "licence": "CC BY 4.0", "taken": "2026-02-03"}],
    }))  # fmt: skip
    on("2026-02-04", change("installations", position_id="Q4", part_id="P5", fitted="1990", removed="2026-02-03", reason="CANARY-OUT"),
       change("installations", position_id="Q4", part_id="P21", fitted="2026-02-03", reason="CANARY-IN"),
       change("installations", position_id="Q2", part_id="P2", fitted="1894", removed="2026-02-03", reason="CANARY-OUT-2"),
       change("installations", position_id="G9", part_id="P2", fitted="2026-02-03"),
       change("installations", position_id="Q2", part_id="P20", fitted="2026-02-03", reason="CANARY-IN-2"))  # fmt: skip
    on("2026-03-01", change("parts", part_id="P30", name="CANARY-STRUCK"), change("treatments", part_id="P1", date="2026-02-28", work="CANARY-STRUCK-WORK"))
    struck = Treatment.objects.get(work="CANARY-STRUCK-WORK").key
    on("2026-07-02", Change("parts", {}, row_id="p30", action="strike"), Change("treatments", {}, row_id=struck, action="strike"))
    user = django_user_model.objects.create_user("canary", last_name="CANARY-USER")
    find = ChangeSet.objects.create(title="CANARY-FIND", changes=[], kind="find", state="accepted", author=user, about=";parts:p1;")
    ReviewEntry.objects.create(change_set=find, at=datetime(2026, 2, 5, 12, tzinfo=UTC), user=user, verb="accepted", text="CANARY-REVIEWED")
    made = proposals.begin(vehicle_id="L1", title="CANARY-PROPOSAL", user=user, at=datetime(2026, 2, 6, 12, tzinfo=UTC))
    proposals.write(made, {name: one.options[0] if one.options else f"CANARY {name}" for name, one in QUESTIONS.items()}, user=user, revision=made.revision)
    for one in made.alternatives.all():
        proposals.put_alternative(made, one.letter, {"kind": one.kind, "title": one.title, "why_not": "CANARY-NOT", "undo": "fully", "recommended": "yes" if one.letter == "A" else ""}, user=user, revision=made.revision)
    submit(made, user=user, at=datetime(2026, 2, 7, 12, tzinfo=UTC))
    decline(made, user=user, words="CANARY-DECLINED", details={"body": "CANARY-BODY", "dissent": "CANARY-DISSENT"}, at=datetime(2026, 2, 8, 12, tzinfo=UTC))


def test_the_magazines_edition_holds_nothing_that_is_not_public(secrets):
    told = report(edition=MAGAZINE)
    data = render(told)
    assert "CANARY" not in text_of(data) and b"CANARY" not in data and b"Exif" not in data and b"GPS" not in data
    assert not [where for where, words in texts_of(told) if "CANARY" in words]
    assert not any("CANARY" in words for words in told.beside)
    assert [one.name for one in told.vehicles] == ["Larkspur"] and told.quiet == ()
    engine = told.vehicles[0]
    assert set(engine.counts) == {"fitted", "removed", "treated", "found", "events"}
    assert lines(engine, "fitted")[0][1] == "new lamp" and lines(engine, "events") == [("2 February 2026", "Examined", ("examination",), ())]
    assert [(one.caption, one.credit, one.licence) for one in engine.photographs] == [("The chimney, patched", "A. Bell", "CC BY 4.0")]
    assert "1\u00a0photograph left out" in told.beside[0]


def test_all_of_it_is_in_the_edition_for_trustees_of_whoever_may_read_everything(secrets):
    """So that the test above cannot pass because nothing is told at all."""
    text = text_of(render(report()))
    for marker in ("CANARY-WHY-RESTORED", "CANARY-STRUCK-WORK", "CANARY-FITTER", "CANARY-WORK", "CANARY-STORE", "CANARY-OUT", "CANARY-CLOSED-EVENT", "CANARY-PAPER", "CANARY-OTHER-EVENT-2",
                   "CANARY-PICTURE-OF-SECRET", "CANARY-NOT-TO-PRINT", "CANARY-FIND", "CANARY-REVIEWED", "CANARY-PROPOSAL", "CANARY-DECLINED", "CANARY-BODY", "CANARY-DISSENT",
                   "CANARY-USER", "CANARY-SECRET-GAUGE", "CANARY-VEHICLE", "CANARY-CLOSED-PICTURE"):  # fmt: skip
        assert marker in text, marker


def test_where_something_closed_is_in_the_change_the_magazine_gives_the_last_day_alone(secrets):
    """What is worked out of a closed part is closed with it: a change of the whole would tell of it."""
    told = report(edition=MAGAZINE).vehicles[0].figures
    assert {row.day for row in told.rows} == {"30 June 2026"} and told.split == () and told.parts == ()
    assert not any("went from" in words or "evens out" in words for words in told.sentences)


def test_where_nothing_closed_is_in_it_the_magazine_tells_the_change():
    """30 points of work and 40 of knowledge, worked out by hand in tests/services/test_period.py."""
    rows = tiny(assessments=[{"part_id": "P2", "assessed_on": "2020-05-01", "status": "original"}])
    rows["vehicles"][0]["published"] = "yes"
    on("2025-06-01", *changes_of(rows))
    on("2026-03-02", change("treatments", part_id="P1", date="1 March 2026", work="new top", replaced="0.5"))
    on("2026-05-01", change("assessments", part_id="P2", assessed_on="2021-05-01", status="replica"))
    told = report(edition=MAGAZINE).vehicles[0]
    assert [(row.basis, row.work, row.knowledge) for row in told.figures.split] == [("mass", "−30.0", "−40.0")]
    assert told.figures.sentences[0] == "By weight, 30 parts in every hundred are original, measured against as built (1894)."
    assert lines(told, "found") == [("", "dome", ("was held to be original, is held to be a replica; assessed on 1 May 2021",), ())]
    assert told.lead == ()


@pytest.mark.parametrize("closing", ["part", "vehicle"])
def test_what_was_not_public_before_the_period_is_not_told_of_that_time(closing):
    """Neither what a part was held to be while it was closed, nor the figure of a vehicle that nobody could read of."""
    rows = tiny(assessments=[{"part_id": "P2", "assessed_on": "2020-05-01", "status": "original"}])
    rows["vehicles"][0]["published"] = "no" if closing == "vehicle" else "yes"
    rows["parts"][1]["access"] = "restricted" if closing == "part" else "public"
    on("2025-06-01", *changes_of(rows))
    on("2026-02-01", change("vehicles", vehicle_id="L1", published="yes"), change("parts", part_id="P2", name="dome", access="public"))
    on("2026-05-01", change("assessments", part_id="P2", assessed_on="2021-05-01", status="replica"))
    told = report(edition=MAGAZINE).vehicles[0]
    assert {row.day for row in told.figures.rows} == {"30 June 2026"}
    assert lines(told, "found") == [("", "dome", ("is held to be a replica; assessed on 1 May 2021",), ())]


def test_what_was_closed_or_struck_out_after_the_period_is_not_in_the_magazine():
    rows = tiny()
    rows["vehicles"][0]["published"] = "yes"
    on("2025-06-01", *changes_of(rows))
    on("2026-02-01", change("treatments", part_id="P1", date="1 February 2026", work="CANARY patched"), change("events", vehicle_id="L1", date="2 February 2026", kind="livery", title="CANARY green"),
       change("treatments", part_id="P2", date="1 February 2026", work="polished"))  # fmt: skip
    on("2026-09-01", change("parts", part_id="P1", name="CANARY chimney", access="restricted"))
    on("2026-09-02", Change("events", {}, row_id=Event.objects.get().key, action="strike"), reason="CANARY")
    told = report(edition=MAGAZINE)
    assert "CANARY" not in repr(told) and told.vehicles[0].counts == {"treated": 1}
    recorder = report(sight=Sight())
    assert "CANARY patched" not in repr(recorder) and "CANARY green" in repr(recorder)  # closed to recorders; struck out after it was told


def test_a_vehicle_whose_statement_was_taken_back_is_not_in_the_magazine():
    on("2025-06-01", *changes_of(tiny()))
    asked = Issuing("L1", datetime(2026, 2, 1).date())
    stated = issue_statement(Issuing("L1", asked.day, reasons=accept_all(asked), why="x"), at=datetime(2030, 1, 2, 12, tzinfo=UTC))
    publish(stated.number, user=None, at=datetime(2030, 1, 3, tzinfo=UTC))
    assert Vehicle.objects.get(key="l1").published
    assert report(edition=MAGAZINE).quiet == ("Larkspur",)
    withdraw_statement(stated.number, user=None, reason="wrong", at=datetime(2030, 1, 4, tzinfo=UTC))
    told = report(edition=MAGAZINE)
    assert told.quiet == () and told.vehicles == ()


def test_a_vehicle_that_is_not_published_and_was_asked_for_is_named_to_the_asker_alone(secrets):
    told = report(edition=MAGAZINE, vehicles=("L2",))
    assert told.vehicles == () and "Not published" in told.beside[-1] and "CANARY" not in text_of(render(told))


# --- roles --------------------------------------------------------------------------------------------------------------


@pytest.fixture
def reader(django_user_model):
    from django.contrib.auth.models import Group

    def signed(role):
        user = django_user_model.objects.create_user(f"a-{role}", last_name=role)
        user.groups.add(Group.objects.get_or_create(name=role)[0])
        return sight_of(user)

    return signed


def test_a_recorder_reads_of_nothing_restricted_and_no_name(secrets, reader):
    text = text_of(render(report(sight=reader("recorder"))))
    for marker in ("CANARY-WORK", "CANARY-SECRET-GAUGE", "CANARY-OUT reason", "CANARY-CLOSED-EVENT", "CANARY-PAPER", "CANARY-FITTER", "CANARY-USER", "CANARY-PICTURE-OF-SECRET", "CANARY-CLOSED-PICTURE",
                   "CANARY-PROPOSAL", "CANARY-FIND", "CANARY-HIDDEN-PART"):  # fmt: skip
        assert marker not in text, marker
    assert "new lamp" in text and "CANARY-STORE" in text  # as the pages of places have it


def test_an_engineer_reads_cases_and_what_is_restricted_and_no_name(secrets, reader):
    text = text_of(render(report(sight=reader("engineer"))))
    assert "CANARY-PROPOSAL" in text and "CANARY-SECRET-GAUGE" in text and "CANARY-BODY" in text
    assert "CANARY-FITTER" not in text and "CANARY-USER" not in text and "CANARY-FIND" not in text


def test_an_officer_reads_who_decided(secrets, reader):
    told = report(sight=reader("officer"))
    decided = lines(of(told, "Larkspur"), "decided")
    assert decided == [("8 February 2026", "CANARY-PROPOSAL", ("declined", "reason: CANARY-DECLINED", "decided by CANARY-BODY, CANARY-USER (its author)", "dissent: CANARY-DISSENT"), ())]
    assert ("5 February 2026", "CANARY-FIND", ("a find, accepted", "handed in by CANARY-USER", "accepted by CANARY-USER", "CANARY-REVIEWED"), ()) in lines(of(told, "Larkspur"), "found")


# --- statements, pictures, the command -----------------------------------------------------------------------------------


def test_statements_of_the_period_are_told_with_their_day_and_what_they_supersede():
    on("2025-06-01", *changes_of(tiny()))
    for number, day in enumerate(((2026, 2, 1), (2026, 3, 1)), 1):
        asked = Issuing("L1", datetime(*day).date())
        issue_statement(Issuing("L1", asked.day, reasons=accept_all(asked), why="weighed"), at=datetime(*day, 12 + number, tzinfo=UTC))
    told = lines(of(report(), "Larkspur"), "statements")
    assert told[1] == ("1 March 2026", "Statement CS-0002", ("issued", "as at 1 March 2026, against as built", "supersedes CS-0001", "weighed"), ())
    assert len(told) == 2 and "statements" not in (report("2026-04-01", "2026-06-30").totals.keys() - {kind for kind, number in report("2026-04-01", "2026-06-30").totals.items() if not number})


@pytest.mark.parametrize("licence", ["CC0-1.0", "CC0", "CC BY 4.0", "cc-by-sa-4.0", "Creative Commons Attribution 4.0", "Public domain", "OGL v3", "Open Government Licence", "A. Bell: may be printed"])
def test_a_licence_that_lets_anybody_print_it_is_known(licence):
    assert may_be_printed(licence)


@pytest.mark.parametrize("licence", ["", "CC BY-NC 4.0", "CC-BY-ND-4.0", "cc by-nc-sa", "All rights reserved", "© A. Bell", "Creative Commons Attribution-NonCommercial", "CC", "may not be printed", "lent by the museum", "CC BY-NoDerivatives"])
def test_any_other_licence_keeps_a_picture_out_of_the_magazine(licence):
    assert not may_be_printed(licence)


def test_the_command_writes_both_editions_and_says_what_is_wrong(secrets, tmp_path, capsys):
    for options in ((), ("--public",), ("--vehicle", "L1", "--entered-until", "2026-07-01")):
        path = tmp_path / f"{len(options)}.pdf"
        call_command("period_report", "2026-01-01", "2026-06-30", "--output", str(path), *options)
        assert ("CANARY" in text_of(path.read_bytes())) is ("--public" not in options)
    assert "1\u00a0photograph left out" in capsys.readouterr().out
    for wrong, said in ((("2026-06-30", "2026-01-01"), "give the earlier day first"), (("soon", "2026-01-01"), "cannot be read as a date"), (("1900-01-01", "2026-01-01"), "longer than 25 years"),
                        (("2026-01-01", "2026-01-02", "--vehicle", "L9"), "There is no vehicle L9")):  # fmt: skip
        capsys.readouterr()
        with pytest.raises(SystemExit) as left:
            call_command("period_report", *wrong[:2], "--output", str(tmp_path / "no.pdf"), *wrong[2:])
        assert left.value.code == 1 and said in capsys.readouterr().err and not (tmp_path / "no.pdf").exists()


def test_the_same_content_gives_the_same_bytes(secrets):
    for edition in (TRUSTEES, MAGAZINE):
        assert render(report(edition=edition)) == render(report(edition=edition))
