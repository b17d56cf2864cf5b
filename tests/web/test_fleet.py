"""The fleet at a glance: filters and order in the address, bounds first, nothing set side by side by count."""

from __future__ import annotations

import re

import pytest
from builders import change, empty_the_register
from django.db import connection
from django.test.utils import CaptureQueriesContext

from register.services.change_sets import apply
from register.services.fleet import PAGE, SORTS, Asked, fleet_page

pytestmark = pytest.mark.django_db


def vehicle(key, *items, **more):
    """A vehicle whose items are (mass, status or "") each."""
    changes = [change("vehicles", vehicle_id=key, **({"name": f"Engine {key}", "kind": "locomotive", "built": "1894"} | more))]
    for at, (mass, status) in enumerate(items):
        place, part = f"{key}-Q{at}", f"{key}-P{at}"
        changes.append(change("positions", position_id=place, vehicle_id=key, name=f"place {at}", visibility="in view"))
        changes.append(change("parts", part_id=part, name=f"part {at}", **({"mass": mass} if mass else {})))
        changes.append(change("installations", position_id=place, part_id=part, fitted="as built"))
        if status:
            changes.append(change("assessments", part_id=part, assessed_on="2020-01-01", status=status))
    return changes


@pytest.fixture
def four(db):
    """Bounds by hand: ALL 100 to 100; HALF 50 to 50; OPEN 25 to 100 (three quarters not assessed); NONE 0 to 0. By
    count HALF would be 1 of 5 and OPEN 1 of 2: in another order."""
    apply(
        [
            *vehicle("ALL", ("10 kg", "original"), number="12", built="1901", published="yes"),
            *vehicle("HALF", ("40 kg", "original"), *[("10 kg", "replica")] * 4, number="9", name="Ŵyn", kind="wagon", built="1889", former_numbers="B 407"),
            *vehicle("OPEN", ("10 kg", "original"), ("30 kg", ""), number="100", built="c. 1880"),
            *vehicle("NONE", ("10 kg", "replica"), built="1950"),
            *vehicle("BARE", ("", "original"), built="1960"),
            *vehicle("DONOR", ("10 kg", "original"), number="1", in_fleet="no", summary="gave a wheel", kind="wagon"),
        ],
        kind="import",
        whole=True,
    )  # fmt: skip


def shown(client, **asked):
    """The vehicles of the table, and those that stand apart, in the order of the page."""
    text = client.get("/", asked).content.decode()
    main, _, apart = text.split("<main", 1)[1].partition("Not in the fleet</h2>")
    return re.findall(r'href="/vehicles/(\w+)/', main), re.findall(r'href="/vehicles/(\w+)/', apart)


ORDERS = {
    "number": ["half", "all", "open", "bare", "none"],
    "name": ["all", "bare", "none", "open", "half"],
    "built": ["open", "half", "all", "none", "bare"],
    "most": ["all", "half", "open", "none", "bare"],
    "least": ["none", "half", "open", "all", "bare"],
    "doubt": ["open", "none", "half", "all", "bare"],
}


@pytest.mark.parametrize("sort", SORTS)
def test_the_order_is_what_was_asked_for(sort, four, officer):
    """9 stands before 12 and 100; what has no figure comes last in the orders by bounds."""
    assert shown(officer, sort=sort) == (ORDERS[sort], ["donor"])


@pytest.mark.parametrize("basis", ["count", "significance", "nonsense"])
@pytest.mark.parametrize("sort", SORTS)
def test_no_order_and_no_figure_is_by_count_whatever_the_address_asks(sort, basis, four, officer):
    assert shown(officer, sort=sort, basis=basis) == shown(officer, sort=sort)
    assert "by count" not in officer.get("/", {"sort": sort, "basis": basis}).content.decode()


FILTERS = {
    "a kind": ({"kind": "wagon"}, ["half"], ["donor"]),
    "only the fleet": ({"fleet": "yes"}, ORDERS["number"], []),
    "only the others": ({"fleet": "no"}, [], ["donor"]),
    "published": ({"published": "yes"}, ["all"], []),
    "not published": ({"published": "no", "fleet": "yes"}, ["half", "open", "bare", "none"], []),
    "a former number without its space": ({"q": "b407"}, ["half"], []),
    "a name without its accent": ({"q": "wyn"}, ["half"], []),
    "more than half not assessed, or not known how much": ({"unassessed": "50"}, ["open", "bare"], ["donor"]),
    "75 is not more than 75": ({"unassessed": "75 %", "fleet": "yes"}, ["bare"], []),
    "two at once": ({"kind": "wagon", "published": "yes"}, [], []),
}


@pytest.mark.parametrize("what", FILTERS)
def test_a_filter_in_the_address(what, four, officer):
    asked, fleet, apart = FILTERS[what]
    assert shown(officer, **asked) == (fleet, apart)


def test_the_form_gives_back_what_was_asked(four, officer):
    page = officer.get("/", {"q": "eng", "kind": "locomotive", "fleet": "yes", "published": "no", "unassessed": "5", "sort": "doubt", "as_at": "1950"}).content.decode()
    for said in ('value="eng"', '"locomotive" selected', 'value="yes" selected', 'value="no" selected', 'name="unassessed" value="5"', '"doubt" selected'):
        assert said in page, said


def test_a_day_that_was_asked_for_is_handed_on_to_the_vehicles(four, officer):
    assert "/vehicles/all/?as_at=1950-05-12" in officer.get("/?as_at=12+May+1950").content.decode()
    assert 'href="/vehicles/all/"' in officer.get("/").content.decode()


@pytest.mark.parametrize("typed", ["-1", "100", "a few", "1.5", "１２", "9" * 5000, "\x00"])
def test_a_share_that_cannot_be_read_is_said_and_nothing_is_left_out(typed, four, officer):
    answer = officer.get("/", {"unassessed": typed})
    text = answer.content.decode()
    assert answer.status_code == 200 and "<title>Error:" in text and "a whole number from 0 to 99" in text
    assert len(re.findall(r'<th scope="row"><a href="/vehicles/', text)) == 5


@pytest.mark.parametrize("query", ["sort=best", "sort=count", "kind=ship", "fleet=maybe", "published=x", "page=-3", "page=99999", "page=%00", "q=" + "a" * 9000, "q=%00", "as_at=1900-02-30"])
def test_nonsense_in_the_address_never_breaks_the_page(query, four, officer):
    assert officer.get("/?" + query).status_code == 200


def test_bounds_stand_before_the_best_figure(four, officer):
    text = officer.get("/?q=open").content.decode().replace("\xa0", " ")
    bounds, best = text.index('data-label="Bounds, %">25.0–100.0'), text.index('data-label="Best">not enough assessed')
    assert bounds < best


def test_a_large_fleet_comes_a_page_at_a_time(db, officer):
    apply([one for at in range(60) for one in vehicle(f"V{at}", number=str(at + 1))], kind="import", whole=True)
    assert shown(officer)[0] == [f"v{at}" for at in range(PAGE)]
    assert shown(officer, page=3)[0] == [f"v{at}" for at in range(50, 60)]
    assert shown(officer, page=3, sort="doubt")[0] == shown(officer, page=3)[0], "without figures, by number"


def test_many_that_are_not_in_the_fleet_are_a_link_away(db, officer):
    apply([one for at in range(70) for one in vehicle(f"D{at}", in_fleet="no", number=str(at + 1))], kind="import", whole=True)
    assert len(set(shown(officer)[1])) == 20
    text = officer.get("/").content.decode()
    assert "50 more that are not in the fleet" in text and '?fleet=no"' in text
    assert len(re.findall(r'<li><a href="/vehicles/', officer.get("/?fleet=no&page=2").content.decode())) == 20


@pytest.mark.parametrize("query", ["", "?sort=doubt", "?unassessed=10&q=place"])
def test_the_queries_are_the_same_for_three_vehicles_and_thirty(query, officer):
    counts = []
    for number in (3, 30):
        empty_the_register()
        apply([one for at in range(number) for one in vehicle(f"V{at}", ("1 kg", "original"), ("2 kg", ""))], kind="import", whole=True)
        officer.get("/" + query)
        with CaptureQueriesContext(connection) as queries:
            officer.get("/" + query)
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 12, counts


def test_a_page_holds_the_figures_of_its_own_day(four):
    from datetime import date

    before = fleet_page(Asked(), day=date(1850, 1, 1))
    assert all(one.view.figures.items == 0 for one in before.entries)
