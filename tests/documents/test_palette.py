"""The colours and hatches of statuses: told apart by everybody, on paper and on screen, and each said
once."""

from __future__ import annotations

import re
from itertools import combinations

import pytest
from django.contrib.staticfiles import finders

from register.documents.palette import CATEGORIES, HATCHES, MARKS, STATUSES, TOKENS, mark_of, tokens_css
from register.fabric.fraction import COMPOSITION
from register.fabric.inputs import STATUSES as ASSESSED
from tests.documents.colour import VISION, ciede2000, contrast, lab

FILLS = ("fOR", "fRS", "fRP", "fMD")


def served() -> str:
    path = finders.find("register/tokens.css")
    assert path is not None
    with open(path, encoding="utf-8") as file:
        return file.read()


def properties() -> dict[str, dict[str, str]]:
    """Custom properties by scheme, read from the style sheet as a browser gets it."""
    blocks = re.findall(r"(?:@media ([^{]+) \{\s*)?:root \{(.*?)\}", served(), re.S)
    named = {
        "": "light",
        "(prefers-color-scheme: dark)": "dark",
        "print": "print",
        "print and (monochrome)": "mono",
    }
    return {named[query.strip()]: dict(re.findall(r"--(\w+): (#\w{6});", block)) for query, block in blocks}


SCHEMES = properties()


def test_the_style_sheet_is_the_palette() -> None:
    assert served() == tokens_css(), (
        "python -m register.documents.palette > register/static/register/tokens.css"
    )
    assert set(SCHEMES) == {"light", "dark", "print", "mono"}
    assert all(set(scheme) == set(TOKENS) for scheme in SCHEMES.values())


def test_every_status_and_category_has_its_mark_in_the_printed_order() -> None:
    assert tuple(STATUSES) == (*ASSESSED, "not assessed")
    assert tuple(CATEGORIES) == COMPOSITION
    assert [mark.code for mark in STATUSES.values()] == ["OR", "RS", "RP", "MD", "NA"]
    assert [mark.code for mark in CATEGORIES.values()] == ["RF", "HL", "HE", "NM", "RP", "MD", "NA"]


def test_no_two_marks_of_a_picture_share_fill_and_hatch() -> None:
    for table in (STATUSES, CATEGORIES):
        assert len({(mark.fill, mark.hatch) for mark in table.values()}) == len(table)


def test_a_part_without_a_status_is_not_assessed_and_an_unknown_one_is_refused() -> None:
    assert mark_of("").code == mark_of("not assessed").code == "NA"
    with pytest.raises(KeyError, match="preserved"):
        mark_of("preserved")


# WCAG 2.2, success criterion 1.4.3: text 4.5:1


@pytest.mark.outside
@pytest.mark.parametrize("scheme", ["light", "dark", "print"])
def test_text_is_read_at_four_and_a_half_to_one(scheme: str) -> None:
    colours = SCHEMES[scheme]
    for ground in ("paper", "panel"):
        for ink in ("ink", "ink2"):
            assert contrast(colours[ink], colours[ground]) >= 4.5, (ink, ground)
    assert contrast(colours["ink"], colours["band"]) >= 4.5
    for fill in FILLS:
        assert contrast(colours[fill.replace("f", "l")], colours[fill]) >= 4.5, fill


# WCAG 2.2, success criterion 1.4.11: graphics 3:1


@pytest.mark.outside
@pytest.mark.parametrize("scheme", ["light", "dark", "print"])
def test_marks_and_edges_are_seen_at_three_to_one(scheme: str) -> None:
    colours = SCHEMES[scheme]
    for ground in ("paper", "panel"):
        for drawn in (*FILLS, "na", "ctl"):
            assert contrast(colours[drawn], colours[ground]) >= 3, (drawn, ground)
    for fill in FILLS:
        assert contrast(colours[fill.replace("f", "h")], colours[fill]) >= 3, f"hatch on {fill}"


def test_fills_stand_clear_of_the_page() -> None:
    assert min(contrast(SCHEMES["light"][fill], SCHEMES["light"]["paper"]) for fill in FILLS) >= 3.5
    assert min(contrast(SCHEMES["dark"][fill], SCHEMES["dark"]["paper"]) for fill in FILLS) >= 4.8


@pytest.mark.outside
def test_contrast_is_that_of_the_standard() -> None:
    """WCAG 2.2: black on white is 21:1; #767676 on white passes 4.5 and #777777 does not (W3C Understanding
    1.4.3)."""
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert contrast("#767676", "#FFFFFF") >= 4.5 > contrast("#777777", "#FFFFFF")


# Sharma, Wu and Dalal (2005), table 1: pairs of the published test data, the hard ones among them (from memory; that
# an independent formula meets each to four decimals speaks for both)
SHARMA = [
    ((50, 2.6772, -79.7751), (50, 0, -82.7485), 2.0425),
    ((50, 3.1571, -77.2803), (50, 0, -82.7485), 2.8615),
    ((50, -1.3802, -84.2814), (50, 0, -82.7485), 1.0000),
    ((50, 0, 0), (50, -1, 2), 2.3669),
    ((50, 2.4900, -0.0010), (50, -2.4900, 0.0009), 7.1792),
    ((50, 2.4900, -0.0010), (50, -2.4900, 0.0011), 7.2195),
    ((50, -0.0010, 2.4900), (50, 0.0009, -2.4900), 4.8045),
    ((50, -0.0010, 2.4900), (50, 0.0011, -2.4900), 4.7461),
    ((50, 2.5, 0), (50, 0, -2.5), 4.3065),
    ((50, 2.5, 0), (73, 25, -18), 27.1492),
    ((50, 2.5, 0), (61, -5, 29), 22.8977),
    ((50, 2.5, 0), (56, -27, -3), 31.9030),
    ((50, 2.5, 0), (58, 24, 15), 19.4535),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((63.0109, -31.0961, -5.8663), (62.8187, -29.7946, -4.0864), 1.2630),
    ((22.7233, 20.0904, -46.6940), (23.0331, 14.9730, -42.5619), 2.0373),
    ((90.9257, -0.5406, -0.9208), (88.6381, -0.8985, -0.7239), 1.5381),
    ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
]


@pytest.mark.outside
@pytest.mark.parametrize(("first", "second", "difference"), SHARMA)
def test_colour_difference_is_that_of_the_published_pairs(first, second, difference) -> None:
    assert ciede2000(first, second) == pytest.approx(difference, abs=5e-5)
    assert ciede2000(second, first) == pytest.approx(difference, abs=5e-5)


@pytest.mark.outside
@pytest.mark.parametrize("vision", VISION)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_fills_are_told_apart_whatever_the_vision(scheme: str, vision: str) -> None:
    seen = {fill: lab(SCHEMES[scheme][fill], vision) for fill in FILLS}
    for first, second in combinations(FILLS, 2):
        assert ciede2000(seen[first], seen[second]) >= 20, (first, second)


def test_in_one_bit_black_hatch_alone_tells_them_apart() -> None:
    mono = SCHEMES["mono"]
    assert set(mono.values()) == {"#000000", "#FFFFFF"}
    for table in (STATUSES, CATEGORIES):
        looks = [(mono.get(f"f{mark.fill}", "outline"), mark.hatch) for mark in table.values()]
        assert len(set(looks)) == len(looks)


def test_hatch_leaves_paper_between_its_lines() -> None:
    """On paper never less than 0.7 mm; on screen at least twice the line."""
    for hatch in HATCHES.values():
        width = hatch.print.weight * (1 if hatch.angles else 2)
        assert hatch.print.pitch - width >= 0.7
        assert hatch.bar.pitch >= 2 * hatch.bar.weight


def test_nothing_but_a_mark_has_a_colour() -> None:
    """Colour means status and nothing else: every other token is a grey of the ink."""
    for scheme in SCHEMES.values():
        for name in set(TOKENS) - set(FILLS):
            red, green, blue = (int(scheme[name][at : at + 2], 16) for at in (1, 3, 5))
            assert max(red, green, blue) - min(red, green, blue) <= 0x1C, name


def test_codes_are_two_letters_and_mean_one_thing() -> None:
    assert all(re.fullmatch("[A-Z]{2}", code) for code in MARKS)
    for status in STATUSES.values():
        for category in CATEGORIES.values():
            assert status.code != category.code or status.words == category.words
