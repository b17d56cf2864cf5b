"""What is written, opened by something other than its writer: the standard library's csv, and python-calamine."""

from __future__ import annotations

import csv
import io
import stat
import zipfile
from pathlib import Path

import pytest
import python_calamine
from hypothesis import example, given, settings
from hypothesis import strategies as st

from register.exchange.datapackage import describe, write_datapackage
from register.exchange.rawtables import ReadResult, read_register_file
from register.exchange.schema import ORDER, TABLES
from register.exchange.values import read_text, write_value
from register.exchange.writing import WrittenTable, write_csv_folder, write_workbook

ROOT = Path(__file__).parent.parent.parent
REGISTERS = [ROOT / "tests" / "worked_example", ROOT / "fixtures" / "demo"]
PARTS = ("parts", ("part_id", "name", "remarks"))


def written(found: ReadResult) -> list[WrittenTable]:
    """The tables of what was read, as text."""
    tables = []
    for name, rows in found.rows.items():
        header = found.header[name]
        tables.append((name, header, [[write_value(TABLES[name].by_name[column], row.values[column]) for column in header] for row in rows]))
    return tables


def one_table(remarks: list[str]) -> list[WrittenTable]:
    return [(*PARTS, [[f"P{number}", "x", text] for number, text in enumerate(remarks)])]


def values(found: ReadResult) -> dict[str, list[object]]:
    assert not found.faults, found.faults
    return {name: [dict(row.values) for row in rows] for name, rows in found.rows.items()}


kept_text = st.text(max_size=80).filter(lambda text: _is_kept(text))


def _is_kept(text: str) -> bool:
    try:
        return bool(text.strip()) and read_text(text) == text
    except ValueError:
        return False


@pytest.mark.parametrize("register", REGISTERS, ids=lambda path: path.name)
def test_a_register_is_read_without_a_fault_and_comes_back_the_same(register, tmp_path):
    first = read_register_file(register)
    assert not first.faults and len(first.rows) >= 9
    assert {name: len(rows) for name, rows in first.rows.items()} == {
        name: sum(1 for _ in csv.DictReader((register / f"{name}.csv").open(encoding="utf-8", newline=""))) for name in first.rows}
    write_csv_folder(tmp_path / "csv", written(first))
    write_workbook(tmp_path / "register.xlsx", written(first))
    for path in (tmp_path / "csv", tmp_path / "register.xlsx"):
        assert values(read_register_file(path)) == values(first)


@pytest.mark.outside
@given(remarks=st.lists(kept_text, min_size=1, max_size=20))
@settings(max_examples=60, deadline=None)
def test_any_text_comes_back_from_csv_and_any_reader_of_csv_reads_it(remarks, tmp_path_factory):
    """RFC 4180, read by the standard library, from memory; the guard against formulas is CWE-1236."""
    path = tmp_path_factory.mktemp("csv") / "register"
    write_csv_folder(path, one_table(remarks))
    assert [row.values["remarks"] for row in read_register_file(path).rows["parts"]] == remarks
    content = (path / "parts.csv").read_bytes()
    seen = [row[2] for row in csv.reader(io.StringIO(content.decode("utf-8"), newline=""))][1:]
    assert [text[1:] if text[0] == "'" else text for text in seen] == remarks
    assert not any(text[0] in "=+-@\t\r\n" for text in seen)
    assert content.endswith(b"\r\n")


@pytest.mark.outside
@given(remarks=st.lists(kept_text, min_size=1, max_size=20))
@example(remarks=["_x0041_ b", "_x005F_", "a\n\nb", "\tx", "007", "1E5", "#REF!", "=1", "2026-05-02"])
@settings(max_examples=40, deadline=None)
def test_any_text_comes_back_from_a_workbook_and_another_reader_reads_it(remarks, tmp_path_factory):
    """python-calamine, which shares no code with what wrote the workbook."""
    path = tmp_path_factory.mktemp("xlsx") / "register.xlsx"
    write_workbook(path, one_table(remarks))
    assert [row.values["remarks"] for row in read_register_file(path).rows["parts"]] == remarks
    rows = python_calamine.CalamineWorkbook.from_path(str(path)).get_sheet_by_name("parts").to_python()
    assert rows[0] == list(PARTS[1])
    assert [row[2] for row in rows[1:]] == remarks


@pytest.mark.outside
def test_every_cell_of_a_workbook_is_text_to_another_reader(tmp_path):
    path = tmp_path / "register.xlsx"
    write_workbook(path, written(read_register_file(REGISTERS[0])))
    book = python_calamine.CalamineWorkbook.from_path(str(path))
    assert set(book.sheet_names) <= set(ORDER)
    cells = [cell for name in book.sheet_names for row in book.get_sheet_by_name(name).to_python() for cell in row]
    assert len(cells) > 300 and all(isinstance(cell, str) for cell in cells)


def test_the_first_row_is_bold_and_stays_in_sight(tmp_path):
    import openpyxl

    path = tmp_path / "register.xlsx"
    write_workbook(path, one_table(["=1+1"]))
    page = openpyxl.load_workbook(path)["parts"]
    assert page.freeze_panes == "A2" and page["A1"].font.bold and not page["A2"].font.bold
    assert (page["C2"].value, page["C2"].data_type, page["C2"].number_format) == ("=1+1", "s", "@")
    assert all(page.column_dimensions[letter].width > len(page[f"{letter}1"].value) for letter in "ABC")


def test_nothing_is_overwritten_unless_asked(tmp_path):
    path = tmp_path / "register.xlsx"
    path.write_text("mine")
    with pytest.raises(FileExistsError, match="there already"):
        write_workbook(path, one_table(["a"]))
    assert path.read_text() == "mine"
    write_workbook(path, one_table(["a"]), overwrite=True)
    assert zipfile.is_zipfile(path)
    with pytest.raises(FileExistsError, match="is a file"):
        write_csv_folder(path, one_table(["a"]))

    place = tmp_path / "folder"
    place.mkdir()
    write_csv_folder(place, one_table(["a"]))  # an empty folder is no one's
    (place / "chimney.jpg").write_text("picture")
    (place / "places.csv").write_text("place_id,name\nold,old\n")
    with pytest.raises(FileExistsError, match="not empty"):
        write_csv_folder(place, one_table(["b"]))
    assert "a" in (place / "parts.csv").read_text()
    write_csv_folder(place, one_table(["b"]), overwrite=True)
    assert sorted(path.name for path in place.iterdir()) == ["chimney.jpg", "parts.csv"]  # no table of another export is left
    with pytest.raises(FileExistsError, match="is a folder"):
        write_workbook(place, one_table(["a"]), overwrite=True)


@pytest.mark.parametrize("write", [write_csv_folder, write_workbook])
def test_an_export_that_fails_half_way_leaves_nothing(write, tmp_path):
    def rows():
        yield ["P1", "x", "y"]
        raise RuntimeError("the disk is full")

    path = tmp_path / "out" / ("register.xlsx" if write is write_workbook else "register")
    with pytest.raises(RuntimeError):
        write(path, [(*PARTS, rows())])
    assert list((tmp_path / "out").iterdir()) == []


def test_a_written_folder_is_open_to_those_who_may_read_its_parent(tmp_path):
    plain = tmp_path / "plain"
    plain.mkdir()
    write_csv_folder(tmp_path / "register", one_table(["a"]))
    assert stat.S_IMODE((tmp_path / "register").stat().st_mode) == stat.S_IMODE(plain.stat().st_mode)


def test_the_description_names_every_column_and_key(tmp_path):
    """Data Package and Table Schema (datapackage.org), from memory."""
    import json

    tables = [(name, table.header, []) for name, table in TABLES.items()]
    write_csv_folder(tmp_path / "register", tables)
    write_datapackage(tmp_path / "register", tables)
    package = json.loads((tmp_path / "register" / "datapackage.json").read_text(encoding="utf-8"))
    resources = {resource["name"]: resource for resource in package["resources"]}
    assert list(resources) == list(TABLES)
    for name, resource in resources.items():
        with (tmp_path / "register" / resource["path"]).open(encoding=resource["encoding"], newline="") as file:
            assert next(csv.reader(file)) == [field["name"] for field in resource["schema"]["fields"]]
        columns = {field["name"] for field in resource["schema"]["fields"]}
        assert set(resource["schema"].get("primaryKey", [])) <= columns
        for key in resource["schema"].get("foreignKeys", []):
            target = resources[key["reference"]["resource"] or name]
            assert set(key["fields"]) <= columns and len(key["fields"]) == len(key["reference"]["fields"])
            assert set(key["reference"]["fields"]) <= {field["name"] for field in target["schema"]["fields"]}
    fields = {field["name"]: field for field in resources["assessments"]["schema"]["fields"]}
    assert fields["status"]["constraints"] == {"required": True, "enum": ["original", "restored", "replica", "modern substitute"]}
    assert fields["fraction"]["type"] == "number" and fields["part_id"]["constraints"]["required"]
    assert resources["installations"]["schema"]["primaryKey"] == ["row_id"] and resources["reference_periods"]["schema"]["primaryKey"] == ["vehicle_id", "label"]
    assert {"fields": ["assessor"], "reference": {"resource": "people", "fields": ["person_id"]}} in resources["assessments"]["schema"]["foreignKeys"]
    assert {"fields": ["parent_id"], "reference": {"resource": "", "fields": ["position_id"]}} in resources["positions"]["schema"]["foreignKeys"]


def test_keys_to_what_an_export_leaves_out_are_left_out():
    package = describe([("parts", ("part_id", "name", "owner")), ("treatments", ("part_id", "work"))])
    parts, treatments = (resource["schema"] for resource in package["resources"])
    assert "foreignKeys" not in parts and "primaryKey" not in treatments
    assert treatments["foreignKeys"] == [{"fields": ["part_id"], "reference": {"resource": "parts", "fields": ["part_id"]}}]
