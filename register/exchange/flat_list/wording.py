"""What was made of a line, said in words: the preview's one sentence a line."""

from __future__ import annotations

from collections.abc import Iterable

from register.exchange.flat_list.results import RowDraft


def made_of(kind: str, rows: Iterable[RowDraft], tell: str = "") -> str:
    """Such as: ``W31-05 in position W31-P05, 2 of them, 80-90 kg, seen on 2019-09-30; draft: original``."""
    listed = list(rows)
    parts = [row for row in listed if row.table == "parts"]
    told = (
        "; ".join(_part(part, listed) for part in parts)
        or "a position without a part, until its date is known"
    )
    start = f"split into {len(parts)}: " if kind == "split" else ""
    return f"{start}{told}{f' ({tell})' if tell else ''}"


def _part(part: RowDraft, rows: list[RowDraft]) -> str:
    part_id = part.values["part_id"]
    stay = next(
        (row for row in rows if row.table == "installations" and row.values["part_id"] == part_id), None
    )
    draft = next(
        (row for row in rows if row.table == "assessments" and row.values["part_id"] == part_id), None
    )
    lies = next((row for row in rows if row.table == "movements" and row.values["part_id"] == part_id), None)
    words = [part_id + (f" in position {stay.values['position_id']}" if stay else "")]
    if part.values.get("quantity", "1") != "1":
        words.append(f"{part.values['quantity']} of them")
    words.append(part.values.get("mass", "unweighed"))
    if stay:
        words += [
            f"{label} {stay.values[column]}"
            for column, label in (("fitted", "fitted"), ("seen_on", "seen on"), ("removed", "removed"))
            if stay.values.get(column)
        ]
    if lies:
        words.append(f"at {lies.values['place_id']}")
    if part.values.get("disposal"):
        words.append(part.values["disposal"])
    told = ", ".join(words)
    return f"{told}; draft: {draft.values['status']}" if draft else f"{told}; not assessed"
