"""Labels, tickets and walk-round sheets, read back as others read them: the codes by a decoder from the rendered page."""

from __future__ import annotations

import io
import shutil
import subprocess
from itertools import pairwise

import pytest
from builders import tiny, write_folder
from django.urls import reverse
from django.utils import timezone
from documents.reading import Read, squeezed
from PIL import Image
from reportlab.lib.units import mm

from register.documents.labels import TO_A_SHEET, TaggedThing, labels, wrapped
from register.documents.walk_round import QR_MM, WRITING, boxes, lines
from register.exchange.faults import Refused
from register.models import Part, Vehicle
from register.services.import_register import import_register
from register.services.papers import SHORT, Wanted, label_sheet, public_base, ticket_sheet, walk_round_sheet

BASE = "https://register.example"
NASTY = "bolt <M12> & \"nut\" 3/8 in ÷ ŵ ž λ Ж <img src='x.png'/>"
AT = timezone.make_aware(timezone.datetime(2026, 11, 25, 10, 52))


@pytest.fixture
def small(db, settings, tmp_path):
    settings.PUBLIC_BASE_URL = BASE
    import_register(write_folder(tmp_path / "tiny", tiny(
        positions=[{"position_id": "A", "vehicle_id": "L1", "name": "boiler", "visibility": "hidden"}, {"position_id": "A-2", "vehicle_id": "L1", "parent_id": "A", "name": "clack", "visibility": "hidden", "safety": "pressure"},
                   {"position_id": "A-1", "vehicle_id": "L1", "parent_id": "A", "name": "gauge", "visibility": "hidden"}],
        parts=[{"part_id": "CL", "name": NASTY, "hazards": "asbestos", "owner": "OWNER-CANARY"}, {"part_id": "HID", "name": "HIDDEN-CANARY", "access": "restricted"}],
        installations=[{"position_id": "A-2", "part_id": "CL", "fitted": "1950"}, {"position_id": "A-1", "part_id": "HID", "fitted": "1950"}])))


def officer(django_user_model):
    from django.contrib.auth.models import Group

    user = django_user_model.objects.create(username="o")
    user.groups.add(Group.objects.get_or_create(name="officer")[0])
    return user


def rendered(data, dots=150):
    """Pages as pictures, drawn by poppler, which knows nothing of how they were made."""
    if not shutil.which("pdftoppm"):
        pytest.skip("pdftoppm is not installed")
    drawn = subprocess.run(["pdftoppm", "-r", str(dots), "-png", "-"], input=data, capture_output=True, check=True).stdout
    head = b"\x89PNG\r\n\x1a\n"
    return [Image.open(io.BytesIO(head + page)).convert("L") for page in drawn.split(head)[1:]]


def codes_in(data, dots=150):
    """What a telephone reads, in the order of the page: zxing-cpp, an outside decoder of ISO/IEC 18004."""
    zxingcpp = pytest.importorskip("zxingcpp")
    found = []
    for page in rendered(data, dots):
        read = zxingcpp.read_barcodes(page, formats=zxingcpp.BarcodeFormat.QRCode)
        found += [one.text for one in sorted(read, key=lambda one: (round(one.position.top_left.y / 60), one.position.top_left.x))]
    return found


@pytest.mark.outside
def test_a_label_read_from_the_printed_page_leads_home(small, client, django_user_model):
    data = label_sheet(Wanted(vehicle="l1"), user=officer(django_user_model), at=AT)
    tags = [Vehicle.objects.get(key="l1").tag, *(Part.objects.get(key=key).tag for key in ("hid", "cl", "p1", "p2"))]
    found = codes_in(data)
    assert found == [f"{BASE}{SHORT}{tag}" for tag in tags]
    client.force_login(django_user_model.objects.get(username="o"), backend="register.web.backends.RoleBackend")
    home = client.get(found[2].removeprefix(BASE).lower(), follow=True)
    assert home.status_code == 200 and home.redirect_chain[-1][0] == reverse("part", args=["cl"])


def test_the_riveted_address_is_the_one_that_the_site_answers():
    assert reverse("tag", args=["H6KC2Z8P"]).rstrip("/") == f"{SHORT}H6KC2Z8P"


@pytest.mark.outside
def test_every_row_of_a_walk_round_sheet_and_every_ticket_can_be_scanned(small, django_user_model):
    user = officer(django_user_model)
    tags = [Part.objects.get(key=key).tag for key in ("hid", "cl", "p1", "p2")]
    assert codes_in(walk_round_sheet(Wanted(vehicle="l1"), user=user, at=AT)) == [f"{BASE}{SHORT}{tag}" for tag in tags]
    assert sorted(codes_in(ticket_sheet(Wanted(vehicle="l1"), user=user, at=AT))) == sorted(f"{BASE}{SHORT}{tag}" for tag in tags)


def test_a_code_is_still_read_when_a_tenth_of_it_is_under_grease():
    zxingcpp = pytest.importorskip("zxingcpp")
    thing = TaggedThing("H6KC2Z8P", f"{BASE}{SHORT}H6KC2Z8P", "Clack valve", "CL")
    page = rendered(labels([thing], title="t", railway="r", printed="p", day=AT.date()), 200)[0]
    scale = 200 / 72
    across, down = int((7.21 + 14.5) * mm * scale), int((15.15 + 19.05) * mm * scale)
    page.paste(255, (across, down, across + int(5.5 * mm * scale), down + int(5.5 * mm * scale)))
    assert [one.text for one in zxingcpp.read_barcodes(page)] == [thing.address]


@pytest.mark.parametrize("base", ["", "http://127.0.0.1:8000", "http://localhost:8000", "http://[::1]:8000", "https://shed.localhost", "ftp://register.example", "register.example", "http://0.0.0.0", "http://169.254.1.1", "http://[bad"])
def test_no_label_is_printed_before_there_is_an_address_to_keep(base, small, settings, django_user_model):
    settings.PUBLIC_BASE_URL = base
    user = officer(django_user_model)
    with pytest.raises(Refused) as refused:
        label_sheet(Wanted(vehicle="l1"), user=user, at=AT)
    assert "riveted on cannot be changed" in str(refused.value) and public_base() == ""
    sheet = walk_round_sheet(Wanted(vehicle="l1"), user=user, at=AT)
    assert not codes_in(sheet) and "No codes are printed" in Read(sheet).text


@pytest.mark.parametrize("base", ["https://register.example", "http://192.168.1.20:8000", "https://example.org:8443"])
def test_an_address_that_others_can_reach_is_one(base, settings):
    settings.PUBLIC_BASE_URL = base
    assert public_base() == base


def test_no_paper_tells_a_status_or_an_owner_and_text_is_printed_as_typed(small, django_user_model):
    user = officer(django_user_model)
    for data in (label_sheet(Wanted(vehicle="l1"), user=user, at=AT), walk_round_sheet(Wanted(vehicle="l1"), user=user, at=AT), ticket_sheet(Wanted(vehicle="l1"), user=user, at=AT)):
        paper = Read(data)
        words = squeezed(paper.text)
        assert "OWNER-CANARY" not in words and "original" not in words and "notassessed" not in words
        assert set(paper.fonts().values()) == {True} and not paper.images()
        if "Write" in paper.text or "WRITE" in paper.text:
            assert squeezed(NASTY) in words and "pressure,asbestos" in words


def test_the_sheet_goes_in_the_order_of_the_screen(small, django_user_model):
    text = squeezed(Read(walk_round_sheet(Wanted(vehicle="l1"), user=officer(django_user_model), at=AT)).text)
    assert text.index("HIDDEN-CANARY") < text.index("CLbolt") < text.index("P1firstchimney") < text.index("P2dome")
    assert "Liftingopening" in text.replace(",", "")


def test_one_assembly_is_printed_alone(small, django_user_model):
    text = Read(walk_round_sheet(Wanted(vehicle="l1", top="a"), user=officer(django_user_model), at=AT)).text
    assert "clack" in text and "first chimney" not in text


def test_a_long_sheet_repeats_its_heads_splits_no_row_and_numbers_its_pages(db, settings, tmp_path, django_user_model):
    settings.PUBLIC_BASE_URL = ""
    tables = {"vehicles": [{"vehicle_id": "V", "name": "Vole", "kind": "wagon", "built": "1900"}],
              "positions": [{"position_id": f"Q{number:03}", "vehicle_id": "V", "parent_id": "Q000" if number else "", "name": f"plank {number}", "visibility": "in view"} for number in range(40)]}
    import_register(write_folder(tmp_path / "long", tables))
    data = walk_round_sheet(Wanted(vehicle="v"), user=officer(django_user_model), at=AT)
    paper = Read(data)
    pages = paper.pages()
    assert pages >= 5
    for number, page in enumerate(paper.file.pages, 1):
        text = page.extract_text()
        assert f"Page {number} of {pages}" in text and "POSITION AND PART" in text and "Printed 25 November 2026, 10:52" in text
        assert text.count("seen, in place") == text.count("another part") == text.count("Found")  # whole rows only


def test_every_page_is_black_on_white(small, django_user_model):
    data = walk_round_sheet(Wanted(vehicle="l1"), user=officer(django_user_model), at=AT)
    if not shutil.which("pdftoppm"):
        pytest.skip("pdftoppm is not installed")
    drawn = subprocess.run(["pdftoppm", "-r", "40", "-png", "-singlefile", "-"], input=data, capture_output=True, check=True).stdout
    page = Image.open(io.BytesIO(drawn)).convert("RGB")
    assert all(max(colour) - min(colour) < 3 for _, colour in page.getcolors(1 << 16))


def test_lines_are_eight_millimetres_apart_and_a_label_is_as_large_as_it_says():
    from register.documents.pdf_charts import SCALE

    drawn = lines(("a", "b", "c"), 60)
    heights = [shape.points[0][1] * SCALE / mm for shape in drawn.shapes if hasattr(shape, "points")]
    assert [round(second - first, 3) for first, second in pairwise(heights)] == [WRITING, WRITING] == [8.0, 8.0]
    assert boxes(("x",)).shapes[0].width * SCALE / mm == pytest.approx(4) and QR_MM >= 20


def test_labels_begin_where_the_sheet_is_not_used_up_and_go_on_to_the_next():
    things = [TaggedThing("H6KC2Z8P", f"{BASE}{SHORT}H6KC2Z8P", f"bolt {number}", "B") for number in range(TO_A_SHEET)]
    assert Read(labels(things, title="t", railway="r", printed="p", day=AT.date())).pages() == 1
    moved = Read(labels(things, title="t", railway="r", printed="p", day=AT.date(), skip=1))
    assert moved.pages() == 2 and "bolt 20" in moved.file.pages[1].extract_text()
    assert labels(things, title="t", railway="r", printed="p", day=AT.date()) == labels(things, title="t", railway="r", printed="p", day=AT.date())


def test_a_long_name_is_cut_where_a_label_ends():
    found = wrapped("x" * 400 + " y", 8, 100, most=3)
    assert len(found) <= 3 and all(line for line in found) and found[0].endswith("…")


# --- the page -----------------------------------------------------------------------------------------------------------

ASKED = [({}, "Choose a vehicle"), ({"parts": "NOBODY"}, "No part has the tag or id"), ({"vehicle": "l1", "in": "g1"}, "not this vehicle"), ({"vehicle": "l1", "skip": "21"}, "from 0 to 20"), ({"vehicle": "l1", "skip": "-1"}, "from 0 to 20"), ({"vehicle": "l2"}, "nothing to print"), ({"parts": "a\0b"}, "No part has")]


@pytest.mark.parametrize(("asked", "words"), ASKED)
def test_what_cannot_be_printed_is_told_on_the_page(asked, words, small, client, django_user_model):
    client.force_login(officer(django_user_model), backend="register.web.backends.RoleBackend")
    if asked.get("vehicle") == "l2":
        asked = {"vehicle": "l2", "in": "g1"}
    answer = client.get("/papers/labels.pdf", asked)
    assert answer.status_code == 422 and words in answer.content.decode() and "<title>Error: " in answer.content.decode()


def test_the_page_prints_what_was_chosen(small, client, django_user_model):
    client.force_login(officer(django_user_model), backend="register.web.backends.RoleBackend")
    assert "Walk-round sheet" in client.get("/papers/?vehicle=l1").content.decode()
    for name in ("labels", "tickets", "walk-round"):
        answer = client.get(f"/papers/{name}.pdf", {"parts": "cl\nP1", "skip": "20"})
        assert answer["Content-Type"] == "application/pdf" and answer.content.startswith(b"%PDF")
    assert client.get("/papers/labels.pdf?vehicle=nobody").status_code == 404


def test_who_may_not_read_a_part_finds_it_on_no_paper(small, client, django_user_model):
    from django.contrib.auth.models import Group

    user = officer(django_user_model)
    user.groups.set([Group.objects.get_or_create(name="recorder")[0]])
    client.force_login(user, backend="register.web.backends.RoleBackend")
    for name in ("labels", "tickets", "walk-round"):
        text = Read(client.get(f"/papers/{name}.pdf?vehicle=l1").content).text
        assert "HIDDEN" not in squeezed(text) and Part.objects.get(key="hid").tag[:4] not in text
    assert client.get("/papers/labels.pdf?parts=HID").status_code == 422
