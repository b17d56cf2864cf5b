"""The workbook to fill in."""

from __future__ import annotations

import pytest

from register.exchange.blank_workbook import example_row, meaning_of, write_blank_workbook
from register.exchange.overlay import overlay
from register.exchange.rawtables import read_register_file
from register.exchange.records import Change, Register
from register.exchange.schema import ORDER, TABLES


@pytest.fixture(scope="module")
def blank(tmp_path_factory):
    path = tmp_path_factory.mktemp("blank") / "register.xlsx"
    write_blank_workbook(path)
    return path


@pytest.fixture(scope="module")
def book(blank):
    import openpyxl

    return openpyxl.load_workbook(blank)


def test_there_is_a_sheet_for_every_table_after_one_that_explains(book):
    assert book.sheetnames == ["about", *ORDER]
    assert all([cell.value for cell in book[name][1]] == list(TABLES[name].header) for name in ORDER)


def test_the_example_rows_import_together_without_a_fault(blank):
    found = read_register_file(blank)
    assert not found.faults and not found.notes
    assert [name for name, rows in found.rows.items() if len(rows) != 1] == ["photographs"]  # no example has a picture beside it
    changes = [Change(row.table, row.values, row.row_id, row.line) for rows in found.rows.values() for row in rows]
    laid = overlay(Register(), changes)
    assert not laid.faults and len(laid.created["vehicles"]) == 1 and len(laid.new_drafts) == 1


def test_every_closed_column_offers_its_list(book):
    offered = {name: {str(offer.sqref).split(":")[0]: offer.formula1 for offer in book[name].data_validations.dataValidation} for name in ORDER}
    for name in ORDER:
        for cell in book[name][1]:
            column = TABLES[name].by_name.get(cell.value)
            listed = offered[name].get(f"{cell.column_letter}2")
            if column and column.kind in ("choice", "yes"):
                assert listed == f'"{",".join(column.choices or ("yes", "no"))}"' and len(listed) <= 257
            else:
                assert listed is None


def test_needed_columns_are_marked_and_every_column_is_explained(book):
    explained = {(row[0].value, row[1].value): row[2].value for row in book["about"].iter_rows() if row[1].value}
    for name in ORDER:
        for column, cell in zip(TABLES[name].header, book[name][1], strict=True):
            known = TABLES[name].by_name.get(column)
            assert cell.comment is not None
            if known:
                assert explained[name, column] == ("yes" if known.required else None)
                assert ("Must be filled in" in cell.comment.text) == known.required == (cell.fill.fill_type == "solid")


def test_what_is_typed_into_it_stays_text(book):
    assert all(book[name].column_dimensions[cell.column_letter].number_format == "@" for name in ORDER for cell in book[name][1])


def test_every_kind_of_column_is_said_in_words():
    for table in TABLES.values():
        assert len(example_row(table)) in (0, len(table.header))
        assert all("{" not in meaning_of(column) for column in table.columns)


def test_it_overwrites_nothing(blank):
    with pytest.raises(FileExistsError):
        write_blank_workbook(blank)
