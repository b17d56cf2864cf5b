"""What changed: between two issued statements, since the last one, or between two days as the register knows them now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from register.documents.change_words import ChangeTold, told
from register.exchange.faults import printable
from register.exchange.frozen import register_of
from register.exchange.records import Register
from register.fabric.change import Change, Stated, change
from register.fabric.figures_json import TypedIds
from register.models import Vehicle
from register.services.freezing import cut_of
from register.services.inputs import NoSuch
from register.services.issued import file_of, standing_of
from register.services.statement_figures import stated, typed_ids_of

BASIS = "mass"
"""A statement's headline is by mass."""


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two that are compared: what was stated, from which rows, and what it is called."""

    stated: Stated
    register: Register
    vehicle: str
    called: str


def of_statement(number: str) -> Side:
    """An issued statement, from its frozen rows. Raises NoSuch."""
    standing = standing_of(number)
    data = file_of(standing.statement.number, "inputs.json") if standing else None
    if standing is None or data is None:
        raise NoSuch(f"There is no statement {printable(number)}.")
    found = standing.statement
    register = register_of(data)
    return Side(
        stated(register, found.vehicle, found.day, found.reference), register, found.vehicle, found.number
    )


def of_register(vehicle: str, day: date, reference: str | None = None, *, called: str = "") -> Side:
    """The register as it is, of a day. Raises NoSuch."""
    key = vehicle.lower()
    if not Vehicle.objects.filter(key=key).exists():
        raise NoSuch(f"There is no vehicle {vehicle} in this register.")
    return of_rows(cut_of(key), key, day, reference, called=called)


def of_rows(register: Register, vehicle: str, day: date, reference: str | None, *, called: str = "") -> Side:
    return Side(
        stated(register, vehicle, day, reference or ""), register, vehicle, called or "the register now"
    )


def on_day(side: Side, day: date, called: str) -> Side:
    """The same rows, of another day."""
    return Side(side.stated._replace(day=day.toordinal()), side.register, side.vehicle, called)


def compared(first: Side, second: Side, *, basis: str = BASIS) -> Change:
    """From the first to the second. Raises NoSuch where they are of different vehicles."""
    if first.vehicle != second.vehicle:
        raise NoSuch(
            f"{first.called} and {second.called} are of different vehicles ({first.vehicle} and {second.vehicle}): "
            "a change is of one."
        )
    return change(first.stated, second.stated, basis=basis)


def ids_of(first: Side, second: Side) -> TypedIds:
    """Ids as typed, of parts that either knows."""
    one, other = typed_ids_of(first.register, first.vehicle), typed_ids_of(second.register, second.vehicle)
    return TypedIds(other.vehicle, {**one.positions, **other.positions}, {**one.parts, **other.parts})


def in_words(first: Side, second: Side, found: Change, *, without_restricted: bool = False) -> ChangeTold:
    """The change as it is told. without_restricted: parts that not everybody may read of are not named."""
    names = {
        key: (row["_code"], row["name"])
        for side in (first, second)
        for key, row in side.register.tables["parts"].items()
        if not without_restricted or row["access"] == "public"
    }
    return told(found, names, first=first.called, second=second.called)
