"""Masses from dimensions, against tables of sections, plate rules and units of outside the project."""

from __future__ import annotations

import math
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.fabric.densities import MATERIALS, Material
from register.fabric.interval import MILLION, Interval
from register.fabric.measures import Measure, QuantityError
from register.fabric.quantities import read_length, read_mass, read_volume
from register.fabric.shapes import SHAPES, work_out

STEEL_7850 = Material("steel", "steel", Interval.exactly(7850), "EN 10220 and the section tables take 7.85 kg/dm³")
POUND = 453.59237


def at(density: float) -> Material:
    return Material("test", "test", Interval.exactly(round(density)), "given with the table")


def kilograms(shape: str, material: Material = STEEL_7850, **dimensions: str) -> float:
    measures = {name: read_length(text) for name, text in dimensions.items()}
    best = work_out(SHAPES[shape], measures, material).mass.best
    assert best is not None
    return best / 1000


# Tubes

EN_10220 = [("33.7", "2.6", 1.99), ("48.3", "3.2", 3.56), ("60.3", "3.6", 5.03), ("88.9", "4.0", 8.38), ("114.3", "4.5", 12.2), ("168.3", "5.0", 20.1), ("219.1", "6.3", 33.1)]


@pytest.mark.outside
@pytest.mark.parametrize(("outside", "wall", "per_metre"), EN_10220)
def test_a_steel_tube_has_the_mass_of_the_table(outside, wall, per_metre):
    """Source: EN 10220, mass per metre (D − T)·T·0.0246615 with 7.85 kg/dm³; the table's values from memory."""
    found = kilograms("tube", outside=f"{outside} mm", wall=f"{wall} mm", length="1 m")
    assert found == pytest.approx(per_metre, rel=0.004)
    assert found == pytest.approx((float(outside) - float(wall)) * float(wall) * 0.0246615, abs=0.0006)


@pytest.mark.outside
@pytest.mark.parametrize(("outside", "wall", "per_metre"), [("75.0", "1.0", 1.825), ("10.0", "0.50", 0.117)])
def test_a_thin_tube_has_the_mass_of_a_supplier_s_worked_example(outside, wall, per_metre):
    """Source: worked examples on a tube supplier's published weight sheet."""
    assert round(kilograms("tube", outside=f"{outside} mm", wall=f"{wall} mm", length="1 m"), 3) == per_metre


@pytest.mark.outside
def test_an_inch_tube_has_the_mass_in_pounds_of_a_supplier_s_worked_example():
    """Source: the same sheet, at 0.284 lb/in³ (7,861 kg/m³): 3.5 in × 0.036 in, 12 in long, is 1.335 lb; 4.000 in ×
    0.047 in is 1.989 lb a foot, which the sheet gives as 2.961 kg/m too."""
    metal = at(0.284 * POUND / 1000 / 0.0254**3)
    assert kilograms("tube", metal, outside="3.5 in", wall="0.036 in", length="12 in") / POUND * 1000 == pytest.approx(1.335, abs=0.002)
    assert kilograms("tube", metal, outside="4 in", wall="0.047 in", length="1 ft") / POUND * 1000 == pytest.approx(1.989, abs=0.002)
    assert kilograms("tube", metal, outside="4 in", wall="0.047 in", length="1 m") == pytest.approx(2.961, rel=0.002)


# Bars and plates


@pytest.mark.outside
@pytest.mark.parametrize(("diameter", "per_metre"), [("20", 2.47), ("25", 3.85), ("50", 15.4), ("100", 61.7)])
def test_a_round_bar_has_the_mass_of_the_table(diameter, per_metre):
    """Source: EN 10060, hot rolled round steel bars; the table's values from memory."""
    assert kilograms("round", diameter=f"{diameter} mm", length="1 m") == pytest.approx(per_metre, rel=0.003)


@pytest.mark.outside
@pytest.mark.parametrize(("across", "per_metre"), [("25", 4.91), ("50", 19.6)])
def test_a_square_bar_has_the_mass_of_the_table(across, per_metre):
    """Source: EN 10059, hot rolled square steel bars; the table's values from memory."""
    assert kilograms("square", across=f"{across} mm", length="1 m") == pytest.approx(per_metre, rel=0.003)


@pytest.mark.outside
@pytest.mark.parametrize(("width", "per_metre"), [("100", 7.85), ("50", 3.93)])
def test_a_flat_bar_has_the_mass_of_the_table(width, per_metre):
    """Source: EN 10058, hot rolled flat steel bars, 10 mm thick; the table's values from memory."""
    assert kilograms("flat", width=f"{width} mm", thickness="10 mm", length="1 m") == pytest.approx(per_metre, rel=0.003)


@pytest.mark.outside
def test_a_hexagon_has_the_area_of_a_regular_hexagon():
    """Source: geometry; a hexagon of width s across flats is made of six triangles, 2·√3·(s/2)² together."""
    assert kilograms("hexagon", across="20 mm", length="1 m") == pytest.approx(2 * math.sqrt(3) * 0.01**2 * 7850, rel=1e-3)


@pytest.mark.outside
@pytest.mark.parametrize(("material", "density", "pounds"), [("steel", 489.6, 40.8), ("wrought iron", 480.0, 40.0)])
def test_an_inch_plate_weighs_forty_pounds_a_square_foot_in_iron_and_two_per_cent_more_in_steel(material, density, pounds):
    """Source: the rule of engineers' handbooks (from memory): 40 lb/ft² for an inch of wrought iron of 480 lb/ft³, 40.8
    for steel of 489.6. 1 lb/ft³ is 16.018463 kg/m³."""
    metal = at(density * 16.018463)
    assert kilograms("plate", metal, length="1 ft", width="1 ft", thickness="1 in") / POUND * 1000 == pytest.approx(pounds, abs=0.02), material


@pytest.mark.outside
def test_steel_plate_weighs_7_85_kg_a_square_metre_for_each_millimetre():
    """Source: 7.85 kg/dm³, EN 10220."""
    assert kilograms("plate", length="1 m", width="1 m", thickness="1 mm") == 7.85


# Angles, of which there is no shape: their area times their length is a volume


@pytest.mark.outside
@pytest.mark.parametrize(("leg", "thick", "root", "per_metre"), [(50, 5, 7, 3.77), (60, 6, 8, 5.42), (80, 8, 10, 9.63), (100, 10, 12, 15.0)])
def test_an_angle_worked_out_by_its_area_has_the_mass_of_the_table(leg, thick, root, per_metre):
    """Source: EN 10056-1, equal leg angles, area t·(2a − t) + (1 − π/4)·(r² − 2·(r/2)²); values from memory."""
    area = thick * (2 * leg - thick) + (1 - math.pi / 4) * (root**2 - 2 * (root / 2) ** 2)
    litres = {"volume": read_volume(f"{area * 1000 / 1e6:.6f} litres")}
    assert work_out(SHAPES["volume"], litres, STEEL_7850).mass.best / 1000 == pytest.approx(per_metre, rel=0.003)


# Densities and units


KILONEWTONS = [("aluminium", 27.0, 27.0), ("wrought-iron", 76.0, 76.0), ("steel", 77.0, 78.5), ("cast-iron", 71.0, 72.5), ("lead", 112.0, 114.0), ("brass", 83.0, 85.0), ("bronze", 83.0, 85.0), ("zinc", 71.0, 72.0)]


@pytest.mark.outside
@pytest.mark.parametrize(("material", "low", "high"), KILONEWTONS)
def test_the_range_of_a_density_meets_that_of_the_actions_on_structures(material, low, high):
    """Source: EN 1991-1-1, table A.4 (from memory), kN/m³ with g = 9.80665 m/s²."""
    density = MATERIALS[material].density
    assert density.low <= high * 1000 / 9.80665 and density.high >= low * 1000 / 9.80665


@pytest.mark.outside
@pytest.mark.parametrize(("material", "pounds_a_cubic_foot"), [("wrought-iron", 480), ("grey-iron", 450), ("steel", 489.6)])
def test_the_best_of_a_density_is_that_of_the_handbooks(material, pounds_a_cubic_foot):
    """Source: engineers' handbooks (from memory)."""
    assert MATERIALS[material].density.best == pytest.approx(pounds_a_cubic_foot * 16.018463, rel=0.003)


def test_the_page_for_officers_lists_the_shapes_and_the_densities_that_there_are():
    page = (Path(__file__).parents[2] / "docs" / "officer" / "work-out-a-mass.md").read_text(encoding="utf-8")
    for one in MATERIALS.values():
        row = f"| {one.words} | {one.density.low:,} | {one.density.best:,} | {one.density.high:,} | {one.source[:1].upper()}{one.source[1:]} |"
        assert row in page, row
    assert all(f"| {shape.words} | {shape.formula} |" in page for shape in SHAPES.values())


def test_every_density_says_where_it_comes_from():
    assert all(one.source and one.density.best for one in MATERIALS.values())


@pytest.mark.outside
@pytest.mark.parametrize(("typed", "kg"), [("1 stone", 6.35029318), ("1 qr", 12.70058636), ("1 cwt", 50.80234544), ("1 ton", 1016.0469088), ("2000 lb", 907.18474), ("10 ton 5 cwt 2 qr 14 lb", 10446.2323)])
def test_workshop_units_have_their_exact_size(typed, kg):
    """Source: 1 lb = 0.45359237 kg, international yard and pound agreement, 1959; 14, 28, 112 and 2,240 lb. A short ton is
    written as 2000 lb."""
    assert read_mass(typed).best == math.floor(kg * 1000 + 0.5)


@pytest.mark.outside
def test_a_rail_of_95_pounds_a_yard_weighs_47_kilograms_a_metre():
    """Source: 1 lb/yd = 0.45359237 ÷ 0.9144 kg/m = 0.496054648; 95 lb rail is 47.125 kg/m."""
    a_yard = float(read_length("3 ft").best) / 1000
    assert read_mass("95 lb").best / 1000 / a_yard == pytest.approx(47.125, abs=0.001)


@pytest.mark.outside
@pytest.mark.parametrize(("typed", "litres"), [("1 cu ft", 28.316846592), ("1 cubic foot", 28.316846592), ("1 ft³", 28.316846592), ("1 cu in", 0.016387064), ("1 m3", 1000), ("1 cu m", 1000), ("250 cm³", 0.25), ("3 litres", 3)])
def test_a_volume_is_read_with_its_unit(typed, litres):
    """Source: the cubes of 12 in and of 1 in, 25.4 mm each."""
    assert read_volume(typed).best == Fraction(str(litres)) * 10**6


@pytest.mark.parametrize("typed", ["", "5", "5 m", "1 ft", "-1 litre", "nan", "1e3 litres", "9" * 70, "10000000 m³", "3 cu", "\0"])
def test_what_is_no_volume_is_refused_with_a_sentence(typed):
    with pytest.raises(QuantityError) as refused:
        read_volume(typed)
    assert str(refused.value).endswith(".")


# What a mass from dimensions holds


lengths = st.tuples(st.integers(1, 3000), st.integers(0, 200)).map(lambda pair: Measure(Fraction(pair[0]), Fraction(pair[0]) + Fraction(pair[1], 2), Fraction(pair[0] + pair[1])))
fills = st.tuples(st.integers(1, MILLION), st.integers(1, MILLION)).map(lambda ends: Interval(min(ends), None, max(ends)))


@given(shape=st.sampled_from(sorted(SHAPES)), material=st.sampled_from(sorted(MATERIALS)), measures=st.lists(lengths, min_size=3, max_size=3), quantity=st.integers(1, 40), fill=fills, dice=st.randoms())
def test_the_range_holds_every_mass_that_the_ranges_allow(shape, material, measures, quantity, fill, dice):
    shape, material = SHAPES[shape], MATERIALS[material]
    given_sizes = dict(zip((one.name for one in shape.dimensions), measures, strict=False))
    try:
        found = work_out(shape, given_sizes, material, quantity=quantity, fill=fill).mass
    except QuantityError as why:
        assert str(why).endswith(".")
        return
    assert found.low <= found.best <= found.high

    def somewhere(low, high):
        return low + (high - low) * Fraction(dice.randint(0, 8), 8)

    values = [somewhere(measure.low, measure.high) for measure in given_sizes.values()]
    if shape.impossible and shape.impossible(*values):
        return
    true = shape.volume(*values) * somewhere(material.density.low, material.density.high) * quantity * somewhere(fill.low, fill.high) / MILLION / MILLION
    assert found.low - 1 <= true <= found.high + 1


@pytest.mark.parametrize(("shape", "dimensions", "said"), [
    ("tube", {"outside": "10 mm", "wall": "6 mm", "length": "1 m"}, "more than half"),
    ("ring", {"outside": "10 mm", "inside": "10 mm", "thickness": "1 mm"}, "not less than"),
    ("round", {"diameter": "0 mm", "length": "1 m"}, "is nothing"),
    ("round", {"diameter": "0.001 mm", "length": "0.001 mm"}, "less than a gram"),
    ("plate", {"length": "900 m", "width": "900 m", "thickness": "1 m"}, "more than 1,000 tonnes"),
])  # fmt: skip
def test_dimensions_that_cannot_be_are_refused(shape, dimensions, said):
    with pytest.raises(QuantityError, match=said):
        kilograms(shape, **dimensions)


def test_a_ring_is_the_disc_less_its_bore_and_a_tube_is_a_long_ring():
    ring = kilograms("ring", outside="300 mm", inside="200 mm", thickness="50 mm")
    assert ring == pytest.approx(kilograms("disc", diameter="300 mm", thickness="50 mm") - kilograms("disc", diameter="200 mm", thickness="50 mm"), abs=0.002)
    assert ring == pytest.approx(kilograms("tube", outside="300 mm", wall="50 mm", length="50 mm"), abs=0.002)


def test_a_wide_bore_makes_a_light_ring_so_the_ends_are_crossed():
    sizes = {"outside": read_length("300 mm"), "inside": read_length("190-210 mm"), "thickness": read_length("50 mm")}
    mass = work_out(SHAPES["ring"], sizes, STEEL_7850).mass
    assert mass.low == round(kilograms("ring", outside="300 mm", inside="210 mm", thickness="50 mm") * 1000)
    assert mass.high == round(kilograms("ring", outside="300 mm", inside="190 mm", thickness="50 mm") * 1000)
