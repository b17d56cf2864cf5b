"""Masses from dimensions: density × volume × quantity × fill factor (method, section 11).

Dimensions are exact millimetres with a low and a high, densities are ranges; a mass is rounded to the gram, its low, best
and high each. A new shape is a row of ``SHAPES``.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from register.fabric.densities import Material
from register.fabric.interval import MILLION, Interval
from register.fabric.measures import Measure, QuantityError

Volume = Callable[..., Fraction]
"""Dimensions in their order to mm³."""

PI = Fraction(math.pi)
HEXAGON = Fraction(math.sqrt(3)) / 2
"""Area of a hexagon in terms of the square of its width across flats."""

HEAVIEST = 10**9
"""Grams that are believed, as of any mass."""


class Dimension(NamedTuple):
    """shrinks: the volume grows as it gets smaller (a bore). is_volume: mm³ rather than mm."""

    name: str
    label: str
    example: str
    shrinks: bool = False
    is_volume: bool = False


@dataclass(frozen=True, slots=True)
class Shape:
    """formula: as it is printed, in the letters of ``symbols`` (one for each dimension)."""

    key: str
    words: str
    dimensions: tuple[Dimension, ...]
    volume: Volume
    formula: str
    impossible: Callable[..., str] | None = None


LENGTH = Dimension("length", "Length", "4 ft 6 in")
THICKNESS = Dimension("thickness", "Thickness", "3/8 in")
WIDTH = Dimension("width", "Width", "1067 mm")
ACROSS = Dimension("across", "Width across", "1 in")
DIAMETER = Dimension("diameter", "Diameter", "1 3/8 in")
OUTSIDE = Dimension("outside", "Outside diameter", "1 3/4 in")
INSIDE = Dimension("inside", "Inside diameter", "1 1/2 in", shrinks=True)
WALL = Dimension("wall", "Wall thickness", "0.116 in to 0.128 in")
VOLUME = Dimension("volume", "Volume", "1.5 cu ft", is_volume=True)


def _wall_too_thick(outside: Fraction, wall: Fraction, length: Fraction) -> str:
    return "The wall is more than half the outside diameter: check both." if 2 * wall > outside else ""


def _bore_too_wide(outside: Fraction, inside: Fraction, thickness: Fraction) -> str:
    return "The inside diameter is not less than the outside diameter: check both." if inside >= outside else ""


SHAPES: dict[str, Shape] = {
    shape.key: shape
    for shape in (
        Shape("plate", "Plate or block", (LENGTH, WIDTH, THICKNESS), lambda le, w, t: le * w * t,
              "length × width × thickness"),
        Shape("round", "Round bar", (DIAMETER, LENGTH), lambda d, le: PI / 4 * d * d * le, "π/4 × diameter² × length"),
        Shape("square", "Square bar", (ACROSS, LENGTH), lambda a, le: a * a * le, "width across² × length"),
        Shape("flat", "Flat bar", (WIDTH, THICKNESS, LENGTH), lambda w, t, le: w * t * le,
              "width × thickness × length"),
        Shape("hexagon", "Hexagon bar", (ACROSS._replace(label="Width across flats"), LENGTH),
              lambda a, le: HEXAGON * a * a * le, "√3/2 × width across flats² × length"),
        Shape("tube", "Tube", (OUTSIDE, WALL, LENGTH), lambda d, t, le: PI * (d - t) * t * le,
              "π × (outside diameter − wall) × wall × length", _wall_too_thick),
        Shape("ring", "Ring", (OUTSIDE, INSIDE, THICKNESS), lambda d, i, t: PI / 4 * (d * d - i * i) * t,
              "π/4 × (outside diameter² − inside diameter²) × thickness", _bore_too_wide),
        Shape("disc", "Disc", (DIAMETER, THICKNESS), lambda d, t: PI / 4 * d * d * t, "π/4 × diameter² × thickness"),
        Shape("volume", "Any shape, by its volume", (VOLUME,), lambda v: v, "volume"),
    )
}  # fmt: skip


class WorkedOut(NamedTuple):
    """mass: grams. volume: of one piece, mm³. impossible ends have been refused."""

    mass: Interval
    volume: Measure


def work_out(
    shape: Shape,
    dimensions: Mapping[str, Measure],
    material: Material,
    *,
    quantity: int = 1,
    fill: Interval | None = None,
) -> WorkedOut:
    """The mass of ``quantity`` pieces; ``fill`` in millionths is how much of the shape is metal, all of it if None.

    KeyError for a dimension that is missing. QuantityError where the dimensions cannot all be true, or make more than
    1,000 tonnes or less than a gram.
    """
    given = [(one, dimensions[one.name]) for one in shape.dimensions]
    for end in ("low", "high", "best"):
        _refuse_impossible(shape, [getattr(measure, end) for _, measure in given])
    least = shape.volume(*(measure.high if one.shrinks else measure.low for one, measure in given))
    most = shape.volume(*(measure.low if one.shrinks else measure.high for one, measure in given))
    best = shape.volume(*(measure.best for _, measure in given))
    least = max(Fraction(0), least)
    share = fill or Interval.exactly(MILLION)
    density = material.density
    volume = Measure(min(least, best), best, max(most, best))
    mass = Interval(
        *(
            _grams(one, per * quantity, part)
            for one, per, part in (
                (volume.low, density.low, share.low),
                (volume.best, density.best or density.low, share.low if share.best is None else share.best),
                (volume.high, density.high, share.high),
            )
        )
    )
    if mass.high > HEAVIEST:
        raise QuantityError("That makes more than 1,000 tonnes: check the dimensions and their units.")
    if not mass.best:
        raise QuantityError("That makes less than a gram: check the dimensions and their units.")
    return WorkedOut(mass, volume)


def _refuse_impossible(shape: Shape, values: list[Fraction]) -> None:
    for one, value in zip(shape.dimensions, values, strict=True):
        if value <= 0:
            raise QuantityError(f"{one.label} is nothing: write what it measures.")
    if shape.impossible and (why := shape.impossible(*values)):
        raise QuantityError(why)


def _grams(volume: Fraction, density: int, share: int) -> int:
    """Half up. 1 kg/m³ is 10⁻⁶ g/mm³."""
    exact = volume * density * share / (MILLION * MILLION)
    return (2 * exact.numerator + exact.denominator) // (2 * exact.denominator)
