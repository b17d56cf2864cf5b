"""Merging duplicates: one object registered twice becomes one part, and nothing that the two say differently is settled
by itself."""

from __future__ import annotations

from datetime import date

import pytest
from builders import change, changes_of, tiny, write_folder
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from register.exchange.faults import Refused
from register.exchange.overlay import overlay
from register.exchange.records import Change, Register
from register.models import Act, Citation, Event, Installation, Movement, Part, Photograph, RetiredId
from register.services.change_sets import apply
from register.services.import_register import import_register
from register.services.inputs import inputs_from, inputs_of
from register.services.loading import load_register
from register.services.records import history_of
from register.services.structure import preview
from register.services.structure_clashes import KEEP, TAKE, clashes_of
from register.services.structure_merge import (
    changes_for_merge,
    merge_parts,
    part_merged_into,
    plan_merge,
    what_clashes,
)
from tests.services.random_structures import DAYS, laid, mass_account, numbered, registers


def twice(**more):
    """The dome, registered again as P2B from the stores list."""
    rows = tiny(
        places=[{"place_id": "STORE", "name": "store"}],
        parts=[{"part_id": "P2B", "name": "dome", "mass": "40 kg", "maker": "Harl & Tew", "hazards": "lead paint", "access": "restricted"}],
        assessments=[{"part_id": "P2", "assessed_on": "2019-01-01", "status": "original"},
                     {"part_id": "P2B", "assessed_on": "2021-01-01", "status": "restored", "fraction": "0.8", "original_to": "L1"}],
        citations=[{"part_id": "P2", "source_id": "S1", "locator": "top"}, {"part_id": "P2B", "source_id": "S1", "locator": "flange"}],
        treatments=[{"part_id": "P2B", "date": "1998", "work": "patched", "replaced": "0.1"}],
        movements=[{"part_id": "P2B", "moved_on": "2022", "place_id": "STORE"}, {"part_id": "P3", "moved_on": "2022", "with_part": "P2B"}],
        events=[{"vehicle_id": "L1", "date": "1911", "kind": "accident", "title": "Dome struck", "part_id": "P2B"}],
        photographs=[{"file": "dome.jpg", "part_id": "P2B", "sha256": "0" * 64}],
    )  # fmt: skip
    for name, extra in more.items():
        rows.setdefault(name, []).extend(extra)
    return rows


def done(register, changes):
    result = overlay(register, changes)
    assert not result.faults, [str(fault) for fault in result.faults]
    return numbered(result.register)


def merged(register, choices=None):
    return done(register, changes_for_merge(register, duplicate_id="P2B", into_id="P2", choices=choices))


def test_everything_said_of_the_duplicate_is_said_of_the_part_afterwards():
    after = merged(laid(Register(), twice()))
    for table, rows in after.tables.items():
        assert not any("p2b" in (row.get("part_id"), row.get("with_part")) for row in rows.values()), table
    assert [len([row for row in after.tables[name].values() if row["part_id"] == "p2"]) for name in ("assessments", "citations", "treatments", "movements", "events", "photographs")] == [2, 2, 1, 1, 1, 1]
    assert {row["with_part"] for row in after.tables["movements"].values()} == {None, "p2"}


def test_what_only_adds_is_taken_without_asking():
    part = merged(laid(Register(), twice())).tables["parts"]["p2"]
    assert (part["maker"], part["hazards"], part["access"]) == ("Harl & Tew", "lead paint", "restricted")


def test_dangers_of_both_are_kept():
    register = laid(Register(), twice())
    register = done(register, [change("parts", part_id="P2", hazards="asbestos")])
    assert merged(register).tables["parts"]["p2"]["hazards"] == "asbestos;lead paint"


def test_each_citation_goes_on_supporting_the_assessment_that_it_was_for():
    after = merged(laid(Register(), twice()))
    assert {row["locator"]: row["assessed_on"].edtf for row in after.tables["citations"].values()} == {"top": "2019-01-01", "flange": "2021-01-01"}


def test_rows_that_say_the_same_become_one():
    same = {"part_id": "P2", "date": "1998", "work": "patched", "replaced": "0.1"}
    after = merged(laid(Register(), twice(treatments=[same], citations=[{"part_id": "P2", "source_id": "S1", "locator": "flange"}])))
    assert len(after.tables["treatments"]) == 1 and len(after.tables["citations"]) == 2


CLASHES = {
    "name": ({"parts": [{"part_id": "P2B", "name": "steam dome"}]}, "parts.name"),
    "mass": ({"parts": [{"part_id": "P2B", "mass": "41 kg"}]}, "parts.mass"),
    "a mass that is less exact": ({"parts": [{"part_id": "P2B", "mass_low": "39 kg", "mass": "40 kg", "mass_high": "41 kg"}]}, "parts.mass"),
    "quantity": ({"parts": [{"part_id": "P2B", "quantity": "2"}]}, "parts.quantity"),
    "the assessment of one day": ({"assessments": [{"part_id": "P2B", "assessed_on": "2019-01-01", "status": "replica"}]}, "assessments."),
    "one stay told twice": ({"installations": [{"position_id": "Q2", "part_id": "P2B", "fitted": "c. 1894", "removed": "1894-12-31"}]}, "installations."),
    "two places on one day": ({"installations": [{"position_id": "G1", "part_id": "P2B", "fitted": "1920"}]}, "installations."),
    "the share of one treatment": ({"treatments": [{"part_id": "P2", "date": "1998", "work": "patched", "replaced": "0.3"}]}, "treatments."),
    "where it went on one day": ({"movements": [{"part_id": "P2", "moved_on": "2022"}]}, "movements."),
    "what a citation says": ({"citations": [{"part_id": "P2", "source_id": "S1", "locator": "flange", "note": "otherwise"}]}, "citations."),
}  # fmt: skip


def register_with(extra):
    """The doubled dome with further rows; a stay of the duplicate in a place that the dome has on the same day makes
    the dome's own an uncertain one first, since the rules would refuse two certain ones."""
    rows = twice()
    if any(row["position_id"] == "Q2" for row in extra.get("installations", ())):
        rows["installations"][1]["fitted"] = "after 1890"
    return done(laid(Register(), rows), changes_of(extra))


@pytest.mark.parametrize("what", CLASHES)
def test_what_the_two_say_differently_must_be_chosen(what):
    extra, key = CLASHES[what]
    register = register_with(extra)
    with pytest.raises(Refused, match="choose one") as refused:
        changes_for_merge(register, duplicate_id="P2B", into_id="P2")
    (clash,) = clashes_of(register, register.tables["parts"]["p2"], register.tables["parts"]["p2b"])
    assert clash.key.startswith(key) and clash.kept != clash.other
    assert [(fault.column, clash.question.casefold()) for fault in refused.value.faults] == [(clash.key, refused.value.faults[0].message.casefold())]
    kept, taken = merged(register, {clash.key: KEEP}), merged(register, {clash.key: TAKE})
    table = clash.table

    def said(after):
        return sorted(str([(name, value) for name, value in row.items() if not name.startswith("_")]) for row in after.tables[table].values())

    assert said(kept) != said(taken)
    if clash.rows:
        first, second = clash.rows
        assert first in kept.tables[table] and second not in kept.tables[table]
        assert first not in taken.tables[table] and second in taken.tables[table]
    else:
        column = clash.key.removeprefix("parts.")
        columns = [column, f"{column}_low", f"{column}_high"] if column == "mass" else [column]
        for after, source in ((kept, "p2"), (taken, "p2b")):
            assert [after.tables["parts"]["p2"][name] for name in columns] == [register.tables["parts"][source][name] for name in columns]
    assert len(kept.tables[table]) == len(taken.tables[table])


def test_a_choice_that_is_neither_is_asked_again():
    register = register_with(CLASHES["mass"][0])
    with pytest.raises(Refused, match="choose one"):
        changes_for_merge(register, duplicate_id="P2B", into_id="P2", choices={"parts.mass": "both"})


def test_a_mass_is_taken_with_how_it_is_known():
    register = done(laid(Register(), twice()), [change("parts", part_id="P2B", mass="41 kg", mass_basis="weighed"), change("parts", part_id="P2", mass_basis="estimated")])
    part = merged(register, {"parts.mass": TAKE}).tables["parts"]["p2"]
    assert (part["mass"], part["mass_basis"]) == (41_000, "weighed")


def test_a_part_does_not_come_to_lie_with_itself():
    register = done(laid(Register(), twice()), [change("movements", part_id="P2", moved_on="2023", with_part="P2B")])
    after = merged(register)
    assert {(row["part_id"], row["with_part"]) for row in after.tables["movements"].values()} == {("p2", None), ("p3", "p2")}


def test_a_draft_that_waits_goes_along():
    register = done(laid(Register(), twice()), [change("assessments", part_id="P2B", assessed_on="2024-01-01", state="draft", status="replica")])
    assert [row["part_id"] for row in merged(register).drafts.values()] == ["p2"]


@settings(max_examples=40, deadline=None)
@given(registers(), st.data())
def test_an_object_registered_twice_and_merged_is_as_if_it_had_been_registered_once(register, data):
    changes = [change("parts", part_id="D", name="part 1", quantity=str(register.tables["parts"]["p1"]["quantity"]))]
    evidence = data.draw(st.booleans())
    for table in ("installations", "treatments", "assessments", "citations"):
        for key, row in register.tables[table].items():
            moves = evidence if table in ("assessments", "citations") else data.draw(st.booleans())
            if row["part_id"] == "p1" and moves:
                changes.append(Change(table, {"part_id": "D"}, row_id=key))
    result = overlay(register, changes)
    assume(not result.faults)  # such as a restored part without its treatments
    doubled = numbered(result.register)
    assume(not clashes_of(doubled, doubled.tables["parts"]["p1"], doubled.tables["parts"]["d"]))
    after = done(doubled, changes_for_merge(doubled, duplicate_id="D", into_id="P1"))
    assert mass_account(after, DAYS) == mass_account(register, DAYS)
    for name, rows in register.tables.items():
        assert rows.keys() == after.tables[name].keys()


# --- in the register ----------------------------------------------------------------------------------------------


@pytest.fixture
def officer(db, django_user_model):
    apply(changes_of(twice()), kind="import", whole=True)
    return django_user_model.objects.create(username="officer")


def merge(officer, **asked):
    return merge_parts(duplicate_id="P2B", into_id="P2", user=officer, reason="one dome, two lists", **asked)


def test_merged_in_the_register_as_the_preview_showed(officer):
    shown = preview(plan_merge(duplicate_id="P2B", into_id="P2"), day=date(2024, 1, 1))
    assert "take it off" in shown.sentences[-1] and Part.objects.get(key="p2b").tag in shown.sentences[-1]
    merge(officer)
    assert inputs_of("l1") == inputs_from(shown.overlaid.register, "l1") == inputs_from(load_register(), "l1")
    for model in (Installation, Citation, Event, Movement, Photograph):
        assert not model.objects.filter(part="p2b").exists()
    assert not Part.objects.filter(key="p2b").exists() and Photograph.objects.get().part_id == "p2"
    assert [entry["kind"] for entry in history_of("parts", "p2b")] == ["struck out", "recorded"]


def test_a_merged_id_is_an_alias_and_an_import_that_names_it_is_told_who_when_and_why(officer, tmp_path):
    merge(officer)
    assert RetiredId.objects.get(table="parts").merged_into == "P2"
    for tables in ({"parts": [{"part_id": "p2b", "name": "dome"}]}, {"treatments": [{"part_id": "P2B", "date": "1999", "work": "painted"}]}):
        with pytest.raises(Refused, match=r"P2B was merged into P2 on \d+ \w+ \d{4} by officer: one dome, two lists\. An id is never used again"):
            import_register(write_folder(tmp_path / next(iter(tables)), tables))


def test_an_alias_of_an_alias_leads_to_the_part_there_is(officer):
    merge(officer)
    assert part_merged_into(part_id="P2b") == "p2" and part_merged_into(part_id="P2") is None
    merge_parts(duplicate_id="P2", into_id="P3", choices={"parts.name": KEEP, "parts.mass": KEEP}, user=officer, reason="a spare after all")
    assert part_merged_into(part_id="P2B") == "p3"


def test_what_clashes_is_listed_before_anything_is_done(officer):
    apply([change("parts", part_id="P2B", mass="41 kg")], kind="test")
    (clash,) = what_clashes(duplicate_id="P2B", into_id="P2")
    assert (clash.kept, clash.other) == ("40 kg", "41 kg") and Act.objects.count() == 2
    with pytest.raises(Refused, match="choose one"):
        merge(officer)
    merge(officer, choices={clash.key: TAKE})
    assert Part.objects.get(key="p2").mass == 41_000


@pytest.mark.parametrize(("asked", "told"), [
    ({"duplicate_id": "P2", "into_id": "p2"}, "into itself"), ({"duplicate_id": "P9", "into_id": "P2"}, "no part with that id"),
    ({"duplicate_id": "P2B", "into_id": "P9"}, "no part with that id"),
])  # fmt: skip
def test_a_merge_that_cannot_be_is_refused(officer, asked, told):
    with pytest.raises(Refused, match=told):
        merge_parts(**asked, user=officer, reason="x")


def test_a_merge_asks_for_a_reason_and_twice_the_same_form_merges_once(officer):
    with pytest.raises(Refused, match="Say why"):
        merge_parts(duplicate_id="P2B", into_id="P2", user=officer, reason="")
    assert merge(officer, token="t") == merge(officer, token="t")


def test_nothing_can_be_merged_into_what_is_not_there(officer):
    with pytest.raises(Refused, match="no such part for P3 to be merged into"):
        apply([change("movements", part_id="P2", moved_on="2022"), Change("parts", {"key": "p3", "merged_into": "P9"}, row_id="p3", action="strike")], kind="test")
