"""Charts on paper: the shapes of the models, in the colours and hatches of print."""

from __future__ import annotations

import re
import shutil
import subprocess
from datetime import date
from itertools import combinations
from pathlib import Path

import pytest
from PIL import Image, ImageChops
from reportlab.lib.units import mm

from register.documents.chart_models import DASHED, Circle, Label, Line, Polygon, Rect
from register.documents.chart_models import Sheet as Chart
from register.documents.chips import chip, swatch
from register.documents.composition_bar import composition_bar
from register.documents.interval_bar import interval_bar
from register.documents.palette import CATEGORIES, HATCHES, MARKS, STATUSES, TOKENS
from register.documents.pdf import WIDTH, Paper, Sheet
from register.documents.pdf_charts import SCALE, Mark, Picture, tight
from register.documents.pdf_tables import Column, table
from tests.documents.reading import Read

SHEET = Sheet("Charts", date(2024, 6, 30), "Selmouth & Harrenby Railway", "Charts", "", ("", ""))
SHARES = {
    "reference_fabric": 48, "later_historic": 16, "historic_from_elsewhere": 4, "new_material": 6, "replica": 15,
    "modern_substitute": 6, "not_assessed": 5,
}  # fmt: skip


def drawn(*charts: Chart) -> Read:
    paper = Paper(SHEET)
    paper.add(*paper.heading("Charts", "title"))
    paper.add(*(Picture.of(one, paper.tree) for one in charts))
    return Read(paper.finished())


def operators(read: Read) -> str:
    """What draws the charts: the page without its heading."""
    return re.sub(r"/H1.*?EMC", "", read.file.pages[0].get_contents().get_data().decode("latin-1"), flags=re.DOTALL)


def test_a_chart_is_a_figure_with_its_words():
    read = drawn(interval_bar(43.9, 59.1, 51.5, texts=("43.9", "59.1"), title="Bounds: 43.9 to 59.1 %", description="By mass."))
    (figure,) = read.of_kind("Figure")
    assert figure.entries["/Alt"] == "Bounds: 43.9 to 59.1 %. By mass."
    assert figure.entries["/A"]["/Placement"] == "/Block"
    assert read.text_of(figure).split()[-2:] == ["43.9", "59.1"]


def test_a_chip_is_a_word_in_the_text():
    paper = Paper(SHEET)
    paper.add(*table(paper, [Column("Status", 30), Column("", 0)], [[Mark(tight(chip("replica", doubtful=True))), "x"]]))
    read = Read(paper.finished())
    (mark,) = read.of_kind("Span")
    assert read.text_of(mark).strip() == "RP?"
    assert mark.entries["/ActualText"] == "Replica, doubtful"


def test_a_chip_is_held_once_however_often_it_is_printed():
    paper = Paper(SHEET)
    rows = [[Mark(tight(chip(status))), "x"] for status in ("replica", "original", "replica", "replica")]
    paper.add(*table(paper, [Column("Status", 30), Column("", 0)], rows))
    read = Read(paper.finished())
    assert [read.text_of(mark).strip() for mark in read.of_kind("Span")] == ["RP", "OR", "RP", "RP"]
    assert len(read.file.pages[0]["/Resources"]["/XObject"]) == 3  # two chips, and the head and foot


def test_a_hatch_is_cut_off_at_the_edge_of_its_shape():
    sheet = composition_bar(SHARES, size="row", width=700)
    hatched = [shape for shape in sheet.shapes if isinstance(shape, Rect) and shape.hatch]
    made = " ".join(operators(drawn(sheet)).split())
    assert len(hatched) == 5
    for shape in hatched:
        left, width = shape.x * SCALE, shape.width * SCALE
        boxes = re.findall(r"n ([-\d.]+) [-\d.]+ ([-\d.]+) [-\d.]+ re W\*? n", made)
        assert any(abs(float(x) - left) < 0.01 and abs(float(w) - width) < 0.01 for x, w in boxes)


def test_a_chart_too_wide_for_its_place_is_made_smaller():
    wide = Picture(composition_bar(SHARES, width=2000), None, room=100)
    assert wide.width == pytest.approx(100)
    assert Picture(chip("original"), None, room=500).scale == SCALE


def test_the_smallest_letters_are_seven_and_a_half_points():
    """look: labels are 7.5 points on A4, and nothing on a chart is under 12 pixels."""
    assert 12 * SCALE == 7.5
    assert composition_bar(SHARES, size="large", width=WIDTH / SCALE).width * SCALE == pytest.approx(WIDTH)


def test_a_low_chip_keeps_its_parts_and_its_letters():
    for status in STATUSES:
        whole, low = chip(status, disputed="replica"), tight(chip(status, disputed="replica"))
        assert [label.text for label in low.labels] == [label.text for label in whole.labels]
        assert low.width == whole.width
        for shape in low.shapes:
            assert not isinstance(shape, Rect) or 0 <= shape.y <= shape.y + shape.height <= low.height


def test_only_the_print_colours_are_used():
    read = drawn(composition_bar(SHARES, size="large", width=700), interval_bar(1, 2, size="row"))
    allowed = {
        " ".join(f"{int(token.print[at : at + 2], 16) / 255:.6f}".rstrip("0").rstrip(".") for at in (1, 3, 5))
        for token in TOKENS.values()
    }
    used = {
        " ".join(f"{float(number):.6f}".rstrip("0").rstrip(".") for number in found)
        for found in re.findall(r"^([\d.]+) ([\d.]+) ([\d.]+) (?:rg|RG)$", operators(read), flags=re.MULTILINE)
    }
    assert used
    assert used <= allowed


def test_every_shape_of_the_models_is_drawn_where_it_stands():
    """By hand: a sheet of 100 by 40 px is 62.5 by 25 points, and y goes downwards."""
    shapes = (
        Rect(10, 10, 20, 8, fill="fOR"),
        Rect(10, 20, 20, 8, edge="na", edge_width=2, dash=DASHED),
        Line(((0, 40), (100, 40)), width=2),
        Polygon(((0, 0), (10, 0), (5, 10))),
        Circle(50, 20, 10),
        Label(100, 40, "end", anchor="end"),
    )
    made = " ".join(operators(drawn(Chart(100, 40, shapes, "all"))).split())
    assert "6.25 13.75 12.5 5 re f" in made
    assert "[3.125 1.875] 0 d" in made and "6.25 7.5 12.5 5 re S" in made
    assert "n 0 0 m 62.5 0 l S" in made
    assert "n 0 25 m 6.25 25 l 3.125 18.75 l f" in made
    assert re.search(r"n 37.5 12.5 m .* c", made, flags=re.DOTALL)


def test_hatches_leave_a_gap_that_a_printer_keeps_open():
    """look: print hatches with a gap never under 0.7 mm."""
    for hatch in HATCHES.values():
        width = hatch.print.weight if hatch.angles else 2 * hatch.print.weight
        assert hatch.print.pitch - width >= 0.7


@pytest.mark.parametrize("kind", sorted(HATCHES))
def test_a_hatch_keeps_its_pitch_whatever_the_size_of_the_picture(kind):
    """Lines are as far apart as the table of hatches says, in millimetres; dots repeat at that step."""
    hatch = HATCHES[kind]
    for size in (40, 400):
        sheet = Chart(size, size, (Rect(0, 0, size, size, fill="fOR", hatch=kind, hatch_ink="hOR"),), "x")
        made = operators(drawn(sheet))
        if not hatch.angles:
            assert f"[0 {hatch.print.pitch * mm:.6f}".rstrip("0") in made
            continue
        lines = [tuple(map(float, one)) for one in re.findall(r"n ([-\d.]+) ([-\d.]+) m ([-\d.]+) ([-\d.]+) l S", made)]
        level = [one for one in lines if abs(slope(one) - hatch.angles[0] % 180) < 0.1]
        steps = sorted({round(distance(level[0], other), 2) for other in level})
        assert steps[1] - steps[0] == pytest.approx(hatch.print.pitch * mm, abs=0.05)


def slope(line: tuple[float, ...]) -> float:
    from math import atan2, degrees

    return degrees(atan2(line[3] - line[1], line[2] - line[0])) % 180


def distance(line: tuple[float, ...], other: tuple[float, ...]) -> float:
    from math import cos, radians, sin

    angle = radians(slope(line))
    return (other[1] - line[1]) * cos(angle) - (other[0] - line[0]) * sin(angle)


@pytest.mark.skipif(not shutil.which("pdftoppm"), reason="poppler-utils is not installed")
@pytest.mark.outside
def test_marks_are_told_apart_on_a_black_printer(tmp_path):
    """Drawn in grey by Poppler: two marks differ in ground by more than a third of the scale, or by a pattern (what
    stands out from its ground by a fifth of the scale) in at least a twentieth of the place."""
    pictures = {code: grey_of(code, tmp_path) for code in MARKS}
    grounds = {code: max(range(256), key=picture.histogram().__getitem__) for code, picture in pictures.items()}
    patterns = {code: standing_out(pictures[code], grounds[code]) for code in MARKS}
    statuses, categories = ([mark.code for mark in table.values()] for table in (STATUSES, CATEGORIES))
    for one, other in (*combinations(statuses, 2), *combinations(categories, 2)):
        differs = ImageChops.difference(patterns[one], patterns[other]).histogram()[255]
        place = pictures[one].width * pictures[one].height
        assert abs(grounds[one] - grounds[other]) > 85 or differs > place / 20, (one, other)


def standing_out(picture: Image.Image, ground: int) -> Image.Image:
    return picture.point(lambda value: 255 if abs(value - ground) > 51 else 0)


def grey_of(code: str, folder: Path) -> Image.Image:
    """The middle of a large swatch."""
    path = folder / f"{code}.pdf"
    path.write_bytes(drawn(swatch(code, width=200, height=100)).data)
    command = ["pdftoppm", "-r", "200", "-gray", "-singlefile", str(path), str(folder / code)]
    subprocess.run(command, check=True, capture_output=True)
    left, top, points = 20 * mm, 21 * mm + 33, 200 / 72  # below the title
    box = (left + 4, top + 4, left + 121, top + 58)
    return Image.open(folder / f"{code}.pgm").crop(tuple(round(one * points) for one in box))
