"""The kit that papers are made of: pages, headings, tables of any length, tags. Read back with pypdf; structure types,
attributes and the parent tree as ISO 32000-1 has them (14.6 to 14.8, clause numbers from memory)."""

from __future__ import annotations

import cProfile
import pstats
import re
import shutil
import subprocess
from collections import Counter
from collections.abc import Callable
from datetime import date
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from register.documents import pdf_tables
from register.documents.chart_models import Label
from register.documents.chart_models import Sheet as Chart
from register.documents.pdf import Paper, Sheet
from register.documents.pdf_charts import Picture
from register.documents.pdf_tables import Column, Group, Row, Small, Total, side_by_side, table, title_block
from tests.documents.reading import Read, squeezed

SHEET = Sheet(
    "No. 6: a paper", date(2024, 6, 30), "Selmouth & Harrenby Railway", "A paper, draft", "DRAFT", ("No. 6", "As at 30 June 2024")
)  # fmt: skip
COLUMNS = [Column("Position", 60), Column("Reason", 70), Column("kg", 0, True)]


def paper() -> Paper:
    made = Paper(SHEET)
    made.add(*made.heading("No. 6", "title"))
    return made


def paper_of(rows: list[Row], before: int = 0) -> Read:
    """A paper of one table, after so many lines of text."""
    made = paper()
    for number in range(before):
        made.add(*made.words(f"line {number}"))
    made.add(*made.heading("Schedule"), *table(made, COLUMNS, rows))
    return Read(made.finished())


def rows_of(number: int) -> list[Row]:
    made: list[Row] = []
    for row in range(number):
        if row % 30 == 0:
            made.append(Group([f"Assembly {row}", "", "1,000"]))
        made.append([f"Position {row}", "to the old pattern", f"{row:,}"])
    return made


def cells(read: Read) -> list[list[str]]:
    return [[read.text_of(cell).strip() for cell in row.children] for row in read.of_kind("TR")]


# The document


def test_the_language_the_title_and_neutral_names_are_set():
    read = paper_of(rows_of(3))
    assert read.catalog["/Lang"] == "en-GB"
    assert read.catalog["/MarkInfo"] == {"/Marked": True}
    assert read.catalog["/ViewerPreferences"]["/DisplayDocTitle"] == True  # noqa: E712
    found = read.file.metadata
    assert found["/Title"] == "No. 6: a paper"
    assert found["/Author"] == "Selmouth & Harrenby Railway"
    assert found["/Producer"] == found["/Creator"] == "fabric register"
    assert found["/CreationDate"].startswith("D:20240630")


def test_no_conformance_is_claimed():
    """PDF/UA and PDF/A are claimed in a metadata stream; nothing here could check either."""
    read = paper_of(rows_of(3))
    assert "/Metadata" not in read.catalog
    assert b"pdfuaid" not in read.data and b"pdfaid" not in read.data


def test_the_same_content_gives_the_same_bytes():
    assert paper_of(rows_of(40)).data == paper_of(rows_of(40)).data


def test_every_page_says_which_of_how_many_it_is():
    read = paper_of(rows_of(200))
    total = read.pages()
    assert total > 3
    for number, furniture in enumerate(read.unmarked, 1):
        assert f"Page {number} of {total}" in furniture
        assert "DRAFT" in furniture and "As at 30 June 2024" in furniture


def test_the_head_names_the_section_of_the_page():
    made = paper()
    made.add(*made.words("front"), made.new_page(), *made.heading("1 First"), *made.words("text"))
    made.add(made.new_page(), *made.words("more"), made.new_page(), *made.heading("2 Second"), *made.words("end"))
    first, second, third, fourth = Read(made.finished()).unmarked
    assert "A paper, draft" in first and "1 First" not in first
    assert "1 First" in second and "1 First" in third
    assert "2 Second" in fourth and "1 First" not in fourth


def test_fonts_are_embedded():
    assert set(paper_of(rows_of(3)).fonts().values()) == {True}


# Structure


def test_the_tree_holds_headings_in_order_and_without_a_gap():
    made = paper()
    made.add(*made.heading("front", "subsection"), *made.words("text"))
    made.add(*made.heading("section"), *made.heading("below", "subsection"), *made.words("text"))
    read = Read(made.finished())
    found = [(node.kind, read.text_of(node).strip()) for node in read.of_kind("H1", "H2", "H3")]
    assert found == [("H1", "No. 6"), ("H2", "front"), ("H2", "section"), ("H3", "below")]


def test_the_outline_names_the_headings():
    made = paper()
    made.add(*made.heading("1 & <2>"), *made.heading("1.1 below", "subsection"), *made.words("text"))
    read = Read(made.finished())
    top = read.file.outline
    assert [one.title for one in top if not isinstance(one, list)] == ["No. 6", "1 & <2>"]
    assert [one.title for one in top[-1]] == ["1.1 below"]
    assert all(read.file.get_destination_page_number(one) == 0 for one in top if not isinstance(one, list))


def test_every_marked_piece_belongs_to_one_element_and_its_page_knows_it():
    read = paper_of(rows_of(120))
    owned = Counter(piece for node in read.tree.walk() for piece in node.pieces)
    assert set(owned.values()) == {1}
    assert set(read.marked) <= set(owned)
    numbers = read.catalog["/StructTreeRoot"]["/ParentTree"]["/Nums"]
    owners = {numbers[at]: numbers[at + 1] for at in range(0, len(numbers), 2)}
    by_piece = {piece: node.entries.indirect_reference.idnum for node in read.tree.walk() for piece in node.pieces}
    for number, page in enumerate(read.file.pages):
        assert page["/Tabs"] == "/S"
        of_page = owners[page["/StructParents"]].get_object()
        found = {(number, at): one.get_object().indirect_reference.idnum for at, one in enumerate(of_page)}
        assert found == {piece: owner for piece, owner in by_piece.items() if piece[0] == number}


def test_a_paragraph_over_two_pages_is_one_element():
    made = paper()
    made.add(*(made.words("first " * 500)), *made.words("second " * 500))
    read = Read(made.finished())
    split = [node for node in read.of_kind("P") if len({page for page, _ in node.pieces}) > 1]
    assert len(split) == 1
    assert read.text_of(split[0]).split() == ["second"] * 500


def test_a_paragraph_leaves_no_line_alone_on_a_page():
    """Whatever stands before it, and however long it is."""
    for before, times in product(range(36, 42), range(12, 26, 4)):
        made = paper()
        for number in range(before):
            made.add(*made.words(f"line {number}"))
        made.add(*made.words("Something is said of it. " * times))
        read = Read(made.finished())
        (said,) = (node for node in read.of_kind("P") if "Something" in read.text_of(node))
        lines = [len(read.marked[piece].strip().splitlines()) for piece in said.pieces]
        assert min(lines) > 1, lines


def test_a_head_in_right_to_left_letters_is_the_same_on_every_page():
    made = paper()
    made.add(*table(made, [Column("שלום", 60), Column("kg", 0, True)], [[f"{row}", "1"] for row in range(120)]))
    read = Read(made.finished())
    assert read.pages() == 3
    assert cells(read)[0][0] == "שלום"
    assert all("שלום" in page for page in read.unmarked[1:])


def test_a_table_is_rows_of_cells_with_heads_that_say_what_they_head():
    read = paper_of([Group(["Frames", "", "3,300"]), ["Plate", "as built", "3,300"], Total(["Together", "", "3,300"])])
    (found,) = read.of_kind("Table")
    assert [row.kind for row in found.children] == ["TR"] * 4
    head, group, row, total = found.children
    assert [(cell.kind, cell.entries["/A"]["/Scope"]) for cell in head.children] == [("TH", "/Column")] * 3
    assert [cell.kind for cell in group.children] == ["TH", "TD", "TD"] == [cell.kind for cell in total.children]
    assert group.children[0].entries["/A"]["/Scope"] == "/Row"
    assert [cell.kind for cell in row.children] == ["TD"] * 3
    assert cells(read)[2] == ["Plate", "as built", "3,300"]


def test_a_table_without_a_head_is_headed_by_its_first_cells():
    made = paper()
    made.add(*table(made, [Column("", 40), Column("", 0)], [["Builder", "Garth, Pellow & Co."], ["Built", "1894"]]))
    read = Read(made.finished())
    assert [[cell.kind for cell in row.children] for row in read.of_kind("TR")] == [["TH", "TD"]] * 2


def test_a_head_is_repeated_on_every_page_and_read_once():
    read = paper_of(rows_of(150))
    assert read.pages() > 3
    assert [cell for row in cells(read) for cell in row].count("POSITION") == 1
    assert all("POSITION" in page for page in read.unmarked[1:])


def test_rules_are_decoration():
    """Every line and rectangle is drawn inside an artifact; so is nothing that is text."""
    made = paper()
    made.add(*table(made, COLUMNS, rows_of(3)), made.rule(), *title_block(made, [[("As at", "today"), ("By", "")]]))
    stream = Read(made.finished()).file.pages[0].get_contents().get_data().decode("latin-1")
    outside = re.sub(r"/Artifact [^\n]*\n.*?\nEMC", "", stream, flags=re.DOTALL)
    assert not re.search(r" l S$| re f| re S", outside, flags=re.MULTILINE)


def test_a_title_block_says_what_is_not_known():
    made = paper()
    made.add(*title_block(made, [[("As at", "30 June 2024"), ("Written by", "")], [("", "About fabric only.")]]))
    read = Read(made.finished())
    said = [" ".join(read.text_of(node).split()) for node in read.of_kind("P")]
    assert said == ["AS AT 30 June 2024", "WRITTEN BY not known", "About fabric only."]


def test_blocks_beside_one_another_are_read_one_after_the_other():
    made = paper()
    left = [*made.words("left one"), *made.words("left two")]
    made.add(side_by_side([left, made.words("right")]))
    read = Read(made.finished())
    assert [read.text_of(node).strip() for node in read.of_kind("P")] == ["left one", "left two", "right"]
    assert not read.of_kind("Table")


@pytest.mark.skipif(not shutil.which("pdfinfo"), reason="poppler-utils is not installed")
@pytest.mark.outside
def test_another_reader_sees_the_same_structure(tmp_path):
    """Poppler, a general reader of PDF that shares no code with ReportLab or pypdf."""
    path = tmp_path / "paper.pdf"
    read = paper_of(rows_of(60))
    path.write_bytes(read.data)
    done = subprocess.run(["pdfinfo", "-struct", str(path)], capture_output=True, text=True, check=True)
    kinds = Counter(re.findall(r"^\s*([A-Z]\w*)", done.stdout, flags=re.MULTILINE))
    assert not done.stderr
    assert {kind: kinds[kind] for kind in ("Table", "TR", "TH", "TD", "H1", "H2")} == {
        kind: len(read.of_kind(kind)) for kind in ("Table", "TR", "TH", "TD", "H1", "H2")
    }


# Long tables and tall rows


def test_every_row_of_a_long_table_is_printed_once_and_in_order():
    rows = rows_of(450)
    found = cells(paper_of(rows))
    asked = [list(row.cells if isinstance(row, Group) else row) for row in rows]
    assert found == [["POSITION", "REASON", "KG"], *asked]


def test_a_row_higher_than_a_page_is_broken_and_not_cut():
    long = "\n".join(f"line {number} of a long reason" for number in range(200))
    read = paper_of([["Before", "x", "1"], ["Tall", long, "2"], ["After", "y", "3"]])
    found = cells(read)
    assert read.pages() >= 3
    assert [row[0] for row in found] == ["POSITION", "Before", "Tall", "After"]
    assert squeezed(found[2][1]) == squeezed(long)


def test_a_tall_row_right_below_the_name_of_its_group():
    long = "reason " * 1500
    found = cells(paper_of([Group(["Frames", "", "1"]), ["Tall", long, "2"], ["After", "y", "3"]]))
    assert [row[0] for row in found] == ["POSITION", "Frames", "Tall", "After"]
    assert squeezed(found[2][1]) == squeezed(long)


def test_a_row_that_fits_a_page_is_not_broken():
    """Whatever stands before it."""
    for before in range(0, 44, 3):
        read = paper_of([["A", "reason " * 40, "1"], ["B", "reason " * 40, "2"]], before)
        for row in read.of_kind("TR"):
            assert len({page for cell in row.children for page, _ in cell.pieces}) == 1


@settings(max_examples=12, deadline=None)
@given(
    st.lists(st.tuples(st.integers(1, 400), st.integers(1, 90), st.booleans()), min_size=1, max_size=6),
    st.integers(0, 45),
)
def test_rows_of_any_height_anywhere_on_a_page_are_printed_whole(heights, before):
    rows: list[Row] = []
    for number, (words, lines, is_group) in enumerate(heights):
        if is_group:
            rows.append(Group([f"Group {number}", "", ""]))
        rows.append(["name " * (words % 50), "reason " * words, ("\n".join(["9"] * lines), Small("kg"))])
    found = cells(paper_of(rows, before))
    asked = [list(row.cells) if isinstance(row, Group) else [row[0], row[1], row[2][0] + "kg"] for row in rows]
    assert [[squeezed(cell) for cell in row] for row in found[1:]] == [[squeezed(cell) for cell in row] for row in asked]


AFTER: dict[str, Callable[[Paper], list[Any]]] = {
    "P Something": lambda made: made.words("Something is said. " * 40),
    "TD Position": lambda made: table(made, COLUMNS, [["Position 1", "x", "1"], *rows_of(3)]),
    "Figure high": lambda made: [Picture.of(Chart(700, 600, (Label(0, 300, "high"),), "A high chart"), made.tree)],
}
"""What may follow a heading, by the kind of element and a word of it."""


def test_no_heading_stands_alone_at_the_foot_of_a_page():
    """On whatever line of the page it would fall, and whatever comes after it."""
    for before in range(30, 47, 2):
        for after in AFTER:
            made = paper()
            for number in range(before):
                made.add(*made.words(f"line {number}"))
            made.add(*made.heading("A section"), *made.heading("A subsection", "subsection"))
            made.add(*AFTER[after](made))
            read = Read(made.finished())
            section, below, *_ = (node.pieces[0][0] for node in read.of_kind("H2", "H3"))
            kind, words = after.split(" ")
            said = next(node for node in read.of_kind(kind) if node.pieces and words in read.text_of(node))
            assert section == below == said.pieces[0][0], (before, after)


def test_a_sum_stands_below_a_row_of_what_it_sums():
    for before in range(32, 44):
        read = paper_of([["a", "b", f"{number}"] for number in range(6)] + [Total(["Together", "", "15"])], before)
        last, total = read.of_kind("TR")[-2:]
        assert last.children[0].pieces[0][0] == total.children[0].pieces[0][0]


def test_the_name_of_a_group_stands_above_a_row_of_it():
    for before in range(32, 44):
        read = paper_of([["a", "b", "1"], ["a", "b", "1"], Group(["Frames", "", "2"]), ["c", "d", "2"]], before)
        group, row = read.of_kind("TR")[-2:]
        assert group.children[0].pieces[0][0] == row.children[0].pieces[0][0]


def test_a_row_has_as_many_cells_as_the_table_has_columns():
    with pytest.raises(ValueError, match="a row of 2 cells in a table of 3 columns"):
        paper_of([["a", "b"]])


def test_no_page_is_empty():
    for before in (0, 41, 44):
        read = paper_of(rows_of(60), before)
        pages = {page for node in read.tree.walk() for page, _ in node.pieces}
        assert pages == set(range(read.pages()))


def calls_for(rows: int) -> int:
    profile = cProfile.Profile()
    profile.runcall(paper_of, rows_of(rows))
    return pstats.Stats(profile).total_calls


def test_the_work_grows_as_the_rows():
    """Counted in calls of functions, for a count is the same on every machine."""
    paper_of(rows_of(5))  # fonts and caches are filled
    few, many = calls_for(100), calls_for(400)
    assert many < 4.4 * few


def test_a_row_is_copied_no_more_often_the_longer_the_table(monkeypatch):
    """A break between pages copies what is left of a table, so a long one is laid out as several."""
    copied = []
    laid_out = pdf_tables._Table.__init__

    def counted(self, data, **details):
        copied.append(len(data))
        laid_out(self, data, **details)

    monkeypatch.setattr(pdf_tables._Table, "__init__", counted)
    times = []
    for rows in (200, 800):
        copied.clear()
        made = paper()
        made.add(*table(made, COLUMNS, rows_of(rows)))
        made.finished()
        times.append(sum(copied) / rows)
    assert times[1] < 1.3 * times[0]
