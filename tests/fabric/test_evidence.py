"""The strength of an assessment: method, section 7, "Evidence floor"."""

from __future__ import annotations

import pytest

from register.fabric.evidence import Citation, strength


@pytest.mark.parametrize("kind", ["mark", "drawing", "ledger", "test report"])
def test_one_document_is_documented(kind: str) -> None:
    assert strength([Citation(kind, "s1")]) == (3, False)


@pytest.mark.parametrize("kind", ["photograph", "publication"])
def test_a_picture_or_publication_corroborates_only_if_dated(kind: str) -> None:
    assert strength([Citation(kind, "s1", dated=True)]) == (2, False)
    assert strength([Citation(kind, "s1")]) == (1, False)


@pytest.mark.parametrize("kind", ["testimony", "inference"])
def test_one_word_of_mouth_or_inference_attributes_dated_or_not(kind: str) -> None:
    assert strength([Citation(kind, "s1", dated=True)]) == (1, False)


def test_two_different_sources_corroborate_but_one_cited_twice_does_not() -> None:
    assert strength([Citation("testimony", "s1"), Citation("inference", "s2")]) == (2, False)
    assert strength([Citation("testimony", "s1"), Citation("testimony", "s1")]) == (1, False)


def test_no_citation_is_no_evidence() -> None:
    assert strength([]) == (0, False)


def test_each_contradiction_takes_one_off_and_makes_the_part_disputed() -> None:
    against = Citation("testimony", "s9", supports=False)
    assert strength([Citation("mark", "s1"), against]) == (2, True)
    assert strength([Citation("mark", "s1"), against, against]) == (1, True)
    assert strength([against, against]) == (0, True)


def test_what_contradicts_does_not_support() -> None:
    assert strength([Citation("testimony", "s1"), Citation("ledger", "s2", supports=False)]) == (0, True)
