"""The one way to write. ``apply`` is the only function that changes fabric data: one transaction, one act.

Every form, import, review and revert ends here. What waits for review is a stored change set.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from register.exchange.faults import Fault, Refused
from register.exchange.overlay import NEW, Conflict, Keep, Overlaid, overlay, write_row_value
from register.exchange.records import TAGGED, Change, Register, Row
from register.exchange.schema import TABLES, WRITE_ORDER
from register.exchange.values import TAG_LETTERS
from register.models import Act, ChangeSet, RegisterState, RetiredId, RowNumber, User
from register.models.change_set import ACCEPTED, OPEN
from register.services.loading import last_change_no, load_register, scope_of, state
from register.services.seals import seal
from register.services.tables import MODELS, writer_of
from register.services.vehicle_versions import renew_versions

BATCH = 2000
MANY = 500


class Conflicted(Exception):
    """Records were changed since the author saw them. ``conflicts`` lists both values of each."""

    def __init__(self, conflicts: Sequence[Conflict]) -> None:
        self.conflicts = list(conflicts)
        super().__init__("\n".join(str(conflict) for conflict in conflicts))


def apply(
    changes: Iterable[Change],
    *,
    kind: str,
    user: User | None = None,
    reason: str = "",
    token: str | None = None,
    base_no: int | None = None,
    keep: Keep = "",
    whole: bool = False,
    at: datetime | None = None,
) -> tuple[Act | None, Overlaid]:
    """Lay a change set over the register and write what results. Returns the act (None where nothing changed).

    token: of the form posted; the same token a second time returns the first act and changes nothing.
    whole: check against the whole register (an import) rather than what the change set can concern.
    Raises Refused with every fault, or Conflicted; nothing is written then.
    """
    listed = list(changes)
    early = load_register() if whole else None  # a long check does not hold up other writers
    result = overlay(early, listed, base_no=base_no, keep=keep) if early else None
    with transaction.atomic():
        _lock()
        if token:
            earlier = Act.objects.filter(token=token).first()
            if earlier is not None:
                return earlier, Overlaid(Register())
        if early is None or result is None or early.change_no != last_change_no():
            early = load_register(None if whole else scope_of(listed))
            result = overlay(early, listed, base_no=base_no, keep=keep)
        refuse_if_faulty(result)
        if not result.changes_anything:
            return None, result
        act = Act.objects.create(
            change_no=last_change_no() + 1,
            at=at or timezone.now(),
            user=user,
            kind=kind,
            reason=reason,
            token=token,
        )
        try:
            _write(result, act, early)
            seal(act, written_tables(result))
        except IntegrityError as error:
            raise Refused([_from_the_database(error)]) from error
    return act, result


def written_tables(result: Overlaid) -> list[str]:
    """The tables into whose history an act writes."""
    return [name for name in WRITE_ORDER if result.created.get(name) or result.updated.get(name) or result.struck.get(name)]


def refuse_if_faulty(result: Overlaid) -> None:
    """Raises Refused or Conflicted where the change set may not be applied."""
    if result.faults:
        raise Refused(result.faults)
    if result.conflicts:
        raise Conflicted(result.conflicts)


def preview(changes: Iterable[Change], *, base_no: int | None = None, keep: Keep = "") -> Overlaid:
    """What ``apply`` would make of it now; writes nothing."""
    listed = list(changes)
    return overlay(load_register(scope_of(listed)), listed, base_no=base_no, keep=keep)


def lock() -> None:
    """For a service that must look at something else before it applies: nobody writes between the two."""
    _lock()


def _lock() -> None:
    """Writers queue here. SQLite's BEGIN IMMEDIATE has locked already; PostgreSQL locks the one row."""
    state()
    if connection.features.has_select_for_update:
        RegisterState.objects.select_for_update().get(id=1)


def _from_the_database(error: IntegrityError) -> Fault:
    """The sentence of the constraint that stopped a change which the rules above let through."""
    text = str(error)
    for name, model in MODELS.items():
        for constraint in model._meta.constraints:
            if constraint.name in text:
                return Fault(name, None, "", "", str(constraint.violation_error_message))
    if ".tag" in text or "tag_key" in text or "_tag" in text:
        return Fault("vehicles", None, "tag", "", "that tag is taken; leave it empty and one is made.")
    return Fault(
        "export",
        None,
        "",
        "",
        "the database refused the change, since it would break one of its rules; nothing was stored. Load the page again and try once more.",
    )


# --- writing ------------------------------------------------------------------------------------------------------


def _write(result: Overlaid, act: Act, before: Register) -> None:
    after = result.register
    _number_new_rows(result)
    _tag_new_rows(result)
    for name in reversed(WRITE_ORDER):
        if result.struck.get(name):
            _strike(name, result.struck[name], act, before, result.merged.get(name, {}))
    for name in WRITE_ORDER:
        _create(name, [after.tables[name][key] for key in result.created.get(name, ())], act)
        _update(name, [after.tables[name][key] for key in result.updated.get(name, ())], act)
    _write_drafts(result, act)
    renew_versions(result, before)
    if sum(map(len, result.created.values())) > MANY:
        _count_anew(result)


def _count_anew(result: Overlaid) -> None:
    """Tell PostgreSQL how large its tables have become, rather than wait for its own round: until then a query over
    a register that has just come in is planned as if it were empty, and takes minutes."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            for name, keys in result.created.items():
                if keys:
                    cursor.execute(f"ANALYZE {quoted(MODELS[name]._meta.db_table)}")


def _create(name: str, rows: list[Row], act: Act) -> None:
    """Insert rows and their history. Values are typed already, so they go to the database as they are: a tenth of the
    time of one model instance a row."""
    if not rows:
        return
    writer, table = writer_of(name), quoted(MODELS[name]._meta.db_table)
    columns = ", ".join(quoted(column) for column in writer.columns)
    marks = ", ".join("%s" for _ in writer.columns)
    _run_for_each(
        f"INSERT INTO {table} ({columns}) VALUES ({marks})", [writer.values(row, act.pk) for row in rows]
    )
    _record(name, act, "+")


def _update(name: str, rows: list[Row], act: Act) -> None:
    if not rows:
        return
    writer, table = writer_of(name), quoted(MODELS[name]._meta.db_table)
    settings = ", ".join(f"{quoted(column)} = %s" for column in writer.columns[1:])
    values = (writer.values(row, act.pk) for row in rows)
    _run_for_each(
        f"UPDATE {table} SET {settings} WHERE {quoted(writer.columns[0])} = %s",
        [[*rest, key] for key, *rest in values],
    )
    _record(name, act, "~")


def _run_for_each(statement: str, values: list[list[Any]]) -> None:
    with connection.cursor() as cursor:
        for start in range(0, len(values), BATCH):
            cursor.executemany(statement, values[start : start + BATCH])


def quoted(name: str) -> str:
    return connection.ops.quote_name(name)


def _record(name: str, act: Act, kind: str) -> None:
    """History of the rows that this act has written so far and that have none of it yet: copied inside the database."""
    model = MODELS[name]
    historical = model.history.model  # type: ignore[attr-defined]
    columns = ", ".join(quoted(field.column) for field in historical.tracked_fields)
    table, past = quoted(model._meta.db_table), quoted(historical._meta.db_table)
    with connection.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO {past} ({columns}, history_date, history_type, history_user_id, history_change_reason) "
            f"SELECT {columns}, %s, %s, %s, %s FROM {table} WHERE act_id = %s "
            f"AND NOT EXISTS (SELECT 1 FROM {past} AS known WHERE known.{quoted('key')} = {table}.{quoted('key')} AND known.act_id = %s)",
            [connection.ops.adapt_datetimefield_value(act.at), kind, act.user_id, "", act.pk, act.pk],
        )


def _strike(name: str, keys: list[str], act: Act, before: Register, merged: Mapping[str, str]) -> None:
    """The last history row of a struck record says so; then the record leaves its table."""
    table = quoted(MODELS[name]._meta.db_table)
    _run_for_each(
        f"UPDATE {table} SET act_id = %s WHERE {quoted('key')} = %s", [[act.pk, key] for key in keys]
    )
    _record(name, act, "-")
    _run_for_each(f"DELETE FROM {table} WHERE {quoted('key')} = %s", [[key] for key in keys])
    RetiredId.objects.bulk_create(
        RetiredId(
            table=name,
            key=key,
            code=before.tables[name][key]["_code"],
            merged_into=merged.get(key, ""),
            reason=act.reason,
            act=act,
        )
        for key in keys
    )


def _number_new_rows(result: Overlaid) -> None:
    """Give row numbers to new rows; remember the highest number that a file brought along."""
    tables = result.register.tables
    given: dict[str, int] = {}
    for key, name in result.given_row_ids.items():
        if key.isdigit():
            given[name] = max(given.get(name, 0), int(key))
    new_drafts = [key for key in result.new_drafts if key.startswith(NEW)]
    for key in result.new_drafts:
        if key.isdigit():
            given["assessments"] = max(given.get("assessments", 0), int(key))
    for name in WRITE_ORDER:
        if not TABLES[name].row_id:
            continue
        new = [key for key in result.created.get(name, ()) if key.startswith(NEW)]
        drafts = new_drafts if name == "assessments" else []
        if not new and not drafts and name not in given:
            continue
        counter, _ = RowNumber.objects.get_or_create(table=name)
        counter.last = max(counter.last, min(given.get(name, 0), 10**15))
        taken = {*result.created.get(name, ()), *(result.new_drafts if name == "assessments" else ())}
        numbers: dict[str, str] = {}
        for key in (*new, *drafts):
            counter.last += 1
            while str(counter.last) in taken:
                counter.last += 1
            numbers[key] = str(counter.last)
        counter.save()
        for old, number in numbers.items():
            rows = tables[name] if old in tables[name] else result.register.drafts
            rows[number] = rows.pop(old) | {"_key": number, "_code": number}
        if name in result.created:
            result.created[name] = [numbers.get(key, key) for key in result.created[name]]
        if name == "assessments":
            result.new_drafts = [numbers.get(key, key) for key in result.new_drafts]


def new_tag() -> str:
    """Eight characters, without 0 O 1 I L: a random one of some 8.5 × 10¹¹."""
    return "".join(secrets.choice(TAG_LETTERS) for _ in range(8))


def _tag_new_rows(result: Overlaid) -> None:
    rows = {
        name: [
            result.register.tables[name][key]
            for key in (*result.created.get(name, ()), *result.updated.get(name, ()))
        ]
        for name in TAGGED
    }
    _refuse_taken_tags(rows)
    taken = {row["tag"] for named in rows.values() for row in named if row["tag"]}
    untagged = [row for named in rows.values() for row in named if not row["tag"]]
    while untagged:
        fresh = {new_tag() for _ in range(min(len(untagged), BATCH))} - taken
        for name in TAGGED:
            fresh -= set(MODELS[name]._default_manager.filter(tag__in=fresh).values_list("tag", flat=True))
        for tag in fresh:
            untagged.pop()["tag"] = tag
        taken |= fresh


def _refuse_taken_tags(rows: dict[str, list[Row]]) -> None:
    """A tag is free only if no vehicle, position or part has it: one label, one thing."""
    for name, named in rows.items():
        tags = {row["tag"]: row for row in named if row["tag"]}
        for other in TAGGED:
            listed = list(tags)
            for start in range(0, len(listed), BATCH):
                for tag, key in (
                    MODELS[other]
                    ._default_manager.filter(tag__in=listed[start : start + BATCH])
                    .values_list("tag", "key")
                ):
                    if (other, key) != (name, tags[tag]["_key"]):
                        raise Refused(
                            [
                                Fault(
                                    name,
                                    None,
                                    "tag",
                                    tag,
                                    "that tag is taken; leave it empty and one is made.",
                                )
                            ]
                        )


def _write_drafts(result: Overlaid, act: Act) -> None:
    for key in result.new_drafts:
        row = result.register.drafts[key]
        ChangeSet.objects.create(
            **_draft_fields(result.register, key, row, act), author=act.user, made_by=act
        )
    for key in result.changed_drafts:
        row = result.register.drafts[key]
        ChangeSet.objects.filter(row_id=key).update(
            **_draft_fields(result.register, key, row, act), made_by=act
        )
    if result.accepted_drafts:
        ChangeSet.objects.filter(row_id__in=result.accepted_drafts, state__in=OPEN).update(
            state=ACCEPTED, decided_by=act
        )


def _draft_fields(register: Register, key: str, row: Row, act: Act) -> dict[str, Any]:
    part = register.code("parts", row["part_id"])
    return {
        "title": f"Assessment of {part}, {row['assessed_on'].text}",
        "reason": row["reason"] or "",
        "changes": [
            {
                "table": "assessments",
                "action": "put",
                "row_id": row["_code"],
                "values": texts_of(register, "assessments", row),
            }
        ],
        "kind": "assessment",
        "about": f";parts:{row['part_id']};",
        "made_at": act.at,
        "row_id": key,
        "code": row["_code"],
        "part": row["part_id"],
        "day": row["assessed_on"].edtf,
    }


def texts_of(register: Register, name: str, row: Row) -> dict[str, str]:
    """A row as the exchange format writes it: {column: text}."""
    return {
        column.name: write_row_value(register, column, row[column.name]) for column in TABLES[name].columns
    }
