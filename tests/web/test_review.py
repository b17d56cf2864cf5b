"""History and taking back, one source for many parts, differing opinions, what an examination opened."""

from __future__ import annotations

import pytest
from builders import change, changes_of, tiny
from django.db import connection
from django.test.utils import CaptureQueriesContext

from register.documents.effect_view import effect_view
from register.documents.figure_view import figure_view
from register.models import Act, Assessment, ChangeSet, Citation, Event, Installation, Part, Treatment
from register.services.change_sets import apply
from register.services.statements import statement_content
from register.services.vehicle_page import Question, account_of
from register.services.waiting import submit
from tests.web.test_recording import begin, hand_in, hidden, say, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def small():
    act, _ = apply(changes_of(tiny()), kind="import", whole=True)
    return act


def view_of(vehicle, basis, day):
    account = account_of(vehicle, Question(day))
    return figure_view(account.figures[basis], account.inputs)


# --- before and after ----------------------------------------------------------------------------------------------------


def test_the_figures_that_review_prints_are_those_that_the_vehicle_s_page_prints_afterwards(small, sign_in):
    """To the printed digit: each text of the After column is in the account once it is accepted."""
    from datetime import date

    officer = sign_in("officer")
    stored = submit([change("assessments", part_id="P2", assessed_on="2026-11-20", status="restored", fraction_low="0.5", fraction_high="0.75")], author=None, kind="find", title="t")
    page = text_of(officer.get(f"/review/{stored.pk}/"))
    before = {basis: view_of("L1", basis, date.today()) for basis in ("mass", "count")}
    officer.post(f"/review/{stored.pk}/", {"decision": "accept"})
    for basis, was in before.items():
        for row in effect_view(basis, was, view_of("L1", basis, date.today())).rows:
            assert row.change in page, row
            if not row.after_bounds or basis != "mass":
                assert row.before in page and row.after in page, row
        now = view_of("L1", basis, date.today())
        assert now.own.low_text in page and now.own.high_text in page and was.own.low_text in page


# --- history -------------------------------------------------------------------------------------------------------------


def test_an_opinion_that_is_let_stand_is_never_called_accepted_and_its_author_finds_it(small, sign_in):
    """What it was handed in with is decided, and says so in the words of what became of it."""
    recorder = sign_in("recorder")
    find = begin(recorder, "P1")
    say(recorder, find, "status", status="replica")
    hand_in(recorder, find)
    handed = ChangeSet.objects.get()
    officer = sign_in("officer")
    page = text_of(officer.post(f"/review/{handed.pk}/", {"decision": "let stand"}, follow=True))
    standing = ChangeSet.objects.get(state="standing")
    assert "It was let stand as a differing opinion by" in page and "accepted by" not in page
    assert "let stand" in text_of(officer.get("/review/?list=decided")) and f"/review/{handed.pk}/" in officer.get(f"/review/{standing.pk}/").content.decode()
    assert f"/review/{standing.pk}/" in officer.get(f"/review/{handed.pk}/").content.decode()
    recorder = sign_in("recorder")
    home = recorder.get("/record/").content.decode()
    assert f"/handed-in/{standing.pk}/" in home and f"/handed-in/{handed.pk}/" not in home
    part = text_of(recorder.get("/parts/p1/"))
    assert "Differing opinion" in part and "Withdraw it" in part and "Settle it" not in part
    assert "Withdraw it" not in text_of(sign_in("engineer").get("/parts/p1/"))
    recorder = sign_in("recorder")
    recorder.post(f"/handed-in/{standing.pk}/", {"decision": "withdraw"})
    assert "Differing opinion" not in text_of(recorder.get("/parts/p1/"))



def test_a_change_of_any_table_is_told_in_words_and_taken_back_with_a_reason(small, sign_in):
    officer = sign_in("officer")
    first = Installation.objects.get(part="p1")
    act, _ = apply([change("installations", row_id=first.code, removed="1950")], kind="change installation", reason="misread")
    page = text_of(officer.get(f"/history/installations/{first.key}/"))
    assert "misread" in page and "Removed: nothing became “1950”" in page and "misread" in text_of(officer.get("/parts/p1/"))
    address = f"/history/installations/{first.key}/{act.change_no}/take-back/"
    shown = officer.get(address)
    assert "What it does to the figures" in text_of(shown) and "1950" in text_of(shown)
    assert officer.post(address, {"reason": " "}).status_code == 422 and Installation.objects.get(part="p1").removed == "1950"
    token = hidden(shown, "token")
    for _ in range(2):
        assert officer.post(address, {"reason": "the ledger says otherwise", "token": token}).status_code == 302
    assert Installation.objects.get(part="p1").removed == "" and Act.objects.filter(kind__startswith="take back").count() == 1


@pytest.mark.parametrize(("rows", "after"), [
    ([change("parts", part_id="P1", mass="70-80 kg")], lambda: Part.objects.get(key="p1").mass == 60_000 and Part.objects.get(key="p1").mass_low is None),
    ([change("parts", part_id="P1", material="iron", marks="88")], lambda: Part.objects.get(key="p1").marks == ""),
    ([change("treatments", part_id="P1", date="1950", work="patched")], lambda: not Treatment.objects.exists()),
    ([change("parts", part_id="P9", name="new")], lambda: not Part.objects.filter(key="p9").exists()),
])  # fmt: skip
def test_taking_back_puts_a_record_as_it_was(rows, after, small, sign_in):
    from register.services.tables import MODELS

    act, result = apply(rows, kind="test")
    name = rows[0].table
    key = (result.created.get(name) or list(result.updated[name]))[0]
    assert not after()
    assert sign_in("officer").post(f"/history/{name}/{key}/{act.change_no}/take-back/", {"reason": "wrong"}).status_code == 302
    assert after() and MODELS[name].history.filter(key=key).count() >= 2


def test_what_was_struck_out_comes_back_as_a_new_row_where_it_has_no_id_of_its_own(small, sign_in):
    first = Installation.objects.get(part="p1")
    from register.models import User
    from register.services.records import strike_out

    officer = sign_in("officer")
    act = strike_out("installations", first.key, user=User.objects.get(), reason="a slip")
    strike_out("parts", "p3", user=User.objects.get(), reason="a slip")
    assert officer.post(f"/history/installations/{first.key}/{act.change_no}/take-back/", {"reason": "it was no slip"}).status_code == 302
    assert Installation.objects.get(part="p1").key != first.key
    gone = Act.objects.first().change_no - 1
    page = officer.get(f"/history/parts/p3/{gone}/take-back/")
    assert page.status_code == 422 and "an id is never used again" in text_of(page)


def test_a_change_that_others_rest_on_is_not_taken_back_and_says_why(small, sign_in):
    act, _ = apply([change("parts", part_id="P9", name="lamp")], kind="test")
    apply([change("installations", position_id="G1", part_id="P9", fitted="1990")], kind="test")
    answer = sign_in("officer").post(f"/history/parts/p9/{act.change_no}/take-back/", {"reason": "x"})
    assert answer.status_code == 422 and "refers to it" in text_of(answer) and Part.objects.filter(key="p9").exists()


def test_history_of_single_records_is_not_for_recorders_and_names_are_not_for_engineers(small, sign_in):
    apply([change("people", person_id="X", name="SECRET NAME"), change("parts", part_id="P1", owner="X")], kind="test")
    assert sign_in("recorder").get("/history/parts/p1/").status_code == 403
    engineer = sign_in("engineer")
    assert "Owner" not in text_of(engineer.get("/history/parts/p1/")) and "Owner" not in text_of(engineer.get("/parts/p1/"))
    assert engineer.get("/history/people/x/").status_code == 403 and sign_in("officer").get("/history/people/x/").status_code == 200
    for address in ("/history/wheels/x/", "/history/parts/none/", "/history/parts/p1/999999/take-back/"):
        assert sign_in("officer").get(address).status_code == 404


# --- evidence ------------------------------------------------------------------------------------------------------------


def test_one_source_is_cited_for_many_parts_each_with_its_place(small, sign_in):
    officer = sign_in("officer")
    page = officer.get("/sources/s1/cite/?vehicle=l1")
    assert "P1 first chimney" in text_of(page) and "P3 spare chimney" not in text_of(page)
    token = hidden(page, "token")
    for _ in range(2):
        answer = officer.post("/sources/s1/cite/", {"part": ["P1"], "at-P1": "rim", "pasted": "p2; p 4\nP3\n", "locator": "sheet 2", "supports": "yes", "token": token})
        assert answer.status_code == 302
    assert {(one.part_id, one.locator) for one in Citation.objects.all()} == {("p1", "rim"), ("p2", "p 4"), ("p3", "sheet 2")}
    assert Act.objects.filter(kind="cite a source").count() == 1


def test_every_id_that_is_not_there_is_named_and_nothing_typed_is_lost(small, sign_in):
    answer = sign_in("officer").post("/sources/s1/cite/", {"pasted": "P1; rim\nP77; a\nP78; b", "note": "a long note", "supports": "no"})
    page = text_of(answer)
    assert answer.status_code == 422 and "P77" in page and "P78" in page and "P77; a" in page and "a long note" in page and not Citation.objects.exists()
    assert sign_in("officer").post("/sources/s1/cite/", {}).status_code == 422


def test_a_recorder_s_citations_wait(small, sign_in):
    sign_in("recorder").post("/sources/s1/cite/", {"pasted": "P1\nP2", "supports": "no"})
    assert not Citation.objects.exists() and len(ChangeSet.objects.get().changes) == 2


# --- opinions and disputes -----------------------------------------------------------------------------------------------


def test_a_differing_opinion_is_told_on_the_part_s_page_and_in_the_statement_until_it_is_settled(small, sign_in):
    from datetime import date

    apply([change("people", person_id="RA", name="Ruth SECRET", public_as="our recorder")], kind="test")
    stored = submit([change("assessments", part_id="P1", assessed_on="2026-11-20", status="replica", assessor="RA", reason="too crisp")], author=None, kind="find", title="Chimney: replica")
    officer = sign_in("officer")
    assert officer.post(f"/review/{stored.pk}/", {"decision": "let stand", "reason": "worth keeping"}).status_code == 302
    page = text_of(officer.get("/parts/p1/"))
    assert "Differing opinion" in page and "too crisp" in page and "Settle it" in page and "Ruth SECRET" in page
    engineer = text_of(sign_in("engineer").get("/parts/p1/"))
    assert "our recorder" in engineer and "Ruth SECRET" not in engineer
    told = [one.contradicted_by for one in statement_content("L1", day=date(2026, 11, 25)).disputes]
    assert told == ["differing opinion of our recorder, 20 November 2026: replica"]
    standing = ChangeSet.objects.get(state="standing")
    officer = sign_in("officer")
    assert officer.post(f"/review/{standing.pk}/", {"decision": "settle"}).status_code == 422
    assert officer.post(f"/review/{standing.pk}/", {"decision": "settle", "reason": "agreed that it is the first"}).status_code == 302
    assert "Differing opinion" not in text_of(officer.get("/parts/p1/")) and not statement_content("L1", day=date(2026, 11, 25)).disputes
    assert Assessment.objects.get(part="p1", state="accepted").status == "original"


def test_strangers_read_nothing_of_an_opinion_or_of_what_waits(small, sign_in, client):
    apply([change("vehicles", vehicle_id="L1", published="yes")], kind="test")
    before = client.get("/id/vehicles/l1/").content
    stored = submit([change("assessments", part_id="P1", assessed_on="2026-11-20", status="replica", reason="WAITING-CANARY")], author=None, kind="find", title="t")
    sign_in("officer").post(f"/review/{stored.pk}/", {"decision": "let stand"})
    client.logout()
    assert client.get("/id/vehicles/l1/").content == before


# --- what was opened -----------------------------------------------------------------------------------------------------


def test_an_examination_that_opened_the_boiler_offers_its_parts(sign_in):
    rows = tiny(
        positions=[{"position_id": "BO", "vehicle_id": "L1", "name": "boiler", "visibility": "in view"}, {"position_id": "BO-1", "vehicle_id": "L1", "parent_id": "BO", "name": "tube plate", "visibility": "hidden"}],
        parts=[{"part_id": "B0", "name": "boiler"}, {"part_id": "B1", "name": "tube plate"}],
        installations=[{"position_id": "BO", "part_id": "B0", "fitted": "1894"}, {"position_id": "BO-1", "part_id": "B1", "fitted": "1894"}],
        events=[{"vehicle_id": "L1", "date": "2026", "kind": "examination", "title": "Ten-yearly", "part_id": "B0"}, {"vehicle_id": "L1", "date": "2025", "kind": "examination", "title": "Secret", "access": "restricted"}],
    )
    apply(changes_of(rows), kind="import", whole=True)
    client = sign_in("recorder")
    event = Event.objects.get(title="Ten-yearly")
    assert f"/record/opened/{event.key}/" in client.get("/vehicles/l1/").content.decode()
    page = text_of(client.get(f"/record/opened/{event.key}/"))
    assert "B1 tube plate" in page and "P1" not in page and "fit or safe" in page
    assert client.get(f"/record/opened/{Event.objects.get(title='Secret').key}/").status_code == 404
    assert client.get("/record/opened/none/").status_code == 404


# --- shop floor ----------------------------------------------------------------------------------------------------------


def test_an_engineer_fits_moves_and_treats_at_once_and_a_recorder_s_word_waits(small, sign_in):
    form = {"position_id": "G1", "part_id": "P3", "fitted": "2026", "temporary": "no"}
    sign_in("recorder").post("/new/installations/", form)
    assert not Installation.objects.filter(part="p3").exists() and ChangeSet.objects.get().state == "waiting"
    engineer = sign_in("engineer")
    assert "Fit it" in text_of(engineer.get("/parts/p3/"))
    engineer.post("/new/installations/", form)
    row = Installation.objects.get(part="p3")
    engineer.post(f"/change/installations/{row.key}/", form | {"removed": "2026-11"})
    assert Installation.objects.get(part="p3").removed == "2026-11" and ChangeSet.objects.count() == 1
    assert engineer.get("/new/assessments/").status_code == engineer.get("/change/parts/p1/").status_code == engineer.get(f"/strike-out/installations/{row.key}/").status_code == 403
    assert sign_in("recorder").get(f"/change/installations/{row.key}/").status_code == 403


def test_a_recorder_cannot_learn_of_a_restricted_part_from_a_form(small, sign_in):
    apply([change("parts", part_id="P8", name="SECRET", access="restricted")], kind="test")
    client = sign_in("recorder")
    answers = [text_of(client.post("/new/movements/", {"part_id": part, "moved_on": "2026"})) for part in ("P8", "P99")]
    assert all("No part has that id" in one and "SECRET" not in one for one in answers)


@pytest.mark.parametrize("address", ["/parts/p1/", "/history/parts/p1/", "/review/{}/"])
def test_the_number_of_queries_does_not_grow_with_history_and_what_waits(address, small, officer):
    counts = []
    for number in range(9):
        apply([change("parts", part_id="P1", marks=f"m{number}"), change("treatments", part_id="P1", date="1950", work=f"w{number}")], kind="test")
        stored = submit([change("assessments", part_id="P1", assessed_on=f"2021-0{number + 1}-03", status="replica")], author=None, kind="find", title="t")
        if number in (1, 8):
            officer.get(address.format(stored.pk))
            with CaptureQueriesContext(connection) as queries:
                assert officer.get(address.format(stored.pk)).status_code == 200
            counts.append(len(queries))
    assert counts[0] == counts[1]
