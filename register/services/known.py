"""The register as it was known on an earlier day: what was touched since is as its history has it."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from django.db.models import Max
from django.utils import timezone

from register.exchange.records import Register, Row
from register.exchange.schema import ORDER, TABLES
from register.models import Act
from register.services.tables import MODELS, fields_of, row_from


def start_of(day: date) -> datetime:
    """The moment at which a day begins on the railway's clocks."""
    return timezone.make_aware(datetime.combine(day, time.min))


def last_change_by(day: date) -> int:
    """The number of the last act of the day or of any before it, 0 where there is none."""
    found = Act.objects.filter(at__lt=start_of(day + timedelta(days=1))).aggregate(last=Max("change_no"))["last"]
    return found or 0


def as_known(register: Register, change_no: int) -> Register:
    """The register as it was after an act, from the whole of a later one (as ``load_register`` gives it), in a query a
    table: rows that were not touched since are shared. Drafts, which count nowhere, are left out."""
    made = Register(change_no=change_no, register_id=register.register_id)
    for name in ORDER:
        rows = {key: row for key, row in register.tables[name].items() if row["_act"] <= change_no}
        made.tables[name] = rows | _earlier(name, change_no)
    return made


def _earlier(name: str, change_no: int) -> dict[str, Row]:
    """The rows that were touched after the act, as they were then; those that were struck out since, too."""
    table, past = TABLES[name], MODELS[name].history.model._default_manager  # type: ignore[attr-defined]
    touched = past.filter(act_id__gt=change_no).values("key")
    rows = past.filter(key__in=touched, act_id__lte=change_no).order_by("act_id", "history_id")
    found: dict[str, Row] = {}
    for verb, *values in rows.values_list("history_type", *fields_of(table)):
        if verb == "-":
            found.pop(values[0], None)
        else:
            found[values[0]] = row_from(table, tuple(values))
    return found
