"""The search page: what answers, grouped by kind; nothing of what the reader may not know, not even that it is there."""

from __future__ import annotations

import re

import pytest
from builders import change, changes_of, tiny
from django.db import connection
from django.test.utils import CaptureQueriesContext

from register.services.change_sets import apply
from register.services.search import search

pytestmark = pytest.mark.django_db

ROWS = tiny(
    people=[{"person_id": "OWNR", "name": "Zephyrine Quux", "public_as": "a friend"}],
    vehicles=[{"vehicle_id": "W31", "name": "Gŵr y Môr", "number": "31", "former_numbers": "112;B 407", "kind": "wagon", "built": "1901", "owner": "OWNR", "title_notes": "Vellumnote"}],
    parts=[{"part_id": "P10", "name": "Buffer, Łódź pattern", "marks": "GP 361"}, {"part_id": "P11", "name": "Xylophone bracket", "marks": "XYL-77", "access": "restricted", "material": "yttrium"},
           {"part_id": "P12", "name": "Lever", "owner": "OWNR", "remarks": "Remarkword"}],
    positions=[{"position_id": "Q9", "vehicle_id": "L1", "name": "Left-hand leading sandbox", "visibility": "in view"}, {"position_id": "Q8", "vehicle_id": "L1", "name": "box", "visibility": "hidden"}],
    installations=[{"position_id": "Q8", "part_id": "P11", "fitted": "1990"}],
    sources=[{"source_id": "S9", "kind": "ledger", "title": "Boiler book", "reference": "DR 12/4"}, {"source_id": "S8", "kind": "testimony", "title": "Wombatledger", "access": "restricted", "author": "Numbatauthor"}],
    citations=[{"part_id": "P1", "source_id": "S8", "note": "Koalanote"}, {"part_id": "P11", "source_id": "S9"}],
)  # fmt: skip


@pytest.fixture
def register(db):
    apply(changes_of(ROWS), kind="import", whole=True)


def links(answer):
    """The addresses that the answers lead to, in their order."""
    main = answer.content.decode().split("<main", 1)[1].split("</main", 1)[0]
    return re.findall(r'<li><a href="([^"]+)"', main)


ANSWERS = {"412 in no form": ("nothing-like-it", []), "a number": ("31", ["/vehicles/w31/"]), "a former number": ("b407", ["/vehicles/w31/"]), "Welsh typed plainly": ("GWR Y MOR", ["/vehicles/w31/"]),
           "Polish typed plainly": ("lodz", ["/parts/p10/"]), "a mark": ("gp361", ["/parts/p10/"]), "a position": ("sandbox", ["/vehicles/l1/?find=Q9#positions"])}  # fmt: skip


@pytest.mark.parametrize("what", ANSWERS)
def test_what_was_asked_for_is_found(what, register, sign_in):
    text, expected = ANSWERS[what]
    assert links(sign_in("recorder").get("/search/", {"q": text})) == expected


def test_a_position_found_is_shown_on_the_page_of_its_vehicle(register, officer):
    page = officer.get("/vehicles/l1/?find=Q9").content.decode()
    assert "1 position answers" in page and "Left-hand leading sandbox" in page


def test_the_boxes_at_the_head_and_in_the_menu_lead_there_and_keep_what_was_typed(register, officer):
    page = officer.get("/search/", {"q": "sandbox"}).content.decode()
    assert page.count('action="/search/"') == 2
    assert page.count('value="sandbox"') == 3


def test_many_of_one_kind_are_a_link_away_a_page_at_a_time(register, officer):
    apply([change("parts", part_id=f"N{at:03}", name=f"nut {at}") for at in range(70)], kind="test")
    first = officer.get("/search/", {"q": "nut"})
    assert len(links(first)) == 10 and "/search/?q=nut&amp;in=parts" in first.content.decode()
    assert len(links(officer.get("/search/?q=nut&in=parts"))) == 50
    assert len(links(officer.get("/search/?q=nut&in=parts&page=2"))) == 20


# Private columns and restricted rows: asking is not a way of finding out

PRIVATE = {
    "an owner's name": ("Zephyrine", ("recorder", "engineer"), "officer"),
    "a restricted part's name": ("Xylophone", ("recorder",), "engineer"),
    "a restricted part's mark": ("XYL-77", ("recorder",), "engineer"),
    "a restricted part's id": ("P11", ("recorder",), "engineer"),
    "a restricted part's material": ("yttrium", ("recorder",), "engineer"),
    "a restricted source's title": ("Wombatledger", ("recorder",), "engineer"),
    "a restricted source's author": ("Numbatauthor", ("recorder",), "engineer"),
}
NOWHERE = ("Vellumnote", "Remarkword", "Koalanote")
"""Notes that no search looks into, for anybody."""
PLACES = ("/search/?q={}", "/search/?q={}&in=parts", "/search/?q={}&in=people", "/?q={}", "/vehicles/l1/?find={}", "/parts/?q={}", "/sources/?q={}")
UNKNOWN = "Qwertzuiop"


def told(client, address, word):
    """What a page says about a word, without the word itself and what is new each time."""
    text = client.get(address.format(word)).content.decode()
    return re.sub(r'csrfmiddlewaretoken" value="[^"]+"', "", text).replace(word, "")


@pytest.mark.parametrize("what", PRIVATE)
def test_a_private_value_asked_for_is_answered_like_a_word_that_is_nowhere(what, register, sign_in):
    word, roles, reader = PRIVATE[what]
    for role in roles:
        client = sign_in(role)
        for address in PLACES:
            assert told(client, address, word) == told(client, address, UNKNOWN), f"{role} can find out {what} at {address}"
    assert links(sign_in(reader).get("/search/", {"q": word})), "whoever may read it finds it, so that this test can fail"


@pytest.mark.parametrize("word", NOWHERE)
@pytest.mark.parametrize("role", ["recorder", "engineer", "officer"])
def test_notes_are_not_searched(word, role, register, sign_in):
    client = sign_in(role)
    for address in PLACES:
        assert told(client, address, word) == told(client, address, UNKNOWN), address


def test_a_restricted_part_is_not_found_by_way_of_a_source_either(register, sign_in):
    assert links(sign_in("recorder").get("/search/?q=boiler+book")) == ["/sources/s9/"]
    assert links(sign_in("engineer").get("/search/?q=boiler+book")) == ["/sources/s9/", "/parts/p11/"]


def test_whoever_may_read_names_finds_a_person_and_what_is_theirs(register, officer):
    assert links(officer.get("/search/?q=quux")) == ["/people/#ownr", "/vehicles/w31/", "/parts/p12/"]


def test_nothing_private_is_searched_unless_it_is_asked_for(register):
    assert search(text="Zephyrine") == [] and search(text="Xylophone") == []


@pytest.mark.parametrize("text", ["", "  ", "\x00", "%00", "?!", "a" * 10_000, "<script>alert(1)</script>", "'; --", "\u202e", "é" * 500])
def test_odd_questions_are_answered_in_words(text, register, officer):
    answer = officer.get("/search/", {"q": text, "in": text, "page": text})
    assert answer.status_code == 200 and b"<script>alert" not in answer.content


def test_the_queries_do_not_grow_with_what_is_found(register, officer):
    counts = []
    for more in (0, 300):
        apply([change("parts", part_id=f"N{more}-{at}", name=f"sandbox nut {at}") for at in range(more + 1)], kind="test")
        officer.get("/search/?q=sandbox")
        with CaptureQueriesContext(connection) as queries:
            officer.get("/search/?q=sandbox")
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 12, counts
