"""From somebody's own list to a change set: proposed, previewed, accepted in one act, or taken as a workbook.

    sheet = open_list(path)                        # any CSV file or workbook; Refused with a sentence
    choices, remembered = choices_for(sheet, "W31")
    proposal = propose(sheet, choices, vehicle_id="W31", day=date(2019, 9, 30))
    preview(proposal)                              # what ``accept`` would make of the register
    accept(proposal, user=user)                    # one act; the choices are remembered

Nothing is stored before ``accept``, and ``propose`` is repeatable: a page keeps the file and what was chosen,
and asks again. A list that comes back corrected changes what it itself changed and nothing else.
"""

from __future__ import annotations

import tempfile
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from django.db import transaction

from register.exchange.faults import Fault, Refused
from register.exchange.flat_list.answers import ListAnswers
from register.exchange.flat_list.given import Given
from register.exchange.flat_list.headings import heading_of
from register.exchange.flat_list.mapping import (
    DEFAULT_VISIBILITY,
    Column,
    ListChoices,
    check,
    completed,
    guess,
)
from register.exchange.flat_list.marked_workbook import write_marked_workbook
from register.exchange.flat_list.results import Drafted, LineOutcome, Question, RowDraft
from register.exchange.flat_list.roles import ROLES
from register.exchange.flat_list.sheet import Sheet, read_sheet, refuse
from register.exchange.flat_list.status_words import MEANINGS
from register.exchange.overlay import Conflict, Keep, Overlaid
from register.exchange.records import Change
from register.exchange.schema import TABLES
from register.exchange.values import key_of, missing_required, parse_texts
from register.fabric.dates import AS_BUILT
from register.models import Act, User, Vehicle
from register.services import change_sets
from register.services.change_sets import Conflicted
from register.services.list_answers import with_answers
from register.services.list_changes import Changes, changes_of
from register.services.remembered_lists import Remembered, choices_for, open_questions, recall, remember

__all__ = [
    "Proposal",
    "accept",
    "as_workbook",
    "choices_for",
    "choose",
    "meaning_choices",
    "open_list",
    "open_questions",
    "preview",
    "propose",
    "role_choices",
]
KIND = "import list"


@dataclass(frozen=True, slots=True)
class Proposal:
    """What a list would change, and what became of each of its lines.

    changes: the change set, only what the list itself changed since it was last accepted. rows: all that the
    list amounts to, as texts. row_ids: key of a row to its row_id in the register. notes: sentences for the
    preview. conflicts: what the register changed too since then. asked: every question of the lines, those that
    ``given`` answers too.
    """

    sheet: Sheet
    choices: ListChoices
    answers: ListAnswers
    drafted: Drafted
    left_out: frozenset[int]
    rows: tuple[RowDraft, ...]
    changes: tuple[Change, ...]
    row_ids: Mapping[str, str]
    notes: tuple[str, ...]
    conflicts: tuple[Conflict, ...]
    refused_cells: tuple[Question, ...] = ()
    asked: tuple[Question, ...] = ()
    given: Mapping[str, Given] = field(default_factory=dict)

    @property
    def lines(self) -> tuple[LineOutcome, ...]:
        return self.drafted.lines

    @property
    def questions(self) -> list[Question]:
        """Those of the lines that are not left out, and those about the whole."""
        asked = [one for one in self.drafted.all_questions() if one.line not in self.left_out]
        return [*asked, *self.refused_cells]

    @property
    def counts(self) -> dict[str, Counter[str]]:
        """``lines`` by what became of them, ``rows`` by table, ``drafts`` by status."""
        return {
            "lines": Counter(line.kind for line in self.lines if line.line not in self.left_out),
            "rows": Counter(row.table for row in self.rows),
            "drafts": Counter(row.values["status"] for row in self.rows if row.table == "assessments"),
        }


# --- the list and what is chosen ------------------------------------------------------------------------


def open_list(source: Path | bytes, *, name: str = "", sheet: str = "") -> Sheet:
    """The list in a file, or in what was uploaded under ``name``. sheet: which one of a workbook.

    Raises Refused with a sentence where it is no CSV file and no workbook, cannot be read, or is empty.
    """
    if isinstance(source, Path):
        return read_sheet(source, sheet=sheet)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / (Path(name.replace("\\", "/")).name[-100:] or "list.csv")
        path.write_bytes(source)
        return read_sheet(path, sheet=sheet)


def role_choices() -> list[tuple[str, str]]:
    """What a column may be, and what each means, for a form."""
    return [(role.name, role.about) for role in ROLES.values()]


def meaning_choices() -> list[tuple[str, str]]:
    """What a word of the column "is it original?" may mean, for a form."""
    return [(meaning.name, meaning.about) for meaning in MEANINGS.values()]


def choose(
    sheet: Sheet,
    *,
    first: int,
    last: int,
    roles: Sequence[str] = (),
    units: Sequence[str] = (),
    words: Mapping[str, str] | None = None,
    sections: Mapping[str, bool] | None = None,
    visibility: str = DEFAULT_VISIBILITY,
) -> ListChoices:
    """Choices as a form posts them. first, last: the lines of the heading. roles, units: one a column (none:
    as guessed). words: folded word to meaning; sections: folded text to whether it names an assembly.

    Raises Refused with a sentence where they cannot be used on this sheet.
    """
    guessed = guess(sheet, heading_of(sheet, first, last))
    given = [*roles] or [column.role for column in guessed.columns]
    if len(given) != len(guessed.columns):
        refuse(
            sheet.name,
            f"The list has {len(guessed.columns)} columns, and {len(given)} are chosen for. Choose again.",
        )
    units = [*units] or [column.unit for column in guessed.columns]
    columns = tuple(
        Column(column.heading, role, unit)
        for column, role, unit in zip(guessed.columns, given, units, strict=True)
    )
    chosen = ListChoices(first, last, columns, words or {}, sections or {}, visibility)
    check(sheet, chosen)
    return completed(sheet, chosen)


# --- proposing ------------------------------------------------------------------------------------------


def propose(
    sheet: Sheet,
    choices: ListChoices,
    *,
    vehicle_id: str,
    vehicle: Mapping[str, str] | None = None,
    day: date | None = None,
    leave_out: Collection[int] = (),
    prefix: str = "",
    given: Mapping[str, Given] | None = None,
) -> Proposal:
    """What the list amounts to, laid beside what it amounted to when it was last accepted. Writes nothing.

    vehicle: texts of her row, needed where the register does not have her (name, kind, built; more if known).
    day: on which the things were seen as the list has them; without it nothing undated is entered and no
    assessment drafted. leave_out: lines (as a spreadsheet numbers them) not to be entered. prefix: what ids
    begin with, if not her id; remembered. given: answers to the list's own questions by their keys, which
    hold while the question reads as it did; remembered. Raises Refused with sentences where the list, the choices or the
    vehicle cannot be used.
    """
    code = vehicle_id.strip()
    earlier = recall(choices, code)
    answers = _answers(sheet, code, vehicle or {}, day, prefix or earlier.prefix)
    answers, drafted, asked, held = with_answers(
        sheet, choices, answers, earlier.ids, {**earlier.given, **(given or {})}
    )
    left_out = frozenset(leave_out)
    rows = tuple(drafted.rows(left_out))
    found = changes_of(rows, earlier.rows, still_there={row.key for row in drafted.rows()})
    return Proposal(
        sheet=sheet,
        choices=choices,
        answers=answers,
        drafted=drafted,
        left_out=left_out,
        rows=rows,
        changes=tuple(found.changes),
        row_ids=found.row_ids,
        notes=(*sheet.notes, *found.notes),
        conflicts=tuple(found.conflicts),
        refused_cells=tuple(found.questions),
        asked=asked,
        given=held,
    )


def _answers(
    sheet: Sheet, code: str, vehicle: Mapping[str, str], day: date | None, prefix: str
) -> ListAnswers:
    if not code:
        refuse(sheet.name, "Say which vehicle the list is of.")
    stored = Vehicle.objects.filter(key=key_of(code)).first()
    if stored is not None:
        return ListAnswers(
            stored.code,
            {},
            day,
            stored.built_edtf,
            _day_of(stored.heritage_from_edtf, stored.built_edtf),
            prefix,
        )
    values, faults = parse_texts(TABLES["vehicles"], {**vehicle, "vehicle_id": code})
    if faults:
        raise Refused(faults)
    missing = missing_required(TABLES["vehicles"], values)
    if missing:
        raise Refused(
            [
                Fault("vehicles", None, column, "", f"{code} is not in the register yet: give her {column}.")
                for column in missing
            ]
        )
    given = {column: text for column, text in vehicle.items() if text.strip()}
    built, heritage = values["built"].edtf, values.get("heritage_from")
    return ListAnswers(code, given, day, built, _day_of(heritage.edtf if heritage else "", built), prefix)


def _day_of(edtf: str, built: str) -> str:
    """``as built`` said of another date is the date of building."""
    return built if edtf == AS_BUILT else edtf


def preview(proposal: Proposal, *, keep: Keep = "") -> Overlaid:
    """The register as ``accept`` would make it now, with every fault and conflict; writes nothing."""
    found = _compared(proposal, keep)
    result = change_sets.preview(found.changes)
    result.conflicts = found.conflicts
    return result


def accept(
    proposal: Proposal,
    *,
    user: User | None = None,
    token: str | None = None,
    keep: Keep = "",
    reason: str = "",
) -> tuple[Act | None, Overlaid]:
    """Enter what was proposed, in one act, and remember the choices. The act is None where nothing was to
    change.

    keep: "file" (the list has its way) or "register", where the register changed what the list changed too,
    or one of them for each ``Conflict.field``. Raises Refused with every fault, or Conflicted; nothing is
    stored then, nor remembered.
    """
    why = reason or f"list {proposal.sheet.name}"
    with transaction.atomic():
        found = _compared(proposal, keep)
        if found.conflicts:
            raise Conflicted(found.conflicts)
        act, result = change_sets.apply(found.changes, kind=KIND, user=user, reason=why, token=token)
        _remember(proposal, user)
    return act, result


def _compared(proposal: Proposal, keep: Keep) -> Changes:
    """With the register as it is now, which may have changed since the list was proposed."""
    earlier = recall(proposal.choices, proposal.answers.vehicle_id)
    return changes_of(proposal.rows, earlier.rows, keep=keep)


def _remember(proposal: Proposal, user: User | None) -> None:
    """Lines that were left out are as they were: what was accepted of them before, if anything."""
    earlier = recall(proposal.choices, proposal.answers.vehicle_id).rows
    left = {row.key for line in proposal.lines if line.line in proposal.left_out for row in line.rows}
    kept = {key: row for key, row in earlier.items() if key in left or row["table"] == "vehicles"}
    rows = kept | {row.key: {"table": row.table, "values": dict(row.values)} for row in proposal.rows}
    answers = proposal.answers
    remember(
        proposal.choices,
        answers.vehicle_id,
        Remembered(proposal.drafted.ids, rows, answers.prefix, proposal.given),
        proposal.questions,
        name=proposal.sheet.name,
        day=answers.day,
        user=user,
    )


def as_workbook(proposal: Proposal, path: Path, *, overwrite: bool = False) -> None:
    """All that the list amounts to as a workbook of the exchange format, the doubtful cells marked, the
    questions on its first sheet. An import of it makes what ``accept`` makes. OSError with a sentence where
    the file is there."""
    write_marked_workbook(
        path, proposal.rows, proposal.questions, row_ids=proposal.row_ids, overwrite=overwrite
    )
