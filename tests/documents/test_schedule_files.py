"""The files of a schedule, opened by what did not write them: openpyxl's reader, python-calamine, pypdf, Pillow, an XML parser."""

from __future__ import annotations

import io
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import date, datetime

import openpyxl
import pytest
import python_calamine
from PIL import Image, ImageChops

from register.documents.chart_models import Label, Line, Rect
from register.documents.figure_view import figure_view
from register.documents.palette import TOKENS
from register.documents.png import MARGIN, TIMES, png
from register.documents.schedule import BEFORE, COMPLETED, PROPOSED, Entry, Run, Schedule, State, lines_of
from register.documents.schedule_charts import CHARTS, WIDTH, bounds_chart, composition_chart, wrapped
from register.documents.schedule_paper import render_schedule
from register.documents.schedule_sheets import FIGURES, sheets_of
from register.documents.schedule_words import COLUMNS, MAY_NOT, paragraph
from register.documents.svg import svg
from register.exchange.plain_workbook import workbook_bytes
from register.fabric.figures import figures_on
from register.fabric.inputs_json import data_hash
from register.fabric.interval import Interval
from tests.documents.reading import Read, squeezed
from tests.fabric.worked_example_inputs import worked_example

DAY, LATER = date(2024, 6, 30), date(2026, 6, 30)
HOSTILE = '=HYPERLINK("http://x","y") <b>&amp;</b> +1 \u202e漢 "quoted" ' + "W" * 60
RUN = Run("Test & Trial Railway", datetime(2026, 11, 25, 14, 3), "the heritage officer", "1", "0.1.0", 412, "1-2-3", "/schedule/?v=BRIN&as_at=2024-06-30",
          "python manage.py schedule BRIN --as-at=2024-06-30 --output=schedule.xlsx", (("v", "BRIN"), ("as_at", "2024-06-30"), ("reference", HOSTILE)))  # fmt: skip


def all_weighed():
    """The worked example with P12 weighed at 10 kg, so that no percentage is kept back."""
    inputs = worked_example("BRIN")
    return replace(inputs, parts={**inputs.parts, "p12": replace(inputs.parts["p12"], mass=Interval.exactly(10_000))})


def state(inputs, name=BEFORE, day=DAY, **details):
    reference = next(one for one in inputs.references if one.default)
    found = figures_on(inputs, day=day.toordinal(), reference=reference)
    return State(name, day, {basis: figure_view(one, inputs, guarded=True) for basis, one in found.items()}, data_hash(inputs), **details)


def lighter(inputs):
    """As works would leave it: the frame half as heavy."""
    return replace(inputs, parts={**inputs.parts, "p1": replace(inputs.parts["p1"], mass=Interval.exactly(200_000))})


def made(inputs=None, *, name="Brindlewick", basis="mass", works=("P-014 “Axleboxes”, approved",)):
    inputs = inputs or all_weighed()
    states = (state(inputs), state(lighter(inputs), PROPOSED), State(COMPLETED, missing="Not yet completed: P-014 is approved; 0 of 1 steps recorded as done."))
    entry = Entry("brin", "BRIN", name, "as built (1894)", "1894", states, works)
    gone = Entry("grum", "GRUM", "Grumbler", missing="It has no reference period “as rebuilt”, so no figure is given; it has “as built”.")
    return Schedule(RUN, DAY, basis, (entry, gone), True, ("A sentence.",))


def workbook(schedule):
    return workbook_bytes(sheets_of(schedule), made_at=RUN.at)


def rows_of(data, sheet="schedule"):
    """As openpyxl reads them, by the names of the columns."""
    head, *rows = openpyxl.load_workbook(io.BytesIO(data))[sheet].iter_rows(values_only=True)
    return [dict(zip(head, row, strict=True)) for row in rows]


# The workbook


@pytest.mark.outside
def test_the_workbook_holds_the_figures_worked_out_by_hand():
    """By hand from tests/worked_example/worked_example.md with P12 at 10 kg: mass 51.587 to 74.172, best 65.112, assessed
    92.124 %; count 18.889 to 36.667, best 25.375; with P1 at 200 kg best 100 × (609.3208 − 200) ÷ 735.802 = 55.629."""
    rows = rows_of(workbook(made()))
    first = rows[0]
    assert (first["vehicle_id"], first["state"], first["basis"], first["of"], first["leads"], first["headline"]) == ("BRIN", BEFORE, "mass", "every part", "yes", "yes")
    assert (first["low"], first["best"], first["high"], first["assessed_share"], first["parts"], first["not_assessed"], first["unweighted"]) == (51.5, 65.1, 74.2, 92.1, 9, 1, 0)
    assert (first["as_at"], first["reference"], first["reference_date"], first["unit"], first["wear_left_out"], first["stand_ins"]) == ("2024-06-30", "as built (1894)", "1894", "kg", 1, 1)
    assert first["data_sha256"] == data_hash(all_weighed()) and first["change_low"] is None
    after = next(row for row in rows if row["state"] == PROPOSED and row["basis"] == "mass" and row["leads"] == "yes")
    assert after["best"] == 55.6 and after["change_best"] == -9.5  # 55.629 − 65.112 = −9.483
    count = next(row for row in rows if row["basis"] == "count")
    assert (count["low"], count["best"], count["high"]) == (18.8, 25.4, 36.7)
    done = next(row for row in rows if row["state"] == COMPLETED)
    assert done["low"] is None and done["note"].startswith("Not yet completed")
    assert next(row for row in rows if row["vehicle_id"] == "GRUM")["note"].startswith("It has no reference period")


def test_what_may_not_be_given_is_not_in_a_cell_either():
    rows = [row for row in rows_of(workbook(made(worked_example("BRIN")))) if row["basis"] == "mass"]
    assert {row["of"] for row in rows} == {"the whole vehicle"}
    assert all(row["best"] is None and row["assessed_share"] is None and row["weight"] is None for row in rows)
    assert "too much for a percentage" in rows[0]["why_no_best"]
    assert (rows[0]["low"], rows[0]["high"]) == (42.9, 79.4)  # worked_example.md, section 5
    composition = rows_of(workbook(made(worked_example("BRIN"))), "composition")
    assert {row["basis"] for row in composition} == {"count", "significance"}


@pytest.mark.outside
def test_another_reader_finds_the_same_sheets_and_no_formula():
    """python-calamine, which shares no code with what wrote it."""
    data = workbook(made(name=HOSTILE))
    book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(data))
    assert book.sheet_names == ["schedule", "composition", "in words", "not to be claimed", "the same again", "columns"]
    head, *rows = book.get_sheet_by_name("schedule").to_python()
    assert head == [name for name, _ in FIGURES]
    assert rows[0][head.index("vehicle")] == HOSTILE and rows[0][head.index("low")] == 51.5
    again = dict(book.get_sheet_by_name("the same again").to_python()[1:])
    assert (again["reference"], again["command"], again["run at"], again["change number"]) == (HOSTILE, RUN.command, "2026-11-25T14:03:00", 412)
    for sheet in openpyxl.load_workbook(io.BytesIO(data)):
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.data_type in "sn", (sheet.title, cell.coordinate, cell.value)
                assert cell.data_type == "n" or not cell.value or cell.number_format in ("@", "General")
    assert all("<f>" not in text for text in parts_of(data))


def parts_of(data):
    import zipfile

    with zipfile.ZipFile(io.BytesIO(data)) as package:
        return [package.read(name).decode() for name in package.namelist() if name.endswith(".xml")]


def test_text_that_no_file_of_xml_holds_is_made_visible():
    data = workbook_bytes([("a", ("x",), (10,), [["a\x00b\x1b"], ["_x0041_"], ["y" * 40_000]])], made_at=RUN.at)
    cells = [row[0] for row in python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(data)).get_sheet_by_name("a").to_python()[1:]]
    assert cells[0] == "a\ufffdb\ufffd" and cells[1] == "_x0041_" and len(cells[2]) == 32_767


def test_every_column_is_explained():
    names = {name.strip() for names, _ in COLUMNS for name in names.split(",")}
    assert names == {name for name, _ in FIGURES}


# The paper


@pytest.mark.outside
def test_the_paper_says_what_the_workbook_says():
    """pypdf reads it back."""
    schedule = made()
    read = Read(render_schedule(schedule))
    text = squeezed(read.text)
    for row in rows_of(workbook(schedule)):
        if row["low"] is not None:
            assert squeezed(f"{row['low']:.1f}–{row['high']:.1f}") in text
        if row["data_sha256"]:
            assert row["data_sha256"] in text
    for words in (*MAY_NOT, paragraph(schedule.entries[0], schedule), schedule.entries[1].missing, RUN.command, RUN.address, "25 November 2026, 14:03", "A sentence."):
        assert squeezed(words) in text, words
    # by hand, with P1 at 200 kg: low 100 × 347.2406 ÷ 860.802 = 40.339, high 100 × 579.401 ÷ 850.802 = 68.101
    assert squeezed("low −11.2, best −9.5, high −6.1") in text


def test_the_paper_is_tagged_bookmarked_and_has_running_heads():
    read = Read(render_schedule(made()))
    assert [read.text_of(node).strip() for node in read.of_kind("H1")] == ["Schedule of figures"]
    sections = ["Brindlewick", "Grumbler", "What may not be claimed", "How it is worked out", "The same schedule again"]
    assert [read.text_of(node).strip() for node in read.of_kind("H2")] == ["The headline of each", *sections]
    outline = [one.title for one in read.file.outline if not isinstance(one, list)]
    assert outline == ["Schedule of figures", *sections]
    figures = read.of_kind("Figure")
    assert len(figures) == 2 and "51.5 to 74.2" in str(figures[0].entries["/Alt"])
    assert all(f"Page {number} of {read.pages()}" in words and "As at 30 June 2024" in words for number, words in enumerate(read.unmarked, 1))
    assert all(read.fonts().values()) and read.file.metadata.title == "Schedule of figures: 2 vehicles"
    assert render_schedule(made()) == render_schedule(made())


@pytest.mark.parametrize("words", [HOSTILE, "<img src='/etc/passwd'/>" * 3, "\u05d0\u05d1 שלום", "x" * 3000])
def test_any_name_can_be_printed_and_drawn(words):
    schedule = made(name=words, works=(words,) * 3)
    read = Read(render_schedule(schedule))
    assert read.pages() < 30 and read.images() == 0
    for chart in CHARTS.values():
        sheet = chart(schedule.entries[0], schedule)
        ET.fromstring(svg(sheet, prefix="c", stand_alone=True))
        assert all(label.left >= -0.5 and label.right <= WIDTH + 0.5 for label in sheet.labels)


def test_a_chart_higher_than_a_page_is_made_smaller():
    schedule = made()
    entry = replace(schedule.entries[0], states=(*schedule.entries[0].states[:2], State(COMPLETED, missing="Not yet. " * 900)))
    assert Read(render_schedule(replace(schedule, entries=(entry,)))).pages() < 20


# The charts


def pixels(sheet, times=TIMES):
    image = Image.open(io.BytesIO(png(sheet, times=times)))
    assert image.format == "PNG" and image.size == (int((sheet.width + 2 * MARGIN) * times), int((sheet.height + 2 * MARGIN) * times))
    return lambda x, y: image.getpixel((round((x + MARGIN) * times), round((y + MARGIN) * times)))


def rgb(token):
    return tuple(int(TOKENS[token].light[place : place + 2], 16) for place in (1, 3, 5))


@pytest.mark.parametrize("chart", CHARTS)
def test_the_svg_and_the_png_are_of_one_drawing(chart):
    """Every text of the SVG is a label of the sheet; where it is taken out or altered, the PNG differs there and only there."""
    schedule = made()
    sheet = CHARTS[chart](schedule.entries[0], schedule)
    root = ET.fromstring(svg(sheet, prefix="c", stand_alone=True))
    drawn = [one.text for one in root.iter("{http://www.w3.org/2000/svg}text")]
    assert drawn == [label.text for label in sheet.labels]
    whole = Image.open(io.BytesIO(png(sheet, times=1)))
    for label in sheet.labels:
        shapes = tuple(shape for shape in sheet.shapes if shape is not label)
        without = Image.open(io.BytesIO(png(replace(sheet, shapes=shapes), times=1)))
        box = ImageChops.difference(whole, without).getbbox()
        assert box is not None, f"“{label.text}” is not in the picture"
        left, top, right, bottom = (side - MARGIN for side in box)
        assert label.left - 2 <= left and right <= label.right + 2 and top >= label.y - label.size * 1.2 and bottom <= label.y + label.size * 0.5, label.text


def test_the_bounds_stand_in_the_png_where_they_are():
    """The rule runs from 0 to 100; the band between the bounds ends at 51.587 and 74.172 of it."""
    schedule = made()
    sheet = bounds_chart(schedule.entries[0], schedule)
    at = pixels(sheet)
    band = next(shape for shape in sheet.shapes if isinstance(shape, Rect) and shape.fill == "band")
    rule = next(shape for shape in sheet.shapes if isinstance(shape, Line) and shape.points[0][1] == shape.points[1][1] and shape.points[1][0] - shape.points[0][0] > 600)
    (left, _), (right, _) = rule.points
    for percent, end in ((51.587, band.x), (74.172, band.right)):
        assert abs(left + (right - left) * percent / 100 - end) < 1
    middle = band.y + band.height * 0.7
    assert at(band.x + 5, middle) == at(band.right - 5, middle) == rgb("band")
    assert at(band.x - 4, middle) == at(band.right + 4, middle) == rgb("paper")
    texts = [label.text for label in sheet.labels]
    assert texts.index("51.5") and "74.2" in texts and any("assessed 92.1\u00a0%, 1 of 9 not assessed; 0 of 9 unweighted" in text for text in texts)


def test_the_composition_is_filled_and_hatched_in_the_png():
    """Shares by hand: of 1,015.802 kg, 609.3208 are reference fabric (59.98 %) and 80 not assessed (7.88 %)."""
    schedule = made()
    sheet = composition_chart(schedule.entries[0], schedule)
    at = pixels(sheet)
    first = next(shape for shape in sheet.segments if shape.height == 48)
    bars = [shape for shape in sheet.segments if shape.y == first.y]
    assert [one.name for one in bars] == ["RF", "HL", "HE", "NM", "RP", "MD"]
    fabric = bars[0]
    assert at(fabric.x + 3, fabric.y + 3) == rgb("fOR") and at(fabric.right + 1, fabric.y + 3) == rgb("paper")
    assert any("RF 60.0" in label.text and "NA 7.9" in label.text for label in sheet.labels)
    hatched = next(one for one in bars if one.name == "RP")
    seen = {at(hatched.x + x, hatched.y + y) for x in range(1, int(hatched.width) - 1) for y in (3, 7, 11, 41, 45)}
    assert rgb("fRP") in seen and rgb("hRP") in seen, "told apart without colour"


def test_a_png_says_what_it_shows_and_is_the_same_every_time():
    schedule = made()
    sheet = bounds_chart(schedule.entries[0], schedule)
    image = Image.open(io.BytesIO(png(sheet)))
    assert image.text["Title"] == "Brindlewick: retained original fabric, bounds"
    assert "51.5 to 74.2" in image.text["Description"] and "Not yet completed" in image.text["Description"]
    assert png(sheet) == png(sheet) and image.size[0] >= 2000


@pytest.mark.parametrize("width", [280, 520, 776])
@pytest.mark.parametrize("chart", CHARTS)
def test_a_chart_fits_every_width(chart, width):
    for inputs in (all_weighed(), worked_example("BRIN"), replace(worked_example("BRIN"), vehicle=replace(worked_example("BRIN").vehicle, empty_mass=None))):
        schedule = made(inputs)
        sheet = CHARTS[chart](schedule.entries[0], schedule, width)
        assert sheet.width == width
        assert [(label.text, label.right) for label in sheet.labels if label.right > width + 0.5 or label.y > sheet.height] == []
        assert all(label.size >= 12 for label in sheet.labels)


def test_a_chart_holds_its_question():
    schedule = made()
    for draw in CHARTS.values():
        text = " ".join(label.text for label in draw(schedule.entries[0], schedule).labels if isinstance(label, Label)).replace("\u00a0", " ")
        for words in ("Brindlewick", "as at 30 June 2024", "by mass", "as built (1894)", "unweighted", "Method version 1", "Not yet completed"):
            assert words in text, words


def test_lines_break_where_they_must():
    assert list(wrapped("one two three", 12, 60)) == ["one two", "three"]
    assert "".join(wrapped("x" * 200, 12, 60)) == "x" * 200
    assert all(line for line in wrapped("a  b", 12, 60))


def test_states_stand_in_their_order_whatever_leads():
    lines = lines_of(made().entries[0], "mass")
    assert [(one.of, one.state.name) for one in lines] == [("every part", BEFORE), ("every part", PROPOSED), ("the whole vehicle", BEFORE), ("the whole vehicle", PROPOSED)]
