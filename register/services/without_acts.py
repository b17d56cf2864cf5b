"""The register as it would be if some acts had never been: what they made left out, what they changed as it was before.

Nothing is written. So that what was proposed can still be compared with what was before it, years after it was done.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Any

from register.exchange.records import Register, Row, target_table
from register.exchange.schema import ORDER, TABLES
from register.services.tables import MODELS, fields_of, row_from

OF_A_PART = frozenset({"installations", "assessments", "treatments", "citations", "movements"})
"""Tables whose rows say something of a part, and go with it."""


def without_acts(register: Register, change_nos: Collection[int]) -> Register:
    """A copy without what these acts did, in two queries a table at most. A column that a later act changed too is as it was
    before the acts; the others stay as they are now."""
    if not change_nos:
        return register
    made, left = register.copy(), {name: set[str]() for name in ORDER}
    for name in ORDER:
        for key, columns in _undone(name, frozenset(change_nos)).items():
            row = made.tables[name].get(key)
            if columns is None:
                left[name].add(key)
            elif row is not None:
                made.tables[name][key] = row | columns
    _leave_out(made, left)
    return made


def _undone(name: str, change_nos: frozenset[int]) -> dict[str, dict[str, Any] | None]:
    """By key: None for a row that the acts made; else the columns that they changed, with their values before."""
    model: Any = MODELS[name]
    touched = model.history.filter(act_id__in=change_nos)
    keys = set(touched.values_list("key", flat=True))
    if not keys:
        return {}
    fields = [*fields_of(TABLES[name]), "history_type"]
    rows = model.history.filter(key__in=keys).order_by("act_id", "history_id").values_list(*fields)
    return _walked(((row_from(TABLES[name], one[:-1]), one[-1]) for one in rows), change_nos)


def _walked(
    history: Iterable[tuple[Row, str]], change_nos: frozenset[int]
) -> dict[str, dict[str, Any] | None]:
    found: dict[str, dict[str, Any] | None] = {}
    last: dict[str, Row] = {}
    for row, kind in history:
        key, before = row["_key"], last.get(row["_key"])
        last[key] = row
        if row["_act"] not in change_nos:
            continue
        if kind == "+" or before is None:
            found[key] = None
            continue
        known = found.setdefault(key, {})
        if known is not None:
            changed = {name: value for name, value in before.items() if value != row[name] and name[0] != "_"}
            found[key] = changed | known  # the first change tells what was before them all
    return found


def _leave_out(register: Register, left: dict[str, set[str]]) -> None:
    """Take the rows out, and what speaks of them; elsewhere a reference to them is not known."""
    for name, keys in left.items():
        for key in keys:
            register.tables[name].pop(key, None)
    for name in ORDER:
        columns = [(column.name, target_table(column)) for column in TABLES[name].columns]
        referring = [(column, to) for column, to in columns if to and left[to]]
        if not referring:
            continue
        for key, row in list(register.tables[name].items()):
            gone = {column: None for column, to in referring if row[column] in left[to]}
            if gone and name in OF_A_PART:
                del register.tables[name][key]
            elif gone:
                register.tables[name][key] = row | gone
