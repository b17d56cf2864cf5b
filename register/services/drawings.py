"""Drawings: taken in piece by piece, and shown with each region filled by the status of what is fitted there."""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from xml.etree.ElementTree import Element

from defusedxml.ElementTree import fromstring
from django.db import transaction
from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from register.documents.elevation import Elevation, Lettering, Outline, Step, circle, rectangle, steps_of
from register.documents.palette import NO_STATUS, STATUSES, mark_of
from register.fabric.account import Row
from register.models import Drawing, Position, Vehicle

NAMESPACE = "{http://www.w3.org/2000/svg}"
ELEMENTS = frozenset({"svg", "g", "path", "circle", "rect", "text", "title", "desc"})
ATTRIBUTES = frozenset(
    {
        "class",
        "id",
        "d",
        "cx",
        "cy",
        "r",
        "x",
        "y",
        "width",
        "height",
        "viewBox",
        "role",
        "aria-labelledby",
        "fill-rule",
        "text-anchor",
        "transform",
        "data-name",
    }
)
MAX_LETTERS = 400_000


@dataclass(frozen=True, slots=True)
class DrawingView:
    """A drawing to be inlined: ``svg`` is safe, its regions carry ``st-OR`` and so on."""

    svg: SafeString
    title: str
    notes: tuple[str, ...] = ()


def load_drawings(folder: Path) -> int:
    """Take in ``<name>.svg`` for each drawing that ``drawing_regions.csv`` links to positions of this register; returns
    how many. A drawing that is here already is replaced. Raises ValueError with a sentence."""
    links: dict[str, list[tuple[str, str]]] = {}
    with (folder / "drawing_regions.csv").open(newline="", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            links.setdefault(row["drawing"], []).append((row["region"], row["position_id"].lower()))
    with transaction.atomic():
        for name, regions in links.items():
            load_drawing(name, (folder / f"{name}.svg").read_text(encoding="utf-8"), regions)
    return len(links)


def load_drawing(name: str, markup: str, regions: list[tuple[str, str]]) -> Drawing:
    """One drawing and its links. Raises ValueError where it holds anything but lines, or names what is not there."""
    root = fromstring(markup)
    svg = written(root)
    for one in root.iter(f"{NAMESPACE}path"):
        steps_of(one.get("d", ""))  # else a paper could not draw it
    if len(svg) > MAX_LETTERS:
        raise ValueError(f"The drawing {name} is larger than {MAX_LETTERS:,} letters.")
    known = {one.get("id") for one in root.iter()}
    positions = Position.objects.in_bulk({position for _, position in regions})
    for region, position in regions:
        if region not in known:
            raise ValueError(f"The drawing {name} has no region {region}.")
        if position not in positions:
            raise ValueError(
                f"The drawing {name} names the position {position}, which is not in the register."
            )
    vehicle = Vehicle.objects.get(key=positions[regions[0][1]].vehicle_id)
    Drawing.objects.filter(name=name).delete()
    title = root.find(f"{NAMESPACE}title")
    links: dict[str, list[str]] = {}
    for region, position in dict.fromkeys(regions):
        links.setdefault(region, []).append(position)
    return Drawing.objects.create(
        name=name,
        vehicle=vehicle,
        title=(title.text or "") if title is not None else "",
        svg=svg,
        regions=links,
    )


def written(element: Element) -> str:
    """The element written anew from what is allowed; ValueError for anything else (a script, a style, a link)."""
    name = str(element.tag).removeprefix(NAMESPACE)
    if name not in ELEMENTS:
        raise ValueError(f"A drawing may not hold <{name}>; it is lines and lettering only.")
    attributes = "".join(
        f' {key}="{escape(value)}"' for key, value in element.attrib.items() if _allowed(key, name)
    )
    inner = escape(element.text or "") + "".join(
        written(child) + escape(child.tail or "") for child in element
    )
    return f"<{name}{attributes}>{inner}</{name}>"


def _allowed(key: str, element: str) -> bool:
    if key not in ATTRIBUTES:
        raise ValueError(f"A drawing may not use the attribute {key} on <{element}>.")
    return True


def drawing_of(vehicle_key: str, rows: Iterable[Row]) -> DrawingView | None:
    """The first drawing of a vehicle with its regions filled; None where it has none. One query.

    A region that stands for several positions takes the status that weighs most in it; wear parts stay plain.
    """
    drawing = _first_of(vehicle_key)
    if drawing is None:
        return None
    svg = drawing.svg
    for region, code in _codes(drawing, rows).items():
        svg = svg.replace(f'id="{region}" class="rg"', f'id="{region}" class="rg st-{code}"', 1)
    return DrawingView(mark_safe(svg), drawing.title)  # noqa: S308  (written piece by piece by load_drawing, region codes from the palette)


def elevation_of(drawing: Drawing, rows: Iterable[Row]) -> Elevation:
    """The same of a drawing for paper, without dimensions and centre lines."""
    codes = _codes(drawing, rows)
    used = list(codes.values())
    regions = tuple((one.code, used.count(one.code)) for one in STATUSES.values() if one.code in used)
    return Elevation(drawing.title, tuple(_pieces(fromstring(drawing.svg), codes, "")), regions)


def _first_of(vehicle_key: str) -> Drawing | None:
    return Drawing.objects.filter(vehicle=vehicle_key).order_by("name").first()


def _codes(drawing: Drawing, rows: Iterable[Row]) -> dict[str, str]:
    """The code of each region that has something fitted."""
    by_position = {row.position: row for row in rows}
    shown = {
        region: [by_position[position] for position in positions if position in by_position]
        for region, positions in drawing.regions.items()
    }
    return {region: _code(found) for region, found in shown.items() if found}


SIZES_ONLY = frozenset({"dim", "dt", "ar", "cl"})
"""Classes of dimensions and centre lines, which a drawing sheet has and the front of a paper has no room for."""


def _number(element: Element, key: str) -> float:
    """Of an attribute; 0 where it is none."""
    try:
        return float(element.get(key, "0"))
    except ValueError:
        return 0.0


OUTLINES: dict[str, Callable[[Element], tuple[Step, ...]]] = {
    "path": lambda one: steps_of(one.get("d", "")),
    "circle": lambda one: circle(*(_number(one, key) for key in ("cx", "cy", "r"))),
    "rect": lambda one: rectangle(*(_number(one, key) for key in ("x", "y", "width", "height"))),
}


def _pieces(
    element: Element, codes: dict[str, str], region: str, inherited: frozenset[str] = frozenset()
) -> Iterator[Outline | Lettering]:
    """In the order in which they are drawn. A class of a group holds for what is in it."""
    classes = inherited | frozenset(element.get("class", "").split())
    if classes & SIZES_ONLY or element.get("transform"):  # what is turned is the figure of a dimension
        return
    if "rg" in classes and not region:
        region = element.get("id", "")
    if element.tag == "text":
        x, y = (_number(element, key) for key in ("x", "y"))
        yield Lettering(x, y, "".join(element.itertext()), classes)
    elif element.tag in OUTLINES:
        even_odd = element.get("fill-rule") == "evenodd"
        yield Outline(OUTLINES[element.tag](element), classes - {"rg"}, codes.get(region, ""), region, even_odd)
    for child in element:
        yield from _pieces(child, codes, region, classes)


def _code(rows: list[Row]) -> str:
    """The code of the status that weighs most in these rows."""
    weights: dict[str, int] = {}
    for row in rows:
        weight = row.weight.best if row.weight is not None and row.weight.best is not None else 0
        weights[row.status or NO_STATUS] = weights.get(row.status or NO_STATUS, 0) + weight + 1
    return mark_of(max(sorted(weights), key=lambda status: weights[status])).code
