"""Imports: whole or nothing, every fault at once. The clauses are those of the exchange format (docs/exchange.md)."""

from __future__ import annotations

import shutil

import pytest
from builders import DEMO, WORKED, empty_the_register, read_folder, tiny, write_folder
from django.core.management import call_command

from register.exchange.faults import Refused
from register.models import Act, Assessment, ChangeSet, Part, Treatment, Vehicle
from register.services.change_sets import Conflicted
from register.services.export_register import export_register
from register.services.figures import figures_of
from register.services.import_register import import_register

pytestmark = pytest.mark.django_db


def fitted(position: str, part: str, fitted: str = "", **more: str) -> dict[str, str]:
    return {"position_id": position, "part_id": part, "fitted": fitted, **more}


def assessed(part: str, status: str, day: str = "2021-01-01", **more: str) -> dict[str, str]:
    return {"part_id": part, "assessed_on": day, "status": status, **more}


REFUSALS: dict[str, tuple[dict[str, list[dict[str, str]]], str]] = {
    "an unknown table": ({"wheels": [{"a": "b"}]}, "wheels"),
    "an unknown column": ({"sources": [{"source_id": "S9", "kind": "mark", "title": "x", "colour": "red"}]}, "colour"),
    "a missing required value": ({"parts": [{"part_id": "P9", "name": ""}]}, "needed"),
    "a bad id": ({"parts": [{"part_id": "P 9", "name": "x"}]}, "P 9"),
    "an id of 41 letters": ({"parts": [{"part_id": "P" * 41, "name": "x"}]}, "40"),
    "the same key twice in one file": ({"parts": [{"part_id": "p1", "name": "x"}]}, "already"),
    "the same installation twice": ({"installations": [fitted("Q1", "P1", "as built")]}, "already"),
    "the same date written twice in other words": ({"installations": [fitted("G1", "P3", "May 1894", removed="1895"), fitted("G1", "P3", "1894-05")]}, "already"),
    "an unknown status": ({"assessments": [assessed("P2", "genuine")]}, "modern substitute"),
    "an unknown unit": ({"parts": [{"part_id": "P9", "name": "x", "mass": "3 stones"}]}, "3 stones"),
    "an unknown vehicle kind": ({"vehicles": [{"vehicle_id": "L9", "name": "x", "kind": "tram", "built": "1900"}]}, "tender"),
    "an impossible date": ({"installations": [fitted("G1", "P3", "1900-02-30")]}, "1900-02-30"),
    "an interval for a date": ({"installations": [fitted("G1", "P3", "1903/1907")]}, "between"),
    "a negative quantity": ({"parts": [{"part_id": "P9", "name": "x", "mass": "-3 kg"}]}, "-3 kg"),
    "a zero denominator": ({"parts": [{"part_id": "P9", "name": "x", "mass": "1/0 kg"}]}, "1/0"),
    "a quantity that is no number": ({"parts": [{"part_id": "P9", "name": "x", "mass": "NaN"}]}, "NaN"),
    "an infinite quantity": ({"parts": [{"part_id": "P9", "name": "x", "mass": "inf kg"}]}, "inf"),
    "low above best": ({"parts": [{"part_id": "P9", "name": "x", "mass_low": "5", "mass": "4", "mass_high": "6"}]}, "more than mass"),
    "best above high": ({"parts": [{"part_id": "P9", "name": "x", "mass_low": "1", "mass": "7", "mass_high": "6"}]}, "more than mass_high"),
    "a range in the column of an end": ({"parts": [{"part_id": "P9", "name": "x", "mass_low": "5-6 kg", "mass": "7 kg"}]}, "an end is one value"),
    "a share replaced with its low above its high": ({"treatments": [{"part_id": "P1", "date": "1950", "work": "x", "replaced_low": "0.3", "replaced_high": "20%"}]}, '"0.3"'),
    "one end alone": ({"parts": [{"part_id": "P9", "name": "x", "mass_low": "5"}]}, "one end alone"),
    "a range with ends beside it": ({"parts": [{"part_id": "P9", "name": "x", "mass": "5-7 kg", "mass_low": "5"}]}, "must be empty"),
    "a fraction above one": ({"assessments": [assessed("P2", "restored", fraction="1.2")]}, "1.2"),
    "a reference to an id that is nowhere": ({"installations": [fitted("Q9", "P3", "1900")]}, "no position"),
    "a position cycle": ({"positions": [{"position_id": "A", "vehicle_id": "L1", "name": "a", "visibility": "hidden", "parent_id": "B"},
                                        {"position_id": "B", "vehicle_id": "L1", "name": "b", "visibility": "hidden", "parent_id": "A"}]}, "cycle"),
    "a position in itself": ({"positions": [{"position_id": "A", "vehicle_id": "L1", "name": "a", "visibility": "hidden", "parent_id": "a"}]}, "cycle"),
    "a place cycle": ({"places": [{"place_id": "A", "name": "a", "parent_id": "B"}, {"place_id": "B", "name": "b", "parent_id": "A"}]}, "cycle"),
    "a cycle of parts lying with each other": ({"movements": [{"part_id": "P1", "moved_on": "2001", "with_part": "P2"}, {"part_id": "P2", "moved_on": "2001", "with_part": "P1"}]}, "cycle"),
    "a parent in another vehicle": ({"positions": [{"position_id": "A", "vehicle_id": "L1", "name": "a", "visibility": "hidden", "parent_id": "G1"}]}, "another vehicle"),
    "two parts certainly in one position": ({"installations": [fitted("Q1", "P3", "1900")]}, "same day"),
    "one part certainly in two positions": ({"installations": [fitted("G1", "P1", "1900")]}, "same day"),
    "a removal before the fitting": ({"installations": [fitted("G1", "P3", "1910", removed="1905")]}, "is before fitted"),
    "a removal before the fitting by best days": ({"installations": [fitted("G1", "P3", "1910", removed="[1900..1915]")]}, "is before fitted"),
    "seen before the vehicle was built": ({"installations": [fitted("G1", "P3", seen_on="1889-12-31")]}, "before the vehicle was built"),
    "seen before it was fitted": ({"installations": [fitted("G1", "P3", "1910", seen_on="1905-01-01")]}, "is before fitted"),
    "seen on the last possible day of removal": ({"installations": [fitted("G1", "P3", "1910", seen_on="1920-12-31", removed="1920")]}, "last possible day"),
    "neither fitted nor seen": ({"installations": [fitted("G1", "P3")]}, "Neither fitted nor seen"),
    "restored with neither fraction nor treatments": ({"assessments": [assessed("P2", "restored")]}, "fraction"),
    "two accepted assessments on one day": ({"assessments": [assessed("P1", "replica", "1 May 2020")]}, "already"),
    "several reference periods, none default": ({"reference_periods": [{"vehicle_id": "L1", "label": "a", "date": "1900"}, {"vehicle_id": "L1", "label": "b", "date": "1910"}]}, "mark exactly one"),
    "several reference periods, two default": ({"reference_periods": [{"vehicle_id": "L1", "label": "a", "date": "1900", "default": "yes"},
                                                                     {"vehicle_id": "L1", "label": "b", "date": "1910", "default": "yes"}]}, "mark exactly one"),
    "a reference date open at an end": ({"reference_periods": [{"vehicle_id": "L1", "label": "a", "date": "after 1900"}]}, "both ends"),
    "a built date open at an end": ({"vehicles": [{"vehicle_id": "L9", "name": "x", "kind": "wagon", "built": "before 1900"}]}, "both ends"),
    "a reference that ends before she was built": ({"reference_periods": [{"vehicle_id": "L1", "label": "a", "date": "1893"}]}, "before L1 was built"),
    "an empty mass of 0": ({"vehicles": [{"vehicle_id": "L9", "name": "x", "kind": "wagon", "built": "1900", "empty_mass": "0 kg"}]}, "more than 0"),
    "a disposal without a date": ({"parts": [{"part_id": "P9", "name": "x", "disposal": "scrapped"}]}, "say when"),
    "a disposal before the last removal": ({"parts": [{"part_id": "P9", "name": "x", "disposal": "scrapped", "disposal_date": "1899"}], "installations": [fitted("G1", "P9", "1895", removed="1905")]}, "before it was removed"),
    "a disposed part still fitted": ({"parts": [{"part_id": "P9", "name": "x", "disposal": "lost", "disposal_date": "1999"}], "installations": [fitted("G1", "P9", "1895")]}, "still fitted"),
    "original to nobody knows which": ({"assessments": [assessed("P3", "original")]}, "in no vehicle"),
    "original to one of several": ({"installations": [fitted("G1", "P3", "1895", removed="1900"), fitted("Q2", "P3", "1870", removed="1871")], "assessments": [assessed("P3", "original")]}, "several vehicles"),
    "a citation of an assessment that is not there": ({"citations": [{"part_id": "P1", "source_id": "S1", "assessed_on": "2019-01-01"}]}, "no assessment of that day"),
    "a tag that is taken": ({"parts": [{"part_id": "P8", "name": "x", "tag": "ABCDEFGH"}, {"part_id": "P9", "name": "x", "tag": "abcdefgh"}]}, "taken"),
    "a citation's source that is nowhere": ({"citations": [{"part_id": "P1", "source_id": "S7"}]}, "no source"),
}


@pytest.mark.parametrize("clause", REFUSALS)
def test_refused_whole(clause, tmp_path):
    more, told = REFUSALS[clause]
    with pytest.raises(Refused) as refusal:
        import_register(write_folder(tmp_path / "sheet", tiny(**more)))
    text = str(refusal.value)
    assert told.casefold() in text.casefold(), text
    assert text.splitlines()[-1].split()[0].isdigit(), text  # the one-line count
    assert not Vehicle.objects.exists() and not Act.objects.exists()


def test_two_ends_of_a_share_replaced_mean_their_middle(tmp_path):
    """Exchange format: the low and the high without a best: the middle. Only where all three are empty is it 0."""
    rows = [{"part_id": "P1", "date": "1950", "work": "patched", "replaced_low": "0.1", "replaced_high": "0.4"}, {"part_id": "P1", "date": "1951", "work": "painted"}]
    import_register(write_folder(tmp_path / "sheet", tiny(treatments=rows)))
    stored = Treatment.objects.order_by("work").values_list("work", "replaced_low", "replaced", "replaced_high")
    assert list(stored) == [("painted", None, 0, None), ("patched", 100_000, 250_000, 400_000)]


def test_every_fault_is_found_at_once(tmp_path):
    rows = [{"part_id": "P8", "name": "x", "mass": "12 T"}, {"part_id": "P 9", "name": "y"}, {"part_id": "P10", "name": "", "quantity": "0"}]
    with pytest.raises(Refused) as refusal:
        import_register(write_folder(tmp_path / "sheet", tiny(parts=rows)))
    lines = str(refusal.value).splitlines()
    assert sorted(line.split(",")[0] for line in lines[:-1]) == ["parts row 5", "parts row 6", "parts row 7", "parts row 7"]
    assert lines[-1].startswith("4 faults")


def test_faults_of_cells_and_faults_of_rules_are_told_together(tmp_path):
    more = {"parts": [{"part_id": "P8", "name": "x", "mass": "12 T"}], "installations": [fitted("Q1", "P3", "1900")], "citations": [{"part_id": "P1", "source_id": "S77"}]}
    with pytest.raises(Refused) as refusal:
        import_register(write_folder(tmp_path / "sheet", tiny(**more)))
    assert {fault.table for fault in refusal.value.faults} == {"parts", "installations", "citations"}


def test_what_is_independent_of_a_fault_is_told_and_what_only_follows_is_not(tmp_path):
    """A part that is nowhere is told though another part has a fault; a removal that cannot be read is not taken for
    none, a vehicle at fault is not also missing, and neither is what it does not say of its positions."""
    more = {
        "vehicles": [{"vehicle_id": "L3", "name": "x", "kind": "tram", "built": "1900"}, {"vehicle_id": "L4", "name": "y", "kind": "wagon", "built": "after 1900"}],
        "positions": [{"position_id": "H1", "vehicle_id": "L3", "name": "x", "visibility": "hidden"}, {"position_id": "H2", "vehicle_id": "L4", "name": "x", "visibility": "hidden"}],
        "parts": [{"part_id": "P8", "name": "x", "mass": "12 T"}, {"part_id": "P9", "name": "y", "disposal": "scrapped", "disposal_date": "1990"}],
        "installations": [fitted("G1", "NOWHERE", "1900"), fitted("G1", "P9", "1891", removed="1900s"), fitted("H1", "P8", "1901"), fitted("H2", "P3", "1901")],
        "assessments": [assessed("P8", "original"), assessed("P9", "restored", fraction_low="x", fraction_high="0.5")],
        "photographs": [{"file": "nowhere.jpg", "part_id": "P1"}],
    }
    with pytest.raises(Refused) as refusal:
        import_register(write_folder(tmp_path / "sheet", tiny(**more)))
    assert {(fault.table, fault.column, fault.value) for fault in refusal.value.faults} == {
        ("vehicles", "kind", "tram"), ("vehicles", "built", "after 1900"), ("parts", "mass", "12 T"), ("installations", "part_id", "NOWHERE"),
        ("installations", "removed", "1900s"), ("assessments", "fraction_low", "x"), ("photographs", "file", "nowhere.jpg"),
    }


def test_a_fault_that_only_follows_from_another_is_not_told(tmp_path):
    """P 9 cannot be read, so that nothing is called P9 is no news."""
    more = {"parts": [{"part_id": "P 9", "name": "x"}], "installations": [fitted("G1", "P9", "1900")]}
    with pytest.raises(Refused) as refusal:
        import_register(write_folder(tmp_path / "sheet", tiny(**more)))
    assert [fault.table for fault in refusal.value.faults] == ["parts"]


def test_a_required_value_cannot_be_cleared(tmp_path):
    import_register(write_folder(tmp_path / "one", tiny()))
    with pytest.raises(Refused, match="name"):
        import_register(write_folder(tmp_path / "two", {"parts": [{"part_id": "P1", "name": ""}]}))


def test_a_single_reference_period_is_the_default(tmp_path):
    import_register(write_folder(tmp_path / "sheet", tiny(reference_periods=[{"vehicle_id": "L1", "label": "as rebuilt", "date": "1912"}])))
    import datetime

    found = figures_of("L1", day=datetime.date(2020, 1, 1), bases=("count",))["count"]
    assert found.reference.label == "as rebuilt"


def test_the_demo_register_imports_without_a_fault():
    report = import_register(DEMO)
    assert report.created["positions"] > 400 and report.act is not None


def test_the_same_file_twice_changes_nothing():
    """Open item 36 of the list of bad sheets."""
    import_register(DEMO)
    acts = Act.objects.count()
    report = import_register(DEMO)
    assert report.act is None and not any(report.created.values()) and not any(report.updated.values()) and not report.cleared
    assert Act.objects.count() == acts


def test_the_same_part_number_twice_in_one_file_is_refused(tmp_path):
    """Open item 37."""
    with pytest.raises(Refused, match="row 2 of this file"):
        import_register(write_folder(tmp_path / "sheet", tiny(parts=[{"part_id": "P1", "name": "again"}])))


def test_a_row_naming_an_unknown_vehicle_is_refused(tmp_path):
    """Open item 38."""
    with pytest.raises(Refused, match="No vehicle has that id"):
        import_register(write_folder(tmp_path / "sheet", tiny(positions=[{"position_id": "X", "vehicle_id": "L7", "name": "x", "visibility": "hidden"}])))


@pytest.mark.parametrize("register", [WORKED, DEMO], ids=["worked example", "demo"])
@pytest.mark.parametrize("kind", ["folder", "workbook"])
def test_export_import_into_an_empty_register_export_gives_the_same_tables(register, kind, tmp_path):
    import_register(register)
    first, second = tmp_path / "first", tmp_path / "second"
    export_register(first)
    travelling = first
    if kind == "workbook":
        travelling = tmp_path / "register.xlsx"
        export_register(travelling)
    empty_the_register()
    import_register(travelling)
    export_register(second)
    assert read_folder(second) == read_folder(first)
    assert read_folder(first)["parts"], "an export of nothing would prove nothing"


def test_a_sheet_of_part_id_and_mass_leaves_everything_else_as_it_was(tmp_path):
    import_register(DEMO)
    before = tmp_path / "before"
    export_register(before)
    sheet = {"parts": [{"part_id": row["part_id"], "mass": row["mass"]} for row in read_folder(before)["parts"]]}
    sheet["parts"][0]["mass"] = "1650 kg"
    report = import_register(write_folder(tmp_path / "masses", sheet))
    assert report.updated["parts"] == 1 and not report.cleared
    after = tmp_path / "after"
    export_register(after)
    expected = read_folder(before)
    expected["parts"][0]["mass"] = "1650 kg"
    found = read_folder(after)
    assert {name: rows for name, rows in found.items() if name != "parts"} == {name: rows for name, rows in expected.items() if name != "parts"}
    assert [row for row in found["parts"] if row not in expected["parts"]] in ([], [row for row in found["parts"] if row["part_id"] == sheet["parts"][0]["part_id"]])


def test_an_empty_cell_in_a_column_that_is_there_clears_and_is_listed(tmp_path):
    import_register(write_folder(tmp_path / "one", tiny(parts=[{"part_id": "P9", "name": "x", "material": "brass"}])))
    report = import_register(write_folder(tmp_path / "two", {"parts": [{"part_id": "p9", "material": ""}]}))
    assert report.cleared == [("parts", "P9", "material", "brass")]
    assert Part.objects.get(key="p9").material == "" and Part.objects.get(key="p9").name == "x"


def test_a_dry_run_changes_nothing(tmp_path):
    report = import_register(write_folder(tmp_path / "one", tiny()), dry_run=True)
    assert report.created["parts"] == 3 and not Part.objects.exists() and not Act.objects.exists()


def test_a_record_changed_since_the_export_is_a_conflict(tmp_path):
    import_register(write_folder(tmp_path / "one", tiny()))
    export_register(tmp_path / "out")
    import_register(write_folder(tmp_path / "two", {"parts": [{"part_id": "P1", "material": "cast iron"}]}))
    parts = tmp_path / "out" / "parts.csv"
    parts.write_text(parts.read_text().replace("first chimney", "the first chimney"))
    with pytest.raises(Conflicted) as found:
        import_register(tmp_path / "out")
    assert "cast iron" in str(found.value) and "the first chimney" in str(found.value)
    import_register(tmp_path / "out", keep="register")
    assert Part.objects.get(key="p1").material == "cast iron"
    import_register(tmp_path / "out", keep="file")
    assert Part.objects.get(key="p1").material == "" and Part.objects.get(key="p1").name == "the first chimney"


def test_a_known_row_id_corrects_a_date(tmp_path):
    import_register(write_folder(tmp_path / "one", tiny()))
    export_register(tmp_path / "out")
    rows = read_folder(tmp_path / "out")["installations"]
    dome = next(row for row in rows if row["part_id"] == "P2")
    report = import_register(write_folder(tmp_path / "two", {"installations": [{"row_id": dome["row_id"], "fitted": "May 1895"}]}))
    assert report.updated["installations"] == 1 and not report.created["installations"]


def test_an_unknown_row_id_is_refused_where_the_table_has_rows(tmp_path):
    import_register(write_folder(tmp_path / "one", tiny()))
    with pytest.raises(Refused, match="row_id"):
        import_register(write_folder(tmp_path / "two", {"installations": [{"row_id": "777", "position_id": "G1", "part_id": "P3", "fitted": "1900"}]}))


def test_a_correction_may_not_make_a_row_the_twin_of_another(tmp_path):
    import_register(write_folder(tmp_path / "one", tiny(treatments=[{"part_id": "P1", "date": "1900", "work": "patched"}, {"part_id": "P1", "date": "1910", "work": "patched"}])))
    export_register(tmp_path / "out")
    second = read_folder(tmp_path / "out")["treatments"][1]
    with pytest.raises(Refused, match="twin"):
        import_register(write_folder(tmp_path / "two", {"treatments": [{"row_id": second["row_id"], "date": "1900"}]}))


def test_original_to_is_resolved_when_stored_and_kept(tmp_path):
    import_register(write_folder(tmp_path / "one", tiny()))
    assert Assessment.objects.get(part="p1").original_to_id == "l1"
    moved = {"installations": [{"position_id": "Q1", "part_id": "P1", "fitted": "as built", "removed": "1950"}, {"position_id": "G1", "part_id": "P1", "fitted": "1951", "removed": ""}]}
    import_register(write_folder(tmp_path / "two", moved))
    assert Assessment.objects.get(part="p1").original_to_id == "l1"
    report = import_register(write_folder(tmp_path / "three", {"assessments": [{"part_id": "P1", "assessed_on": "2020-05-01", "status": "original", "original_to": ""}]}))
    assert report.act is None


def test_a_draft_waits_and_is_exported_as_a_draft(tmp_path):
    draft = {"part_id": "P2", "assessed_on": "2021-01-01", "state": "draft", "status": "original"}
    import_register(write_folder(tmp_path / "one", tiny(assessments=[draft])))
    assert Assessment.objects.count() == 1 and ChangeSet.objects.count() == 1
    export_register(tmp_path / "out")
    assert [row["state"] for row in read_folder(tmp_path / "out")["assessments"]].count("draft") == 1
    assert import_register(tmp_path / "out").act is None
    accepted = dict(next(row for row in read_folder(tmp_path / "out")["assessments"] if row["state"] == "draft"), state="accepted")
    import_register(write_folder(tmp_path / "two", {"assessments": [accepted]}))
    assert Assessment.objects.filter(state="accepted").count() == 2
    shutil.rmtree(tmp_path / "two")
    assert import_register(write_folder(tmp_path / "three", {"assessments": [draft]})).act is None


def test_persons_are_found_by_name_or_made(tmp_path):
    people = [{"person_id": "TW", "name": "T. Wherry"}]
    rows = [assessed("P2", "original", assessor="T. Wherry"), assessed("P1", "original", "2022-02-02", assessor="A. N. Other")]
    import_register(write_folder(tmp_path / "one", tiny(people=people, assessments=rows)))
    assert Assessment.objects.get(part="p2").assessor_id == "tw"
    assert Assessment.objects.get(part="p1", assessed_on_edtf="2022-02-02").assessor.name == "A. N. Other"


def test_the_blank_workbook_imports_with_its_example_rows(tmp_path):
    call_command("export_register", str(tmp_path / "blank.xlsx"), blank=True)
    report = import_register(tmp_path / "blank.xlsx")
    assert report.created["vehicles"] == 1 and report.created["parts"] == 1


def test_a_refusal_at_the_command_line_exits_1_without_a_traceback(tmp_path, capsys):
    with pytest.raises(SystemExit) as stop:
        call_command("import_register", str(write_folder(tmp_path / "sheet", {"parts": [{"part_id": "P9", "name": "x", "mass": "12 T"}]})))
    assert stop.value.code == 1
    told = capsys.readouterr().err
    assert "parts row 2" in told and "ton" in told and "Traceback" not in told


@pytest.mark.parametrize("path", ["nowhere", "nowhere.xlsx", "."])
def test_a_path_that_is_no_register_is_said(path, tmp_path, capsys):
    with pytest.raises(SystemExit):
        call_command("import_register", str(tmp_path / path))
    assert capsys.readouterr().err.strip()
