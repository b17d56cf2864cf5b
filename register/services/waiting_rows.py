"""Stored change sets as rows: how changes are kept until they are decided, and what they become then."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from register.exchange.faults import Fault, Refused
from register.exchange.records import Change, Register, target_table
from register.exchange.schema import TABLES
from register.exchange.values import key_of, parse_texts, write_value
from register.models import Assessment, ChangeSet, User
from register.models.change_set import OPEN
from register.policy import counts_at_once
from register.services.tables import MODELS


def stored_rows(changes: Iterable[Change], register: Register) -> list[dict[str, Any]]:
    """The changes as JSON keeps them: {"table", "action", "row_id", "values": {column: text}, "new"}."""
    found = []
    for change in changes:
        table = TABLES[change.table]
        columns = table.by_name
        row: dict[str, Any] = {
            "table": change.table,
            "action": change.action,
            "row_id": change.row_id,
            "values": {
                name: write_value(columns[name], value) if name in columns else value
                for name, value in change.values.items()
            },
        }
        if table.own_id and change.action == "put":
            row["new"] = key_of(str(change.values[table.own_id])) not in register.tables[change.table]
        found.append(row)
    return found


def changes_of(change_set: ChangeSet) -> list[Change]:
    """The changes it holds. Raises Refused where they can no longer be read."""
    return changes_from(change_set.changes)


def changes_from(rows: Iterable[Mapping[str, Any]]) -> list[Change]:
    """From stored rows. Raises Refused with every text that cannot be read."""
    found: list[Change] = []
    faults: list[Fault] = []
    for row in rows:
        if row["action"] == "strike":
            found.append(Change(row["table"], dict(row["values"]), row["row_id"], action="strike"))
            continue
        values, wrong = parse_texts(TABLES[row["table"]], row["values"])
        faults += wrong
        found.append(Change(row["table"], values, row["row_id"]))
    if faults:
        raise Refused(faults)
    return found


def about(changes: Iterable[Change], register: Register | None = None) -> str:
    """Every record that the changes name, to find them by: ``;parts:p1;vehicles:l1;``"""
    names: set[str] = set()
    for change in changes:
        table = TABLES[change.table]
        if change.row_id:
            names.add(f"{change.table}:{key_of(change.row_id)}")
            stored = register.tables[change.table].get(key_of(change.row_id)) if register else None
            if stored and stored.get("part_id"):
                names.add(f"parts:{stored['part_id']}")
        for column in table.columns:
            value = change.values.get(column.name)
            to = change.table if column.kind == "id" else target_table(column)
            if to and to != "people" and isinstance(value, str):
                names.add(f"{to}:{key_of(value)}")
    return f";{';'.join(sorted(names))};" if names else ""


def part_of(changes: Iterable[Change]) -> str:
    """The key of the one part that all of them are about, "" for none or several."""
    found = {key_of(str(change.values["part_id"])) for change in changes if change.values.get("part_id")}
    return found.pop() if len(found) == 1 else ""


def taken_since(change_set: ChangeSet) -> list[Fault]:
    """Ids that were free when the change set was handed in and are taken now."""
    faults = []
    for row in change_set.changes:
        table = TABLES[row["table"]]
        if row.get("new"):
            code = row["values"][table.own_id]
            if MODELS[row["table"]]._default_manager.filter(key=key_of(code)).exists():
                faults.append(
                    Fault(
                        row["table"],
                        None,
                        table.own_id,
                        code,
                        f"Another {table.noun} has been given that id since. Return this with a question, so that its author takes another.",
                    )
                )
    return faults


# --- what a decision makes of the rows ----------------------------------------------------------------------------


def as_accepted(changes: list[Change], change_set: ChangeSet) -> list[Change]:
    return _with_state(changes, change_set, "accepted")


def as_withdrawn(changes: list[Change], change_set: ChangeSet) -> list[Change]:
    return _with_state(changes, change_set, "withdrawn")


def _with_state(changes: list[Change], change_set: ChangeSet, state: str) -> list[Change]:
    if not change_set.row_id:
        return changes
    return [
        replace(change, values={**change.values, "state": state}, row_id=change_set.code or change_set.row_id)
        for change in changes
    ]


def opinion_in(changes: list[Change]) -> tuple[list[Change], list[Change]]:
    """(the assessments as drafts, with the citations that belong to them and the sources these need; all the rest).
    Raises Refused where there is no assessment, or where the part has another of that day."""
    assessed = {change.values["part_id"]: change for change in changes if change.table == "assessments"}
    if not assessed:
        sentence = "There is no assessment in it, so there is no opinion that could stand beside another."
        raise Refused([Fault("", None, "", "", sentence)])
    _refuse_a_second_of_the_day(assessed.values())
    cited = [one for one in changes if one.table == "citations" and one.values.get("part_id") in assessed]
    needed = {one.values["source_id"] for one in cited}
    sources = [one for one in changes if one.table == "sources" and one.values["source_id"] in needed]
    drafts = [replace(one, values={**one.values, "state": "draft"}) for one in assessed.values()]
    own = [
        replace(
            one, values={**one.values, "assessed_on": assessed[one.values["part_id"]].values["assessed_on"]}
        )
        for one in cited
    ]
    taken = [*assessed.values(), *cited, *sources]
    return [*sources, *drafts, *own], [one for one in changes if all(one is not other for other in taken)]


def _refuse_a_second_of_the_day(assessments: Iterable[Change]) -> None:
    """A citation belongs to the assessment of its day: an opinion and what it differs from cannot share one."""
    sentence = (
        "The part has another assessment of that day, and evidence belongs to the assessment of its day. "
        "Return this with a question, so that its author gives another day."
    )
    for change in assessments:
        part, day = key_of(str(change.values["part_id"])), change.values["assessed_on"]
        accepted = Assessment.objects.filter(part=part, assessed_on_edtf=day.edtf)
        drafts = ChangeSet.objects.filter(part=part, day=day.edtf, row_id__isnull=False, state__in=OPEN)
        if accepted.exists() or drafts.exists():
            raise Refused([Fault("assessments", None, "assessed_on", day.text, sentence)])


# --- what counts at once --------------------------------------------------------------------------------------------


def split(changes: list[Change], user: User) -> tuple[list[Change], list[Change]]:
    """(what counts at once when this person records it, what waits). A row whose columns differ in this is divided;
    one that refers to a record which waits, waits with it."""
    at_once: list[Change] = []
    waits: list[Change] = []
    allowed = {change.table: counts_at_once(user, change.table) for change in changes}
    coming = _coming([change for change in changes if allowed[change.table] == frozenset()])
    for change in changes:
        table, columns = TABLES[change.table], allowed[change.table]
        needed = set() if change.row_id else set(table.key)
        if columns is None:
            at_once.append(change)
        elif change.action != "put" or not columns or not needed <= columns or _refers_to(change, coming):
            waits.append(change)
        else:
            own = {name: value for name, value in change.values.items() if name in columns}
            rest = {name: value for name, value in change.values.items() if name not in columns}
            if own:
                at_once.append(replace(change, values=own))
            if any(value is not None for value in rest.values()) or (change.row_id and rest):
                keys = {} if change.row_id else {name: own[name] for name in table.key if name in own}
                waits.append(replace(change, values=keys | rest))
    return at_once, waits


def _coming(waits: list[Change]) -> set[tuple[str, str]]:
    """Records that are not there yet, and come with what waits."""
    found = {
        (change.table, key_of(str(change.values[own])))
        for change in waits
        if (own := TABLES[change.table].own_id) and change.values.get(own)
    }
    return {(name, key) for name, key in found if not MODELS[name]._default_manager.filter(key=key).exists()}


def _refers_to(change: Change, coming: set[tuple[str, str]]) -> bool:
    return any(
        (column.to, key_of(value)) in coming
        for column in TABLES[change.table].columns
        if column.kind == "ref" and isinstance(value := change.values.get(column.name), str)
    )
