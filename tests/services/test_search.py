"""Search: by number, mark, name, former number, tag, maker and source; in spite of case, accents, spaces and signs."""

from __future__ import annotations

import pytest
from builders import change, changes_of, tiny
from hypothesis import given
from hypothesis import strategies as st

from register.models import Part, Position, Vehicle
from register.services.change_sets import apply
from register.services.search import folded, search
from register.services.structure_merge import merge_parts

ROWS = tiny(
    vehicles=[{"vehicle_id": "W31", "name": "Gŵr y Môr", "number": "31", "former_numbers": "112;B 407", "kind": "wagon", "built": "1901", "builder": "Harl & Tew", "works_number": "88"}],
    parts=[{"part_id": "P10", "name": "Buffer, Łódź pattern", "marks": "GP 361 cast in rim", "maker": "Brüder Ågård"}, {"part_id": "P11", "name": "Spare buffer", "date_mark": "R 1987", "material": "cast iron"},
           {"part_id": "P112", "name": "Gauge glass"}, {"part_id": "P12", "name": "Plate", "marks": "112"}],
    positions=[{"position_id": "Q9", "vehicle_id": "L1", "name": "Left-hand leading sandbox", "visibility": "in view"}],
    sources=[{"source_id": "S9", "kind": "ledger", "title": "Boiler book", "reference": "DR 12/4", "author": "T. Wherry"}],
    citations=[{"part_id": "P1", "source_id": "S9"}],
)  # fmt: skip


@pytest.fixture
def register(db):
    apply(changes_of(ROWS), kind="import", whole=True)


def found(text, **asked):
    return [(hit.table, hit.code) for hit in search(text=text, **asked)]


ANSWERS = {
    "a number": ("31", ("vehicles", "W31"), "number"),
    "an id in lower case": ("w31", ("vehicles", "W31"), "id"),
    "a former number": ("b 407", ("vehicles", "W31"), "former number"),
    "a former number without its space": ("B407", ("vehicles", "W31"), "former number"),
    "a works number": ("88", ("vehicles", "W31"), "works number"),
    "a mark": ("gp361", ("parts", "P10"), "marks"),
    "a date mark": ("r.1987", ("parts", "P11"), "date mark"),
    "a maker without his accents": ("bruder agard", ("parts", "P10"), "maker"),
    "a name in Polish, typed plainly": ("lodz", ("parts", "P10"), "name"),
    "a name in Welsh, typed plainly": ("GWR Y MOR", ("vehicles", "W31"), "name"),
    "a name in Welsh, as it is": ("gŵr y môr", ("vehicles", "W31"), "name"),
    "a builder": ("harl tew", ("vehicles", "W31"), "builder"),
    "a position": ("sandbox", ("positions", "Q9"), "name"),
    "words in another order": ("leading left", ("positions", "Q9"), "name"),
    "words in two columns": ("buffer 361", ("parts", "P10"), "name"),
    "a source by its number": ("DR12/4", ("sources", "S9"), "reference"),
    "a source by its author": ("wherry", ("sources", "S9"), "author"),
    "number and name together": ("no 31 gwr", ("vehicles", "W31"), "name"),
    "the number as it is called": ("No. 31", ("vehicles", "W31"), "name"),
    "a source's id": ("s-9", ("sources", "S9"), "id"),
    "part of a word": ("andbo", ("positions", "Q9"), "name"),
}


@pytest.mark.parametrize("what", ANSWERS)
def test_found_by(what, register):
    text, record, column = ANSWERS[what]
    first = search(text=text)[0]
    assert ((first.table, first.code), first.column) == (record, column)


def test_a_tag_is_found_as_it_is_read_aloud(register):
    for model, table in ((Vehicle, "vehicles"), (Position, "positions"), (Part, "parts")):
        record = model.objects.order_by("key").last()
        spoken = f" {record.tag[:4].lower()} {record.tag[4:].lower()} "
        assert found(spoken)[0] == (table, record.code)


def test_what_is_the_number_itself_comes_before_what_only_begins_so(register):
    assert found("112")[:2] == [("vehicles", "W31"), ("parts", "P12")]


def test_a_number_is_not_found_within_another(register):
    """12 is not meant by 112, nor 987 by 1987: the part whose id is P12 has another number on it."""
    assert not {"P112", "P12"} & {code for _, code in found("12", tables=("parts",))}
    assert not found("987", tables=("parts",))
    assert ("parts", "P11") in found("1987", tables=("parts",))


def test_the_parts_that_a_source_speaks_of_are_found_by_the_source(register):
    assert found("boiler book") == [("sources", "S9"), ("parts", "P1")]
    assert search(text="boiler book")[1].text == "S9, Boiler book"
    assert found("boiler book", tables=("parts",)) == [("parts", "P1")]


def test_an_id_typed_with_its_hyphen_is_one_word(register):
    """S-19 does not mean whatever has an s somewhere and a 19 elsewhere, such as the spare buffer of 1987."""
    assert found("S-19") == []


def test_every_word_must_be_there(register):
    assert found("buffer") == [("parts", "P10"), ("parts", "P11")] and found("buffer boiler") == []


@pytest.mark.parametrize("nothing", ["", "   ", "?!", "\x00", "%", "_", "'; --", "é" * 3000, "𝒳" * 40, "\u202e"])
def test_odd_questions_find_nothing_and_harm_nothing(nothing, register):
    assert search(text=nothing) == []


def test_a_merged_id_finds_the_part_it_leads_to(register, django_user_model):
    user = django_user_model.objects.create(username="officer")
    choices = {"parts.name": "keep"}
    merge_parts(duplicate_id="P11", into_id="P10", choices=choices, user=user, reason="one buffer")
    merge_parts(duplicate_id="P10", into_id="P12", choices={**choices, "parts.marks": "keep"}, user=user, reason="one again")
    first = search(text="p11")[0]
    assert (first.code, first.alias, first.rank) == ("P12", "P11", 0)


def test_the_answers_are_few_and_the_queries_do_not_grow_with_the_register(register, django_assert_num_queries):
    apply([change("parts", part_id=f"N{at}", name=f"nut {at}") for at in range(70)], kind="test")
    with django_assert_num_queries(6):
        assert len(search(text="nut")) == 50
    assert [hit.code for hit in search(text="nut", limit=2)] == ["N0", "N1"]


@given(st.text(max_size=30))
def test_folding_once_is_folding_for_good(text):
    assert folded(folded(text)) == folded(text)


@given(st.text("abcxyzéÉøØłŁŵŴß 0123456789-/.", max_size=30))
def test_neither_case_nor_accents_nor_signs_matter(text):
    assert folded(text.upper()) == folded(text.lower()) == folded(text)
    assert folded(text.replace("é", "e").replace("ł", "l").replace("-", " ")) == folded(text)
