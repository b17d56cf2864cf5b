"""What a visitor reads of a vehicle."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from typing import Any

from django.db.models import Q

from register.documents.figure_view import figure_view
from register.exchange.frozen import register_of
from register.exchange.records import Register, Row
from register.fabric.dates import AS_BUILT, in_words, span_of
from register.fabric.figures import VehicleFigures, figures
from register.fabric.inputs import VehicleInputs
from register.models import Photograph, Statement, StatementFile, Vehicle
from register.services.inputs import reference_named
from register.services.kept import Kept
from register.services.kept_inputs import kept_inputs
from register.services.loading import Scope, load_register
from register.services.picture_state import can_be_shown, why_missing
from register.services.public import NOT_PUBLISHED, public_register
from register.services.publishing import GONE, public_state, public_states
from register.services.statement_figures import stated
from register.services.vehicle_versions import version_of, with_version


@dataclass(frozen=True, slots=True)
class Told:
    """A part that a visitor may read of."""

    name: str
    status: str
    material: str
    made: str
    note: str
    visibility: str
    more: int = 0


@dataclass(frozen=True, slots=True)
class PublicPage:
    """number: of the statement that is published, "" where the page follows the register."""

    vehicle: Vehicle
    inputs: VehicleInputs
    figures: VehicleFigures
    told: list[Told]
    modern: list[Told]
    events: list[Row]
    photographs: list[Row]
    day: date
    number: str = ""


_PAGES: Kept[PublicPage] = Kept(room=30_000)
"""Of vehicles published without a statement, by vehicle and day. The room is in parts."""


def public_vehicles() -> list[Vehicle]:
    """Those that a visitor may read of, each as the statement that is shown of it has it."""
    vehicles = {one.key: one for one in Vehicle.objects.filter(published=True)}
    states = public_states(list(vehicles))
    return [
        _as_frozen(state.statement) if state.statement else vehicles[key]
        for key, state in sorted(states.items())
        if state.state != GONE
    ]


def public_vehicle_page(key: str, day: date) -> PublicPage | None:
    """The page of a published vehicle; None for any other. Raises TakenBack. The figures are those of the whole vehicle,
    its restricted parts included: they say how much, never which.

    Where a statement is published the page is made of its frozen rows, as at its own day; else of the register now.
    """
    state = public_state(key)
    if state is None:
        return None
    if state.state == GONE:
        raise TakenBack
    if state.statement is not None:
        return _with_files(statement_page(state.statement))
    vehicle = with_version(Vehicle.objects.filter(key=key)).get()
    asked, version = (key, day), version_of(vehicle)
    page = _PAGES.find(asked, version)
    if page is None:
        inputs, _ = kept_inputs(vehicle)
        found = figures(inputs, day=day.toordinal(), reference=reference_named(inputs, None), basis="mass")
        page = _page(vehicle, inputs, found, public_register(load_register(Scope({key}, set()))), day)
        _PAGES.keep(asked, version, page, len(found.rows) + 1)
    return _with_files(replace(page, vehicle=vehicle))


def _with_files(page: PublicPage) -> PublicPage:
    """Each photograph with the sentence in its place where there is no file to show: looked at anew for every reader."""
    return replace(page, photographs=[row | {"missing": _missing(row["original"])} for row in page.photographs])


def _missing(sha256: str) -> str:
    return "" if can_be_shown(sha256) else why_missing(sha256)


class TakenBack(Exception):
    """What was public is not any more."""


def statement_page(statement: Statement) -> PublicPage:
    """The page that a visitor reads where this statement is published."""
    inputs, found, public = _frozen(statement.number, statement.entry.hash)
    page = _page(_as_frozen(statement), inputs, found, public, statement.day)
    served = public_photographs(one["original"] for one in page.photographs)
    return replace(
        page,
        photographs=[one for one in page.photographs if one["original"] in served],
        number=statement.number,
    )


@lru_cache(maxsize=16)
def _frozen(number: str, entry_hash: str) -> tuple[VehicleInputs, VehicleFigures, Register]:
    """What a statement was frozen from, and its public part, had the vehicle been published. Never changes, so it is kept:
    by the hash of its entry too, which no other has."""
    statement = Statement.objects.get(number=number)
    data = StatementFile.objects.get(statement=statement, name="inputs.json").data
    register = register_of(bytes(data))
    answer = stated(register, statement.vehicle, statement.day, statement.reference)
    found = figures(answer.inputs, day=answer.day, reference=answer.reference, basis="mass")
    vehicles = register.tables["vehicles"]
    vehicles |= {statement.vehicle: vehicles[statement.vehicle] | {"published": True}}
    return answer.inputs, found, public_register(register)


def _as_frozen(statement: Statement) -> Vehicle:
    """The vehicle as its statement has it; not stored."""
    row = _frozen(statement.number, statement.entry.hash)[2].tables["vehicles"][statement.vehicle]
    return Vehicle(
        key=statement.vehicle,
        code=row["_code"],
        built=row["built"].text,
        built_edtf=row["built"].edtf,
        published=True,
        **{
            name: row[name] or ""
            for name in ("name", "number", "kind", "builder", "works_number", "summary", "identity_basis")
        },
    )


def _page(
    vehicle: Vehicle, inputs: VehicleInputs, found: VehicleFigures, public: Register, day: date
) -> PublicPage:
    told = [_told(public, row) for row in sorted(found.rows, key=lambda one: one.position)]
    shown = _grouped([one for one in told if one is not None])
    return PublicPage(
        vehicle,
        inputs,
        found,
        [one for one in shown if one.note and one.status != "modern substitute"],
        [one for one in shown if one.status == "modern substitute"],
        sorted(
            (row for row in public.tables["events"].values() if row["vehicle_id"] == vehicle.key),
            key=lambda row: _best_day(row, vehicle),
        ),
        [
            row | {"original": row["_sha256"]}
            for row in public.tables["photographs"].values()
            if row["vehicle_id"] == vehicle.key
        ],
        day,
    )


def page_lines(page: PublicPage) -> list[str]:
    """What a visitor reads, a line each, so that two pages can be told apart."""
    view = figure_view(page.figures, page.inputs, public=True)
    lines = [page.vehicle.full_name, page.vehicle.summary, view.plain, page.vehicle.identity_basis]
    for heading, told in (("Worth a look", page.told), ("What is new", page.modern)):
        lines += [
            f"{heading}: {one.name}{f' and {one.more} like it' if one.more else ''}. {one.note}".strip() for one in told
        ]
    lines += [f"{in_words(row['date'].edtf)}: {row['title']}" for row in page.events]
    lines += [f"Photograph: {row['caption'] or row['file']}" for row in page.photographs]
    return [one for one in lines if one]


def _grouped(told: list[Told]) -> list[Told]:
    """Parts of which the same is told, as one entry each: the first one's name, and how many more."""
    groups: dict[tuple[str, str, str], list[Told]] = {}
    for number, one in enumerate(told):
        groups.setdefault((one.status, one.visibility, one.note or str(number)), []).append(one)
    return [replace(group[0], more=len(group) - 1) for group in groups.values()]


def _best_day(row: Row, vehicle: Vehicle) -> int:
    edtf = row["date"].edtf
    return span_of(vehicle.built_edtf if edtf == AS_BUILT else edtf).best


def _told(public: Register, row: Any) -> Told | None:
    part = public.tables["parts"].get(row.part or "")
    if part is None or part["name"] == NOT_PUBLISHED:
        return None
    return Told(
        part["name"],
        row.status,
        part["material"] or "",
        part["made"].text if part["made"] else "",
        part["public_note"] or "",
        row.visibility,
    )


def photograph_is_public(sha256: str) -> bool:
    """Whether some photograph with these bytes is of a published vehicle, of a public part in one, or of a public
    source, and is itself public."""
    return bool(public_photographs([sha256]))


def public_photographs(hashes: Iterable[str]) -> set[str]:
    """Those of the pictures that anybody may see, in one query."""
    of_vehicle = Q(vehicle__isnull=True) | Q(vehicle__published=True)
    of_part = Q(part__isnull=True) | Q(
        part__access="public", part__installations__position__vehicle__published=True
    )
    of_source = Q(source__isnull=True) | Q(source__access="public")
    of_something = Q(vehicle__isnull=False) | Q(part__isnull=False) | Q(source__isnull=False)
    found = Photograph.objects.filter(
        of_vehicle, of_part, of_source, of_something, sha256__in=list(hashes), access="public"
    )
    return set(found.values_list("sha256", flat=True))
