"""Charts as laid out: they say what was given, add up, and never write one thing over another."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from fractions import Fraction
from itertools import combinations, pairwise
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from PIL import ImageFont

from register.documents.chart_models import Circle, Label, Line, Polygon, Rect, Sheet, text_width
from register.documents.chips import chip, key, swatch
from register.documents.composition_bar import LEAST, SPACE, composition_bar
from register.documents.interval_bar import FORMS, interval_bar, interval_scale
from register.documents.palette import CATEGORIES, HATCHES, STATUSES, TOKENS
from register.documents.step_band import Event, Step, step_band
from register.documents.svg import shared_patterns, svg
from register.fabric.rounding import shown_high, shown_low
from tests.fabric.builders import day

ALL = dict.fromkeys(CATEGORIES, 1.0)
SVG = "{http://www.w3.org/2000/svg}"


def bar(
    low: float, high: float, best: float | None = None, size: str = "row", width: float | None = None
) -> Sheet:
    texts = shown_low(low), shown_high(high)
    return interval_bar(low, high, best, size=size, width=width, texts=texts, title="Bounds")


def texts(sheet: Sheet) -> list[str]:
    return [label.text for label in sheet.labels]


def figures(sheet: Sheet) -> list[Label]:
    """The figures of the bounds, not those of the axis."""
    return [label for label in sheet.labels if label.bold]


def triangles(sheet: Sheet) -> list[Polygon]:
    """Those that stand on the rule; the arrowheads lie along the dimension line."""
    return [one for one in sheet.shapes if isinstance(one, Polygon) and one.points[1][1] == one.points[2][1]]


def overlap(first: Label, second: Label) -> bool:
    rows = first.y - first.size < second.y and second.y - second.size < first.y
    return rows and first.left < second.right and second.left < first.right


# The interval bar


def test_bounds_stand_over_their_place_on_the_rule() -> None:
    sheet, form = bar(25, 75, 40, size="large"), FORMS["large"]
    (band,) = (one for one in sheet.shapes if isinstance(one, Rect) and one.fill == "band")
    length = form.width - form.left - form.right
    assert band.x == pytest.approx(form.left + length / 4, abs=1)
    assert band.right == pytest.approx(form.left + length * 3 / 4, abs=1)
    (best,) = triangles(sheet)
    assert best.points[0] == (pytest.approx(form.left + length * 0.4, abs=1), form.rule)
    assert best.points[1][1] < form.rule, "the triangle stands on its point"


def test_figures_stand_outside_the_ends() -> None:
    low, high = figures(bar(43.9, 59.1, 51.5, size="large"))
    assert (low.text, low.anchor, high.text, high.anchor) == ("43.9", "end", "59.1", "start")


def test_without_room_at_one_end_both_figures_stand_on_the_free_side() -> None:
    (both,) = figures(bar(0, 1.3, 0))
    assert both.text == "0.0 to 1.3"
    assert both.anchor == "start"
    (both,) = figures(bar(98.7, 100, 100))
    assert both.text == "98.7 to 100.0"
    assert both.anchor == "end"


def test_without_room_at_either_end_they_stand_in_a_break_of_the_line() -> None:
    sheet = bar(0, 100)
    (both,) = figures(sheet)
    dimension = FORMS["row"].dimension + 0.5
    lines = [
        one for one in sheet.shapes if isinstance(one, Line) and {y for _, y in one.points} == {dimension}
    ]
    assert len(lines) == 2
    assert not any(
        start[0] < both.right and end[0] > both.left for start, end in (one.points for one in lines)
    )


def arrowheads(sheet: Sheet) -> list[Polygon]:
    return [one for one in sheet.shapes if isinstance(one, Polygon) and one not in triangles(sheet)]


def test_narrow_bounds_are_dimensioned_from_outside() -> None:
    left, right = arrowheads(bar(50, 55))
    assert left.points[1][0] < left.points[0][0] < right.points[0][0] < right.points[1][0], "pointing in"
    left, right = arrowheads(bar(20, 80))
    assert left.points[0][0] < left.points[1][0] < right.points[1][0] < right.points[0][0], "pointing out"


def test_a_best_figure_that_is_withheld_has_no_triangle() -> None:
    assert len(triangles(bar(17.9, 91.3, 40))) == 1
    assert not triangles(bar(17.9, 91.3))


def test_the_likely_range_lies_under_the_rule_of_a_large_bar_alone() -> None:
    for size, number in (("large", 1), ("row", 0), ("mini", 0)):
        sheet = interval_bar(40, 60, 50, (48, 52), size=size)
        likely = [one for one in sheet.shapes if isinstance(one, Rect) and one.name == "likely"]
        assert len(likely) == number
        assert all(one.y > FORMS[size].rule and one.height == 4 for one in likely)


def test_the_head_of_a_column_stands_over_its_rules() -> None:
    ticks = sorted({one.points[0][0] for one in bar(10, 90).shapes
                    if isinstance(one, Line) and one.points[0] == (one.points[1][0], FORMS["row"].rule + 0.5)})  # fmt: skip
    assert [label.x for label in interval_scale("row").labels] == ticks
    assert texts(interval_scale("row")) == ["0", "50", "100"]


@pytest.mark.parametrize(
    ("low", "best", "high"), [(60, 50, 70), (50, 80, 70), (-1, 0, 5), (50, 60, 101), (70, None, 60)]
)
def test_bounds_out_of_order_are_refused(low: float, best: float | None, high: float) -> None:
    with pytest.raises(ValueError, match="not in order"):
        bar(low, high, best)


def test_a_bar_too_narrow_for_its_figures_is_refused() -> None:
    with pytest.raises(ValueError, match="at least 224 px wide, and 180 were given"):
        bar(10, 48.7, width=180)


tenths = st.integers(0, 1000).map(lambda number: number / 10)


@given(
    tenths,
    tenths,
    st.sampled_from([("large", None), ("large", 260), ("large", 520), ("row", None), ("row", 224)]),
)
def test_figures_keep_clear_of_each_other_and_of_the_lines(
    one: float, other: float, form: tuple[str, int | None]
) -> None:
    low, high = sorted((one, other))
    sheet = bar(low, high, size=form[0], width=form[1])
    for label in sheet.labels:
        assert label.left >= -0.01
        assert label.right <= sheet.width + 0.01
    for first, second in combinations(sheet.labels, 2):
        assert not overlap(first, second)
    uprights = [line.points[0][0] for line in sheet.shapes
                if isinstance(line, Line) and line.points[0][0] == line.points[1][0] and line.points[0][1] < 20]  # fmt: skip
    for label in figures(sheet):
        assert not any(label.left < x < label.right for x in uprights)


# The composition bar

amounts = st.dictionaries(
    st.sampled_from(list(CATEGORIES)), st.one_of(st.floats(0.001, 5), st.floats(5, 40_000)), min_size=1
)


@given(
    amounts, st.sampled_from([("large", 260), ("large", 1216), ("row", 208), ("table", 184), ("tree", 112)])
)
def test_segments_add_up_to_the_bar_in_the_order_of_the_categories(shares, form) -> None:
    size, width = form
    sheet = composition_bar(shares, size=size, width=width)
    segments = sheet.segments
    assert [one.name for one in segments] == [
        mark.code for name, mark in CATEGORIES.items() if name in shares
    ]
    edges = [(one.x - one.edge_width / 2, one.right + one.edge_width / 2) for one in segments]
    assert edges[0][0] == pytest.approx(0)
    assert edges[-1][1] == pytest.approx(width)
    for (_, end), (start, _) in pairwise(edges):
        assert start - end == pytest.approx(SPACE)
    assert all(end - start >= LEAST - 1e-9 for start, end in edges)


@given(amounts)
def test_segments_are_in_proportion_where_none_is_too_narrow(shares) -> None:
    whole = sum(shares.values())
    room = 1216 - SPACE * (len(shares) - 1)
    assume(all(amount / whole * room >= LEAST for amount in shares.values()))
    widths = {
        one.name: one.width + one.edge_width
        for one in composition_bar(shares, size="large", width=1216).segments
    }
    for category, amount in shares.items():
        assert widths[CATEGORIES[category].code] == pytest.approx(amount / whole * room)


@given(amounts, st.sampled_from([280, 600, 1216]))
def test_labels_and_call_outs_keep_clear_of_each_other(shares, width) -> None:
    sheet = composition_bar(shares, size="large", width=width)
    for first, second in combinations(sheet.labels, 2):
        assert not overlap(first, second), (first.text, second.text)
    leaders = [one for one in sheet.shapes if isinstance(one, Line)]
    under = [amount for amount in shares.values() if 100 * amount / sum(shares.values()) < 2]
    assert len(leaders) == len(under), "each is called out, by its code alone if need be"
    for label in sheet.labels:
        assert label.left >= -0.01
        assert label.right <= width + 0.01
        for leader in leaders:
            (x, foot), (_, top), _ = leader.points
            assert not (label.left < x < label.right and top < label.y < foot), "a leader through a text"


@given(amounts)
def test_a_label_lies_within_its_own_segment(shares) -> None:
    sheet = composition_bar(shares, size="row", width=600)
    within = {one.name: one for one in sheet.segments}
    for label in sheet.labels:
        segment = within[label.text[:2]]
        assert segment.x < label.left
        assert label.right < segment.right


def test_what_is_under_two_per_cent_is_called_out_and_said_not_to_be_nothing() -> None:
    shares = {"reference_fabric": 97, "historic_from_elsewhere": 0.02, "replica": 1.5, "not_assessed": 1.48}
    said = [text.replace("\u00a0", " ") for text in texts(composition_bar(shares, size="large", width=1216))]
    assert said == ["HE under 0.1 %", "RP 1.5 %", "NA 1.5 %", "RF 97.0"]


def test_a_segment_says_code_and_figure_or_the_code_or_nothing() -> None:
    shares = {"reference_fabric": 79, "replica": 15, "modern_substitute": 6}
    assert texts(composition_bar(shares, size="row", width=280)) == ["RF 79.0", "RP"]


def test_under_twelve_px_there_is_no_hatch_and_under_thirty_no_label(monkeypatch) -> None:
    monkeypatch.setitem(
        __import__("register.documents.composition_bar", fromlist=["HEIGHTS"]).HEIGHTS, "thin", 8
    )
    assert not any(one.hatch for one in composition_bar(ALL, size="thin", width=500).segments)
    assert any(one.hatch for one in composition_bar(ALL, size="tree", width=500).segments)
    assert not composition_bar(ALL, size="table", width=500).labels


def test_lettering_on_hatch_stands_on_a_plate_of_plain_fill() -> None:
    sheet = composition_bar(ALL, size="large", width=1216)
    plates = [one for one in sheet.shapes if isinstance(one, Rect) and not one.name]
    for label in sheet.labels:
        segment = next(one for one in sheet.segments if one.name == label.text[:2])
        if segment.hatch:
            (plate,) = (one for one in plates if one.x < label.left and label.right < one.right)
            assert plate.fill == segment.fill
            assert plate.height == 20
            assert not plate.hatch


def test_the_bar_is_said_in_words_too() -> None:
    description = composition_bar({"reference_fabric": 3, "not_assessed": 1}).description.replace(
        "\u00a0", " "
    )
    assert description == "Reference fabric 75.0 %, Not assessed 25.0 %"
    assert composition_bar({"replica": None}).description == "Nothing has a weight."


def test_a_wrong_category_or_a_negative_share_is_refused() -> None:
    with pytest.raises(KeyError, match="paint"):
        composition_bar({"paint": 3})
    with pytest.raises(ValueError, match="negative"):
        composition_bar({"replica": -3})


# Chips and keys


def test_a_chip_is_a_strip_of_hatch_and_the_code_on_plain_fill() -> None:
    sheet = chip("restored")
    strip = next(one for one in sheet.shapes if isinstance(one, Rect) and one.hatch)
    (label,) = sheet.labels
    assert (sheet.height, strip.width, label.text) == (22, 11, "RS")
    assert label.left >= strip.right


def test_doubt_and_dispute_are_written_and_not_tinted() -> None:
    assert texts(chip("original", doubtful=True)) == ["OR?"]
    assert texts(chip("original", disputed="replica")) == ["OR", "/", "RP"]
    assert texts(chip("original", disputed="?")) == ["OR", "/", "?"]
    assert chip("original", doubtful=True).title == "Original, doubtful"
    assert chip("original", disputed="replica").title == "Original, disputed"


def test_what_is_not_assessed_is_a_dashed_outline_without_fill() -> None:
    for sheet in (chip(""), swatch("NA"), composition_bar({"not_assessed": 1})):
        (segment,) = sheet.segments
        assert (segment.fill, segment.hatch, segment.edge_width) == ("", "", 2)
        assert segment.dash


@given(st.integers(340, 1200))
def test_a_key_keeps_its_entries_apart_and_within_its_width(width: int) -> None:
    sheet = key(CATEGORIES.values(), width=width, plain="wear part")
    assert len(sheet.segments) == len(CATEGORIES)
    for first, second in combinations(sheet.labels, 2):
        assert not overlap(first, second)
    assert all(label.right <= sheet.width for label in sheet.labels)


# The step band

STEPS = [
    Step(day("1894-03-01"), Fraction(92), Fraction(100), Fraction(100)),
    Step(day("1912-07-01"), Fraction(66), Fraction(84), Fraction(82)),
    Step(day("2022-06-01"), Fraction(60), Fraction(84), None, recorded=True),
]
UNTIL = day("2024-06-30")


def test_steps_tile_the_years_and_nothing_slopes() -> None:
    sheet = step_band(STEPS, UNTIL)
    bands = [one for one in sheet.segments if one.name == "bounds"]
    assert len(bands) == 3
    assert all(first.right == pytest.approx(second.x, abs=0.02) for first, second in pairwise(bands))
    for line in (one for one in sheet.shapes if isinstance(one, Line)):
        assert len({x for x, _ in line.points}) == 1 or len({y for _, y in line.points}) == 1


def test_only_a_step_that_was_found_out_has_dotted_faces() -> None:
    sheet = step_band(STEPS, UNTIL)
    bands = [one for one in sheet.segments if one.name == "bounds"]
    dotted = [one for one in sheet.shapes if isinstance(one, Line) and one.dash == (1.5, 3.0)]
    assert dotted
    assert {one.points[0][0] for one in dotted} == {bands[2].x}


def test_the_heavy_line_stops_where_there_is_no_best() -> None:
    sheet = step_band(STEPS, UNTIL)
    heavy = [one for one in sheet.shapes if isinstance(one, Line) and one.width == 2.4]
    third = [one for one in sheet.segments if one.name == "bounds"][2]
    assert max(x for line in heavy for x, _ in line.points) == pytest.approx(third.x, abs=0.02)


@given(st.lists(st.integers(STEPS[0].day, UNTIL), min_size=1, max_size=14))
def test_balloons_do_not_touch(days: list[int]) -> None:
    events = [Event(str(number), when) for number, when in enumerate(days, 1)]
    sheet = step_band(STEPS, UNTIL, events, height=600)
    balloons = [one for one in sheet.shapes if isinstance(one, Circle)]
    assert len(balloons) == len(days)
    for first, second in combinations(balloons, 2):
        assert (first.x - second.x) ** 2 + (first.y - second.y) ** 2 > (first.radius + second.radius) ** 2
    assert all(one.y - one.radius > 0 for one in balloons)


def test_a_timeline_of_a_day_or_without_an_end_is_drawn_or_refused() -> None:
    first = STEPS[0]
    assert step_band([first], first.day + 1).segments
    with pytest.raises(ValueError, match="an end after its beginning"):
        step_band([first], first.day)
    with pytest.raises(ValueError, match="needs a step"):
        step_band([], UNTIL)


# Widths of text


@pytest.mark.outside
@pytest.mark.parametrize(("file", "bold"), [("DejaVuSans.ttf", False), ("DejaVuSans-Bold.ttf", True)])
def test_text_is_not_wider_than_it_is_taken_to_be(file: str, bold: bool) -> None:
    """Against the metrics of DejaVu Sans 2.37, a wide font, as the drawing library reads them."""
    places = [Path("register/documents/fonts"), Path("/usr/share/fonts/truetype/dejavu")]
    found = next((place / file for place in places if (place / file).exists()), None)
    if found is None:
        pytest.skip("DejaVu Sans is not on this machine")
    font = ImageFont.truetype(str(found), 1000)
    words = [mark.words for mark in (*STATUSES.values(), *CATEGORIES.values())]
    codes = [f"{mark.code} 100.0" for mark in CATEGORIES.values()]
    for text in [*words, *codes, "0.0 to 100.0", "HE under 0.1\u00a0%", "100\u00a0%", "1,234–5,678", "OR?"]:
        assert font.getlength(text) <= text_width(text, 1000, bold=bold) + len(text), text


# SVG

SHEETS = {
    "interval": bar(43.9, 59.1, 51.5, size="large"),
    "composition": composition_bar(ALL, size="large", width=1216),
    "chip": chip("modern substitute", doubtful=True, disputed="replica"),
    "key": key(CATEGORIES.values()),
    "steps": step_band(STEPS, UNTIL, [Event("1", STEPS[1].day)]),
}


@pytest.mark.parametrize("name", SHEETS)
@pytest.mark.parametrize("options", [{}, {"patterns": True}, {"stand_alone": True}, {"decorative": True}])
def test_svg_is_well_formed_and_holds_no_style_and_no_script(name: str, options: dict[str, bool]) -> None:
    markup = svg(SHEETS[name], prefix=name, **options)
    root = ET.fromstring(markup)
    for element in root.iter():
        assert element.tag.removeprefix(SVG) not in ("style", "script", "foreignObject", "image")
        assert not [one for one in element.attrib if one == "style" or one.startswith("on")]


@pytest.mark.parametrize("name", SHEETS)
def test_ids_begin_with_the_prefix_and_every_reference_is_met(name: str) -> None:
    markup = svg(SHEETS[name], prefix=f"p-{name}", patterns=True)
    ids = re.findall(r' id="([^"]+)"', markup)
    assert len(ids) == len(set(ids))
    assert all(one.startswith(f"p-{name}-") for one in ids)
    referred = (
        re.findall(r"url\(#([^)]+)\)", markup) + re.findall(r'aria-labelledby="([^"]+)"', markup)[0].split()
    )
    assert set(referred) <= set(ids)


def test_the_patterns_of_the_page_are_all_that_a_chart_refers_to() -> None:
    page = shared_patterns()
    ids = set(re.findall(r' id="([^"]+)"', page))
    for name, sheet in SHEETS.items():
        assert set(re.findall(r"url\(#([^)]+)\)", svg(sheet, prefix=name))) <= ids
    assert {f"d-{code}" for code in ("RS", "RP", "MD")} <= ids, "and those of drawings"
    ET.fromstring(page)


def test_every_string_is_escaped() -> None:
    name = "<script>alert(\"1\")</script> & 'x'\x00\ud800"
    sheet = Sheet(10, 10, (Label(0, 0, name),), name, name)
    markup = svg(sheet, prefix="p", css_class='x" onload="alert(1)')
    root = ET.fromstring(markup)
    assert [element.tag for element in root] == ["title", "desc", "text"]
    assert root.findtext("text") == "<script>alert(\"1\")</script> & 'x'\ufffd\ufffd"
    assert "onload" not in root.attrib


@pytest.mark.parametrize("prefix", ["", "1a", "a b", 'a"b', "a<b"])
def test_a_prefix_that_is_no_plain_name_is_refused(prefix: str) -> None:
    with pytest.raises(ValueError, match="cannot begin the ids"):
        svg(SHEETS["chip"], prefix=prefix)


def test_a_picture_is_named_for_those_who_cannot_see_it() -> None:
    root = ET.fromstring(svg(SHEETS["interval"], prefix="p"))
    assert root.get("role") == "img"
    assert root.findtext("title") == "Bounds"
    hidden = ET.fromstring(svg(SHEETS["interval"], prefix="p", decorative=True))
    assert hidden.get("aria-hidden") == "true"
    assert hidden.get("role") is None


def test_a_picture_by_itself_keeps_its_colours() -> None:
    root = ET.fromstring(svg(SHEETS["composition"], prefix="p", stand_alone=True))
    fills = {element.get("fill") for element in root.iter(f"{SVG}rect")}
    assert {TOKENS[fill].light for fill in ("fOR", "fRS", "fRP", "fMD")} <= fills


def test_every_paint_of_a_sheet_is_a_token_and_every_hatch_is_known() -> None:
    for sheet in SHEETS.values():
        for shape in sheet.shapes:
            paints = {getattr(shape, name, "") for name in ("fill", "edge", "ink", "hatch_ink")} - {""}
            assert paints <= set(TOKENS)
            assert getattr(shape, "hatch", "") in {"", *HATCHES}
