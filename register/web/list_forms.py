"""The form of a list's vehicle and day."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from register.exchange.faults import Fault, Refused
from register.exchange.schema import TABLES
from register.fabric.dates import DateError, read_day
from register.models import Vehicle
from register.services import list_jobs
from register.services.list_jobs import ListJob
from register.web.record_form import FormField, form_fields

VEHICLE_FIELDS = ("vehicle_id", "name", "kind", "built", "heritage_from", "empty_mass")
_HIDDEN = frozenset(column.name for column in TABLES["vehicles"].columns) - frozenset(VEHICLE_FIELDS)


def vehicle_page(job: ListJob, faults: list[Fault]) -> dict[str, Any]:
    known = list(Vehicle.objects.order_by("key"))
    before = "" if job.vehicle_id else list_jobs.vehicle_before(job)
    there = next((one for one in known if one.key == (job.vehicle_key or before)), None)
    texts = {"vehicle_id": "" if there else job.vehicle_id, **job.vehicle}
    errors = {fault.column: fault.message for fault in reversed(faults)}
    own = form_fields("vehicles", texts, faults, editing=False, hidden=_HIDDEN)
    others = [
        FormField(
            "existing",
            "Which vehicle is the list of?",
            "select",
            there.code if there else "",
            "",
            "",
            True,
            (("", "A new vehicle, described below"), *((one.code, f"{one.code}: {one.full_name}") for one in known)),
            error=errors.get("existing", ""),
        )
    ]
    rest = [
        FormField(
            "day",
            "On which day was the list right?",
            "text",
            job.day,
            "the day on which somebody last looked at the things as the list has them. Without it, what has no date "
            "of fitting is not entered as fitted, and nothing is drafted. May be left empty",
            "30 September 2019",
            False,
            error=errors.get("day", ""),
        ),
        FormField(
            "prefix",
            "Ids begin with",
            "text",
            job.prefix,
            "the parts and positions get ids that begin with this and end with the list's own number. Left empty, "
            "it is the id of the vehicle",
            f"{job.vehicle_id or 'W31'}, for {job.vehicle_id or 'W31'}-07",
            False,
            error=errors.get("prefix", ""),
        ),
    ]
    fields = [*(others if known else []), *own, *rest]
    names = {field.name for field in fields}
    return {
        "heading": "Which vehicle, and on which day?",
        "choose": others if known else [],
        "own": own,
        "rest": rest,
        "fields": fields,
        "faults": faults,
        "is_known": there is not None,
        "general_errors": [fault.message for fault in faults if fault.column not in names],
    }


def posted_vehicle(job: ListJob, data: Mapping[str, str]) -> list[Fault]:
    """Take over what was posted; what is wrong with it."""
    existing = _line(data.get("existing", ""))
    job.vehicle = {} if existing else {name: data.get(name, "").strip()[:2000] for name in VEHICLE_FIELDS[1:]}
    job.vehicle_id = existing or _line(data.get("vehicle_id", ""))
    job.day, job.prefix = _line(data.get("day", "")), _line(data.get("prefix", ""))
    if not existing and not job.vehicle_id:
        return [Fault("vehicles", None, "vehicle_id", "", "Give her an id of your own, such as W31.")]
    known = Vehicle.objects.filter(key=job.vehicle_key).exists()
    if existing and not known:
        return [Fault("vehicles", None, "existing", existing, f"There is no vehicle {existing}. Choose again.")]
    if known and not existing:
        sentence = f"{job.vehicle_id} is in the register already: choose her above, or give another id."
        return [Fault("vehicles", None, "vehicle_id", job.vehicle_id, sentence)]
    faults = _day_fault(job)
    if faults:
        return faults
    try:
        list_jobs.proposal_of(job)
    except Refused as refused:
        return [_placed(fault, job) for fault in refused.faults]
    return []


def _line(text: str) -> str:
    """One line of a form: what does not print is no part of it."""
    return "".join(letter for letter in text if letter.isprintable()).strip()[:100]


def _day_fault(job: ListJob) -> list[Fault]:
    if not job.day:
        return []
    try:
        read_day(job.day)
    except DateError as sentence:
        return [Fault("", None, "day", job.day, str(sentence))]
    return []


def _placed(fault: Fault, job: ListJob) -> Fault:
    """At the field that it is about: a fault of the ids is told of the whole list."""
    if "beginning of ids" in fault.message or "ids of a list begin" in fault.message:
        return Fault("", None, "prefix" if job.prefix else "vehicle_id", "", fault.message)
    if fault.message.startswith("The day of the list"):
        return Fault("", None, "day", job.day, fault.message)
    return fault
