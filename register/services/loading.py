"""From the database to plain values, in a fixed number of queries whatever the size."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Q, QuerySet
from django.utils import timezone

from register.exchange.records import Change, Register, Retired, Row, target_table
from register.exchange.schema import ORDER, TABLES
from register.exchange.values import key_of, parse_texts
from register.models import Act, ChangeSet, Installation, Position, RegisterState, RetiredId
from register.models.change_set import OPEN
from register.services.tables import MODELS, fields_of, row_from


@dataclass(slots=True)
class Scope:
    """Which part of the register a change set can concern: whole vehicles, and parts wherever they are."""

    vehicles: set[str] = field(default_factory=set)
    parts: set[str] = field(default_factory=set)
    keys: dict[str, set[str]] = field(default_factory=dict)


def load_register(scope: Scope | None = None) -> Register:
    """The register as plain rows: all of it, or (for one form) what the scope can concern.

    Small tables (vehicles, reference periods, people, places) are read whole in either case.
    """
    register = Register(change_no=last_change_no(), register_id=str(state().register_id))
    filters = _filters(scope) if scope is not None else {}
    for name in ORDER:
        table, model = TABLES[name], MODELS[name]
        rows: QuerySet[Any, Any] = model._default_manager.all()
        if name in filters:
            rows = rows.filter(filters[name])
        register.tables[name] = {
            values[0]: row_from(table, values)
            for values in rows.values_list(*fields_of(table)).iterator(5000)
        }
    register.drafts = {draft.row_id: draft_row(draft) for draft in _waiting_drafts(scope) if draft.row_id}
    register.retired = _retired(scope)
    if scope is not None:
        register.has_rows = lambda name: MODELS[name]._default_manager.exists()
    return register


def _filters(scope: Scope) -> dict[str, Q]:
    positions_here = Position.objects.filter(vehicle__in=scope.vehicles).values("key")
    fitted_here = Installation.objects.filter(
        Q(position__vehicle__in=scope.vehicles) | Q(key__in=scope.keys.get("installations", ()))
    ).values("part")
    parts = Q(part__in=fitted_here) | Q(part__in=scope.parts)
    moved_with = Q(with_part__in=fitted_here) | Q(with_part__in=scope.parts) | Q(with_part__isnull=False)
    named = {name: Q(key__in=keys) for name, keys in scope.keys.items()}
    nothing = Q(pk__in=())
    in_positions = Q(key__in=positions_here) | Q(
        key__in=Installation.objects.filter(parts).values("position")
    )
    return {
        "positions": in_positions | named.get("positions", nothing),
        "parts": Q(key__in=fitted_here) | Q(key__in=scope.parts) | named.get("parts", nothing),
        "installations": parts
        | Q(position__in=positions_here)
        | Q(position__in=scope.keys.get("positions", ()))
        | named.get("installations", nothing),
        "assessments": parts | named.get("assessments", nothing),
        "treatments": parts | named.get("treatments", nothing),
        "citations": parts | Q(source__in=scope.keys.get("sources", ())) | named.get("citations", nothing),
        "sources": named.get("sources", nothing) | _cited(scope, parts),
        "events": Q(vehicle__in=scope.vehicles)
        | parts
        | Q(source__in=scope.keys.get("sources", ()))
        | named.get("events", nothing),
        "movements": parts
        | moved_with
        | Q(place__in=scope.keys.get("places", ()))
        | named.get("movements", nothing),
        "photographs": Q(vehicle__in=scope.vehicles)
        | parts
        | Q(source__in=scope.keys.get("sources", ()))
        | named.get("photographs", nothing),
    }


def _cited(scope: Scope, parts: Q) -> Q:
    """Sources that the scope's citations, events and photographs name."""
    here = Q(vehicle__in=scope.vehicles) | parts
    rows = (
        MODELS["citations"]._default_manager.filter(parts),
        MODELS["events"]._default_manager.filter(here),
        MODELS["photographs"]._default_manager.filter(here),
    )
    return (
        Q(key__in=rows[0].values("source"))
        | Q(key__in=rows[1].values("source"))
        | Q(key__in=rows[2].values("source"))
    )


def _waiting_drafts(scope: Scope | None) -> QuerySet[ChangeSet, ChangeSet]:
    return ChangeSet.objects.filter(state__in=OPEN, row_id__isnull=False)


def draft_row(draft: ChangeSet) -> Row:
    """The assessment row of a draft that came in a file."""
    table = TABLES["assessments"]
    values, _ = parse_texts(table, draft.changes[0]["values"])
    from register.exchange.merging import merge

    for column in table.columns:
        value = values.get(column.name)
        if value is not None and target_table(column):
            values[column.name] = key_of(value)
    row, _ = merge(table, None, values)
    return row | {"_key": draft.row_id, "_code": draft.code or draft.row_id, "_act": draft.made_by_id}


def _retired(scope: Scope | None) -> dict[tuple[str, str], Retired]:
    if scope is None:
        return retired_among(None)
    return retired_among({key for keys in scope.keys.values() for key in keys} | scope.parts | scope.vehicles)


def retired_among(keys: set[str] | None) -> dict[tuple[str, str], Retired]:
    """Of these keys, or of all, those that are never used again."""
    rows = RetiredId.objects.select_related("act__user")
    if keys is not None:
        rows = rows.filter(key__in=keys)
    return {
        (row.table, row.key): Retired(
            row.code,
            f"{timezone.localtime(row.act.at):%-d %B %Y}",
            str(row.act.user or "an import at the command line"),
            row.reason,
            row.merged_into,
        )
        for row in rows
    }


def state() -> RegisterState:
    """The row that says which register this is; made when first asked for."""
    found, _ = RegisterState.objects.get_or_create(id=1)
    return found


def last_change_no() -> int:
    return Act.objects.order_by("-change_no").values_list("change_no", flat=True).first() or 0


def scope_of(changes: Iterable[Change]) -> Scope:
    """What the change set can concern, from the ids it names and the rows it changes."""
    scope = Scope()
    for change in changes:
        table = TABLES[change.table]
        for column in table.columns:
            value = change.values.get(column.name)
            if isinstance(value, str) and (column.kind == "id" or column.kind == "ref"):
                scope.keys.setdefault(column.to or change.table, set()).add(key_of(value))
        if not table.own_id and not table.row_id:  # photographs: a file keeps the case of its name
            named = {str(name) for name in (change.row_id, change.values.get("file")) if name}
            scope.keys[change.table] = scope.keys.get(change.table, set()) | named
        if change.row_id:
            scope.keys.setdefault(change.table, set()).add(key_of(change.row_id))
        if change.action == "strike" and "key" in change.values:
            scope.keys.setdefault(change.table, set()).add(key_of(change.values["key"]))
    _widen(scope)
    return scope


def _widen(scope: Scope) -> None:
    """Add the vehicles and parts that the named rows stand in."""
    scope.vehicles |= scope.keys.get("vehicles", set())
    scope.parts |= scope.keys.get("parts", set())
    for name in ("installations", "assessments", "treatments", "citations", "movements"):
        if scope.keys.get(name):
            scope.parts |= set(
                MODELS[name]._default_manager.filter(key__in=scope.keys[name]).values_list("part", flat=True)
            )
    if scope.keys.get("reference_periods"):
        scope.vehicles |= set(
            MODELS["reference_periods"]
            ._default_manager.filter(key__in=scope.keys["reference_periods"])
            .values_list("vehicle", flat=True)
        )
    if scope.keys.get("installations"):  # what else is in the position is concerned too
        named = Installation.objects.filter(key__in=scope.keys["installations"]).values_list(
            "position", flat=True
        )
        scope.keys["positions"] = scope.keys.get("positions", set()) | set(named)
    positions = scope.keys.get("positions", set())
    if positions:
        scope.vehicles |= set(Position.objects.filter(key__in=positions).values_list("vehicle", flat=True))
