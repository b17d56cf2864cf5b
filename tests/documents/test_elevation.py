"""The elevation on paper: outlines of an SVG path, and each region filled and hatched by what it is."""

from __future__ import annotations

from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.documents.elevation import Elevation, Outline, Step, circle, steps_of
from register.documents.palette import TOKENS
from register.documents.pdf import WIDTH, Paper, Sheet
from register.documents.pdf_elevation import ElevationPicture
from tests.documents.reading import Read
from tests.documents.statements import FRONT, elevation

SHEET = Sheet("A paper", FRONT.day, "Selmouth & Harrenby Railway", "A paper", "", ("", ""))


def on_curve(start, step, at):
    """A point of a Bézier curve of three steps (its definition; general reference)."""
    a, (b, c, d) = start, step.points
    return tuple((1 - at) ** 3 * p + 3 * (1 - at) ** 2 * at * q + 3 * (1 - at) * at**2 * r + at**3 * s for p, q, r, s in zip(a, b, c, d, strict=True))


def ends(steps):
    return [step.points[-1] for step in steps if step.points]


def test_a_path_of_every_command_that_drawings_use():
    steps = steps_of("M10 10h5v5l-5 0z m 2,2 L20 20H30V40 Q40 40 40 50 C41 51 42 52 43 53 44 54 45 55 46 56")
    assert [step.kind for step in steps] == ["M", "L", "L", "L", "Z", "M", "L", "L", "L", "C", "C", "C"]
    assert ends(steps) == [(10, 10), (15, 10), (15, 15), (10, 15), (12, 12), (20, 20), (30, 20), (30, 40), (40, 50), (43, 53), (46, 56)]


def test_a_path_with_a_command_that_cannot_be_drawn_is_refused():
    with pytest.raises(ValueError, match="may not use the path command S"):
        steps_of("M0 0S1 1 2 2")


@given(st.floats(-50, 50), st.floats(-50, 50), st.floats(0.5, 80), st.sampled_from([(0, 0), (0, 1), (1, 0), (1, 1)]), st.floats(0.2, 6))
def test_an_arc_keeps_to_its_circle(x, y, radius, flags, angle):
    """Every point is one radius from a middle; a curve for a quarter of a circle is out by less than 0.03 % (general reference)."""
    from math import cos, sin

    end = (x + radius * (cos(angle) - 1), y + radius * sin(angle))
    steps = steps_of(f"M{x} {y}A{radius} {radius} 0 {flags[0]} {flags[1]} {end[0]} {end[1]}")
    middles = middles_of((x, y), end, radius)
    here = steps[0].points[0]
    assert ends(steps)[-1] == pytest.approx(end, abs=1e-6)
    curves = steps[1:]
    for middle in middles:
        start, off = here, 0.0
        for step in curves:
            for at in (0.25, 0.5, 0.75, 1):
                point = on_curve(start, step, at)
                off = max(off, abs(hypot(point[0] - middle[0], point[1] - middle[1]) - radius))
            start = step.points[-1]
        if off < 0.0005 * radius + 1e-6:
            return
    raise AssertionError(f"the arc lies on no circle of radius {radius} through its ends")


def middles_of(start, end, radius):
    half = hypot(end[0] - start[0], end[1] - start[1]) / 2
    rise = max(0.0, radius * radius - half * half) ** 0.5
    across, down = (end[0] - start[0]) / (2 * half or 1), (end[1] - start[1]) / (2 * half or 1)
    middle = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    return [(middle[0] - sign * rise * down, middle[1] + sign * rise * across) for sign in (1, -1)]


def test_an_arc_turns_the_way_its_flags_say():
    """From (0, 0) to (2, 0) with y downwards: sweep 1 goes over the top, 0 below (SVG 1.1, 8.3.8, from memory)."""
    over, below = (steps_of(f"M0 0A1 1 0 0 {sweep} 2 0") for sweep in (1, 0))
    assert min(y for step in over for _, y in step.points) == pytest.approx(-1)
    assert max(y for step in below for _, y in step.points) == pytest.approx(1)


def test_an_arc_too_small_to_reach_grows_and_one_of_no_radius_is_a_line():
    assert max(abs(y) for step in steps_of("M0 0A1 1 0 0 1 10 0") for _, y in step.points) == pytest.approx(5)
    assert steps_of("M0 0A0 5 0 0 1 9 0")[1] == Step("L", ((9.0, 0.0),))
    assert len(steps_of("M3 3A5 5 0 0 1 3 3")) == 1


def test_the_box_holds_every_outline():
    made = Elevation("", (Outline(circle(10, 20, 5), frozenset()), Outline(steps_of("M0 0H3"), frozenset())))
    assert made.box() == pytest.approx((0, 0, 15, 25))
    assert Elevation("", ()).box() == (0, 0, 1, 1)


def printed(made: Elevation) -> Read:
    paper = Paper(SHEET)
    paper.add(*paper.heading("A paper", "title"), ElevationPicture.of(made, paper.tree, room=WIDTH, height=200))
    return Read(paper.finished())


def test_regions_are_filled_and_hatched_and_what_is_not_assessed_is_dashed():
    stream = printed(elevation()).file.pages[0].get_contents().get_data().decode("latin-1")
    red, green, blue = (int(TOKENS["fRS"].print[at : at + 2], 16) / 255 for at in (1, 3, 5))
    fills = [tuple(map(float, line.split()[:3])) for line in stream.splitlines() if line.endswith(" rg")]
    assert any(fill == pytest.approx((red, green, blue), abs=0.001) for fill in fills)
    assert " W n" in stream or " W* n" in stream or "W n" in stream  # the hatch is cut off at the region
    assert any(line.split()[-1] == "d" and line.startswith("[") and line != "[] 0 d" for line in stream.splitlines())


def test_a_picture_fits_the_page_whatever_its_shape():
    for path in ("M0 0H3000V10", "M0 0V3000H10", "M0 0", ""):
        made = Elevation("t", (Outline(steps_of(path), frozenset({"t"})),) if path else ())
        picture = ElevationPicture.of(made, Paper(SHEET).tree, room=WIDTH, height=200)
        assert picture.width <= WIDTH and picture.height <= 204
        printed(made)
