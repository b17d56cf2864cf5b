"""One record at a time: read it for a form, put it, strike it out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from register.exchange.faults import Fault, Refused
from register.exchange.overlay import Overlaid
from register.exchange.records import Change, Register, Row
from register.exchange.schema import TABLES
from register.exchange.values import parse_texts
from register.models import Act, User
from register.services.change_sets import apply, texts_of
from register.services.loading import last_change_no
from register.services.tables import MODELS, fields_of, row_from
from register.services.waiting import HandedIn, hand_in


def record_texts(name: str, key: str) -> tuple[dict[str, str], int] | None:
    """A record as text, as a form or an export shows it, and the change_no it was read at; None where there is none."""
    change_no = last_change_no()
    table = TABLES[name]
    values = MODELS[name]._default_manager.filter(key=key).values_list(*fields_of(table)).first()
    if values is None:
        return None
    row = row_from(table, values)
    return texts_of(codes_of(name, row), name, row), change_no


def codes_of(name: str, row: Row) -> Register:
    """A register that knows the typed ids which the row refers to."""
    register = Register()
    for column in TABLES[name].columns:
        to = "people" if column.kind == "person" else column.to if column.kind == "ref" else ""
        if to and row[column.name]:
            code = (
                MODELS[to]
                ._default_manager.filter(key=row[column.name])
                .values_list("code", flat=True)
                .first()
            )
            register.tables[to][row[column.name]] = {"_code": code or row[column.name]}
    return register


def change_from(name: str, texts: Mapping[str, str], key: str | None = None) -> Change:
    """A change of one record from the texts of a form. Raises Refused with every fault in them."""
    table = TABLES[name]
    given = dict(texts)
    if key is not None and table.own_id:
        given[table.own_id] = (
            MODELS[name]._default_manager.filter(key=key).values_list("code", flat=True).first() or key
        )
    values, faults = parse_texts(table, given)
    if faults:
        raise Refused(faults)
    return Change(name, values, row_id=key if table.row_id else None)


def put_record(
    name: str,
    texts: Mapping[str, str],
    *,
    key: str | None,
    user: User,
    reason: str = "",
    token: str | None = None,
    base_no: int | None = None,
    keep: str = "",
) -> HandedIn:
    """Create (``key`` None) or change one record: at once as far as the person's role may, the rest handed in for
    review. Raises Refused or Conflicted; nothing is stored then."""
    change = change_from(name, texts, key)
    kind = f"{'change' if key else 'new'} {TABLES[name].noun}"
    what = str(change.values.get("part_id") or change.values.get(TABLES[name].own_id) or "")
    return hand_in(
        [change],
        kind=kind,
        title=f"{kind.capitalize()} {what}".strip(),
        user=user,
        reason=reason,
        token=token,
        base_no=base_no,
        keep=keep,
    )


def strike_out(name: str, key: str, *, user: User, reason: str, token: str | None = None) -> Act | None:
    """Strike a record out: it leaves the tables, its history stays. Raises Refused, also where no reason is given."""
    if not reason.strip():
        raise Refused(
            [
                Fault(
                    name,
                    None,
                    "reason",
                    "",
                    "say why it is struck out; whoever meets the id later will read it.",
                )
            ]
        )
    change = Change(name, {"key": key}, row_id=key, action="strike")
    act, _ = apply(
        [change], kind=f"strike out {TABLES[name].noun}", user=user, reason=reason.strip(), token=token
    )
    return act


def new_key(result: Overlaid, name: str) -> str | None:
    """The key of the record that a change set created, or changed."""
    keys = [*result.created.get(name, ()), *result.updated.get(name, ())]
    return keys[0] if keys else None


def history_of(name: str, key: str) -> list[dict[str, Any]]:
    """Who changed what, when and why, newest first: [{act, kind, differences: [(column, old, new)], and the record}]."""
    return _entries([(name, _past(name, key=key))])


def history_of_part(key: str) -> list[dict[str, Any]]:
    """The history of a part and of everything that is recorded of it, newest first, in seven queries."""
    return _entries([("parts", _past("parts", key=key)), *((name, _past(name, part=key)) for name in OF_PARTS)])


OF_PARTS = ("installations", "assessments", "treatments", "citations", "movements")
Past = list[tuple[Any, ...]]


def _past(name: str, **of: str) -> Past:
    fields = [*fields_of(TABLES[name]), "history_type"]
    model: Any = MODELS[name]
    return list(model.history.filter(**of).order_by("act_id", "history_id").values_list(*fields))


def _entries(pasts: list[tuple[str, Past]]) -> list[dict[str, Any]]:
    acts = Act.objects.select_related("user").in_bulk({row[2] for _, rows in pasts for row in rows})
    found: list[dict[str, Any]] = []
    for name, rows in pasts:
        before: dict[str, Row] = {}
        for values in rows:
            row = row_from(TABLES[name], values[:-1])
            found.append(
                {
                    "act": acts.get(values[2]),
                    "kind": {"+": "recorded", "~": "changed", "-": "struck out"}[values[-1]],
                    "differences": _differences(name, before.get(row["_key"]), row) if values[-1] != "-" else [],
                    "table": name,
                    "noun": TABLES[name].noun,
                    "key": row["_key"],
                }
            )
            before[row["_key"]] = row
    found.reverse()
    return sorted(found, key=lambda entry: -(entry["act"].change_no if entry["act"] else 0))


def _differences(name: str, before: Row | None, row: Row) -> list[tuple[str, str, str]]:
    register = Register()
    now = texts_of(register, name, row)
    then = texts_of(register, name, before) if before else {}
    return [(column, then.get(column, ""), text) for column, text in now.items() if then.get(column, "") != text]
