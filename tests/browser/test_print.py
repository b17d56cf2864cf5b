"""On paper in plain black: statuses and categories are told apart by hatch alone."""

from __future__ import annotations

import io
from itertools import combinations
from pathlib import Path

import pytest
from django.conf import settings
from PIL import Image, ImageChops

STATUSES = ("OR", "RS", "RP", "MD", "NA")
CATEGORIES = ("RF", "HL", "HE", "NM", "RP", "MD", "NA")
MARGIN = 0.1
"""Of the dots of a swatch, so many at least differ between any two (our own margin, no source)."""
SCALE = 3
"""Dots to a CSS pixel: 288 to the inch, about what an office printer sets."""


def one_bit(element):
    """The dots that a printer with black alone sets."""
    picture = Image.open(io.BytesIO(element.screenshot())).convert("L")
    return picture.resize((28 * SCALE, 16 * SCALE)).convert("1", dither=Image.Dither.NONE)


def too_close(swatches, codes):
    """The pairs of which fewer dots differ than the margin, with the share that does."""
    assert swatches.count() == len(codes)
    found = {code: one_bit(swatches.nth(at)) for at, code in enumerate(codes)}
    wrong = {}
    for one, other in combinations(codes, 2):
        dots = ImageChops.logical_xor(found[one], found[other]).convert("L").histogram()
        if dots[255] < MARGIN * sum(dots):
            wrong[f"{one} and {other}"] = round(dots[255] / sum(dots), 3)
    return wrong


@pytest.fixture
def paper(signed_in, browser, context):
    """The page as a printer with black alone is sent it. Chromium has none to offer, so that the rules for one are
    put in force by taking their condition away."""
    address = signed_in("officer")
    wide = browser.new_context(device_scale_factor=SCALE, bypass_csp=True)
    wide.add_cookies(context.cookies())
    page = wide.new_page()
    page.goto(address + "/vehicles/har/")
    page.emulate_media(media="print", color_scheme="light")
    static = Path(settings.BASE_DIR) / "register" / "static" / "register"
    rules = "".join((static / name).read_text() for name in ("tokens.css", "base.css"))
    assert rules.count("print and (monochrome)") >= 2
    page.add_style_tag(content=rules.replace("print and (monochrome)", "print"))
    yield page
    wide.close()


def test_statuses_and_categories_are_told_apart_in_plain_black(paper):
    assert not too_close(paper.locator("#positions .key .swatch"), STATUSES)
    assert not too_close(paper.locator(".table.composition .swatch"), CATEGORIES)
