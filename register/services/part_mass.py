"""The mass of a part from its dimensions: worked out for a page, and put into the record with the dimensions used.

The mass goes into the part's mass columns, its basis is "calculated", and what it was worked out from is one line of the
part's remarks: the next calculation takes the place of that line, the history keeps the last.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from register.exchange.faults import Fault, Refused
from register.fabric.densities import MATERIALS, Material
from register.fabric.interval import MILLION, Interval
from register.fabric.measures import Measure, QuantityError
from register.fabric.quantities import (
    read_count,
    read_fraction,
    read_length,
    read_volume,
    write_mass,
)
from register.fabric.shapes import SHAPES, Shape, WorkedOut, work_out
from register.models import User
from register.services.inputs import NoSuch
from register.services.records import put_record, record_texts
from register.services.waiting import HandedIn

LINE = "Mass from dimensions: "
FIRST_SHAPE, FIRST_MATERIAL = "plate", "steel"


@dataclass(frozen=True, slots=True)
class Calculation:
    """What was asked, as typed, and what came of it. faults: of which field, and why; worked: None with faults, or while
    nothing has been typed."""

    shape: Shape
    material: Material
    texts: Mapping[str, str]
    faults: tuple[Fault, ...] = ()
    worked: WorkedOut | None = None

    @property
    def used(self) -> str:
        """The dimensions as they are kept: shape, what was typed, material with its density, quantity, fill factor."""
        sizes = ", ".join(f"{one.label.lower()} {self.texts[one.name]}" for one in self.shape.dimensions)
        density = self.material.density
        words = f"{self.shape.words.lower()}, {sizes}; {self.material.words.lower()}, {density.low:,} to {density.high:,} kg/m³"
        words += f"; {self.texts['quantity']} off" if self.texts["quantity"] != "1" else ""
        return words + (f"; fill factor {self.texts['fill']}" if self.texts["fill"] not in ("1", "100%") else "")

    @property
    def formula(self) -> str:
        return f"density × {self.shape.formula} × quantity × fill factor"


def calculate(texts: Mapping[str, str]) -> Calculation:
    """From the texts of a page: shape, material, its dimensions, quantity, fill. An unknown shape is the first one."""
    shape = SHAPES.get(texts.get("shape", ""), SHAPES[FIRST_SHAPE])
    material = MATERIALS.get(texts.get("material", ""), MATERIALS[FIRST_MATERIAL])
    given = {one.name: texts.get(one.name, "").strip() for one in shape.dimensions}
    asked = any(given.values())
    given |= {"quantity": texts.get("quantity", "").strip() or "1", "fill": texts.get("fill", "").strip() or "1"}
    if not asked:
        return Calculation(shape, material, given)
    faults: list[Fault] = []
    sizes: dict[str, Measure] = {}
    for one in shape.dimensions:
        try:
            sizes[one.name] = (read_volume if one.is_volume else read_length)(given[one.name])
        except QuantityError as why:
            faults.append(_fault(one.name, given, why))
    quantity = 1
    fill = Interval.exactly(MILLION)
    try:
        quantity = read_count(given["quantity"])
    except QuantityError as why:
        faults.append(_fault("quantity", given, why))
    try:
        fill = _fill(given["fill"])
    except QuantityError as why:
        faults.append(_fault("fill", given, why))
    if faults:
        return Calculation(shape, material, given, tuple(faults))
    try:
        worked = work_out(shape, sizes, material, quantity=quantity, fill=fill)
    except QuantityError as why:
        return Calculation(shape, material, given, (_fault(shape.dimensions[0].name, given, why),))
    return Calculation(shape, material, given, (), worked)


def _fill(text: str) -> Interval:
    """A share, or a range of two: ``0.6``, ``60%``, ``0.55 to 0.65``."""
    ends = [read_fraction(one) for one in text.replace("–", "-").replace(" to ", "-").split("-")]
    if len(ends) > 2 or ends[0] > ends[-1] or not ends[-1]:
        raise QuantityError(f"“{text[:60]}” is no fill factor: write how much of the shape is metal, such as 0.6 or 0.55 to 0.65.")
    return Interval(ends[0], (ends[0] + ends[-1]) // 2, ends[-1])


def _fault(column: str, texts: Mapping[str, str], why: QuantityError) -> Fault:
    return Fault("parts", None, column, texts[column], str(why))


def use_mass(
    part_key: str,
    calculation: Calculation,
    *,
    user: User,
    token: str | None = None,
    base_no: int | None = None,
    keep: str = "",
) -> HandedIn:
    """Put the mass, its bounds, its basis and the dimensions into the part's record, as its form would: at once or for
    review, as the person may. Raises NoSuch, Refused or Conflicted."""
    found = record_texts("parts", part_key)
    if found is None:
        raise NoSuch(f"There is no part {part_key} in this register.")
    if calculation.worked is None:
        nothing = Fault("parts", None, calculation.shape.dimensions[0].name, "", "no dimension is given: type what was measured.")
        raise Refused(list(calculation.faults) or [nothing])
    mass = calculation.worked.mass
    texts = {
        "mass_low": write_mass(mass.low),
        "mass": write_mass(mass.low if mass.best is None else mass.best),
        "mass_high": write_mass(mass.high),
        "mass_basis": "calculated",
        "remarks": _remarks(found[0]["remarks"], f"{LINE}{calculation.used}."),
    }
    return put_record(
        "parts",
        texts,
        key=part_key,
        user=user,
        reason=f"{LINE}{calculation.used}."[:2000],
        token=token,
        base_no=base_no,
        keep=keep,
    )


def _remarks(before: str, line: str) -> str:
    """The remarks with this line at the end, in the place of an earlier one."""
    kept = [one for one in before.splitlines() if not one.startswith(LINE)]
    return "\n".join([*kept, line]).strip()
