"""Thirty-eight ways in which a sheet can be bad, one test for each, by number.

Expected unless the test says otherwise: refused with table, row, column, value and what to do, nothing raised. Rules of
CSV are those of RFC 4180, of the workbook ECMA-376 (parts 1 and 2), of formulas in exports CWE-1236; all from memory.
"""

from __future__ import annotations

import ast
import csv
import tracemalloc
import zipfile
from pathlib import Path

import pytest

from register.exchange import cells, package
from register.exchange.rawtables import read_register_file
from register.exchange.schema import MAX_TEXT
from register.exchange.writing import write_csv_folder, write_workbook
from tests.exchange.sheet_files import (
    DATE_STYLE,
    HEAD,
    MAIN,
    TIME_STYLE,
    cell,
    folder,
    header,
    lie_about_sizes,
    read_csv,
    read_sheet,
    sheet,
    texts,
    told,
    workbook,
)

HERE = "tests/exchange/test_bad_sheets.py"
THERE = "tests/services/test_import_register.py"
CASES = {
    1: (HERE, "test_latin_1_is_refused_and_the_line_named"),
    2: (HERE, "test_utf_16_is_refused"),
    3: (HERE, "test_a_byte_order_mark_is_accepted_and_the_first_header_is_clean"),
    4: (HERE, "test_rows_that_end_in_a_return_alone_are_read"),
    5: (HERE, "test_mixed_line_ends_are_read"),
    6: (HERE, "test_semicolons_are_refused"),
    7: (HERE, "test_tabs_are_refused"),
    8: (HERE, "test_a_newline_in_a_quoted_cell_is_kept_and_rows_are_still_counted_as_a_spreadsheet_does"),
    9: (HERE, "test_an_unclosed_quote_is_refused_at_the_row_where_it_opens"),
    10: (HERE, "test_every_ragged_row_is_refused"),
    11: (HERE, "test_two_columns_of_one_name_are_refused"),
    12: (HERE, "test_a_header_in_other_case_or_with_spaces_is_refused_and_the_right_one_named"),
    13: (HERE, "test_missing_and_unknown_columns_are_refused_and_their_order_is_free"),
    14: (HERE, "test_an_empty_file_is_refused"),
    15: (HERE, "test_a_header_without_rows_is_an_empty_table"),
    16: (HERE, "test_text_that_looks_like_a_formula_is_kept_as_typed_and_neutralised_on_export"),
    17: (HERE, "test_an_exported_workbook_holds_no_formula_and_no_link"),
    18: (HERE, "test_a_formula_counts_as_its_last_value_and_without_one_is_refused"),
    19: (HERE, "test_merged_cells_are_refused_and_the_range_named"),
    20: (HERE, "test_hidden_rows_columns_and_sheets_are_read_and_said"),
    21: (HERE, "test_date_serials_of_both_systems_are_the_right_days"),
    22: (HERE, "test_serials_that_are_no_certain_day_are_refused"),
    23: (HERE, "test_two_digit_years_are_refused_and_the_day_comes_first"),
    24: (HERE, "test_dates_before_1900_are_read_from_text"),
    25: (HERE, "test_too_many_rows_are_refused_by_count"),
    26: (HERE, "test_a_sheet_of_16384_columns_is_refused_in_one_line"),
    27: (HERE, "test_a_zip_bomb_is_refused_before_it_goes_off"),
    28: (HERE, "test_other_kinds_of_file_are_refused_with_how_to_save_them"),
    29: (HERE, "test_external_entities_are_refused_in_every_part"),
    30: (HERE, "test_a_billion_laughs_are_refused_in_every_part"),
    31: (HERE, "test_a_part_that_would_unpack_elsewhere_is_refused"),
    32: (HERE, "test_pictures_and_links_to_other_files_are_never_opened"),
    33: (HERE, "test_a_file_over_the_limit_is_refused"),
    34: (HERE, "test_a_cell_longer_than_the_reader_allows_is_refused"),
    35: (HERE, "test_a_nul_is_refused"),
    36: (THERE, "test_the_same_file_twice_changes_nothing"),
    37: (THERE, "test_the_same_part_number_twice_in_one_file_is_refused"),
    38: (THERE, "test_a_row_naming_an_unknown_vehicle_is_refused"),
}
PARTS = "part_id,name,made\n"


def test_every_bad_sheet_has_its_test():
    assert list(CASES) == list(range(1, 39))
    defined = {file: {node.name for node in ast.walk(ast.parse(Path(file).read_text(encoding="utf-8"))) if isinstance(node, ast.FunctionDef)}
               for file in (HERE, THERE)}
    missing = [number for number, (file, name) in CASES.items() if name not in defined[file]]
    assert not missing
    assert len({name for _, name in CASES.values()}) == len(CASES)


# 1-15: CSV


def test_latin_1_is_refused_and_the_line_named(tmp_path):
    found = read_csv(tmp_path, parts=(PARTS + "P1,Plate,1894\nP2,bought for £5½,1894\n").encode("latin-1"))
    assert "parts" in told(found) and "Line 3" in told(found) and "£5½" in told(found) and "CSV UTF-8" in told(found)


def test_utf_16_is_refused(tmp_path):
    for encoding in ("utf-16", "utf-16-le", "utf-16-be"):
        found = read_csv(tmp_path, parts=(PARTS + "P1,Plate,1894\n").encode(encoding))
        assert "UTF-16" in told(found) and "CSV UTF-8" in told(found)


def test_a_byte_order_mark_is_accepted_and_the_first_header_is_clean(tmp_path):
    found = read_csv(tmp_path, parts=("\ufeff" + PARTS + "P1,Gŵr Łódź,1894\n").encode())
    assert not found.faults and found.header["parts"][0] == "part_id"
    assert texts(found, "parts", "name") == ["Gŵr Łódź"]


def test_rows_that_end_in_a_return_alone_are_read(tmp_path):
    found = read_csv(tmp_path, parts="part_id,name\rP1,Plate\rP2,Dome\r")
    assert not found.faults and texts(found, "parts", "name") == ["Plate", "Dome"]


def test_mixed_line_ends_are_read(tmp_path):
    found = read_csv(tmp_path, parts="part_id,name\r\nP1,Plate\nP2,Dome\rP3,Cab\r\n")
    assert not found.faults and [(row.line, row.values["name"]) for row in found.rows["parts"]] == [(2, "Plate"), (3, "Dome"), (4, "Cab")]


def test_semicolons_are_refused(tmp_path):
    found = read_csv(tmp_path, parts="part_id;name\nP1;Plate, left\n")
    assert "semicolons" in told(found) and "comma" in told(found) and not found.rows


def test_tabs_are_refused(tmp_path):
    assert "tabs" in told(read_csv(tmp_path, parts="part_id\tname\nP1\tPlate\n"))


def test_a_newline_in_a_quoted_cell_is_kept_and_rows_are_still_counted_as_a_spreadsheet_does(tmp_path):
    found = read_csv(tmp_path, parts='part_id,name,remarks\r\nP1,Plate,"one\r\ntwo\r\n\r\nthree"\r\n\r\nP2,Dome,\r\nP 3,Cab,\r\n')
    assert texts(found, "parts", "remarks") == ["one\ntwo\n\nthree", None]
    assert [row.line for row in found.rows["parts"]] == [2, 4]  # row 3 is the blank one
    assert [fault.row for fault in found.faults] == [5]


def test_an_unclosed_quote_is_refused_at_the_row_where_it_opens(tmp_path):
    found = read_csv(tmp_path, parts='part_id,name\nP1,Plate\nP2,"Dome\nP3,Cab\nP4,Bell\n')
    assert "parts row 3" in told(found) and "never closed" in told(found)
    assert len(found.faults) == 1


def test_every_ragged_row_is_refused(tmp_path):
    found = read_csv(tmp_path, parts=PARTS + "P1,Plate, left,1894\nP2,Dome,1894\nP3\n,,\n")
    assert [(fault.table, fault.row) for fault in found.faults] == [("parts", 2), ("parts", 4)]
    assert "4 cells" in str(found.faults[0]) and "1 cell " in str(found.faults[1])
    assert texts(found, "parts", "part_id") == ["P2"]


def test_two_columns_of_one_name_are_refused(tmp_path):
    found = read_csv(tmp_path, parts="part_id,name,mass,name\nP1,Plate,1 kg,Dome\n")
    assert "parts row 1, name: Two columns have this name" in told(found) and len(found.faults) == 1


def test_a_header_in_other_case_or_with_spaces_is_refused_and_the_right_one_named(tmp_path):
    found = read_csv(tmp_path, parts="part_id,Name ,Date mark,mass\nP1,Plate,1987,3 kg\n")
    assert [str(fault) for fault in found.faults] == [
        "parts row 1, Name : No column of parts is called “Name ”. Did you mean “name”?",
        "parts row 1, Date mark: No column of parts is called “Date mark”. Did you mean “date_mark”?",
    ]


def test_missing_and_unknown_columns_are_refused_and_their_order_is_free(tmp_path):
    assert "part_id is missing" in told(read_csv(tmp_path, parts="name\nPlate\nDome\n"))
    found = read_csv(tmp_path, parts="part_id,name,colour\nP1,Plate,red\n")
    assert "colour" in told(found) and "No column" in told(found) and len(found.faults) == 1
    found = read_csv(tmp_path, parts="mass,name,part_id\n3 kg,Plate,P1\n")
    assert not found.faults and texts(found, "parts", "part_id") == ["P1"]


def test_an_empty_file_is_refused(tmp_path):
    for content in ("", "\n\n", " \r\n", ",,\n"):
        assert "parts: The file is empty" in told(read_csv(tmp_path, parts=content))
    found = read_sheet(tmp_path, sheet())
    assert "parts: The sheet is empty" in told(found)


def test_a_header_without_rows_is_an_empty_table(tmp_path):
    for found in (read_csv(tmp_path / "csv", parts=PARTS), read_sheet(tmp_path, sheet(header("part_id", "name")))):
        assert not found.faults and found.rows == {"parts": []}


# 16-20: formulas, merged and hidden cells

FORMULAS = ["=1+1", "+44", "-12", "@SUM(A1)", "\t=1", "\r=1", "'quoted", "''twice", "'", "=HYPERLINK(\"http://127.0.0.1/\",\"x\")",
            "=cmd|' /C calc'!A0", "#N/A", "TRUE", "007"]


def exported(remarks: list[str]) -> list[tuple[str, tuple[str, ...], list[list[str]]]]:
    return [("parts", ("part_id", "name", "remarks"), [[f"P{number}", "x", text] for number, text in enumerate(remarks)])]


def test_text_that_looks_like_a_formula_is_kept_as_typed_and_neutralised_on_export(tmp_path):
    quoted = "".join('P{},x,"{}"\n'.format(number, (f"'{text}" if text[0] == "'" else text).replace('"', '""')) for number, text in enumerate(FORMULAS))
    found = read_csv(tmp_path / "typed", parts="part_id,name,remarks\n" + quoted)
    kept = texts(found, "parts", "remarks")
    assert kept == [text.replace("\r", "\n") for text in FORMULAS]  # every line end is a newline
    write_csv_folder(tmp_path / "export", exported(kept))
    with (tmp_path / "export" / "parts.csv").open(encoding="utf-8", newline="") as file:
        written = [row[2] for row in csv.reader(file)][1:]
    assert not [text for text in written if text.startswith(("=", "+", "-", "@", "\t", "\r", "\n"))]
    assert written == [f"'{text}" if number < 11 else text for number, text in enumerate(kept)]
    assert texts(read_register_file(tmp_path / "export"), "parts", "remarks") == kept


def test_an_exported_workbook_holds_no_formula_and_no_link(tmp_path):
    path = tmp_path / "register.xlsx"
    kept = [text.replace("\r", "\n") for text in FORMULAS]
    write_workbook(path, exported(kept))
    with zipfile.ZipFile(path) as archive:
        xml = archive.read("xl/worksheets/sheet1.xml").decode()
        assert "<f>" not in xml and "<f " not in xml and 't="e"' not in xml and 't="b"' not in xml and "hyperlink" not in xml
        assert not [name for name in archive.namelist() if "external" in name.lower()]
    found = read_register_file(path)
    assert not found.faults and found.formulas == 0 and texts(found, "parts", "remarks") == kept


def test_a_formula_counts_as_its_last_value_and_without_one_is_refused(tmp_path):
    found = read_sheet(tmp_path, sheet(
        header("part_id", "name", "quantity", "mass"),
        [cell("A2", "P1"), cell("B2", "Dome, steel", formula='A1&", steel"'), cell("C2", 4, formula="2+2"), cell("D2", 12.5, formula="25/2")],
        [cell("A3", "P2"), cell("B3", "x"), '<c r="C3"><f>2+2</f></c>', '<c r="D3"><f>2+2</f><v/></c>'],
        [cell("A4", "P3"), cell("B4", "x"), cell("C4", "#REF!", formula="Z9", kind="e"), cell("D4", "", formula='""', kind="str")],
    ))
    first = found.rows["parts"][0].values
    assert (first["name"], first["quantity"], first["mass"].best) == ("Dome, steel", 4, 12_500)
    assert [(fault.row, fault.column) for fault in found.faults] == [(3, "quantity"), (3, "mass"), (4, "quantity")]
    assert "C3" in str(found.faults[0]) and "never worked out" in str(found.faults[0]) and "#REF!" in str(found.faults[2])
    assert found.formulas == 7 and any("7 formula cells" in note and "B2" in note for note in found.notes)


def test_merged_cells_are_refused_and_the_range_named(tmp_path):
    rows = [header("part_id", "name"), [cell("A2", "P1"), cell("B2", "Wheel")], [cell("A3", "P2")]]
    found = read_sheet(tmp_path, sheet(*rows, after='<mergeCells count="1"><mergeCell ref="B2:B3"/></mergeCells>'))
    assert any("B2:B3" in str(fault) and "merged" in str(fault) for fault in found.faults)


def test_hidden_rows_columns_and_sheets_are_read_and_said(tmp_path):
    xml = sheet(header("part_id", "name"), f'<row r="2" hidden="1">{cell("A2", "P1")}{cell("B2", "x")}</row>', [cell("A3", "P2"), cell("B3", "y")],
                before='<cols><col min="2" max="2" hidden="1"/></cols>')
    path = workbook(tmp_path / "a.xlsx", {"parts": xml, "places": sheet(header("place_id", "name"), [cell("A2", "S1"), cell("B2", "Shed")])},
                    state={"places": "veryHidden"})
    found = read_register_file(path)
    assert not found.faults and texts(found, "parts", "part_id") == ["P1", "P2"] and texts(found, "places", "name") == ["Shed"]
    notes = "\n".join(found.notes)
    assert "row 2 is hidden" in notes and "column B is hidden" in notes and "places: the sheet is hidden" in notes


# 21-24: dates


def read_dates(tmp_path: Path, *values: str, from_1904: bool = False, style: int = DATE_STYLE, column: str = "made"):
    rows = [[cell(f"A{number}", f"P{number}"), cell(f"B{number}", "x"), f'<c r="C{number}" s="{style}"><v>{value}</v></c>']
            for number, value in enumerate(values, 2)]
    return read_sheet(tmp_path, sheet(header("part_id", "name", column), *rows), from_1904=from_1904)


def test_date_serials_of_both_systems_are_the_right_days(tmp_path):
    # ECMA-376 part 1, 18.17.4.1: 61 is 1 March 1900 and 2958465 is 31 December 9999 from 1900; 0 is 1 January 1904 from
    # 1904; 25569 is the Unix epoch (common knowledge), 1462 days later from 1904
    found = read_dates(tmp_path, "61", "367", "25569", "36526.0")
    assert not found.faults
    assert [date.edtf for date in texts(found, "parts", "made")] == ["1900-03-01", "1901-01-01", "1970-01-01", "2000-01-01"]
    assert texts(found, "parts", "made")[3].text == "2000-01-01"
    found = read_dates(tmp_path, "0", "1", "24107", "35064", from_1904=True)
    assert [date.edtf for date in texts(found, "parts", "made")] == ["1904-01-01", "1904-01-02", "1970-01-01", "2000-01-01"]


def test_serials_that_are_no_certain_day_are_refused(tmp_path):
    bad = ["60", "59", "1", "0", "-200000", "2958466", "1e300", "0.5", "36526.25", "nan"]
    found = read_dates(tmp_path, *bad)
    assert [fault.row for fault in found.faults] == list(range(2, 2 + len(bad)))
    assert all("type the date" in fault.message and f"C{fault.row}" in fault.message for fault in found.faults)
    assert "before 1 March 1900" in str(found.faults[0]) and "9999" in str(found.faults[5])
    found = read_dates(tmp_path, "0.5", "1.25", style=TIME_STYLE)
    assert ["time" in str(fault) for fault in found.faults] == [True, True]
    found = read_dates(tmp_path, "34000", "1894", "1894.5", "12", style=0)  # numbers that are formatted as such
    assert [fault.row for fault in found.faults] == [2, 4, 5] and texts(found, "parts", "made")[0].edtf == "1894"
    found = read_dates(tmp_path, "36526", column="tag")
    assert "a date where a tag is due" in told(found)


def test_two_digit_years_are_refused_and_the_day_comes_first(tmp_path):
    found = read_csv(tmp_path, parts=PARTS + "P1,x,03/04/1931\nP2,x,03/04/31\nP3,x,summer 09\n")
    assert texts(found, "parts", "made")[0].edtf == "1931-04-03"
    assert [fault.row for fault in found.faults] == [3, 4] and "century" in told(found)


def test_dates_before_1900_are_read_from_text(tmp_path):
    found = read_csv(tmp_path, parts=PARTS + "P1,x,1865\nP2,x,c.1865\nP3,x,1865–70\nP4,x,12 May 1894\n")
    assert [date.edtf for date in texts(found, "parts", "made")] == ["1865", "1865~", "1894-05-12"]
    assert [fault.row for fault in found.faults] == [4] and "1865" in told(found)


# 25-34: size and hostile files


def test_too_many_rows_are_refused_by_count(tmp_path):
    many = b"part_id,name\n" + b"".join(b"P%d,x\n" % number for number in range(1_000_000))
    found = read_csv(tmp_path / "csv", parts=many)
    assert "500,000 rows" in told(found) and len(found.faults) == 1 and not found.rows
    rows = "".join(f'<row r="{number}"><c r="A{number}"><v>1</v></c></row>' for number in range(2, cells.LIMIT + 3))
    found = read_sheet(tmp_path, sheet(header("part_id", "name"), rows))
    assert "500,000 rows" in told(found) and len(found.faults) == 1 and not found.rows


def test_a_table_of_as_many_rows_as_are_allowed_is_read(tmp_path, monkeypatch):
    for module in ("cells", "csv_folder", "rawtables", "workbook"):
        monkeypatch.setattr(f"register.exchange.{module}.LIMIT", 3)
    monkeypatch.setattr("register.exchange.workbook._LARGE", 0)
    rows = [f"P{number},x" for number in range(4)]
    assert not read_csv(tmp_path / "csv", parts="\n".join(["part_id,name", *rows[:3]])).faults
    assert "at most 3 rows" in told(read_csv(tmp_path / "csv", parts="\n".join(["part_id,name", *rows])))
    in_cells = [[cell(f"A{number}", f"P{number}"), cell(f"B{number}", "x")] for number in range(2, 6)]
    assert not read_sheet(tmp_path, sheet(header("part_id", "name"), *in_cells[:3])).faults
    assert "at most 3 rows" in told(read_sheet(tmp_path, sheet(header("part_id", "name"), *in_cells)))


def test_a_sheet_of_16384_columns_is_refused_in_one_line(tmp_path):
    wide = sheet([cell(f"{cells.column_letters(index)}1", f"c{index}") for index in range(16_384)])
    found = read_sheet(tmp_path, wide)
    assert len(found.faults) == 1 and "16,384 columns" in told(found)
    found = read_csv(tmp_path / "csv", parts="part_id," + ",".join(f"c{index}" for index in range(16_383)) + "\n")
    assert len(found.faults) == 1 and "16,384 columns" in told(found)
    formatted = sheet(header("part_id", "name"), [cell("A2", "P1"), cell("B2", "x"), '<c r="XFD2" s="1"/>'])  # empty, but formatted
    assert not read_sheet(tmp_path, formatted).faults


def test_a_zip_bomb_is_refused_before_it_goes_off(tmp_path):
    blank = " " * (200 * 1024 * 1024)
    path = workbook(tmp_path / "bomb.xlsx", {"parts": sheet(header("part_id", "name"), after=blank)})
    del blank
    assert path.stat().st_size < 400_000
    tracemalloc.start()
    found = read_register_file(path)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert "unpack to far more" in told(found) and peak < 5_000_000

    lie_about_sizes(path, "xl/worksheets/sheet1.xml", 1_000)  # the directory is not believed either
    tracemalloc.start()
    found = read_register_file(path)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert "cannot be unpacked" in told(found) and peak < 20_000_000 and not found.rows.get("parts")


def test_what_is_unpacked_is_counted_while_it_is_read(tmp_path, monkeypatch):
    path = workbook(tmp_path / "a.xlsx", {"parts": sheet(header("part_id", "name"), after=" " * 300_000)})
    opened = package.Package(path)
    monkeypatch.setattr(package, "MAX_UNPACKED", 200_000)
    with opened, pytest.raises(cells.BrokenTable, match="unpack to far more"):
        for _ in opened.chunks("xl/worksheets/sheet1.xml"):
            pass


OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600)


def test_other_kinds_of_file_are_refused_with_how_to_save_them(tmp_path):
    good = {"parts": sheet(header("part_id", "name"))}

    def written(name: str, content: bytes) -> Path:
        (tmp_path / name).write_bytes(content)
        return tmp_path / name

    def ods(name: str) -> Path:
        with zipfile.ZipFile(tmp_path / name, "w") as archive:
            archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
            archive.writestr("content.xml", "<x/>")
        return tmp_path / name

    locked = workbook(tmp_path / "zip-locked.xlsx", good)
    data = bytearray(locked.read_bytes())
    for signature, at in ((b"PK\x01\x02", 8), (b"PK\x03\x04", 6)):
        place = data.find(signature)
        data[place + at] |= 1
    locked.write_bytes(data)
    with zipfile.ZipFile(tmp_path / "just.xlsx", "w") as archive:
        archive.writestr("letter.txt", "dear")
    expected = {
        workbook(tmp_path / "a.xlsm", good): "macros",
        workbook(tmp_path / "renamed-macros.xlsx", good, macros=True): "macros",
        workbook(tmp_path / "with-macros.xlsx", good, parts={"xl/vbaProject.bin": b"x"}): "macros",
        written("a.xls", OLE): ".xls",
        written("renamed-old.xlsx", OLE): ".xls",
        written("locked.xlsx", OLE + "EncryptedPackage".encode("utf-16-le")): "password",
        locked: "password",
        ods("a.ods"): "OpenDocument",
        ods("renamed-ods.xlsx"): "OpenDocument",
        written("page.xlsx", b"<html><table></table></html>"): "no workbook",
        written("part.xlsx", workbook(tmp_path / "whole.xlsx", good).read_bytes()[:300]): "no workbook",
        written("nothing.xlsx", b""): "empty",
        tmp_path / "just.xlsx": "no workbook",
        written("parts.csv", b"part_id,name\n"): "folder",
        written("a.zip", b"PK"): "unpack it",
        written("letter.docx", b"PK"): "folder of CSV files",
        tmp_path / "missing.xlsx": "no such file",
        tmp_path / "missing": "no such file",
    }
    for path, sentence in expected.items():
        found = read_register_file(path)
        assert sentence in told(found) and path.name in told(found) and len(found.faults) == 1, (path.name, told(found))
    for path in (tmp_path / "a.xls", tmp_path / "a.ods", tmp_path / "a.xlsm", tmp_path / "locked.xlsx"):
        assert "save it as “Excel workbook (.xlsx)”" in told(read_register_file(path))


def with_doctype(tmp_path: Path, doctype: str, entity: str) -> list[Path]:
    """Workbooks with a document type declaration in one part each."""
    rows = [cell("A2", "P1"), cell("B2", "x")]
    plain = sheet(header("part_id", "name"), rows)
    used = plain.replace("<t xml:space=\"preserve\">x</t>", f"<t>{entity}</t>")
    strings = f'{HEAD}<sst xmlns="{MAIN}"><si><t>x</t></si></sst>'
    (tmp_path / "doctype").mkdir()
    base = workbook(tmp_path / "base.xlsx", {"parts": plain}, strings=strings)
    with zipfile.ZipFile(base) as archive:
        parts = {name: archive.read(name).decode() for name in archive.namelist()}
    parts["xl/worksheets/sheet1.xml"] = used
    found = []
    for number, (name, xml) in enumerate(parts.items()):
        path = tmp_path / "doctype" / f"{number}.xlsx"
        found.append(workbook(path, {"parts": plain}, strings=strings, parts={name: xml.replace(HEAD, HEAD + doctype, 1)}))
    assert len(found) == 7
    return found


def test_external_entities_are_refused_in_every_part(tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("CANARY")
    for path in with_doctype(tmp_path, f'<!DOCTYPE x [<!ENTITY e SYSTEM "file://{secret}">]>', "&e;"):
        found = read_register_file(path)
        assert "document type declaration" in told(found), (path, told(found))
        assert "CANARY" not in repr(found)


def test_a_billion_laughs_are_refused_in_every_part(tmp_path):
    laughs = '<!ENTITY a0 "ha">' + "".join(f'<!ENTITY a{number} "{f"&a{number - 1};" * 10}">' for number in range(1, 10))
    for path in with_doctype(tmp_path, f"<!DOCTYPE x [{laughs}]>", "&a9;"):
        tracemalloc.start()
        found = read_register_file(path)
        _, peak = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        assert "document type declaration" in told(found) and peak < 5_000_000


def test_the_library_that_writes_workbooks_reads_none_unguarded():
    import openpyxl.xml

    assert openpyxl.xml.DEFUSEDXML is True


def test_a_part_that_would_unpack_elsewhere_is_refused(tmp_path):
    for name in ("../x.xml", "xl/../../x.xml", "/etc/x.xml", "C:/x.xml", "..\\x.xml"):
        path = workbook(tmp_path / "a.xlsx", {"parts": sheet(header("part_id", "name"))}, parts={name: "<x/>"})
        assert "outside its own folder" in told(read_register_file(path))
    assert not (tmp_path / "x.xml").exists() and not (tmp_path.parent / "x.xml").exists()


def test_pictures_and_links_to_other_files_are_never_opened(tmp_path, monkeypatch):
    opened: list[str] = []
    chunks = package.Package.chunks
    monkeypatch.setattr(package.Package, "chunks", lambda self, name: (opened.append(name), chunks(self, name))[1])
    link = f'{HEAD}<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="x/externalLinkPath" ' \
           'Target="http://127.0.0.1:9/other.xlsx" TargetMode="External"/></Relationships>'
    path = workbook(tmp_path / "a.xlsx", {"parts": sheet(header("part_id", "name"), [cell("A2", "P1"), cell("B2", 3, formula="[1]Sheet1!A1")])}, parts={
        "xl/externalLinks/externalLink1.xml": "not even XML", "xl/externalLinks/_rels/externalLink1.xml.rels": link,
        "xl/worksheets/_rels/sheet1.xml.rels": link, "xl/media/image1.png": b"\x89PNG not a picture", "xl/drawings/drawing1.xml": "<broken",
    })
    found = read_register_file(path)
    assert not found.faults and texts(found, "parts", "name") == ["3"]
    assert not [name for name in opened if "external" in name or "media" in name or "drawing" in name or "worksheets/_rels" in name]


def test_a_file_over_the_limit_is_refused(tmp_path):
    base = folder(tmp_path, parts="part_id,name\n")
    for path in (base / "parts.csv", workbook(tmp_path / "a.xlsx", {"parts": sheet()})):
        with path.open("r+b") as file:
            file.truncate(cells.MAX_FILE + 1)
        found = read_register_file(path if path.suffix == ".xlsx" else base)
        assert "100 MB" in told(found) and len(found.faults) == 1


@pytest.fixture
def reader_limit():
    """The standard library's own limit, one for the process, which an imported library may have raised."""
    before = csv.field_size_limit(131_072)
    yield
    csv.field_size_limit(before)


@pytest.mark.usefixtures("reader_limit")
def test_a_cell_longer_than_the_reader_allows_is_refused(tmp_path):
    found = read_csv(tmp_path, parts=f"part_id,name,remarks\nP1,x,{'a' * MAX_TEXT}\nP2,x,{'a' * (MAX_TEXT + 1)}\nP3,x,{'a' * 140_000}\nP4,x,y\n")
    assert [fault.row for fault in found.faults] == [3, 4] or [fault.row for fault in found.faults] == [4, 3]
    assert "20,001 characters" in told(found) and "131,072 characters" in told(found)
    assert all(len(line) < 1_000 for line in told(found).splitlines())
    found = read_sheet(tmp_path, sheet(header("part_id", "name", "remarks"), [cell("A2", "P1"), cell("B2", "x"), cell("C2", "a" * 1_000_000)]))
    assert "1,000,000 characters" in told(found)


def test_a_nul_is_refused(tmp_path):
    found = read_csv(tmp_path, parts="part_id,name,disposal\nP1,a\0b,\nP\0 2,x,\nP3,x,lo\0st\n")
    assert [fault.row for fault in found.faults] == [2, 3, 4]
    assert all("\\x00" in str(fault) for fault in found.faults) and "\0" not in told(found)


