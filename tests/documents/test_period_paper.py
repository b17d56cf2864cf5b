"""The period report on paper: what stands where, that it is tagged, and that text is printed as it was typed."""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass, replace
from datetime import date
from fractions import Fraction
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from register.documents.change_words import ChangeRow
from register.documents.figure_parts import BoundsView
from register.documents.fonts import printable
from register.documents.period_content import (
    KINDS,
    MAGAZINE,
    TRUSTEES,
    FigureRow,
    FiguresTold,
    Front,
    Group,
    Line,
    PeriodReport,
    Photo,
    SplitRow,
    VehicleReport,
    texts_of,
)
from register.documents.period_paper import missing_glyphs_of, render
from register.documents.period_words import TITLES, counted, mass_words, share_words
from register.fabric.interval import Interval
from tests.documents.reading import Read, squeezed
from tests.documents.test_pdf_text import HOSTILE

FIXED = {"edition", "kind", "key", "status", "visibility", "sha256", "method_version", "software_version"}
"""Fields whose words are those of a list, not anybody's text."""


@pytest.fixture(scope="module")
def pictures(tmp_path_factory) -> tuple[Path, ...]:
    folder = tmp_path_factory.mktemp("pictures")
    wide, see_through, grey = folder / "wide.webp", folder / "tall.webp", folder / "grey.webp"
    Image.new("RGB", (1600, 900), (90, 40, 30)).save(wide)
    Image.new("RGBA", (300, 1200), (10, 90, 40, 120)).save(see_through)
    Image.new("L", (640, 480), 90).save(grey)
    return wide, see_through, grey


def report(pictures: tuple[Path, ...]) -> PeriodReport:
    """Something in every field."""
    bounds = BoundsView("Retained original fabric, bounds", "by mass", Fraction(40), Fraction(60), Fraction(50))
    rows = (
        FigureRow("mass", "31 December 2025, as known then", bounds, "40.0–60.0", "50.0", "92.0", "1 of 40"),
        FigureRow("count", "30 June 2026", None, "none given", "–", "–", "3 of 40"),
    )
    figures = FiguresTold(
        "as built (1894)", rows, (SplitRow("mass", "−1.4", "−0.6", "−0.8"),), ("The best figure went down.",),
        (ChangeRow("Frame plate", "FR-001", "−0.6", "−0.8"),), "3 parts more changed, each by less than 0.05 points.", ("No stand-in is in use.",),
    )  # fmt: skip
    line = Line("9 February 2026", "Steel chimney", "P10", "p10", "Chimney", "modern substitute", "in view", ("in place of the first one", "cracked"), ("may have been before 1 January 2026",))
    groups = tuple(Group(kind, (line, replace(line, status="wear", visibility="", position="Brake"), replace(line, status="", doubts=())), "And 3 more.") for kind in KINDS)
    photos = tuple(Photo("0" * 64, path, f"The chimney, {path.stem}", "A. Bell", "CC BY 4.0", "3 February 2026") for path in pictures)
    vehicles = (
        VehicleReport("No. 6 Harrenby", "har", ("It is new to the register.",), figures, groups, photos),
        VehicleReport("Parts that belong to no vehicle", "", groups=(Group("moved", (Line("3 March 2026", "Bell", said=("to Store",)),)),)),
    )
    front = Front("Selmouth & Harrenby Railway", TRUSTEES, date(2026, 1, 1), date(2026, 6, 30), date(2026, 7, 4), ("No. 6 Harrenby",), "M. Thorley", "1", "0.1.0", 17)
    return PeriodReport(front, vehicles, ("D2", "Third No. 12"), ("1 thing is dated loosely.",), ("Two photographs left out.",))


@pytest.fixture(scope="module")
def full(pictures) -> Read:
    return Read(render(report(pictures)))


def text_of(read: Read) -> str:
    return " ".join(read.text.split())


def outline(read: Read) -> list[Any]:
    return [one.title if not isinstance(one, list) else [below.title for below in one] for one in read.file.outline]


def test_the_front_says_for_whom_of_what_days_and_how_it_was_known(full):
    text = text_of(full)
    assert text.startswith("Period report Selmouth & Harrenby Railway: 1 January 2026 to 30 June 2026, both days included. For trustees. With what was entered until 4 July 2026. Written by M. Thorley. Of No. 6 Harrenby alone.")
    assert "Nothing to tell of: D2, Third No. 12." in text and "1 thing is dated loosely." in text
    assert "Two photographs left out" not in text  # that is for whoever asks, on the page


def test_every_vehicle_and_every_kind_is_in_the_outline_in_its_order(full):
    found = outline(full)
    assert [one for one in found if isinstance(one, str)] == ["Period report", "In short", "No. 6 Harrenby", "Parts that belong to no vehicle", "How this is told"]
    (below, moved) = (one for one in found if isinstance(one, list))
    assert below == ["How much of it is original", *TITLES.values(), "Photographs"] and moved == ["Moved"]


def test_heads_and_feet_are_on_every_page_and_no_part_of_what_is_read_aloud(full):
    for number, page in enumerate(full.unmarked, 1):
        assert "Period report, 1 January 2026 to 30 June 2026" in page and "For trustees" in page and f"Page {number} of {full.pages()}" in page
    assert "No. 6 Harrenby" in full.unmarked[1]
    assert "Page 1 of" not in full.text


def test_bounds_best_share_and_counts_stand_beside_their_day(full):
    rows = [[" ".join(full.text_of(cell).split()) for cell in row.children] for row in full.of_kind("TR")]
    assert ["mass", "31 December 2025, as known then", "", "40.0–60.0", "50.0", "92.0", "1 of 40"] in rows
    assert ["count", "30 June 2026", "", "none given", "–", "–", "3 of 40"] in rows
    assert ["mass", "−1.4", "−0.6", "−0.8"] in rows and ["Frame plate FR-001", "−0.6", "−0.8"] in rows
    assert ["9 February 2026", "Steel chimney P10, Chimney", "MD in view", "In place of the first one. Cracked. May have been before 1 January 2026."] in rows


def test_a_photograph_is_a_figure_with_its_words_and_bears_caption_credit_and_licence(full):
    figures = [node.entries["/Alt"] for node in full.of_kind("Figure")]
    assert figures[-3:] == [f"Photograph: The chimney, {name}" for name in ("wide", "tall", "grey")]
    assert full.images() == 3
    assert "The chimney, wide A. Bell, CC BY 4.0; taken 3 February 2026." in text_of(full)


def test_pictures_on_paper_carry_nothing_of_the_camera_and_no_more_than_is_seen(pictures, tmp_path):
    """Files of a telephone hold where it was; the copies that are printed hold pixels alone."""
    exif = Image.Exif()
    exif[0x010E] = "CANARY"
    path = tmp_path / "phone.jpg"
    Image.effect_noise((3000, 2000), 60).convert("RGB").save(path, exif=exif, quality=95)
    photo = Photo("0" * 64, path, "", "", "", "")
    made = replace(report(pictures), vehicles=(VehicleReport("One", "one", photographs=(photo,)),))
    data = render(made)
    assert b"CANARY" not in data and len(data) < 400_000 < path.stat().st_size
    (image,) = [one for page in Read(data).file.pages for one in page.images]
    assert max(image.image.size) <= 800
    assert "No caption. Credit not known, licence not known; date not known." in text_of(Read(data))


def test_every_font_is_embedded_and_the_same_content_gives_the_same_bytes(full, pictures):
    assert set(full.fonts().values()) == {True}
    assert render(report(pictures)) == render(report(pictures))


def test_the_magazines_edition_says_that_it_is_and_names_no_change_of_the_register(pictures):
    made = report(pictures)
    read = Read(render(replace(made, front=replace(made.front, edition=MAGAZINE, written_by=""))))
    assert "For the magazine." in text_of(read) and "change 17 of the register" not in text_of(read)
    assert "This report is about fabric. It does not say that anything is fit or safe to work." in text_of(read)


def test_a_report_of_nothing_says_so(pictures):
    made = report(pictures)
    assert "There is nothing to tell of this period." in text_of(Read(render(PeriodReport(made.front, ()))))
    assert "Nothing to tell in this period of: D2." in text_of(Read(render(PeriodReport(made.front, (), ("D2",)))))


def mapped(value: Any, change: Any, name: str = "") -> Any:
    if isinstance(value, str):
        return value if name in FIXED or not value else change(value)
    if isinstance(value, tuple):
        return tuple(mapped(one, change, name) for one in value)
    if is_dataclass(value) and not isinstance(value, BoundsView):
        return replace(value, **{one.name: mapped(getattr(value, one.name), change, one.name) for one in fields(value)})
    return value


@pytest.mark.parametrize("hostile", HOSTILE, ids=lambda typed: typed[:20])
def test_hostile_text_in_every_field_is_printed_as_it_was_typed(hostile, pictures):
    """Each field holds the text with a number of its own, read back from the element that prints it."""
    numbers = iter(range(10_000))
    typed: list[str] = []

    def change(words: str) -> str:
        typed.append(f"«{next(numbers)}{hostile}»")
        return typed[-1]

    content = replace(mapped(replace(report(pictures), beside=()), change))
    read = Read(render(content))
    text = squeezed(read.text)
    missing = [words for words in typed if squeezed(printable(words)) not in text]
    assert len(typed) > 100
    assert not missing
    assert read.images() == 3 and set(read.fonts().values()) == {True} and missing_glyphs_of(content) == []
    assert not any(page.get("/Annots") for page in read.file.pages)


def test_every_field_that_may_be_typed_is_tried_by_the_test_above(pictures):
    """A field that the report forgets to print, or the test to fill, is found here."""
    filled = {re.sub(r" \d+", "", where) for where, words in texts_of(report(pictures)) if words}
    empty = {re.sub(r" \d+", "", where) for where, words in texts_of(report(pictures)) if not words and where.split(", ")[-1] not in FIXED}
    assert empty <= filled, empty - filled


def test_a_character_without_a_glyph_is_printed_as_its_number_and_that_is_said(pictures):
    made = replace(report(pictures), quiet=("漢",))
    assert missing_glyphs_of(made) == [("quiet 1", "漢")]
    assert "[U+6F22]" in text_of(Read(render(made))) and "printed as its Unicode number" in text_of(Read(render(made)))


def test_counts_shares_and_masses_are_said_in_words():
    assert counted({"fitted": 2, "removed": 0, "events": 1, "decided": 1}) == "2 fitted, 1 event, 1 proposal"
    assert (share_words(None, 700_000, None), share_words(600_000, 700_000, 800_000), share_words(None, None, None)) == ("70\u00a0%", "70\u00a0% (60 to 80\u00a0%)", "")
    assert share_words(0, 25_000, 50_000) == "2.5\u00a0% (0 to 5\u00a0%)"
    assert (mass_words(None), mass_words(Interval.exactly(60_000)), mass_words(Interval(55_000, 60_000, 65_000))) == ("not known", "60 kg", "60 kg (55 to 65 kg)")


def test_a_report_of_many_vehicles_and_lines_takes_pages_and_no_more(pictures):
    line = report(pictures).vehicles[0].groups[0].lines[0]
    many = tuple(VehicleReport(f"Van {number}", "", groups=(Group("fitted", (line,) * 300),)) for number in range(3))
    read = Read(render(replace(report(pictures), vehicles=many)))
    assert 20 < read.pages() < 80 and BytesIO(read.data).getbuffer().nbytes < 2_000_000
