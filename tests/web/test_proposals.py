"""The pages of proposals, from a draft to the changed figure, as each role may."""

from __future__ import annotations

import re

import pytest
from builders import changes_of, tiny
from django.utils import timezone

from register.models import Installation, Part, Proposal
from register.services.change_sets import apply
from register.services.proposal_fields import QUESTIONS, SECTIONS

pytestmark = pytest.mark.django_db
HOSTILE = "<script>alert(1)</script> <M12> Łódź"


@pytest.fixture
def engine():
    rows = tiny(
        places=[{"place_id": "STORE", "name": "store"}],
        assessments=[{"part_id": "P2", "assessed_on": "2020-05-01", "status": "original"}],
    )
    rows["vehicles"][0]["published"] = "yes"
    apply(changes_of(rows), kind="test")


def text_of(answer):
    return " ".join(answer.content.decode().split())


def revision_of(client, address):
    return re.search(r'name="revision" value="(\d+)"', client.get(address).content.decode()).group(1)


def write_it(client, number):
    for section in SECTIONS:
        address = f"/proposals/{number}/write/{section.key}/"
        data = {one.name: one.options[0] if one.options else f"{one.name}: {HOSTILE}" for one in section.questions}
        answer = client.post(address, data | {"revision": revision_of(client, address)})
        assert answer.status_code == 302, text_of(answer)
    for letter in "AB":
        address = f"/proposals/{number}/alternatives/{letter}/"
        kind = "do nothing" if letter == "A" else "new, like for like"
        assert client.post(address, {"revision": revision_of(client, address), "kind": kind, "title": kind, "why_not": "not enough"}).status_code == 302
    address = f"/proposals/{number}/alternatives/new/"
    data = {"revision": revision_of(client, address), "kind": "new and modern, in view", "title": "Steel", "recommended": "yes", "undo": "fully", "marked": "etched"}
    answer = client.post(address, data)
    assert answer.url.endswith("/alternatives/C/")
    for step in ({"do": "take out", "part_id": "P1", "place_id": "STORE"}, {"do": "fit", "position_id": "Q1", "part_id": "P9", "name": "steel chimney", "mass": "55 kg", "status": "modern substitute", "date_mark": "M 2026"}):
        answer = client.post(answer.url if answer.status_code == 302 else f"/proposals/{number}/alternatives/C/", step | {"do_what": "add step", "revision": revision_of(client, f"/proposals/{number}/alternatives/C/")})
        assert answer.status_code == 302, text_of(answer)


def test_from_a_draft_through_a_return_and_an_approval_to_the_changed_figure(engine, sign_in):
    engineer = sign_in("engineer")
    answer = engineer.post("/proposals/new/", {"vehicle_id": "L1", "title": f"Chimney {HOSTILE}", "token": "a"})
    assert answer.url == "/proposals/1/write/need/"
    again = engineer.post("/proposals/new/", {"vehicle_id": "L1", "title": f"Chimney {HOSTILE}", "token": "a"})
    assert again.url == answer.url and Proposal.objects.count() == 1
    write_it(engineer, 1)
    page = text_of(engineer.get("/proposals/1/"))
    assert "<script>alert" not in page and "Original metal leaving" in page and "60 kg" in page
    assert engineer.post("/proposals/1/decide/submit/", {"token": "b"}).status_code == 302
    assert engineer.get("/proposals/1/decide/approve/").status_code == 403
    officer = sign_in("officer")
    assert officer.post("/proposals/1/decide/return/", {"words": ""}).status_code == 422
    assert officer.post("/proposals/1/decide/return/", {"words": "Why not cast iron?"}).status_code == 302
    engineer = sign_in("engineer")
    assert "Why not cast iron?" in text_of(engineer.get("/proposals/1/"))
    address = "/proposals/1/write/papers/"
    engineer.post(address, {"precedent": "cast iron cracked twice", "papers": "", "signoff_role": "none needed", "signoff": "", "revision": revision_of(engineer, address)})
    assert engineer.post("/proposals/1/decide/submit/").status_code == 302
    officer = sign_in("officer")
    refused = officer.post("/proposals/1/decide/approve/", {"words": "", "token": "c"})
    assert refused.status_code == 422 and "Not answered yet" in text_of(refused)
    number_of_checks = officer.get("/proposals/1/answers/").content.decode().count("<textarea")
    officer.post("/proposals/1/answers/", {f"check-{one}": "It is kept and can go back." for one in range(1, number_of_checks + 1)})
    officer.get("/proposals/1/")  # reads what was said of the last step, so that it is not said on the next page
    before = text_of(officer.get("/vehicles/l1/"))
    assert officer.post("/proposals/1/decide/approve/", {"words": "Keep it dry.", "body": "Committee", "minute": "7", "record_due": "1 March 2027", "token": "c"}).status_code == 302
    officer.get("/proposals/1/")
    assert text_of(officer.get("/vehicles/l1/")).split("<main")[1] == before.split("<main")[1]
    assert not Part.objects.filter(key="p9").exists()
    engineer = sign_in("engineer")
    form = {"token": "d", "s1-what": "done", "s1-on": timezone.localdate().isoformat(), "s1-part_id": "P1", "s1-place_id": "STORE",
            "s2-what": "done", "s2-on": "1900-02-30", "s2-position_id": "Q1", "s2-part_id": "P9", "s2-name": "steel chimney", "s2-mass": "56 kg", "s2-status": "modern substitute", "s2-date_mark": "M 2026"}
    wrong = engineer.post("/proposals/1/done/", form)
    assert wrong.status_code == 422 and not Part.objects.filter(key="p9").exists() and 'value="1900-02-30"' in text_of(wrong)
    form["s2-on"] = timezone.localdate().isoformat()
    assert engineer.post("/proposals/1/done/", form).status_code == 302
    again = engineer.post("/proposals/1/done/", form)  # the second tap leads where the first did, and records nothing
    assert again.status_code == 302 and again.url == "/proposals/1/"
    assert Installation.objects.filter(part="p9").count() == 1 == Proposal.objects.get().acts.filter(kind="done").count()
    assert Part.objects.get(key="p9").mass == 56_000
    assert text_of(engineer.get("/vehicles/l1/")) != before
    page = text_of(engineer.get("/vehicles/l1/modern-parts/"))
    assert "P-001" in page and "steel chimney" in page
    assert engineer.get("/vehicles/l1/modern-parts.pdf").content.startswith(b"%PDF")
    assert engineer.get("/proposals/1/justification.pdf").content.startswith(b"%PDF")
    done = text_of(engineer.get("/proposals/1/"))
    assert "kept as it was" in done and "mass 56 kg instead of 55 kg" in done
    public = text_of(sign_in(None).get("/id/vehicles/l1/"))
    assert "public: &lt;script&gt;" in public  # what the visitor is told of it, and every export and statement too
    assert "minute" not in public and "Committee" not in public


def test_an_open_proposal_is_nowhere_in_public(engine, sign_in):
    engineer = sign_in("engineer")
    engineer.post("/proposals/new/", {"vehicle_id": "L1", "title": "PROPOSAL-CANARY"})
    write_it(engineer, 1)
    assert "CANARY" not in text_of(sign_in(None).get("/id/vehicles/l1/"))
    for role in (None, "recorder"):
        assert sign_in(role).get("/proposals/1/").status_code in (302, 403)


def test_an_old_tab_keeps_what_was_typed(engine, sign_in):
    engineer = sign_in("engineer")
    engineer.post("/proposals/new/", {"vehicle_id": "L1", "title": "Chimney"})
    address = "/proposals/1/write/need/"
    old = revision_of(engineer, address)
    engineer.post(address, {"fails": "first", "revision": old})
    answer = engineer.post(address, {"fails": "second thoughts", "revision": old})
    assert answer.status_code == 409 and "second thoughts" in text_of(answer) and "first" in text_of(answer)
    assert Proposal.objects.get().answers["fails"] == "first"
    assert engineer.post(address, {"fails": "second thoughts", "revision": revision_of(engineer, address)}).status_code == 302


def test_odd_numbers_and_letters_are_answered_in_words(engine, sign_in):
    engineer = sign_in("engineer")
    engineer.post("/proposals/new/", {"vehicle_id": "L1", "title": "Chimney\x00"})
    assert Proposal.objects.get().title == "Chimney\ufffd"
    for revision in ("²", "9" * 5000, "-1", "x"):
        assert engineer.post("/proposals/1/write/need/", {"fails": "x", "revision": revision}).status_code == 409
    address = "/proposals/1/alternatives/A/"
    assert engineer.post(address, {"do_what": "drop ²", "revision": revision_of(engineer, address)}).status_code == 302
    answer = engineer.post("/proposals/1/decide/withdraw/", {"words": "no\x00", "token": "\x00"})
    assert answer.status_code == 302 and Proposal.objects.get().state == "withdrawn"


def test_a_page_gone_back_to_and_sent_with_other_text_is_another_form(engine, sign_in):
    """The same form twice is one record; the token of one page never swallows what another says."""
    officer = sign_in("officer")
    for code, token in (("TOKA", "same"), ("TOKB", "same"), ("TOKA", "same")):
        assert officer.post("/new/places/", {"place_id": code, "name": code, "token": token}).status_code == 302
    assert officer.get("/places/toka/").status_code == officer.get("/places/tokb/").status_code == 200


@pytest.mark.parametrize(
    "data",
    [{}, {"vehicle_id": "NOBODY", "title": "x"}, {"vehicle_id": "L1", "title": " "}, {"vehicle_id": "L1\x00", "title": "x" * 10_000}],
)
def test_what_cannot_be_begun_says_why(engine, sign_in, data):
    answer = sign_in("engineer").post("/proposals/new/", data)
    assert answer.status_code == 422 and "Error:" in text_of(answer) and not Proposal.objects.exists()


@pytest.mark.parametrize(
    "address",
    ["/proposals/999999999999999999999/", "/proposals/1/write/nothing/", "/proposals/1/alternatives/Z/", "/proposals/1/decide/burn/", "/proposals/1/done/", "/vehicles/nobody/policy/", "/vehicles/nobody/modern-parts/"],
)
def test_what_is_not_there_is_not_found(engine, sign_in, address):
    officer = sign_in("officer")
    officer.post("/proposals/new/", {"vehicle_id": "L1", "title": "Chimney"})
    assert officer.get(address).status_code == 404


def test_the_number_of_queries_does_not_grow_with_the_vehicle(engine, sign_in, django_assert_max_num_queries):
    engineer = sign_in("engineer")
    engineer.post("/proposals/new/", {"vehicle_id": "L1", "title": "Chimney"})
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    def count():
        with CaptureQueriesContext(connection) as found:
            assert engineer.get("/proposals/1/").status_code == 200
        return len(found)

    few = count()
    rows = {"positions": [{"position_id": f"X{n}", "vehicle_id": "L1", "name": f"place {n}", "visibility": "hidden"} for n in range(150)],
            "parts": [{"part_id": f"XP{n}", "name": f"part {n}", "mass": "1 kg"} for n in range(150)],
            "installations": [{"position_id": f"X{n}", "part_id": f"XP{n}", "fitted": "as built"} for n in range(150)]}
    apply(changes_of(rows), kind="more")
    assert count() == few


def test_the_blank_sheet_asks_every_question(engine, sign_in):
    from io import BytesIO

    from pypdf import PdfReader

    answer = sign_in("engineer").get("/proposals/blank.pdf")
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(answer.content)).pages).split())
    assert all(one.label in text for one in QUESTIONS.values())


def test_a_policy_is_laid_down_by_the_officer_and_read_by_the_engineer(engine, sign_in):
    assert sign_in("engineer").post("/vehicles/l1/policy/", {"loss_limit": "5"}).status_code == 403
    officer = sign_in("officer")
    wrong = officer.post("/vehicles/l1/policy/", {"loss_limit": "500", "never_lost": "Q1; XX"})
    assert wrong.status_code == 422 and "XX" in text_of(wrong)
    assert officer.post("/vehicles/l1/policy/", {"loss_limit": "5", "never_lost": "Q1", "second_person": "yes"}).status_code == 302
    page = text_of(sign_in("engineer").get("/vehicles/l1/policy/"))
    assert "Q1" in page and "<form" not in page.split("<main")[1].split("</main")[0]


def test_two_officers_with_the_same_policy_page_lose_nothing_that_either_typed(engine, sign_in):
    officer = sign_in("officer")
    after = re.search(r'name="after" value="(\d+)"', officer.get("/vehicles/l1/policy/").content.decode()).group(1)
    assert officer.post("/vehicles/l1/policy/", {"marking": "a brass tag", "after": after}).status_code == 302
    answer = officer.post("/vehicles/l1/policy/", {"marking": "an etched year", "after": after})
    text = text_of(answer)
    assert answer.status_code == 422 and "changed it while you wrote" in text and "a brass tag" in text and "an etched year" in text
    again = re.search(r'name="after" value="(\d+)"', answer.content.decode()).group(1)
    assert officer.post("/vehicles/l1/policy/", {"marking": "an etched year", "after": again}).status_code == 302
    page = text_of(officer.get("/vehicles/l1/policy/"))
    assert "Marking of new parts: “a brass tag” became “an etched year”" in page and "by A officer" in page
    assert "by a colleague" in text_of(sign_in("engineer").get("/vehicles/l1/policy/"))


def test_what_a_vehicle_is_worth_is_written_by_the_officer_and_read_by_everybody(engine, sign_in):
    officer = sign_in("officer")
    page = text_of(officer.get("/vehicles/l1/significance/"))
    assert "The whole vehicle" in page and "Not recorded." in page and "chimney" in page
    form = text_of(officer.get("/vehicles/l1/significance/write/?of=Q1"))
    assert "Evidential" in form and "How rare" not in form
    assert officer.post("/vehicles/l1/significance/write/?of=Q1", {"evidential": "riveted <by hand>"}).status_code == 302
    assert officer.post("/vehicles/l1/significance/write/", {"rarity": "x" * 20_001}).status_code == 422
    assert officer.get("/vehicles/l1/significance/write/?of=G1").status_code == 404
    reader = sign_in("recorder")
    page = text_of(reader.get("/vehicles/l1/significance/"))
    assert "riveted &lt;by hand&gt;" in page and "Change it" not in page
    assert reader.get("/vehicles/l1/significance/write/").status_code == 403
    assert "Significance" in text_of(reader.get("/vehicles/l1/"))
