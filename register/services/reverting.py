"""Taking a change back: as a new change set, laid over the register as it is now, so that the history keeps both."""

from __future__ import annotations

from typing import Any

from register.exchange.faults import Fault, Refused
from register.exchange.records import Change, Row
from register.exchange.schema import TABLES
from register.models import Act, User
from register.services.change_sets import apply, texts_of
from register.services.deciding import refuse_if_too_long
from register.services.records import change_from, codes_of
from register.services.tables import MODELS, fields_of, row_from


class NoEntry(LookupError):
    """The record has no such entry in its history."""


def reverting(name: str, key: str, change_no: int) -> list[Change]:
    """The change set that takes back what one act did to one record. Raises NoEntry; Refused where it cannot be done."""
    before, after, kind = _around(name, key, change_no)
    table = TABLES[name]
    if kind == "+":
        return [Change(name, {"key": key}, row_id=key, action="strike")]
    if kind == "-":
        assert before is not None
        if table.own_id or not table.row_id:
            sentence = f"A {table.noun} that was struck out is not brought back, since an id is never used again. Record it anew."
            raise Refused([Fault(name, None, "", before["_code"], sentence)])
        return [change_from(name, _texts(name, before))]
    assert before is not None
    texts, now = _texts(name, before), _texts(name, after)
    changed = {column for column, text in texts.items() if now[column] != text}
    trios = {table.by_name[column].trio for column in changed} - {""}
    wanted = {
        column: text
        for column, text in texts.items()
        if column in changed or table.by_name[column].trio in trios
    }
    if not table.row_id:
        wanted |= {column: texts[column] for column in table.key}
    return [change_from(name, wanted, key)]


def _around(name: str, key: str, change_no: int) -> tuple[Row | None, Row, str]:
    """(the record before the act, after it, what the act did: +, ~ or -)"""
    table = TABLES[name]
    model: Any = MODELS[name]
    rows = list(
        model.history.filter(key=key, act_id__lte=change_no)
        .order_by("-act_id", "-history_id")
        .values_list(*fields_of(table), "history_type")[:2]
    )
    if not rows or rows[0][2] != change_no:
        raise NoEntry
    before = row_from(table, rows[1][:-1]) if len(rows) > 1 else None
    return before, row_from(table, rows[0][:-1]), rows[0][-1]


def _texts(name: str, row: Row) -> dict[str, str]:
    return texts_of(codes_of(name, row), name, row)


def revert(
    name: str,
    key: str,
    change_no: int,
    *,
    user: User,
    reason: str,
    token: str | None = None,
) -> Act | None:
    """Take it back. Raises NoEntry, Refused; also where no reason is given."""
    if not reason.strip():
        raise Refused([Fault(name, None, "reason", "", "Say why it is taken back; the history keeps it.")])
    refuse_if_too_long(reason)
    act, _ = apply(
        reverting(name, key, change_no),
        kind=f"take back change {change_no}",
        user=user,
        reason=reason.strip(),
        token=token,
    )
    return act
