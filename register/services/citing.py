"""One source for many parts, without typing it again for each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from register.exchange.faults import Fault, Refused
from register.exchange.records import Change
from register.exchange.schema import TABLES
from register.exchange.values import key_of, parse_texts
from register.models import Citation, Source, User
from register.services.finds import readable_parts
from register.services.waiting import HandedIn, hand_in

MOST = 2000


@dataclass(frozen=True, slots=True)
class Cited:
    """number: of citations that are new; known: of those that the register held already."""

    number: int
    known: int
    handed: HandedIn | None


def pasted_rows(text: str) -> list[tuple[str, str]]:
    """(part id, where in the source) of each line: ``P-0041; page 12``. A tab or a comma serves as well."""
    found = []
    for line in text.splitlines():
        for mark in (";", "\t", ","):
            if mark in line:
                code, _, locator = line.partition(mark)
                break
        else:
            code, locator = line, ""
        if code.strip():
            found.append((code.strip(), locator.strip()))
    return found


def cite_for_many(
    source: Source,
    rows: Iterable[tuple[str, str]],
    *,
    user: User,
    common: Mapping[str, str],
    reason: str = "",
    token: str | None = None,
) -> Cited:
    """Cite the source for every part named, with its own locator or else the common one. common: the texts of
    ``supports``, ``locator``, ``assessed_on`` and ``note``. Raises Refused with every fault; nothing is done then."""
    wanted = list(dict.fromkeys((key_of(code), code, locator) for code, locator in rows))
    if not wanted:
        raise Refused([Fault("", None, "pasted", "", "Tick the parts, or write their ids, one a line.")])
    if len(wanted) > MOST:
        raise Refused([Fault("", None, "pasted", "", f"Cite it for at most {MOST:,} parts at once.")])
    keys = {key for key, _, _ in wanted}
    known = dict(readable_parts(user).filter(key__in=keys).values_list("key", "code"))
    faults = [
        Fault("citations", None, "pasted", code, f"There is no part {code[:60]} in this register.")
        for key, code, _ in wanted
        if key not in known
    ]
    table = TABLES["citations"]
    shared, wrong = parse_texts(table, common)
    faults += wrong
    held = {
        (part, supports, locator)
        for part, supports, locator in Citation.objects.filter(source=source, part__in=keys).values_list(
            "part_id", "supports", "locator"
        )
    }
    changes: list[Change] = []
    passed: set[tuple[str, bool, str]] = set()
    for key, _, locator in wanted:
        values = dict(shared)
        if locator:
            own, wrong = parse_texts(table, {"locator": locator})
            faults += wrong
            values |= own
        supports = values.get("supports") is not False
        told = (key, supports, values.get("locator") or "")
        if key in known and told not in held and told not in passed:
            passed.add(told)
            changes.append(
                Change(
                    "citations", {**values, "part_id": known[key], "source_id": source.code, "supports": supports}
                )
            )
    if faults:
        raise Refused(faults)
    handed = None
    if changes:
        title = f"{source.code} cited for {len(changes)} part{'s' if len(changes) != 1 else ''}"
        handed = hand_in(
            changes, user=user, kind="cite a source", title=title, reason=reason, token=token
        )
    return Cited(len(changes), len(wanted) - len(changes), handed)
