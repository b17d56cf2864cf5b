"""A picture that is gone, cut short, or changed places with another: the page says so with the recorded hash, no figure
changes, and no statement is issued on it. A copy is made again; an original only a backup can give back."""

from __future__ import annotations

import io
import re

import picture_files as files
import pytest
from builders import change, tiny, write_folder
from PIL import Image

from register.exchange.faults import Refused
from register.models import Photograph
from register.services.change_sets import apply
from register.services.export_register import export_register
from register.services.figures import figures_of
from register.services.import_register import import_register
from register.services.photographs import SIZES, copy_path, keep_original, original_path
from register.services.picture_state import copies_of_another
from tests.demo_register import plant_demo_register
from tests.services.issued import DAY, issue

pytestmark = pytest.mark.django_db


@pytest.fixture
def two_pictures(tmp_path):
    """Of the engine, of a part and of a source, all public."""
    folder = tmp_path / "tiny"
    tables = tiny(photographs=[{"file": "p/a.jpg", "part_id": "P1", "caption": "the seam", "credit": "M T"}, {"file": "p/b.jpg", "vehicle_id": "L1", "caption": "on the branch", "credit": "M T"}])
    tables["vehicles"][0] |= {"published": "yes"}
    (folder / "p").mkdir(parents=True)
    (folder / "p/a.jpg").write_bytes(files.picture(size=(900, 600), colour=(200, 40, 40)))
    (folder / "p/b.jpg").write_bytes(files.picture(size=(900, 600), colour=(40, 40, 200)))
    import_register(write_folder(folder, tables))
    return [Photograph.objects.get(key=f"p/{name}.jpg").sha256 for name in "ab"]


def text_of(answer):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", answer.content.decode()))


def gone(a, b):
    original_path(a).unlink()


def cut_short(a, b):
    original_path(a).write_bytes(original_path(a).read_bytes()[:700])


def changed_places(a, b):
    one, other = original_path(a).read_bytes(), original_path(b).read_bytes()
    original_path(a).write_bytes(other)
    original_path(b).write_bytes(one)


def gone_with_its_copies(a, b):
    gone(a, b)
    for size in SIZES:
        copy_path(a, size).unlink()


DAMAGE = {"gone": gone, "cut short": cut_short, "changed places": changed_places, "gone with its copies": gone_with_its_copies}


@pytest.mark.parametrize("damage", DAMAGE)
def test_a_page_says_that_an_original_is_missing_or_another_and_no_figure_changes(damage, two_pictures, officer):
    a, b = two_pictures
    before = figures_of("L1", day=DAY)["mass"].whole
    DAMAGE[damage](a, b)
    page = officer.get("/photographs/about/p/a.jpg/")
    is_missing = "gone" in damage
    assert page.status_code == 200
    assert (f"The file is missing (recorded SHA-256 {a})" if is_missing else f"not the one that was recorded (recorded SHA-256 {a}") in text_of(page)
    part = officer.get("/parts/p1/")
    assert part.status_code == 200 and (f"The file is missing (recorded SHA-256 {a})" in text_of(part)) is is_missing
    for address in ("/vehicles/l1/", "/id/vehicles/l1/", "/photographs/tray/", "/"):
        assert officer.get(address).status_code == 200, address
    assert figures_of("L1", day=DAY)["mass"].whole == before


@pytest.mark.parametrize("damage", DAMAGE)
def test_no_statement_is_issued_on_a_picture_that_is_missing_or_another(damage, two_pictures):
    a, b = two_pictures
    DAMAGE[damage](a, b)
    with pytest.raises(Refused) as told:
        issue()
    said = str(told.value)
    assert "p/a.jpg" in said and a in said and "backup" in said
    assert ("p/b.jpg" in said) is (damage == "changed places")


def test_a_public_page_says_which_picture_it_cannot_show(two_pictures, client):
    a, b = two_pictures
    assert client.get("/id/vehicles/l1/").content.decode().count("<img") == 1
    gone_with_its_copies(b, a)
    page = client.get("/id/vehicles/l1/")
    assert page.status_code == 200 and f"The file is missing (recorded SHA-256 {b})" in text_of(page)
    assert "<img" not in page.content.decode() and "on the branch" in text_of(page)


@pytest.mark.parametrize("damage", ["gone", "cut short", "no bytes"])
def test_a_copy_that_is_gone_or_cut_short_is_made_again_of_its_original(damage, two_pictures, officer):
    a, _ = two_pictures
    before = copy_path(a, "large").read_bytes()
    for size in SIZES:
        path = copy_path(a, size)
        path.unlink() if damage == "gone" else path.write_bytes(before[: 100 if damage == "cut short" else 0])
    page = officer.get("/parts/p1/")
    assert page.status_code == 200 and "missing" not in text_of(page) and f"/photographs/{a}/small.webp" in page.content.decode()
    assert b"".join(officer.get(f"/photographs/{a}/large.webp").streaming_content) == before
    original_path(a).write_bytes(b"not the picture")
    copy_path(a, "large").unlink()
    assert officer.get(f"/photographs/{a}/large.webp").status_code == 404
    assert not copy_path(a, "large").exists()


def test_a_copy_is_made_again_only_for_whoever_may_see_it(two_pictures, client):
    a, _ = two_pictures
    apply([change("photographs", file="p/a.jpg", part_id="P1", access="restricted")], kind="test")
    copy_path(a, "large").unlink()
    assert client.get(f"/photographs/{a}/large.webp").status_code == 404 and not copy_path(a, "large").exists()


def test_an_export_names_the_pictures_that_it_could_not_write(two_pictures, tmp_path):
    a, _ = two_pictures
    original_path(a).unlink()
    lines = export_register(tmp_path / "out")
    assert f"p/a.jpg was not written. The file is missing (recorded SHA-256 {a})." in lines
    assert not (tmp_path / "out/p/a.jpg").exists() and (tmp_path / "out/p/b.jpg").exists()


def test_a_workbook_to_take_away_copies_no_picture(two_pictures, officer, monkeypatch):
    from register.services import export_register as module

    monkeypatch.setattr(module, "_write_picture", lambda *_: pytest.fail("a copy of every picture, for nothing"))
    assert officer.get("/export/register.xlsx").status_code == 200


def test_a_copy_of_another_picture_is_told_from_the_right_one():
    """The pictures of the demo, some of which are much alike; and one kept by a coarser encoder, as another release is."""
    plant_demo_register()
    hashes = list(Photograph.objects.order_by("key").values_list("sha256", flat=True))[::3]
    assert len(hashes) == 14
    kept = {sha256: copy_path(sha256, "small").read_bytes() for sha256 in hashes}
    assert [one for one in hashes if copies_of_another(one)] == []
    for one, other in zip(hashes, hashes[1:] + hashes[:1], strict=True):
        copy_path(one, "small").write_bytes(kept[other])
    assert [copies_of_another(one) for one in hashes] == [["small"]] * 14
    with Image.open(io.BytesIO(kept[hashes[0]])) as copy:
        copy.load()
    copy.save(copy_path(hashes[0], "small"), "WEBP", quality=50)
    assert copies_of_another(hashes[0]) == []


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_turned_picture_is_compared_upright(orientation, tmp_path):
    path = tmp_path / "turned.jpg"
    path.write_bytes(files.half_red_half_blue(orientation))
    sha256 = keep_original(path)
    assert copies_of_another(sha256) == []
    with Image.open(copy_path(sha256, "large")) as copy:
        copy.transpose(Image.Transpose.ROTATE_180).save(copy_path(sha256, "large"), "WEBP")
    assert copies_of_another(sha256) == ["large"]
