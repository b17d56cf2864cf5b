"""The three next useful entries of a vehicle. The order is our own rule, no source."""

from __future__ import annotations

from datetime import date

import pytest
from builders import change, changes_of, tiny

from register.exchange.schema import TABLES
from register.fabric.survey import survey
from register.models import VehicleVersion
from register.services.change_sets import apply
from register.services.inputs import NoSuch
from register.services.next_entries import next_entries_of
from register.services.vehicle_page import Question, account_of

pytestmark = pytest.mark.django_db
DAY = date(2024, 6, 30)


def entries_after(*changes, tables=None, vehicle="L1"):
    apply(changes_of(tables or tiny()), kind="import", whole=True)
    if changes:
        apply(list(changes), kind="test")
    return next_entries_of(vehicle, day=DAY)


def of_kind(entries, kind):
    return next((entry for entry in entries if entry.kind == kind), None)


SETTLED = [
    change("vehicles", vehicle_id="L1", empty_mass="100 kg", identity_basis="the frames", summary="A small engine."),
    change("reference_periods", vehicle_id="L1", label="as built", date="as built"),
    change("assessments", part_id="P2", assessed_on="2020-05-01", status="original"),
    change("citations", part_id="P1", source_id="S1"),
    change("citations", part_id="P2", source_id="S1"),
]


def test_a_vehicle_of_which_everything_is_known_asks_for_nothing():
    assert entries_after(*SETTLED) == []


@pytest.mark.parametrize(("left_out", "kind", "at"), [
    (0, "empty mass", ("vehicles", "l1", "empty_mass", {})),
    (1, "reference", ("reference_periods", None, "label", {"vehicle_id": "L1"})),
    (2, "assess", ("assessments", None, "status", {"part_id": "P2"})),
    (3, "evidence", ("citations", None, "source_id", {"part_id": "P1"})),
])  # fmt: skip
def test_each_entry_leads_to_the_form_that_settles_it_and_settled_it_is_asked_no_more(left_out, kind, at):
    known = [one for number, one in enumerate(SETTLED) if number != left_out and not (left_out == 2 and number == 4)]
    entry = of_kind(entries_after(*known), kind)
    assert (entry.table, entry.key, entry.column, entry.given) == at
    assert entry.column in TABLES[entry.table].by_name and entry.sentence.endswith(".")
    apply([SETTLED[left_out]], kind="test")
    assert of_kind(next_entries_of("L1", day=DAY), kind) is None


def test_a_vehicle_without_positions_needs_those_first():
    (first, *rest) = entries_after(change("vehicles", vehicle_id="L3", name="Lark", kind="wagon", built="1900"), vehicle="L3")
    assert (first.kind, first.table, first.given) == ("positions", "positions", {"vehicle_id": "L3"})
    assert "short list for a wagon" in first.sentence and [entry.kind for entry in rest] == ["empty mass", "reference"]


def test_an_empty_place_asks_for_its_part_and_an_assembly_with_places_below_it_does_not():
    tables = tiny(positions=[{"position_id": "A", "vehicle_id": "L1", "name": "Frames", "visibility": "in view"},
                             {"position_id": "A-1", "vehicle_id": "L1", "parent_id": "A", "name": "Left plate", "visibility": "hidden", "safety": "running gear"}])  # fmt: skip
    entry = entries_after(tables=tables)[0]
    assert (entry.kind, entry.table, entry.key, entry.given) == ("fitted", "installations", None, {"position_id": "A-1"})
    assert "Left plate (A-1)" in entry.sentence and "running gear" in entry.caution and "competent" in entry.caution


def test_a_few_empty_places_among_many_are_asked_for_late():
    """They may be empty on purpose, such as lifting eyes that were drawn and never made."""
    many = range(20)
    tables = tiny(positions=[{"position_id": f"M{at}", "vehicle_id": "L1", "name": f"bolt {at}", "visibility": "hidden"} for at in many],
                  parts=[{"part_id": f"MP{at}", "name": f"bolt {at}", "mass": "1 kg"} for at in many],
                  installations=[{"position_id": f"M{at}", "part_id": f"MP{at}", "fitted": "as built"} for at in many[1:]])  # fmt: skip
    assert [entry.kind for entry in entries_after(tables=tables)] == ["assess", "empty mass", "reference"]
    assert "M0" in of_kind([*entries_after_settling()], "fitted").sentence


def entries_after_settling():
    apply([one for one in SETTLED if one.table != "citations"], kind="test")
    return next_entries_of("L1", day=DAY)


def test_the_part_to_assess_next_is_the_one_whose_answer_narrows_the_bounds_most():
    tables = tiny(positions=[{"position_id": "Q3", "vehicle_id": "L1", "name": "tank", "visibility": "in view"}], parts=[{"part_id": "P7", "name": "tank", "mass": "900 kg"}],
                  installations=[{"position_id": "Q3", "part_id": "P7", "fitted": "as built"}])  # fmt: skip
    entry = of_kind(entries_after(tables=tables), "assess")
    assert entry.given == {"part_id": "P7"}
    found = survey(account_of("L1", Question(DAY)).figures["mass"])
    assert found.parts[0].part == "p7" and f"{float(found.parts[0].gain):.1f} points" in entry.sentence


def test_the_part_to_weigh_next_is_the_one_that_matters_most():
    tables = tiny(positions=[{"position_id": "A", "vehicle_id": "L1", "name": "dome", "visibility": "in view", "significance": "some"},
                             {"position_id": "B", "vehicle_id": "L1", "name": "boiler", "visibility": "hidden", "significance": "exceptional"}],
                  parts=[{"part_id": "P7", "name": "second dome"}, {"part_id": "P8", "name": "boiler", "hazards": "asbestos"}],
                  installations=[{"position_id": "A", "part_id": "P7", "fitted": "as built"}, {"position_id": "B", "part_id": "P8", "fitted": "as built"}])  # fmt: skip
    known = [change("assessments", part_id=part, assessed_on="2020-05-01", status="original") for part in ("P2", "P7", "P8")]
    entry = of_kind(entries_after(*known, tables=tables), "weigh")
    assert (entry.table, entry.key, entry.column) == ("parts", "p8", "mass")
    assert "graded exceptional" in entry.sentence and "2 parts have none" in entry.sentence
    assert entry.caution.startswith("Leave it alone until a competent person has said what it is: asbestos") and "Lifting" in entry.caution


def test_a_mass_that_is_only_the_drawings_is_asked_for_too():
    tables = tiny(positions=[{"position_id": "A", "vehicle_id": "L1", "name": "tank", "visibility": "in view", "design_mass": "900 kg"}], parts=[{"part_id": "P7", "name": "tank"}],
                  installations=[{"position_id": "A", "part_id": "P7", "fitted": "as built"}])  # fmt: skip
    entry = of_kind(entries_after(change("assessments", part_id="P7", assessed_on="2020-05-01", status="original"), *SETTLED, tables=tables), "weigh")
    assert entry.key == "p7" and "by the drawing" in entry.sentence


def test_evidence_is_asked_for_the_heaviest_claim_that_nothing_supports():
    tables = tiny(assessments=[{"part_id": "P2", "assessed_on": "2020-05-01", "status": "replica"}])
    entry = of_kind(entries_after(*SETTLED[:2], tables=tables), "evidence")
    assert entry.given == {"part_id": "P1"} and "first chimney (P1): it is assessed original, and nothing supports it" in entry.sentence


def test_where_one_kind_is_left_there_is_more_of_it():
    entries = entries_after(*SETTLED[:3], change("assessments", part_id="P1", assessed_on="2021-01-01", status="restored", fraction_low="0.2", fraction="0.5", fraction_high="0.9"))
    assert [entry.kind for entry in entries] == ["evidence", "narrow", "evidence"]
    assert (entries[1].table, entries[1].column) == ("assessments", "fraction")


def test_never_more_than_three_and_always_the_same_for_the_same_register():
    entries = entries_after()
    assert len(entries) == 3 and entries == next_entries_of("l1", day=DAY)


def test_a_vehicle_that_is_not_there_is_said():
    with pytest.raises(NoSuch, match="no vehicle L77"):
        next_entries_of("L77", day=DAY)


def test_ten_times_the_parts_take_no_more_queries(django_assert_num_queries):
    many = range(60)
    tables = tiny(positions=[{"position_id": f"M{at}", "vehicle_id": "L1", "name": f"bolt {at}", "visibility": "hidden"} for at in many],
                  parts=[{"part_id": f"MP{at}", "name": f"bolt {at}"} for at in many],
                  installations=[{"position_id": f"M{at}", "part_id": f"MP{at}", "fitted": "as built"} for at in many])  # fmt: skip
    entries_after(tables=tables)
    VehicleVersion.objects.all().delete()
    with django_assert_num_queries(7):
        next_entries_of("L1", day=DAY)
