"""What the navigation holds for each role: all that the role may open, the seldom used behind the rest where they are many."""

from __future__ import annotations

import re

import pytest

pytestmark = pytest.mark.django_db

ENTRIES = {
    "recorder": (["Vehicles", "Parts", "Sources", "Places", "Record"], []),
    "engineer": (["Vehicles", "Parts", "Sources", "Places", "Proposals", "Statements", "Record"], []),
    "officer": (["Vehicles", "Parts", "Sources", "Proposals", "Statements", "Record", "Review"], ["Places", "People", "Import"]),
    "administrator": (["Vehicles", "Parts", "Sources", "Proposals", "Statements", "Accounts"], ["Places", "People", "Import"]),
}


def links(markup: str) -> list[str]:
    return re.findall(r'<li><a href="/[^"]*"(?: aria-current="page")?>([^<]+)</a></li>', markup)


@pytest.mark.parametrize("role", ENTRIES)
def test_everything_that_a_role_may_open_is_there_once_in_the_head_and_once_in_the_menu(role, sign_in):
    client = sign_in(role)
    page = client.get("/").content.decode()
    beside, behind = ENTRIES[role]
    head, menu = (page[page.index(f'<nav class="nav" aria-label="{name}">') :].partition("</nav>")[0] for name in ("Main", "Menu"))
    assert links(head) == links(menu) == [*beside, *behind]
    assert ("<summary>More</summary>" in head) is bool(behind) and "<summary>" not in menu
    assert links(head.partition("<summary>More</summary>")[2]) == behind
    for address in re.findall(r'<li><a href="([^"]+)"', head):
        assert client.get(address).status_code == 200


def test_the_entry_of_the_page_that_is_open_is_marked_wherever_it_stands(officer):
    page = officer.get("/people/").content.decode()
    assert page.count('<a href="/people/" aria-current="page">People</a>') == 2


def test_an_empty_register_leads_a_new_officer_to_all_beginnings(officer):
    page = officer.get("/").content.decode()
    for address in ("/new-vehicle/", "/lists/", "/export/blank.xlsx", "/import/"):
        assert f'href="{address}"' in page[page.index("<main") :]
