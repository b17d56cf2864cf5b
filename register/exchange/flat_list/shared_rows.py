"""The rows of a list that belong to no single line: the vehicle, assemblies, the list as a source, books
it names."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from register.exchange.flat_list.answers import Context
from register.exchange.flat_list.facts import documents_of, person_in_brackets, years_in
from register.exchange.flat_list.results import Question, RowDraft
from register.exchange.flat_list.things import Thing

UNREAD = "what kind of document it is; entered with the least weight until somebody looks"


class SharedRows:
    """Read ``rows`` (in the order in which they were named) and ``questions`` at the end."""

    def __init__(self, context: Context) -> None:
        self.context = context
        self._rows: dict[str, RowDraft] = {}
        self._questions: dict[str, Question] = {}

    @property
    def rows(self) -> tuple[RowDraft, ...]:
        return tuple(self._rows.values())

    @property
    def questions(self) -> list[Question]:
        return list(self._questions.values())

    def add(
        self, table: str, ident: str, values: Mapping[str, str], doubts: Mapping[str, str] | None = None
    ) -> None:
        key = f"{table}:{ident}"
        filled = {column: text for column, text in values.items() if text}
        self._rows.setdefault(key, RowDraft(key, table, filled, None, doubts or {}))

    def take(self, rows: Iterable[RowDraft]) -> None:
        for row in rows:
            self._rows.setdefault(row.key, row)

    def vehicle(self) -> None:
        """Only where the register does not have her yet."""
        if self.context.answers.vehicle:
            code = self.context.vehicle
            self.add("vehicles", code, {**self.context.answers.vehicle, "vehicle_id": code})

    def section(self, name: str) -> None:
        """An assembly: a position without a part, above those of its things."""
        ident = self.context.ids.of("positions", name)
        visibility = self.context.choices.visibility
        values = {
            "position_id": ident,
            "vehicle_id": self.context.vehicle,
            "name": name,
            "visibility": visibility,
        }
        self.add("positions", ident, values)

    def list_source(self, title: tuple[str, ...], name: str) -> None:
        """The list itself, and the books that its title names."""
        text = " ".join(title)
        ident, years = self.context.id("LIST"), years_in(text)
        values = {
            "source_id": ident,
            "kind": "testimony",
            "title": f"List: {'; '.join(title) or name}",
            "author": person_in_brackets(text),
            "date": years,
            "access": "restricted",
        }
        self.add("sources", ident, values, {"date": "from the title of the list"} if years else {})
        self.books(text)

    def books(self, text: str, thing: Thing | None = None) -> None:
        """Books that a title or a remark names: sources, uncited until somebody has looked what they say."""
        for title, page in documents_of(text):
            ident = self.context.ids.of("sources", title)
            values = {"source_id": ident, "kind": "testimony", "title": title, "access": "restricted"}
            self.add("sources", ident, values, {"kind": UNREAD})
            asked = f"What is the {title}, and who keeps it?"
            if page:
                asked = f"The {title}, {page}: what does it say, and for or against what?"
            about = (thing.line, thing.number, thing.name) if thing else (None, "", "")
            key = f"{ident} {page or 'kind'}"
            self._questions.setdefault(key, Question(key, "source", asked, text, "", *about))
