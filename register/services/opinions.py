"""Differing opinions that stand beside an accepted assessment: draft assessments that the officer let stand. They count
in no figure, and are told wherever the part is told of until they are withdrawn or settled."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from register.fabric.dates import in_words
from register.models import ChangeSet, Person
from register.models.change_set import STANDING
from register.services.loading import draft_row


@dataclass(frozen=True, slots=True)
class Opinion:
    """number, author: of its change set, and of the account that handed it in. part: its key. person: whose it is, None
    where nobody is named. fraction: low, best, high in millionths."""

    number: int
    part: str
    status: str
    day: str
    person: Person | None
    fraction: tuple[int | None, int | None, int | None]
    reason: str
    author: int | None

    @property
    def in_public_words(self) -> str:
        """``our recorder, 20 November 2026: replica``, as the person agreed to be called."""
        who = self.person.public_as if self.person and self.person.public_as else "another person"
        return f"{who}, {self.day}: {self.status}"


def opinions_on(parts: Iterable[str]) -> list[Opinion]:
    """Those that stand on any of these parts, by part and day, in two queries."""
    rows = [
        (change_set, draft_row(change_set))
        for change_set in ChangeSet.objects.filter(state=STANDING, part__in=list(parts), row_id__isnull=False)
    ]
    people = Person.objects.in_bulk({row["assessor"] for _, row in rows if row["assessor"]})
    return [
        Opinion(
            change_set.pk,
            change_set.part,
            row["status"],
            in_words(row["assessed_on"].edtf),
            people.get(row["assessor"] or ""),
            (row["fraction_low"], row["fraction"], row["fraction_high"]),
            row["reason"] or "",
            change_set.author_id,
        )
        for change_set, row in sorted(rows, key=lambda one: (one[0].part, one[0].day, one[0].pk))
    ]
