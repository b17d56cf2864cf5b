"""What is made of a list, for a person to look through: drafts of rows, what became of each line, and
questions."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from register.exchange.schema import TABLES


@dataclass(frozen=True, slots=True)
class RowDraft:
    """One row of the exchange format, as texts; columns that it leaves out are empty.

    key: tells the row again in a later import of the same list. line: of the list, None for what belongs to
    none. doubts: column to why a careful reader would look at that cell again, also where the cell is empty.
    """

    key: str
    table: str
    values: Mapping[str, str]
    line: int | None = None
    doubts: Mapping[str, str] = field(default_factory=dict)

    @property
    def own_id(self) -> str:
        """The id that the row gives itself, "" where its table has none."""
        return self.values.get(TABLES[self.table].own_id, "")


@dataclass(frozen=True, slots=True)
class Question:
    """What the list does not say, or says in a way that cannot be taken.

    key: stable, such as ``W31-04 fitted``. about: the matter in one word or two. said: word for word.
    suggestion: what the answer probably is, "" where nothing is probable.
    """

    key: str
    about: str
    text: str
    said: str = ""
    suggestion: str = ""
    line: int | None = None
    number: str = ""
    item: str = ""


@dataclass(frozen=True, slots=True)
class LineOutcome:
    """What became of one line. kind: part, loose part, lost part, split, event, section, heading, blank,
    total, see above, no part, unclear. said: the whole line, word for word. made: in words."""

    line: int
    kind: str
    number: str = ""
    item: str = ""
    said: str = ""
    made: str = ""
    rows: tuple[RowDraft, ...] = ()
    questions: tuple[Question, ...] = ()


@dataclass(frozen=True, slots=True)
class Drafted:
    """A whole list. shared: rows that belong to no single line (vehicle, sources, assemblies, places).
    questions: about the list as a whole. ids: what tells a line again to the end of its ids."""

    lines: tuple[LineOutcome, ...]
    shared: tuple[RowDraft, ...]
    questions: tuple[Question, ...]
    ids: Mapping[str, str]

    def rows(self, without: Iterable[int] = ()) -> list[RowDraft]:
        """Every row, those of some lines left out, and with them assemblies and places that nothing else
        names."""
        left_out = set(without)
        kept = [row for line in self.lines if line.line not in left_out for row in line.rows]
        if not left_out:
            return [*self.shared, *kept]
        named = {("positions", row.values.get("parent_id")) for row in kept} | {
            ("places", row.values.get("place_id")) for row in kept
        }
        return [
            *(
                row
                for row in self.shared
                if row.table not in ("positions", "places") or (row.table, row.own_id) in named
            ),
            *kept,
        ]

    def all_questions(self) -> list[Question]:
        return [*self.questions, *(question for line in self.lines for question in line.questions)]
