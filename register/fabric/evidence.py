"""How well an assessment is evidenced: the strength of its citations (method, section 7)."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

DOCUMENTED, CORROBORATED, ATTRIBUTED, UNEVIDENCED = 3, 2, 1, 0

DOCUMENTS = frozenset({"mark", "drawing", "ledger", "test report"})
"""Kinds of source of which one alone documents an assessment."""

CORROBORATES_IF_DATED = frozenset({"photograph", "publication"})


class Citation(NamedTuple):
    """One use of a source for, or against, one assessment.

    kind: the kind of source (mark, drawing, ledger, test report, photograph, publication, testimony,
    inference). source: the key of the source. dated: whether the source bears a date.
    """

    kind: str
    source: str
    dated: bool = False
    supports: bool = True


def strength(citations: Iterable[Citation]) -> tuple[int, bool]:
    """(strength 0 to 3, disputed) of an assessment with these citations.

    Each citation that contradicts takes one off the strength, not below 0, and makes the part disputed.
    """
    supporting: list[Citation] = []
    against = 0
    for citation in citations:
        if citation.supports:
            supporting.append(citation)
        else:
            against += 1
    return max(UNEVIDENCED, _support(supporting) - against), against > 0


def _support(citations: list[Citation]) -> int:
    if any(citation.kind in DOCUMENTS for citation in citations):
        return DOCUMENTED
    if any(citation.kind in CORROBORATES_IF_DATED and citation.dated for citation in citations):
        return CORROBORATED
    if len({citation.source for citation in citations}) > 1:
        return CORROBORATED
    return ATTRIBUTED if citations else UNEVIDENCED
