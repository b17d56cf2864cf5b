"""Rows that say which record they are about, and those that do not."""

from __future__ import annotations

from register.exchange.rawtables import read_register_file
from register.exchange.rows import parse_rows
from register.exchange.schema import TABLES
from tests.exchange.sheet_files import read_csv, read_sheet, sheet, texts, told


def parse(name: str, header: str, *rows: str):
    return parse_rows(TABLES[name], header.split(","), [(line, row.split(",")) for line, row in enumerate(rows, 2)])


def test_a_column_that_is_not_there_is_not_a_value_and_an_empty_cell_is():
    rows, faults = parse("parts", "part_id,mass", "P1,")
    assert not faults and dict(rows[0].values) == {"part_id": "P1", "mass": None}
    assert "name" not in rows[0].values and rows[0].values.get("name") is None


def test_every_fault_of_a_row_is_found_and_its_good_cells_are_kept():
    rows, faults = parse("parts", "part_id,name,mass,quantity,made", "P1,Plate,12 T,lots,190?")
    assert [fault.column for fault in faults] == ["mass", "quantity", "made"]
    assert rows[0].bad == ("mass", "quantity", "made") and rows[0].values == {"part_id": "P1", "name": "Plate"}


def test_a_row_with_a_row_id_needs_no_key():
    rows, faults = parse("treatments", "row_id,replaced", "12,0.5")
    assert not faults and (rows[0].row_id, rows[0].line) == ("12", 2)


def test_a_row_with_neither_row_id_nor_key_is_a_fault():
    rows, faults = parse("treatments", "row_id,replaced", "12,0.5", ",0.6")
    assert len(rows) == 1 and [(fault.row, fault.column) for fault in faults] == [(3, "row_id")]
    rows, faults = parse("treatments", "part_id,replaced", "P1,0.5", "P2,0.6")
    assert not rows and len(faults) == 1 and "column date and the column work is missing" in str(faults[0])
    rows, faults = parse("parts", "part_id,name", ",Plate")
    assert not rows and [str(fault) for fault in faults] == ["parts row 2, part_id: It is empty; it is needed, and says which part this row is about."]


def test_an_empty_cell_in_a_needed_column_is_a_fault_for_a_known_row_too():
    rows, faults = parse("treatments", "row_id,part_id,date,work", "12,P1,1998,")
    assert len(rows) == 1 and [(fault.row, fault.column) for fault in faults] == [(2, "work")]
    rows, faults = parse("parts", "part_id,name", "P1,")
    assert len(rows) == 1 and [fault.column for fault in faults] == ["name"]


def test_a_bad_row_id_is_a_fault():
    rows, faults = parse("treatments", "row_id,part_id,date,work", "a b,P1,1998,x")
    assert not rows and [fault.column for fault in faults] == ["row_id"]


def test_row_id_is_no_column_of_a_table_whose_rows_have_ids_of_their_own():
    _, faults = parse("parts", "row_id,part_id,name", "1,P1,x")
    assert "row_id" in str(faults[0])


def test_blank_columns_are_passed_over_and_something_under_them_is_a_fault():
    rows, faults = parse("parts", "part_id,,name,,", "P1,,x,,", "P2,,y,,", ",,,,")
    assert len(rows) == 2 and not faults
    rows, faults = parse("parts", "part_id,,name,,", "P1,,x,,", "P2,odd,y,,oops", "P3,more,z,,")
    assert [(fault.row, fault.column) for fault in faults] == [(3, "column B"), (3, "column E")]


def test_unknown_files_are_named_and_other_things_in_the_folder_are_passed_over(tmp_path):
    (tmp_path / "chimney.jpg").write_bytes(b"x")
    (tmp_path / "README.txt").write_text("x")
    (tmp_path / "datapackage.json").write_text("{")
    (tmp_path / "more").mkdir()
    (tmp_path / "more" / "wheels.csv").write_text("a\n")
    (tmp_path / "._parts.csv").write_bytes(b"\0\0")
    assert not read_csv(tmp_path, parts="part_id,name\nP1,x\n").faults
    found = read_csv(tmp_path, wheels="a\n1\n", Parts="a\n", vehicle="a\n")
    assert len(found.faults) == 3 and "wheels.csv" in told(found)
    assert "Did you mean “parts”?" in told(found) and "Did you mean “vehicles”?" in told(found)


def test_a_folder_without_tables_is_refused(tmp_path):
    assert "no table of the register" in told(read_register_file(tmp_path))


def test_the_export_row_comes_apart_from_the_tables(tmp_path):
    found = read_csv(tmp_path, export="register_id,change_no,written_at\nabc,12,2026-05-02T10:00:00+00:00\n")
    assert found.export == {"register_id": "abc", "change_no": 12, "written_at": "2026-05-02T10:00:00+00:00"} and not found.rows
    assert "exactly one row" in told(read_csv(tmp_path, export="register_id,change_no\na,1\nb,2\n"))
    for number in ("", "1.5", "-1", "x", "１"):
        assert "whole number" in told(read_csv(tmp_path, export=f"register_id,change_no\nabc,{number}\n"))


def test_the_name_of_the_file_that_cannot_be_read_is_told(tmp_path):
    (tmp_path / "parts.csv").symlink_to(tmp_path / "nowhere.csv")
    found = read_register_file(tmp_path)
    assert found.faults
    found = read_sheet(tmp_path, sheet() + "<")
    assert "parts" in told(found) and "damaged" in told(found)
    assert texts(read_csv(tmp_path / "good", parts="part_id,name\nP1,x\n"), "parts", "name") == ["x"]
