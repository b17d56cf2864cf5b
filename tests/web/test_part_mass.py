"""The calculator of a part's mass: what it shows is what it stores, and the dimensions stay with the record."""

from __future__ import annotations

import pytest
from builders import tiny, write_folder

from register.models import Act, Part
from register.services.import_register import import_register

pytestmark = pytest.mark.django_db

BAR = "shape=round&material=wrought-iron&diameter=2+in&length=3+ft+6+in"


@pytest.fixture
def parts(tmp_path):
    tables = tiny(parts=[{"part_id": "SET", "name": "bolts", "quantity": "6"}, {"part_id": "HID", "name": "CANARY", "access": "restricted"}])
    tables["parts"][0] |= {"remarks": "Found in the loft."}
    import_register(write_folder(tmp_path / "parts", tables))


def posted(page):
    return dict(page.context["hidden"]) | {"token": page.context["token"], "base_no": page.context["base_no"]}


def test_the_mass_that_is_shown_is_the_mass_that_is_stored(parts, officer):
    page = officer.get(f"/parts/p1/mass/?{BAR}")
    worked = page.context["worked"]
    # 2 in round iron, 42 in long: π/4 · 4 · 42 in³ = 131.947 in³; 7,700 kg/m³ makes 16.649 kg (worked by hand)
    assert worked.mass.best == pytest.approx(16_649, abs=1)
    answer = officer.post("/parts/p1/mass/", posted(page))
    assert answer.status_code == 302 and answer.url == "/parts/p1/"
    part = Part.objects.get(key="p1")
    assert (part.mass_low, part.mass, part.mass_high) == (worked.mass.low, worked.mass.best, worked.mass.high)
    assert part.mass_basis == "calculated"
    assert part.remarks.splitlines() == ["Found in the loft.", "Mass from dimensions: round bar, diameter 2 in, length 3 ft 6 in; wrought iron, 7,600 to 7,800 kg/m³."]


def test_the_next_calculation_takes_the_place_of_the_line_of_the_last(parts, officer):
    for length in ("3 ft", "4 ft"):
        page = officer.get("/parts/p1/mass/", {"shape": "round", "material": "steel", "diameter": "2 in", "length": length})
        officer.post("/parts/p1/mass/", posted(page))
    assert Part.objects.get(key="p1").remarks.count("Mass from dimensions") == 1
    assert "length 4 ft" in Part.objects.get(key="p1").remarks
    assert Part.history.filter(key="p1").count() == 3


def test_a_set_is_worked_out_whole(parts, officer):
    one = officer.get(f"/parts/p1/mass/?{BAR}").context["worked"].mass
    six = officer.get(f"/parts/set/mass/?{BAR}").context["worked"].mass
    assert six.best == pytest.approx(6 * one.best, abs=6)


@pytest.mark.parametrize("query", ["shape=tube&outside=3+in&wall=2+in&length=1+m", "shape=round&diameter=5&length=1+m", "shape=round&diameter=%00&length=1+m", "shape=round&diameter=" + "9" * 10_000 + "&length=1+m",
                                   "shape=plate&length=1+m&width=&thickness=1+mm", BAR + "&quantity=0", BAR + "&fill=2", BAR + "&fill=0.7-0.2", BAR + "&fill=--", "shape=round&diameter=1-3/8+in&length=1+m"])
def test_what_cannot_be_measured_is_said_beside_its_field(query, parts, officer):
    answer = officer.get(f"/parts/p1/mass/?{query}")
    text = answer.content.decode()
    assert answer.status_code == 422 and "<title>Error:" in text and 'href="#f-' in text and answer.context["worked"] is None


@pytest.mark.parametrize("query", ["", "shape=sphere", "material=unobtainium", "shape=volume", "quantity=3"])
def test_nothing_typed_is_no_error(query, parts, officer):
    assert officer.get(f"/parts/p1/mass/?{query}").status_code == 200


def test_a_double_tap_makes_one_record_and_a_stale_page_a_comparison(parts, officer):
    first, stale = (officer.get(f"/parts/p1/mass/?{BAR}") for _ in range(2))
    for _ in range(2):
        officer.post("/parts/p1/mass/", posted(first))
    assert Part.history.filter(key="p1").count() == 2 and Act.objects.count() == 2
    officer.post("/change/parts/p1/", {"mass": "70 kg", "mass_low": "", "mass_high": ""})
    answer = officer.post("/parts/p1/mass/", posted(stale))
    assert answer.status_code == 409 and Part.objects.get(key="p1").mass == 70_000
    officer.post("/parts/p1/mass/", posted(answer) | {"keep": "mine"})
    assert Part.objects.get(key="p1").mass_basis == "calculated" and Part.objects.get(key="p1").mass != 70_000


def test_a_post_of_nothing_stores_nothing(parts, officer):
    assert officer.post("/parts/p1/mass/", {}).status_code in (200, 422)
    assert officer.post("/parts/p1/mass/", {"shape": "round", "diameter": "1 in", "length": "x"}).status_code == 422
    assert Act.objects.count() == 1


def test_a_restricted_part_is_not_there_for_a_recorder(parts, sign_in):
    assert sign_in("recorder").get("/parts/hid/mass/").status_code == 404
    assert sign_in("officer").get("/parts/hid/mass/").status_code == 200
    assert sign_in("officer").get("/parts/nobody/mass/").status_code == 404
    assert sign_in("administrator").post("/parts/p1/mass/", {}).status_code == 403
