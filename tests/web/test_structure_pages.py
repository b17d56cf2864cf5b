"""Keeping the structure right, from the page to the register: each verb, what the preview promised, and who may."""

from __future__ import annotations

import re
from datetime import date

import pytest
from benchmarks.generate import register as generated
from builders import change, changes_of, empty_the_register, tiny, write_folder
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import get_resolver

from register.fabric.figures import figures_on
from register.models import Act, Installation, Movement, Part, Position
from register.services.change_sets import apply
from register.services.import_register import import_register
from register.services.inputs import inputs_of

pytestmark = pytest.mark.django_db
VERBS = ("break-down", "join", "split", "refit", "take", "exchange", "replace", "merge")


def engine():
    """An engine with a boiler, a set of springs, a grate without a mass, and wheels with an axle on them."""
    return tiny(
        vehicles=[{"vehicle_id": "L3", "name": "Redwing", "kind": "locomotive", "built": "1901"}],
        places=[{"place_id": "STORE", "name": "Store"}],
        positions=[{"position_id": "B", "vehicle_id": "L1", "name": "Boiler", "visibility": "hidden", "safety": "pressure"},
                   {"position_id": "W", "vehicle_id": "L1", "name": "Wheels", "visibility": "in view"}, {"position_id": "W-AX", "vehicle_id": "L1", "parent_id": "W", "name": "Axle", "visibility": "hidden"},
                   {"position_id": "W2", "vehicle_id": "L2", "name": "Wheels", "visibility": "in view"}, {"position_id": "SP", "vehicle_id": "L1", "name": "Springs", "visibility": "in view"}],
        parts=[{"part_id": "P9", "name": "boiler", "mass": "1000 kg", "mass_basis": "weighed", "marks": "88"}, {"part_id": "WH1", "name": "wheels", "mass": "500 kg"}, {"part_id": "AX1", "name": "axle", "mass": "300 kg"},
               {"part_id": "WH2", "name": "wheels", "mass": "510 kg"}, {"part_id": "SPR", "name": "spring leaves", "mass": "60 kg", "quantity": "6"}, {"part_id": "P2B", "name": "dome", "mass": "41 kg", "maker": "Harl & Tew"}],
        installations=[{"position_id": "B", "part_id": "P9", "fitted": "1912"}, {"position_id": "W", "part_id": "WH1", "fitted": "as built"}, {"position_id": "W-AX", "part_id": "AX1", "fitted": "as built"},
                       {"position_id": "W2", "part_id": "WH2", "fitted": "as built"}, {"position_id": "SP", "part_id": "SPR", "fitted": "as built"}],
        assessments=[{"part_id": "P9", "assessed_on": "2020-05-01", "status": "restored", "fraction": "0.7", "original_since": "1912"}, {"part_id": "SPR", "assessed_on": "2020-05-01", "status": "original"}],
        citations=[{"part_id": "P9", "source_id": "S1", "locator": "barrel"}],
    )  # fmt: skip


@pytest.fixture
def planted(db):
    apply(changes_of(engine()), kind="import")


def said(answer):
    """The page as it reads: without mark-up, and non-breaking spaces are spaces."""
    text = re.sub(r"<[^>]+>", " ", answer.content.decode())
    return re.sub(r"\s+", " ", text.replace("&nbsp;", " ").replace("\xa0", " ").replace("&quot;", '"'))


def look(client, address, **texts):
    return client.post(address, {**texts, "step": "look"})


def do(client, address, **texts):
    """Look, then do what was looked at, as the page's own form posts it."""
    page = look(client, address, **texts)
    assert page.status_code == 200 and "token" in page.context, said(page)
    answer = client.post(address, posted_from(page))
    assert answer.status_code == 302, said(answer)
    return answer


def posted_from(page):
    return {**dict(page.context["kept"]), "token": page.context["token"], "looked_at": page.context["looked_at"], "step": "do"}


def figures(vehicle="l1", day=None):
    inputs = inputs_of(vehicle)
    found = figures_on(inputs, day=(day or date.today()).toordinal(), reference=inputs.references[0])
    return {basis: (one.whole.low, one.whole.best, one.whole.high, one.whole.composition) for basis, one in found.items()}


BOILER = {"rows": "3", "id-1": "P9-1", "name-1": "barrel", "mass-1": "600 kg", "id-2": "P9-2", "name-2": "firebox", "mass-2": "", "quantity-2": "1", "id-3": "P9-3"}


# --- each verb, from the page to the register ---------------------------------------------------------------------


def test_a_part_is_broken_down_and_the_figure_by_mass_stays(planted, officer):
    """That equal shares of one status leave the share by mass as it was was worked out for this project; no source."""
    before = figures()
    page = look(officer, "/parts/p9/break-down/", **BOILER)
    assert "by mass nothing moves" in said(page) and "New: P9-1 barrel, 600 kg" in said(page) and not Part.objects.filter(key="p9-1").exists()
    do(officer, "/parts/p9/break-down/", **BOILER, why="registered too coarsely")
    after = figures()
    assert after["mass"] == before["mass"] and after["count"] != before["count"]
    assert sorted(Part.objects.filter(key__startswith="p9").values_list("key", "mass")) == [("p9", 0), ("p9-1", 600_000), ("p9-2", 400_000)]
    assert Position.objects.get(key="b-1").name == "barrel" and Act.objects.first().reason == "registered too coarsely"


def test_the_form_gives_ids_and_one_more_row_and_keeps_what_was_typed(planted, officer):
    page = officer.get("/parts/p9/break-down/").content.decode()
    assert 'value="P9-1"' in page and 'value="P9-3"' in page and "id-4" not in page
    more = officer.post("/parts/p9/break-down/", {"rows": "3", "name-1": "barrel", "id-1": "P9-2", "step": "more"})
    assert more.status_code == 200 and 'value="barrel"' in more.content.decode() and 'name="name-4"' in more.content.decode()
    ids = re.findall(r'name="id-\d+" value="([^"]*)"', more.content.decode())
    assert len(ids) == len(set(ids)) == 4, "no id is suggested twice, nor one that was typed"


def test_what_was_broken_down_is_joined_again(planted, officer):
    before = figures()
    do(officer, "/parts/p9/break-down/", **BOILER)
    assert look(officer, "/parts/p9/join/", children=["P9-1", "P9-2"]).status_code == 422, "a reason is needed"
    page = look(officer, "/parts/p9/join/", children=["P9-1", "P9-2"], why="too finely")
    assert "its id leads to P9 from then on" in said(page)
    do(officer, "/parts/p9/join/", children="P9-1;P9-2", why="too finely")
    assert figures() == before and Part.objects.get(key="p9").mass == 1_000_000


def test_one_of_six_leaves_a_set(planted, officer):
    before = figures()
    page = officer.get("/parts/spr/split/")
    assert 'value="SPR-1"' in page.content.decode()
    do(officer, "/parts/spr/split/", leaving="1", new_part_id="SPR-1", name="top leaf", mass="")
    assert figures()["mass"] == before["mass"]
    assert sorted(Part.objects.filter(key__startswith="spr").values_list("key", "quantity", "mass")) == [("spr", 5, 50_000), ("spr-1", 1, 10_000)]


def test_a_part_moves_to_another_position_with_what_is_on_it(planted, officer):
    page = officer.get("/parts/wh1/refit/")
    assert "AX1 axle" in said(page) and '<option value="G1">dome' in page.content.decode()
    apply([change("positions", position_id="W3", vehicle_id="L3", name="Wheels", visibility="in view")], kind="new")
    page = look(officer, "/parts/wh1/refit/", position_id="w3", on="3 March 1937", with_everything="yes", why="for Redwing")
    assert "read as: 3 March 1937" in said(page) and "Redwing" in said(page) and "Larkspur" in said(page)
    do(officer, "/parts/wh1/refit/", position_id="w3", on="3 March 1937", with_everything="yes", why="for Redwing")
    assert Installation.objects.get(part="wh1", removed_edtf="").position_id == "w3"
    assert Installation.objects.get(part="ax1", removed_edtf="").position.vehicle_id == "l3"
    assert Installation.objects.get(part="wh1", removed_edtf="1937-03-03").position_id == "w"


def test_a_part_is_taken_to_the_store_and_still_belongs_or_not(planted, officer):
    before = figures()
    do(officer, "/parts/p9/take/", place_id="STORE", on="May 2026", comes_out="no")
    assert figures() == before and Movement.objects.get(part="p9").place_id == "store"
    do(officer, "/parts/spr/take/", place_id="STORE", on="May 2026", comes_out="yes")
    assert figures() != before and not Installation.objects.filter(part="spr", removed_edtf="").exists()


def test_two_parts_are_exchanged_and_both_vehicles_are_shown(planted, officer):
    page = look(officer, "/parts/wh1/exchange/", other_id="wh2", on="1937", with_everything="no")
    assert {table.vehicle for table in page.context["vehicles"]} == {"Larkspur", "Lapwing"}
    do(officer, "/parts/wh1/exchange/", other_id="wh2", on="1937", with_everything="no")
    assert Installation.objects.get(part="wh2", removed_edtf="").position_id == "w"


@pytest.mark.parametrize("texts", [{"by": "p3"}, {"new_id": "P77", "new_name": "new chimney", "new_mass": "62 kg"}])
def test_a_part_is_replaced_by_another_or_by_a_new_one(texts, planted, officer):
    do(officer, "/parts/p1/replace/", **texts, on="2025", place_id="STORE", disposal="none")
    assert Installation.objects.get(position="q1", removed_edtf="").part_id == (texts.get("by") or "p77")
    assert Movement.objects.get(part="p1").place_id == "store"


def test_a_duplicate_is_merged_once_it_is_chosen_what_holds(planted, officer):
    asked = look(officer, "/parts/p2b/merge/", into_id="p2", why="one dome, two lists")
    assert asked.status_code == 200 and "Where the two differ" in said(asked) and "As P2B says: 41 kg" in said(asked).replace("As p2b", "As P2B")
    texts = {"into_id": "p2", "asked": "p2", "why": "one dome, two lists"}
    assert look(officer, "/parts/p2b/merge/", **texts).status_code == 422, "now somebody has to choose"
    do(officer, "/parts/p2b/merge/", **texts, **{"choice-parts.mass": "take"})
    assert Part.objects.get(key="p2").mass == 41_000 and Part.objects.get(key="p2").maker == "Harl & Tew"


def test_a_position_goes_under_another_and_no_figure_moves(planted, officer):
    before = figures()
    page = look(officer, "/positions/q2/move/", parent_id="b")
    assert "by mass nothing moves" in said(page)
    answer = do(officer, "/positions/q2/move/", parent_id="b")
    assert answer.url == "/positions/q2/structure/" and Position.objects.get(key="q2").parent_id == "b" and figures() == before
    do(officer, "/positions/q2/move/", parent_id="")
    assert Position.objects.get(key="q2").parent_id is None


# --- what was promised is what is done ------------------------------------------------------------------------------


@pytest.mark.parametrize(("address", "texts"), [
    ("/parts/p9/break-down/", BOILER),
    ("/parts/spr/split/", {"leaving": "2", "new_part_id": "SPR-1", "mass": "15 kg"}),
    ("/parts/p9/refit/", {"position_id": "g1", "on": "2001"}),
    ("/parts/spr/take/", {"place_id": "STORE", "on": "2001", "comes_out": "yes"}),
    ("/parts/wh1/exchange/", {"other_id": "wh2", "on": "1937"}),
    ("/parts/p1/replace/", {"by": "p3", "on": "2001", "disposal": "scrapped"}),
    ("/parts/p2b/merge/", {"into_id": "p2", "asked": "p2", "choice-parts.mass": "take", "why": "twice"}),
])  # fmt: skip
def test_the_figures_shown_before_it_is_done_are_those_of_the_register_afterwards(address, texts, planted, officer):
    page = look(officer, address, **texts)
    assert page.context["vehicles"]
    promised = {(table.vehicle, row.after.answer.basis): row.after for table in page.context["vehicles"] for row in table.rows}
    officer.post(address, posted_from(page))
    names = {"Larkspur": "l1", "Lapwing": "l2"}
    for (vehicle, basis), view in promised.items():
        assert (view.figures.low, view.figures.best, view.figures.high, view.figures.composition) == figures(names[vehicle])[basis]


def test_the_figures_are_printed_with_everything_that_stands_beside_a_figure(planted, officer):
    text = said(look(officer, "/parts/p9/break-down/", **BOILER))
    for told in ("against as built", f"as at {date.today():%-d %B %Y}", "By mass", "By count", "By significance", "assessed", "unweighted", "items become"):
        assert told in text, told


# --- twice, late, wrong ---------------------------------------------------------------------------------------------


def test_a_double_tap_does_it_once(planted, officer):
    page = look(officer, "/parts/p9/break-down/", **BOILER)
    answers = [officer.post("/parts/p9/break-down/", posted_from(page)) for _ in range(2)]
    assert [one.status_code for one in answers] == [302, 302] and answers[0].url == answers[1].url
    assert Act.objects.filter(kind="break down a part").count() == 1


def test_a_double_tap_on_a_merger_leads_to_the_part_that_stayed(planted, officer):
    texts = {"into_id": "p2", "asked": "p2", "choice-parts.mass": "take", "why": "twice"}
    page = look(officer, "/parts/p2b/merge/", **texts)
    answers = [officer.post("/parts/p2b/merge/", posted_from(page)) for _ in range(2)]
    assert [one.url for one in answers] == ["/parts/p2/", "/parts/p2/"]


def test_a_stale_tab_gets_another_look_and_records_nothing(planted, officer):
    page = look(officer, "/parts/p9/break-down/", **BOILER)
    apply([change("parts", part_id="P9", mass="900 kg")], kind="change")
    late = officer.post("/parts/p9/break-down/", posted_from(page))
    assert late.status_code == 409 and "changed while you were looking" in said(late) and "P9-2 firebox, 300 kg" in said(late)
    assert not Part.objects.filter(key="p9-1").exists()
    assert officer.post("/parts/p9/break-down/", posted_from(late)).status_code == 302
    assert Part.objects.get(key="p9-2").mass == 300_000


def test_a_change_elsewhere_does_not_stop_it(planted, officer):
    page = look(officer, "/parts/p9/break-down/", **BOILER)
    apply([change("parts", part_id="P3", remarks="seen again")], kind="change")
    assert officer.post("/parts/p9/break-down/", posted_from(page)).status_code == 302


def test_nothing_is_done_that_was_not_looked_at(planted, officer):
    for more in ({}, {"token": "x"}, {"token": "x", "looked_at": "y"}):
        assert officer.post("/parts/p9/break-down/", {**BOILER, "step": "do", **more}).status_code in (200, 409)
    assert not Part.objects.filter(key="p9-1").exists()


BAD = [
    ("/parts/p9/break-down/", {**BOILER, "mass-1": "12 T"}, "mass-1", "ton"),
    ("/parts/p9/break-down/", {**BOILER, "mass-1": "-1"}, "mass-1", ""),
    ("/parts/p9/break-down/", {**BOILER, "id-2": "P1"}, "id-2", "has that id already"),
    ("/parts/p9/break-down/", {**BOILER, "id-2": "p9-1"}, "id-2", "given twice"),
    ("/parts/p9/break-down/", {**BOILER, "id-1": "a b"}, "id-1", "space"),
    ("/parts/p9/break-down/", {**BOILER, "id-1": "x" * 10_000}, "id-1", ""),
    ("/parts/p9/break-down/", {**BOILER, "id-1": "x\x00"}, "id-1", ""),
    ("/parts/p9/break-down/", {**BOILER, "name-2": "\x00"}, "name-2", ""),
    ("/parts/p9/break-down/", {**BOILER, "name-2": "", "mass-2": "1 kg"}, "name-2", "needed"),
    ("/parts/p9/break-down/", {**BOILER, "quantity-2": "none"}, "quantity-2", ""),
    ("/parts/p9/break-down/", {**BOILER, "place-1": "Q1"}, "", "not a place under"),
    ("/parts/p9/break-down/", {**BOILER, "mass-1": "700 kg", "mass-2": "301 kg"}, "", "1001 kg together"),
    ("/parts/p9/break-down/", {"rows": "3"}, "name-1", "name at least one"),
    ("/parts/wh1/join/", {"why": "x"}, "children", "at least one"),
    ("/parts/wh1/join/", {"children": "P1\x00", "why": "x"}, "children", ""),
    ("/parts/p9/join/", {"children": "P1", "why": "x"}, "", "cannot be joined"),
    ("/parts/spr/split/", {"leaving": "6", "new_part_id": "S6"}, "leaving", "from 1 to 5"),
    ("/parts/spr/split/", {"leaving": "many", "new_part_id": "S6"}, "leaving", ""),
    ("/parts/spr/split/", {"leaving": "1", "new_part_id": "P1"}, "new_part_id", "has that id already"),
    ("/parts/spr/split/", {"leaving": "1", "new_part_id": ""}, "new_part_id", ""),
    ("/parts/p9/split/", {"leaving": "1", "new_part_id": "P9-1"}, "", "one thing, not a set"),
    ("/parts/p9/refit/", {"position_id": "", "on": ""}, "position_id", "say where to"),
    ("/parts/p9/refit/", {"position_id": "nowhere", "on": "1937"}, "position_id", "no position with that id"),
    ("/parts/p9/refit/", {"position_id": "g1", "on": "1900-02-30"}, "on", ""),
    ("/parts/p9/refit/", {"position_id": "q1", "on": "1937"}, "position_id", "two parts are certainly in this position"),
    ("/parts/p9/refit/", {"position_id": "g1", "on": "1900"}, "on", "before fitted"),
    ("/parts/p9/refit/", {"position_id": "b", "on": "1937"}, "position_id", "is there already"),
    ("/parts/wh1/refit/", {"position_id": "w-ax", "on": "1937"}, "position_id", "on WH1 itself"),
    ("/parts/p9/take/", {"on": "2026"}, "place_id", "say where it goes"),
    ("/parts/p9/take/", {"on": "2026", "place_id": "STORE", "with_part": "P1"}, "place_id", "say where it goes"),
    ("/parts/p9/take/", {"on": "2026", "place_id": "ATTIC"}, "place_id", "no place with that id"),
    ("/parts/p9/exchange/", {"on": "2026", "other_id": "P3"}, "other_id", "in no position"),
    ("/parts/p9/exchange/", {"on": "2026", "other_id": "P9"}, "other_id", "another one"),
    ("/parts/p9/exchange/", {"on": "2026", "other_id": "‮"}, "other_id", ""),
    ("/parts/p9/replace/", {"on": "2026"}, "by", "say what takes its place"),
    ("/parts/p9/replace/", {"on": "2026", "by": "P3", "new_id": "N1", "new_name": "n"}, "by", "leave one of the two empty"),
    ("/parts/p9/replace/", {"on": "2026", "new_id": "N1"}, "new_name", "needed"),
    ("/parts/p9/replace/", {"on": "2026", "new_name": "n"}, "new_id", "needed"),
    ("/parts/p9/replace/", {"on": "2026", "by": "P3", "disposal": "eaten"}, "disposal", ""),
    ("/parts/p9/merge/", {"into_id": "", "why": ""}, "into_id", "say which"),
    ("/parts/p9/merge/", {"into_id": "P9", "why": "x"}, "into_id", "into itself"),
    ("/parts/p9/merge/", {"into_id": "P3", "asked": "P3", "why": ""}, "why", "say why"),
    ("/parts/p9/merge/", {"into_id": "nobody", "why": "x"}, "into_id", "no part with that id"),
    ("/positions/w/move/", {"parent_id": "w-ax"}, "parent_id", "below it"),
    ("/positions/w/move/", {"parent_id": "w2"}, "parent_id", "another vehicle"),
    ("/positions/w/move/", {"parent_id": ""}, "parent_id", "there already"),
    ("/parts/p9/refit/", {"position_id": "g1", "on": "1937", "why": "x\x00"}, "why", ""),
]  # fmt: skip


@pytest.mark.parametrize(("address", "texts", "name", "told"), BAD, ids=lambda value: str(value)[:60] if isinstance(value, str) else "")
def test_what_cannot_be_is_refused_with_a_sentence_at_its_field(address, texts, name, told, planted, officer):
    before = Act.objects.count()
    answer = look(officer, address, **texts)
    text = said(answer)
    assert answer.status_code == 422 and "Error:" in answer.content.decode()[:600], text
    assert told.lower() in text.lower(), text
    fields = {field.name: field.error for field in answer.context["fields"]}
    assert (fields[name] if name else answer.context["general_errors"]), (fields, answer.context["general_errors"])
    kept = answer.content.decode()
    assert all(str(value)[:50].replace("\x00", "") in kept for key, value in texts.items() if value and key not in ("rows", "children", "place_id", "disposal", "place-1", "asked") and address != "/parts/p9/split/")
    assert Act.objects.count() == before


def test_a_doubt_is_told_and_can_be_overruled(planted, officer):
    apply(changes_of({
        "positions": [{"position_id": "BUF", "vehicle_id": "L1", "name": "buffer", "visibility": "in view"}],
        "parts": [{"part_id": "OLD", "name": "old buffer", "mass": "30 kg"}, {"part_id": "NEW", "name": "new buffer", "mass": "30 kg"}],
        "installations": [{"position_id": "BUF", "part_id": "OLD", "fitted": "as built", "removed": "between 1903 and 1907"}, {"position_id": "BUF", "part_id": "NEW", "fitted": "1 June 1905"}],
    }), kind="import")  # fmt: skip
    texts = {"rows": "2", "name-1": "casing", "id-1": "OLD-1", "name-2": "spindle", "id-2": "OLD-2"}
    assert "despite_doubt" not in officer.get("/parts/old/break-down/").content.decode()
    refused = look(officer, "/parts/old/break-down/", **texts)
    assert refused.status_code == 422 and "not certain whether OLD or NEW was in BUF" in said(refused) and 'name="despite_doubt"' in refused.content.decode()
    do(officer, "/parts/old/break-down/", **texts, despite_doubt="yes")
    assert Part.objects.filter(key="old-2").exists()


HOSTILE = ["<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "{{ settings.SECRET_KEY }}", "ŵ Łódź ½ & <b>", "a" * 400, "=1+1"]


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_shown_escaped_at_every_step_and_stored_as_typed(text, planted, officer):
    texts = {**BOILER, "name-1": text, "why": text}
    page = look(officer, "/parts/p9/break-down/", **texts)
    back = officer.post("/parts/p9/break-down/", {**texts, "step": "change"})
    officer.post("/parts/p9/break-down/", posted_from(page))
    assert Part.objects.get(key="p9-1").name == text and Act.objects.first().reason == text
    for one in (page, back, officer.get("/parts/p9-1/"), officer.get("/positions/b-1/structure/"), officer.get("/parts/p9-1/merge/")):
        assert "<script>alert" not in one.content.decode() and "<img src=x" not in one.content.decode() and one.status_code == 200


def test_a_long_reason_is_kept_whole(planted, officer):
    do(officer, "/parts/p9/refit/", position_id="g1", on="1937", why="a" * 10_000)
    assert Act.objects.first().reason == "a" * 10_000 == Installation.objects.get(part="p9", removed_edtf="").reason
    assert look(officer, "/parts/p1/refit/", position_id="b", on="1938", why="a" * 30_000).status_code == 422


# --- who may, and how it is reached ---------------------------------------------------------------------------------


@pytest.mark.parametrize("role", [None, "recorder", "engineer", "administrator"])
def test_only_the_officer_may(role, planted, sign_in):
    client = sign_in(role)
    for address in [f"/parts/p9/{verb}/" for verb in VERBS] + ["/positions/b/structure/", "/positions/b/move/"]:
        for answer in (client.get(address), client.post(address, {**BOILER, "step": "do", "token": "x"})):
            assert answer.status_code == (403 if role else 302), address
    assert not Part.objects.filter(key="p9-1").exists()
    if role:
        page = client.get("/parts/p9/").content.decode()
        assert "break-down" not in page and "/structure/" not in client.get("/vehicles/l1/").content.decode()


def test_the_pages_are_reached_from_the_part_and_from_the_tree(planted, officer):
    page = officer.get("/parts/spr/").content.decode()
    assert all(f"/parts/spr/{verb}/" in page for verb in VERBS) and "/strike-out/parts/spr/" in page
    assert "/split/" not in officer.get("/parts/p9/").content.decode(), "one thing is no set"
    assert "/positions/sp/structure/" in officer.get("/vehicles/l1/").content.decode()
    page = officer.get("/positions/sp/structure/").content.decode()
    assert all(f"/parts/spr/{verb}/" in page for verb in VERBS) and "/positions/sp/move/" in page
    assert "competent persons" in officer.get("/positions/b/structure/").content.decode()
    for verb in VERBS:
        assert officer.get(f"/parts/spr/{verb}/").status_code == 200


@pytest.mark.parametrize("address", ["/parts/nobody/break-down/", "/positions/nowhere/structure/", "/positions/nowhere/move/", "/parts/%00/refit/", "/parts/%3Cb%3E/refit/"])
def test_what_is_not_there_is_a_404(address, planted, officer):
    assert officer.get(address).status_code == 404 and officer.post(address, {"step": "do", "token": "x"}).status_code == 404


def test_the_number_of_queries_does_not_grow_with_the_vehicle(tmp_path, officer):
    addresses = [*(f"/parts/v0-p1.0/{verb}/" for verb in VERBS), "/positions/v0-a0/structure/", "/positions/v0-a0/move/"]
    counts = []
    for positions in (60, 240):
        empty_the_register()
        import_register(write_folder(tmp_path / str(positions), generated(positions)))
        officer.get(addresses[0])
        counts.append([])
        for address in addresses:
            with CaptureQueriesContext(connection) as queries:
                assert officer.get(address).status_code == 200
            counts[-1].append(len(queries))
        with CaptureQueriesContext(connection) as queries:
            assert look(officer, "/parts/v0-p1.0/break-down/", **{"rows": "1", "id-1": "NEW-1", "name-1": "piece"}).status_code in (200, 422)
        counts[-1].append(len(queries))
    assert counts[0] == counts[1], counts


# --- what stands at an old address ----------------------------------------------------------------------------------


def merge(client):
    do(client, "/parts/p2b/merge/", into_id="p2", asked="p2", why="one dome, two lists", **{"choice-parts.mass": "keep"})


def test_the_page_of_a_merged_part_leads_to_the_part_that_it_is(planted, officer):
    merge(officer)
    answer = officer.get("/parts/P2B/")
    assert answer.status_code == 301 and answer.url == "/parts/p2/?merged=P2B"
    text = said(officer.get(answer.url))
    assert "P2B was merged into this part on" in text and "one dome, two lists" in text
    assert officer.get("/parts/p2b/refit/").status_code == 301
    for other in ("?merged=P1", "?merged=nobody", "?merged=", "?merged=%00", "?merged=" + "x" * 5000):
        assert "was merged into" not in said(officer.get("/parts/p2/" + other)).split("Record history")[0]


def test_an_old_address_leads_on_through_several_mergers(planted, officer):
    merge(officer)
    do(officer, "/parts/p2/merge/", into_id="p3", asked="p3", why="it was the spare all along", **{"choice-parts.name": "keep", "choice-parts.mass": "keep"})
    assert officer.get("/parts/p2b/").url == "/parts/p3/?merged=P2B"


def test_who_merged_it_is_for_those_who_may_read_names(planted, sign_in):
    officer = sign_in("officer")
    merge(officer)
    assert "by A officer" in said(officer.get("/parts/p2b/", follow=True))
    assert "by a colleague" in said(sign_in("recorder").get("/parts/p2b/", follow=True))


def test_a_struck_out_record_answers_410_with_who_when_and_why(planted, sign_in):
    officer = sign_in("officer")
    apply(changes_of({"sources": [{"source_id": "S9", "kind": "testimony", "title": "told", "access": "restricted"}]}), kind="new")
    for table, key in (("parts", "p3"), ("places", "store"), ("vehicles", "l3"), ("positions", "w2"), ("sources", "s9")):
        if key == "w2":
            apply([change("installations", row_id=Installation.objects.get(part="wh2").code, position_id="G1")], kind="change")
        assert officer.post(f"/strike-out/{table}/{key}/", {"reason": "entered twice"}).status_code == 302, key
    for address in ("/parts/P3/", "/parts/p3/refit/", "/places/store/", "/vehicles/l3/", "/vehicles/l3/figures/", "/positions/w2/structure/", "/sources/s9/"):
        answer = officer.get(address)
        assert answer.status_code == 410 and "struck out on" in said(answer) and "by A officer: entered twice." in said(answer), address
    recorder = sign_in("recorder")
    assert "by a colleague: entered twice." in said(recorder.get("/parts/p3/"))
    assert recorder.get("/sources/s9/").status_code == 404, "it was restricted"
    assert sign_in(None).get("/parts/p3/").status_code == 302
    assert sign_in(None).get("/id/vehicles/l3/").status_code == 404, "it never was public"


def test_every_page_of_a_struck_out_vehicle_answers_410(planted, sign_in):
    """Whatever is added below a vehicle's address is asked here too."""
    officer = sign_in("officer")
    assert officer.post("/strike-out/vehicles/l3/", {"reason": "entered twice"}).status_code == 302
    routes = [str(one.pattern) for one in get_resolver().url_patterns]
    pages = [one.replace("<str:key>", "L3").replace("<str:fingerprint>", "0" * 64) for one in routes if one.startswith("vehicles/<str:key>/")]
    assert len(pages) >= 14 and all("<" not in one for one in pages)
    for page in pages:
        answer = officer.get(f"/{page}")
        assert answer.status_code == 410 and "by A officer: entered twice." in said(answer), page
        assert officer.get(f"/{page.replace('L3', 'L9')}").status_code == 404, page
    assert officer.post("/vehicles/l3/issue/", {}).status_code == 410
    assert officer.get("/vehicles/l1/findings/" + "0" * 64 + "/").status_code == 302, "the vehicle is there"
    assert officer.get("/vehicles/l1/timeline/?reference=never").status_code == 404
    assert sign_in("recorder").get("/vehicles/l3/statement.pdf").status_code == 403, "it is not for a recorder to read"
    assert sign_in(None).get("/vehicles/l3/timeline/").status_code == 302


def test_a_restricted_part_s_merger_is_not_known_to_a_recorder(planted, sign_in):
    officer = sign_in("officer")
    apply([change("parts", part_id="P2", access="restricted")], kind="change")
    merge(officer)
    assert sign_in("recorder").get("/parts/p2b/").status_code == 404
    assert sign_in("engineer").get("/parts/p2b/").status_code == 301


def test_a_vehicle_that_was_public_and_is_struck_out_answers_410_without_a_name(planted, sign_in):
    apply([change("vehicles", vehicle_id="L3", published="yes")], kind="change")
    sign_in("officer").post("/strike-out/vehicles/l3/", {"reason": "never ours"})
    answer = sign_in(None).get("/id/vehicles/l3/")
    assert answer.status_code == 410 and "never ours" not in said(answer) and "officer" not in said(answer)
