"""Look through the acts and the whole history for whatever is not what was sealed when it was written."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import Any

from django.db import connection

from register.models import Act, RetiredId, Seal
from register.services.seals import (
    RETIRED,
    SHORT,
    Line,
    act_told,
    columns_of,
    hash_of,
    rows_of,
    sealed,
    told_by,
)
from register.services.tables import MODELS
from register.services.verifying_records import UNREADABLE, guarded, words

SHOWN = 20
"""Ids that one sentence names."""

Told = dict[int, dict[str, Any]]
"""What the seals say, by act; {} for one that says nothing that can be gone by."""


def seal_faults() -> Iterator[str]:
    """Everything that is wrong, a sentence each, with the table, the change and the id."""
    yield from guarded("The acts", _numbers())
    first = first_sealed()
    if first is None:
        return
    told: Told = {}
    yield from guarded("The seals", _chain(told))
    yield from guarded("The acts", _acts(first, told))
    for name in (*MODELS, RETIRED):
        yield from _history(name, first, told)
    for number, said in told.items():
        for name, left in said.get("tables", {}).items():
            yield f"The history of {words(name)} that change {number} wrote is gone: {left['rows']} rows."


def first_sealed() -> int | None:
    """The first act that has a seal, None where none has: what was written before it is not covered."""
    return Seal.objects.order_by("act_id").values_list("act_id", flat=True).first()


def _numbers() -> Iterator[str]:
    """Change numbers run without a gap."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*), coalesce(max(change_no), 0) FROM register_act")
        count, last = cursor.fetchone()
    if count != last:
        yield f"The acts have a gap: the last is change {last}, and there are {count}."


def _chain(told: Told) -> Iterator[str]:
    """Each seal is what its hash says and follows the one before it. Fills ``told``."""
    previous = ""
    for number in Seal.objects.order_by("act_id").values_list("act_id", flat=True):
        told[number] = {}
        try:
            seal = Seal.objects.get(pk=number)
        except UNREADABLE:
            yield f"The seal of change {number} cannot be read from the database."
            previous = ""
            continue
        said = told_by(seal)
        if said is None or hash_of(seal.content) != seal.sha256:
            yield f"The seal of change {number} is damaged: its hash is not that of its content."
        elif previous and said["previous"] != previous:
            yield f"The seal of change {number} does not follow the one before it."
        else:
            told[number] = said
        previous = seal.sha256


def _acts(first: int, told: Told) -> Iterator[str]:
    for number in Act.objects.filter(pk__gte=first).order_by("change_no").values_list("change_no", flat=True):
        if number not in told:
            yield f"Change {number} has no seal."
            continue
        try:
            found = act_told(Act.objects.get(pk=number))
        except UNREADABLE:
            yield f"acts, {number}: the row cannot be read from the database."
            continue
        said = told[number].get("act", found)
        if changed := [column for column, value in found.items() if said.get(column) != value]:
            yield f"acts, {number}: {', '.join(changed)} was changed since it was recorded."


def _history(name: str, first: int, told: Told) -> Iterator[str]:
    """The history of one table; what is found in ``told`` is taken out of it."""
    try:
        for number, lines in groupby(rows_of(name, act__gte=first), key=lambda line: line.act):
            sealed_before = told.get(number, {}).get("tables", {}).pop(name, None)
            if told.get(number):  # a seal that is missing or damaged is told of already
                yield from _compared(name, number, list(lines), sealed_before)
    except UNREADABLE as error:
        for said in told.values():
            said.get("tables", {}).pop(name, None)
        unreadable = list(_unreadable(name))
        yield from unreadable or [f"The history of {words(name)} cannot be read from the database: {error}."]


def _compared(name: str, number: int, lines: list[Line], said: dict[str, Any] | None) -> Iterator[str]:
    found = sealed(lines)
    if said is None:
        ids = ", ".join(key for key, _ in found.each[:SHOWN])
        yield f"The history of {words(name)} has rows of change {number} that it did not write: {ids}."
        return
    if (len(found.each), found.digest) == (said["rows"], said["sha256"]):
        return
    shorts = [said["each"][at : at + SHORT] for at in range(0, len(said["each"]), SHORT)]
    keys = [key for key, short in found.each if short not in shorts]
    ids = ", ".join(dict.fromkeys(keys[:SHOWN])) or f"{said['rows']} rows were written, and {len(found.each)} are there"
    yield f"The history of {words(name)} was changed since change {number} wrote it: {ids}."


def _unreadable(name: str) -> Iterator[str]:
    """The rows that the database cannot read, one by one."""
    rows = RetiredId.objects if name == RETIRED else MODELS[name].history  # type: ignore[attr-defined]
    columns = ["key"] if name == RETIRED else [*columns_of(name)]
    for row in list(rows.order_by("pk").values_list("pk", flat=True)):
        try:
            rows.filter(pk=row).values_list("act_id", *columns).get()
        except UNREADABLE as error:
            yield f"The history of {words(name)}, row {row}, cannot be read from the database: {error}."
