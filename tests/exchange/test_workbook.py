"""Cells of workbooks as the exchange format reads them: numbers, dates and booleans, by the kind of the column."""

from __future__ import annotations

import datetime

import pytest

from register.exchange.number_cells import format_kind, plain_number
from register.exchange.rawtables import read_register_file
from register.exchange.sheet_xml import escaped, unescaped
from register.fabric.interval import Interval
from tests.exchange.sheet_files import (
    DATE_STYLE,
    HEAD,
    MAIN,
    PERCENT_STYLE,
    TIME_STYLE,
    cell,
    header,
    read_sheet,
    sheet,
    texts,
    told,
    workbook,
)


def read_cell(tmp_path, column: str, xml: str, table: str = "parts"):
    """One row of a table, the cell under ``column`` as given (at C2)."""
    keys = {"parts": ("part_id", "name"), "assessments": ("part_id", "assessed_on"), "vehicles": ("vehicle_id", "name")}[table]
    day = cell("B2", "2026-05-02")
    return read_sheet(tmp_path, sheet(header(*keys, column), [cell("A2", "X1"), day, xml]), table=table)


@pytest.mark.parametrize(("table", "column", "xml", "value"), [
    ("parts", "mass", cell("C2", 1640), Interval.exactly(1_640_000)),
    ("parts", "mass", cell("C2", "0.30000000000000004"), Interval.exactly(300)),
    ("parts", "mass", '<c r="C2"><v>0.30000000000000004</v></c>', Interval.exactly(300)),
    ("parts", "mass", '<c r="C2"><v>1.64E+3</v></c>', Interval.exactly(1_640_000)),
    ("parts", "quantity", cell("C2", "14.0", kind="n"), 14),
    ("parts", "marks", cell("C2", "412.0", kind="n"), "412"),
    ("parts", "marks", cell("C2", 4.2), "4.2"),
    ("parts", "marks", cell("C2", True), "TRUE"),
    ("assessments", "fraction", cell("C2", 0.6, style=PERCENT_STYLE), Interval.exactly(600_000)),
    ("assessments", "fraction", cell("C2", 1), Interval.exactly(1_000_000)),
    ("vehicles", "published", cell("C2", True), True),
    ("vehicles", "published", cell("C2", False), False),
    ("vehicles", "published", cell("C2", "yes"), True),
    ("vehicles", "former_numbers", cell("C2", 6), "6"),
])
def test_numbers_and_booleans_are_understood(tmp_path, table, column, xml, value):
    found = read_cell(tmp_path, column, xml, table)
    assert not found.faults, told(found)
    assert found.rows[table][0].values[column] == value


@pytest.mark.parametrize(("table", "column", "xml", "sentence"), [
    ("parts", "mass", cell("C2", -5), "negative"),
    ("parts", "mass", cell("C2", 36526, style=DATE_STYLE), "a date where a mass is due"),
    ("parts", "quantity", cell("C2", 14.5), "whole number"),
    ("parts", "made", cell("C2", 189), "only a year can be a number"),
    ("parts", "made", cell("C2", 1894.5), "only a year can be a number"),
    ("parts", "made", cell("C2", 0.5, style=TIME_STYLE), "a time of day"),
    ("parts", "marks", cell("C2", 0.5, style=TIME_STYLE), "a time of day"),
    ("parts", "marks", '<c r="C2" t="n"><v>INF</v></c>', "cannot be read"),
    ("parts", "owner", cell("C2", 36526, style=DATE_STYLE), "a date where a person is due"),
    ("parts", "name2", cell("C2", "x"), "name2"),
    ("parts", "marks", '<c r="C2" t="s"><v>99</v></c>', "damaged"),
    ("parts", "marks", '<c r="C2" t="s"><v>-1</v></c>', "damaged"),
    ("parts", "marks", '<c r="C2" t="zz"><v>1</v></c>', "not known"),
    ("parts", "marks", '<c r="C2" t="e"><v>#DIV/0!</v></c>', "#DIV/0!"),
    ("assessments", "fraction", cell("C2", 60), "more than the whole"),
    ("assessments", "original_to", cell("C2", True), "where an id is due"),
])
def test_what_a_spreadsheet_made_of_a_cell_is_refused_where_it_cannot_be_meant(tmp_path, table, column, xml, sentence):
    found = read_cell(tmp_path, column, xml, table)
    assert sentence in told(found) and len(found.faults) == 1, told(found)
    if "<v>" in xml and column != "name2":
        assert "C2" in told(found) or "row 2" in told(found)


def test_whole_numbers_in_id_columns_are_their_digits_and_counted(tmp_path):
    found = read_sheet(tmp_path, sheet(header("position_id", "part_id", "fitted"),
                                       [cell("A2", 7), cell("B2", "41.0", kind="n"), cell("C2", 1894)],
                                       [cell("A3", "A7"), cell("B3", 0), cell("C3", "1894")]), table="installations")
    assert not found.faults and texts(found, "installations", "part_id") == ["41", "0"] and texts(found, "installations", "position_id") == ["7", "A7"]
    assert found.ids_from_numbers == 3 and any("3 ids were read from number cells" in note and "A2" in note for note in found.notes)
    bad = [36526, 4.5, -4, "1e15"]
    rows = [[cell(f"A{line}", value, kind="n", style=DATE_STYLE if line == 2 else 0), cell(f"B{line}", "x")] for line, value in enumerate(bad, 2)]
    found = read_sheet(tmp_path, sheet(header("part_id", "name"), *rows))
    assert [fault.row for fault in found.faults] == [2, 3, 4, 5] and "a date where an id is due" in told(found)


def test_a_date_cell_in_a_column_of_text_is_its_day_and_said(tmp_path):
    found = read_cell(tmp_path, "marks", cell("C2", 36526, style=DATE_STYLE))
    assert texts(found, "parts", "marks") == ["2000-01-01"] and any("date cells stand in columns of text" in note for note in found.notes)


def test_days_written_out_are_understood(tmp_path):
    found = read_cell(tmp_path, "made", '<c r="C2" t="d"><v>1875-06-01T00:00:00</v></c>')
    assert texts(found, "parts", "made")[0].edtf == "1875-06-01"
    assert "time of day" in told(read_cell(tmp_path, "made", '<c r="C2" t="d"><v>1875-06-01T12:00:00</v></c>'))
    assert "time of day" in told(read_cell(tmp_path, "made", '<c r="C2" t="d"><v>1875-13-01</v></c>'))


def test_dates_written_by_another_library_are_the_days_that_went_in(tmp_path):
    """openpyxl writes serial numbers and number formats by itself; days on either side of a leap day, in both systems."""
    from openpyxl import Workbook
    from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900

    days = [datetime.date(1904, 2, 29), datetime.date(1931, 4, 3), datetime.date(2000, 2, 29), datetime.date(2026, 12, 31)]
    for epoch in (CALENDAR_WINDOWS_1900, CALENDAR_MAC_1904):
        book = Workbook()
        book.epoch = epoch
        page = book.active
        page.title = "parts"
        page.append(["part_id", "name", "made"])
        for number, day in enumerate(days):
            page.append([f"P{number}", "x", day])
        book.save(tmp_path / "dates.xlsx")
        found = read_register_file(tmp_path / "dates.xlsx")
        assert [date.edtf for date in texts(found, "parts", "made")] == [day.isoformat() for day in days]


def test_a_date_cell_before_1900_is_that_day(tmp_path):
    """openpyxl, like the spreadsheets that do not hold 1900 for a leap year, counts back from 30 December 1899."""
    from openpyxl import Workbook

    days = [datetime.date(1600, 2, 29), datetime.date(1894, 5, 12), datetime.date(1899, 12, 29)]
    book = Workbook()
    page = book.active
    page.title = "parts"
    page.append(["part_id", "name", "made"])
    for number, day in enumerate(days):
        page.append([f"P{number}", "x", day])
    book.save(tmp_path / "dates.xlsx")
    found = read_register_file(tmp_path / "dates.xlsx")
    assert [date.edtf for date in texts(found, "parts", "made")] == [day.isoformat() for day in days]


def test_shared_strings_with_formatting_and_phonetic_readings_are_their_text(tmp_path):
    strings = (f'{HEAD}<sst xmlns="{MAIN}"><si><t>P1</t></si><si><r><rPr><b/></rPr><t xml:space="preserve">Cast </t></r><r><t>iron</t></r></si>'
               '<si><t>東京</t><rPh sb="0" eb="2"><t>トウキョウ</t></rPh></si><si><t>a_x000D__x000A_b _x005F_x0041_</t></si><si/></sst>')
    row = "".join(f'<c r="{letter}2" t="s"><v>{index}</v></c>' for index, letter in enumerate("ABCDE"))
    found = read_sheet(tmp_path, sheet(header("part_id", "name", "material", "remarks", "marks"), f"<row r='2'>{row}</row>"), strings=strings)
    assert dict(found.rows["parts"][0].values) == {"part_id": "P1", "name": "Cast iron", "material": "東京", "remarks": "a\nb _x0041_", "marks": None}


def test_cells_and_rows_without_their_places_are_counted(tmp_path):
    names = "".join(f'<c t="inlineStr"><is><t>{name}</t></is></c>' for name in ("part_id", "name"))
    found = read_sheet(tmp_path, sheet(f"<row>{names}</row>", '<row><c t="str"><v>P1</v></c><c><v>5</v></c></row>', "<row/>",
                                       '<row><c t="str"><v>P 2</v></c><c><v>5</v></c></row>'))
    assert texts(found, "parts", "name") == ["5"] and [fault.row for fault in found.faults] == [4]


def test_the_strict_form_and_prefixed_names_are_read(tmp_path):
    plain = sheet(header("part_id", "name"), [cell("A2", "P1"), cell("B2", "x")])
    strict = plain.replace(MAIN, "http://purl.oclc.org/ooxml/spreadsheetml/main")
    prefixed = plain.replace("<?xml", "<?XML").replace("</", "</x:").replace("<", "<x:").replace("<x:/x:", "</x:").replace("<x:?XML", "<?xml").replace("xmlns=", "xmlns:x=")
    for xml in (strict, prefixed):
        found = read_sheet(tmp_path, xml)
        assert not found.faults and texts(found, "parts", "part_id") == ["P1"]


def test_sheets_that_are_no_table_are_named_and_new_empty_ones_passed_over(tmp_path):
    good = sheet(header("part_id", "name"))
    path = workbook(tmp_path / "a.xlsx", {"about": sheet([cell("A1", "Dear all")]), "parts": good, "Sheet1": sheet(), "Sheet2": sheet([cell("A1", "x")]),
                                          "Wheels": sheet(), "Parts": good})
    found = read_register_file(path)
    assert [fault.column for fault in found.faults] == ["sheet “Sheet2”", "sheet “Wheels”", "sheet “Parts”"]
    assert "Did you mean “parts”?" in told(found) and found.notes == ["Sheet1: an empty sheet, passed over."]
    assert "no table of the register" in told(read_register_file(workbook(tmp_path / "b.xlsx", {"Sheet1": sheet()})))


def test_something_beyond_the_named_columns_is_a_fault(tmp_path):
    found = read_sheet(tmp_path, sheet(header("part_id", "name"), [cell("A2", "P1"), cell("B2", "x"), cell("E2", "odd")], [cell("A3", "P2"), cell("B3", "y"), cell("E3", "odd")]))
    assert [(fault.row, fault.column) for fault in found.faults] == [(2, "column E")] and len(found.rows["parts"]) == 2


def test_damaged_workbooks_are_refused(tmp_path):
    rows = [header("part_id", "name"), [cell("A2", "P1"), cell("B2", "x")]]
    for xml in (sheet(*rows)[:-30], sheet(rows[0], "<row r='x'/>"), sheet(rows[0], "<row r='1048577'/>"), sheet(rows[0], [cell("XFE2", "x")]),
                sheet(rows[0], [cell("2", "x")]), "", "<x/>"):
        found = read_sheet(tmp_path, xml)
        assert "parts" in told(found) and len(found.faults) == 1, told(found)
    for name in ("[Content_Types].xml", "_rels/.rels", "xl/workbook.xml", "xl/styles.xml", "xl/_rels/workbook.xml.rels"):
        found = read_sheet(tmp_path, sheet(*rows), parts={name: "<broken"})
        assert "damaged" in told(found) and name in told(found) and len(found.faults) == 1


@pytest.mark.parametrize(("code", "kind"), [
    ("General", ""), ("0.00", ""), ("@", ""), ("#,##0", ""), ('0.0 "days"', ""), ('"£"#,##0.00;[Red]-"£"#,##0.00', ""), ("0\\d", ""), ("[$-809]0", ""),
    ("0.00E+00", ""), ("dd/mm/yyyy", "date"), ("[$-F800]dddd\\,\\ mmmm\\ dd\\,\\ yyyy", "date"), ("mmm-yy", "date"), ("mmmm", "date"), ("yyyy", "date"),
    ("d/m/yyyy h:mm", "date"), ("yyyy\\-mm\\-dd;@", "date"), ("h:mm:ss", "time"), ("[h]:mm", "time"), ("mm:ss.0", "time"), ("h:mm AM/PM", "time"),
])
def test_number_formats_that_show_a_date_or_a_time(code, kind):
    assert format_kind(200, code) == kind


def test_built_in_number_formats():
    """ECMA-376, part 1, 18.8.30, from memory: 14 to 17 and 22 show a date, 18 to 21 and 45 to 47 a time."""
    assert [number for number in range(50) if format_kind(number, None) == "date" and not 27 <= number <= 36] == [14, 15, 16, 17, 22]
    assert [number for number in range(50) if format_kind(number, None) == "time" and not 27 <= number <= 36] == [18, 19, 20, 21, 45, 46, 47]


def test_numbers_are_shown_with_fifteen_figures_at_most():
    assert [plain_number(text) for text in ("0007", "412.0", "1E-7", "1e21", "-0.50", "123456789012345678")] == [
        "7", "412", "0.0000001", "1000000000000000000000", "-0.5", "123456789012346000"]
    assert [plain_number(text) for text in ("", "x", "1_000", "inf", "nan", "0x10")] == [None] * 6


def test_escapes_of_the_format_are_undone_and_made():
    """ST_Xstring: ECMA-376, part 1, 22.9.2.19, from memory."""
    assert unescaped("_x0041__x005F_x0041_ _X0041_ _x41_") == "A_x0041_ _X0041_ _x41_"
    for text in ("_x0041_", "_x005F_", "_x0041_x0042_", "__x0041__", "plain", "_x00"):
        assert unescaped(escaped(text)) == text
