"""Each finding: a register that has it, and the nearest one that does not."""

from __future__ import annotations

import copy
from datetime import date

import pytest
from builders import empty_the_register, tiny, write_folder

from register.fabric.findings import CHECKS
from register.services.findings import check_register, check_vehicle
from register.services.import_register import import_register

pytestmark = pytest.mark.django_db
DAY = date(2026, 11, 25)


def engine(**more):
    """A register with nothing to find: one engine, two parts, both documented."""
    tables = tiny(citations=[{"part_id": "P1", "source_id": "S1"}])
    tables["positions"] = [row for row in tables["positions"] if row["position_id"] != "G1"]
    tables["parts"] = [row for row in tables["parts"] if row["part_id"] != "P3"]
    for name, rows in more.items():
        tables.setdefault(name, []).extend(copy.deepcopy(rows))
    return tables


def put(tables, name, number, **values):
    tables[name][number] |= values
    return tables


def second(status, **more):
    """An assessment of the dome."""
    return {"part_id": "P2", "assessed_on": "2021-05-01", "status": status} | more


CITED = {"part_id": "P2", "source_id": "S1"}
SPARE = {"part_id": "P9", "name": "spare dome", "mass": "40 kg"}
BOX = {"position_id": "Q9", "vehicle_id": "L1", "name": "box", "visibility": "hidden"}

CASES = {
    "weighs-more": (put(engine(), "vehicles", 0, empty_mass="90 kg"), put(engine(), "vehicles", 0, empty_mass="100 kg")),
    "weighs-less": (put(engine(), "vehicles", 0, empty_mass="150 kg"), put(engine(), "vehicles", 0, empty_mass="100 kg ±5%")),
    "gross-below-net": (put(engine(), "parts", 0, gross_mass="50 kg"), put(engine(), "parts", 0, gross_mass="70 kg")),
    "gross-does-not-close": (put(put(engine(), "positions", 1, parent_id="Q1"), "parts", 0, gross_mass="120 kg"),
                             put(put(engine(), "positions", 1, parent_id="Q1"), "parts", 0, gross_mass="100 kg")),
    "made-after-fitted": (put(engine(), "parts", 1, made="1901"), put(engine(), "parts", 1, made="1894")),
    "original-with-treatments": (engine(treatments=[{"part_id": "P1", "date": "1950", "work": "patched", "replaced": "0.2"}]),
                                 engine(treatments=[{"part_id": "P1", "date": "1950", "work": "painted"}])),
    "fraction-above-treatments": (engine(assessments=[second("restored", fraction="0.9")], citations=[CITED], treatments=[{"part_id": "P2", "date": "1950", "work": "patched", "replaced": "0.2"}]),
                                  engine(assessments=[second("restored", fraction="0.8")], citations=[CITED], treatments=[{"part_id": "P2", "date": "1950", "work": "patched", "replaced": "0.2"}])),
    "restored-whole": (engine(assessments=[second("restored", fraction="1")], citations=[CITED]), engine(assessments=[second("restored", fraction="0.99")], citations=[CITED])),
    "as-built-by-sight": (put(engine(), "installations", 0, fitted="", seen_on="1950-01-01"),
                          put(put(engine(), "installations", 0, fitted="", seen_on="1950-01-01"), "assessments", 0, original_since="1912")),
    "new-before-heritage": (put(put(engine(assessments=[second("replica", pattern_basis="drawing")], citations=[CITED]), "vehicles", 0, heritage_from="1968"), "parts", 1, made="1890"),
                            put(put(engine(assessments=[second("replica", pattern_basis="drawing")], citations=[CITED]), "vehicles", 0, heritage_from="1890"), "parts", 1, made="1894")),
    "historic-after-heritage": (put(put(engine(), "vehicles", 0, heritage_from="1968"), "assessments", 0, original_since="1980"),
                                put(put(engine(), "vehicles", 0, heritage_from="1968"), "assessments", 0, original_since="1912")),
    "fitted-before-built": (put(engine(), "installations", 1, fitted="1890"), put(engine(), "installations", 1, fitted="1894")),
    "replica-without-pattern": (engine(assessments=[second("replica")], citations=[CITED]), engine(assessments=[second("replica", pattern_basis="survivor")], citations=[CITED])),
    "modern-without-reason": (put(engine(assessments=[second("modern substitute")], citations=[CITED]), "parts", 1, date_mark="stamped 2021"),
                              put(engine(assessments=[second("modern substitute", reason="the inspector asked for it")], citations=[CITED]), "parts", 1, date_mark="stamped 2021")),
    "modern-without-mark": (engine(assessments=[second("modern substitute", reason="asked for")], citations=[CITED]),
                            put(engine(assessments=[second("modern substitute", reason="asked for")], citations=[CITED]), "parts", 1, date_mark="stamped 2021")),
    "unsupported": (put(engine(), "citations", 0, part_id="P2"), engine()),
    "contradicted": (engine(sources=[{"source_id": "S2", "kind": "ledger", "title": "ledger"}], citations=[{"part_id": "P1", "source_id": "S2", "supports": "no"}]),
                     engine(sources=[{"source_id": "S2", "kind": "ledger", "title": "ledger"}], citations=[{"part_id": "P1", "source_id": "S2"}])),
    "two-places": (put(engine(positions=[BOX], installations=[{"position_id": "Q9", "part_id": "P2", "fitted": "2021"}]), "installations", 1, removed="between 2020 and 2060"),
                   put(engine(positions=[BOX], installations=[{"position_id": "Q9", "part_id": "P2", "fitted": "2021"}]), "installations", 1, removed="2020")),
    "stand-in-long": (engine(parts=[SPARE], installations=[{"position_id": "Q2", "part_id": "P9", "fitted": "2020-01-01", "temporary": "yes"}]),
                      engine(parts=[SPARE], installations=[{"position_id": "Q2", "part_id": "P9", "fitted": "2025-12-01", "temporary": "yes"}])),
    "stand-in-alone": (engine(positions=[BOX], parts=[SPARE], installations=[{"position_id": "Q9", "part_id": "P9", "fitted": "2025-12-01", "temporary": "yes"}]),
                       engine(parts=[SPARE], installations=[{"position_id": "Q2", "part_id": "P9", "fitted": "2025-12-01", "temporary": "yes"}])),
    "design-mass-only": (put(put(engine(), "parts", 1, mass=""), "positions", 1, design_mass="40 kg"), put(engine(), "positions", 1, design_mass="40 kg")),
    "whereabouts-unknown": (put(engine(), "installations", 1, removed="1990"),
                            put(engine(places=[{"place_id": "ST", "name": "store"}], movements=[{"part_id": "P2", "moved_on": "2024-01-01", "place_id": "ST"}]), "installations", 1, removed="1990")),
    "whereabouts-unconfirmed": (put(engine(places=[{"place_id": "ST", "name": "store"}], movements=[{"part_id": "P2", "moved_on": "2012-01-01", "place_id": "ST"}]), "installations", 1, removed="1990"),
                                put(engine(places=[{"place_id": "ST", "name": "store"}], movements=[{"part_id": "P2", "moved_on": "2024-01-01", "place_id": "ST", "due_back": "2030"}]), "installations", 1, removed="1990")),
    "disposed-without-reason": (put(put(engine(), "installations", 1, removed="1990"), "parts", 1, disposal="scrapped", disposal_date="1991"),
                                put(put(engine(), "installations", 1, removed="1990"), "parts", 1, disposal="scrapped", disposal_date="1991", remarks="Cracked through; the trustees agreed.")),
    "never-filled": (engine(positions=[BOX]), engine(positions=[BOX], parts=[SPARE], installations=[{"position_id": "Q9", "part_id": "P9", "fitted": "as built"}])),
    "hazard-without-caution": (put(engine(), "parts", 1, hazards="asbestos"), put(engine(), "parts", 1, hazards="asbestos", remarks="Not sampled; ask the works manager first.")),
    "safety-without-caution": (put(engine(assessments=[second("replica", pattern_basis="drawing")], citations=[CITED]), "positions", 1, safety="pressure"),
                               put(put(engine(assessments=[second("replica", pattern_basis="drawing")], citations=[CITED]), "positions", 1, safety="pressure"), "parts", 1, remarks="Signed for, paper 12.")),
}  # fmt: skip


def codes(tables, folder):
    empty_the_register()
    import_register(write_folder(folder, tables))
    return {one.code for one in check_vehicle("L1", day=DAY).open}


@pytest.mark.parametrize("code", CASES)
def test_a_register_that_has_it_and_one_that_has_not(code, tmp_path):
    has, has_not = CASES[code]
    assert code in codes(has, tmp_path / "has")
    assert code not in codes(has_not, tmp_path / "not")


def test_a_careful_register_has_nothing_to_find(tmp_path):
    assert codes(engine(), tmp_path / "careful") == set()


def test_every_check_has_a_case():
    assert len(CHECKS) == 16
    assert len(CASES) == 27


def test_a_finding_says_what_is_wrong_what_to_do_and_where(tmp_path):
    for number, (has, _) in enumerate(CASES.values()):
        empty_the_register()
        import_register(write_folder(tmp_path / str(number), has))
        for one in check_vehicle("L1", day=DAY).open:
            assert one.what.rstrip()[-1] in ".?" and one.sentence.endswith(".") and one.form.action and one.record, one
    assert {one.code for one in check_register(day=DAY)} >= {"safety-without-caution"}


def test_a_part_that_was_never_in_a_vehicle_is_looked_for_too(tmp_path):
    import_register(write_folder(tmp_path / "loose", engine(parts=[SPARE])))
    assert [(one.code, one.place) for one in check_register(day=DAY)] == [("whereabouts-unknown", "parts/P9")]


def test_a_vehicle_long_in_building_is_told_once(tmp_path):
    more = engine(
        positions=[{"position_id": f"X{number}", "vehicle_id": "L1", "name": f"place {number}", "visibility": "hidden"} for number in range(12)],
        parts=[{"part_id": f"X{number}", "name": "bolt", "mass": "1 kg"} for number in range(12)],
        installations=[{"position_id": f"X{number}", "part_id": f"X{number}", "fitted": "1888"} for number in range(12)],
    )
    import_register(write_folder(tmp_path / "long", more))
    found = [one for one in check_vehicle("L1", day=DAY).open if one.code == "fitted-before-built"]
    assert [one.place for one in found] == ["vehicles/L1"] and found[0].what.startswith("12 parts")
