"""Photographs: what is taken and what is not, what is shown of them and to whom, by name of file, and the tray."""

from __future__ import annotations

import hashlib
import io
from datetime import date

import picture_files as files
import pytest
from builders import change, tiny, write_folder
from django.contrib.auth import get_user_model
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from register.models import Act, ChangeSet, Photograph
from register.models.change_set import WAITING
from register.services.change_sets import apply
from register.services.deciding import decide
from register.services.import_register import import_register
from register.services.photographs import NotAPicture, copy_path, open_picture, original_path

pytestmark = pytest.mark.django_db
OF_P1 = "/photographs/add/?part=P1"


@pytest.fixture(autouse=True)
def two_engines(tmp_path):
    import_register(write_folder(tmp_path / "tiny", tiny(vehicles=[{"vehicle_id": "L6", "name": "Linnet", "number": "6", "kind": "locomotive", "built": "1900"}],
                                                         parts=[{"part_id": "FR-001", "name": "frame plate", "tag": "H6KC2Z8P"}, {"part_id": "P9", "name": "hidden dome", "access": "restricted"}])))


def write(client, address=OF_P1, **texts):
    """What is written of all of them, on its own page; it is kept before any picture is sent."""
    return client.post(f"{address}{'&' if '?' in address else '?'}write=yes", {"access": "public", "camera_date": "yes", **texts})


def send(client, *sent, address=OF_P1, token="", **texts):
    written = write(client, address, **texts)
    if written.status_code != 302:
        return written
    return client.post(address, {"photos": [SimpleUploadedFile(name, data) for name, data in sent], "token": token}, follow=True)


def shown(name, size="large"):
    return Image.open(copy_path(Photograph.objects.get(key=name).sha256, size))


# --- what is taken, and what is not (bad pictures, row by row) --------------------------------------------------------

REFUSED = {
    "39 a file of no bytes": (b"", "the file is empty"),
    "40 text called .jpg": (b"it was blue, I think", "cannot be read as a picture"),
    "42 a JPEG broken off": (files.picture(size=(900, 900))[:1500], "damaged or broken off"),
    "46 a hundred megapixels": (files.bomb(10_000), "more than 60 million pixels"),
    "47 four hundred megapixels": (files.bomb(20_000), "more than 60 million pixels"),
    "50 a moving WebP": (files.animated("WEBP"), "moving picture"),
    "50 a moving PNG": (files.animated("PNG"), "moving picture"),
    "50 a GIF": (files.animated("GIF"), "it is a GIF"),
    "51 an SVG with a program in it": (files.SVG, "SVG drawing"),
    "52 PostScript": (files.EPS, "document and no picture"),
    "53 HEIC": (files.HEIC, "JPEG"),
    "a zip": (files.a_zip(), "zip archive"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_is_no_picture_is_refused_with_a_sentence_and_leaves_the_others_and_the_text(case, officer):
    data, why = REFUSED[case]
    answer = send(officer, ("chimney.jpg", data), ("good.jpg", files.picture()), caption="The maker's plate")
    page = answer.content.decode()
    assert answer.status_code == 200 and "chimney.jpg" in page and why in page and "1 photograph recorded" in page
    assert [one.caption for one in Photograph.objects.all()] == ["The maker's plate"]


def test_where_none_can_be_taken_what_was_typed_is_kept(officer):
    answer = send(officer, ("a.jpg", b""), ("b.heic", files.HEIC), caption="As found in the pit")
    page = answer.content.decode()
    assert answer.status_code == 422 and "<title>Error: " in page and "a.jpg" in page and "b.heic" in page and "As found in the pit" in page
    assert not Photograph.objects.exists() and Act.objects.count() == 1


TAKEN = {
    "41 a PNG called .jpg": (files.picture("PNG"), "png"),
    "43 a JPEG with a page behind it": (files.picture() + b"<html><script>alert('CANARY')</script>", "jpg"),
    "44 a PNG with a page behind it": (files.picture("PNG") + b"<html><script>alert('CANARY')</script>", "png"),
    "45 a JPEG that is a zip too": (files.picture() + files.a_zip(), "jpg"),
    "54 CMYK": (files.picture(mode="CMYK", colour=(0, 200, 200, 0)), "jpg"),
    "54 palette with alpha": (files.picture("PNG", mode="P", colour=3, transparency=0), "png"),
    "54 sixteen bits": (files.picture("PNG", mode="I;16", colour=30_000), "png"),
    "54 an ICC profile that is none": (files.picture(icc_profile=b"CANARY" * 40), "jpg"),
    "sixty kilobytes of EXIF": (files.with_exif(filler=60_000), "jpg"),
    "twenty-four megapixels": (files.picture(size=(6000, 4000)), "jpg"),
    "TIFF": (files.picture("TIFF"), "tif"),
}


@pytest.mark.parametrize("case", TAKEN)
def test_what_is_a_picture_is_kept_as_it_came_and_shown_as_a_clean_copy(case, officer):
    data, ending = TAKEN[case]
    send(officer, ("photo.jpg", data))
    stored = Photograph.objects.get()
    assert stored.sha256 == hashlib.sha256(data).hexdigest() and original_path(stored.sha256).read_bytes() == data
    assert stored.file == f"photographs/P1-{stored.sha256[:12]}.{ending}"
    answer = officer.get(f"/photographs/{stored.sha256}/large.webp")
    copy = b"".join(answer.streaming_content)
    assert answer["Content-Type"] == "image/webp" and answer["X-Content-Type-Options"] == "nosniff"
    assert b"CANARY" not in copy and b"<script" not in copy and not dict(Image.open(io.BytesIO(copy)).getexif())


def test_a_large_picture_is_decoded_no_larger_than_is_wanted_and_found_broken_off_all_the_same(tmp_path):
    """ITU-T T.81: a JPEG holds eight by eight samples a block, so it can be had at a half, a quarter and an eighth."""
    path = tmp_path / "big.jpg"
    Image.effect_noise((1600, 1200), 60).convert("RGB").save(path)
    assert [open_picture(path, edge=edge).size for edge in (None, 1600, 700, 300, 1)] == [
        (1600, 1200), (1600, 1200), (800, 600), (400, 300), (200, 150)]  # fmt: skip
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) * 2 // 3])
    with pytest.raises(NotAPicture, match="broken off"):
        open_picture(path, edge=1)


def test_48_the_place_is_in_the_original_and_in_no_copy(officer):
    data = files.with_exif(gps=True)
    assert 0x8825 in Image.open(io.BytesIO(data)).getexif()
    send(officer, ("photo.jpg", data))
    stored = Photograph.objects.get()
    assert 0x8825 in Image.open(original_path(stored.sha256)).getexif()
    for size in ("large", "small"):
        assert not dict(shown(stored.key, size).getexif())


@pytest.mark.outside
@pytest.mark.parametrize("orientation", range(1, 9))
def test_49_a_camera_held_any_way_gives_an_upright_picture(orientation, officer):
    """EXIF 2.32, tag 0x0112; what stands upright is told by Pillow's own ``ImageOps.exif_transpose`` too."""
    from PIL import ImageOps

    data = files.half_red_half_blue(orientation)
    peer = ImageOps.exif_transpose(Image.open(io.BytesIO(data)))
    send(officer, ("photo.jpg", data))
    for size in ("large", "small"):
        copy = shown(Photograph.objects.get().key, size).convert("RGB")
        left, right = copy.getpixel((40, 100)), copy.getpixel((copy.width - 40, 100))
        assert copy.width > copy.height and left[0] > 150 > left[2] and right[2] > 150 > right[0], (size, left, right)
        assert copy.size == peer.size or size == "small"


@pytest.mark.parametrize("name", ["../../x.jpg", "x" * 300 + ".jpg", "\u202egpj.exe.jpg", "a.jpg.html", "a\rb\n.jpg", "<b>bold</b>.jpg", ".jpg"])
def test_55_the_name_that_a_stranger_gave_is_only_ever_text(name, officer):
    answer = send(officer, (name, files.picture()))
    assert answer.status_code == 200 and Photograph.objects.get().file.startswith("photographs/P1-")
    page = send(officer, (name, b"")).content.decode()
    assert "<b>bold</b>" not in page and "\u202e" not in page


def test_56_a_thousand_at_once_are_told_how_many_may_come(officer):
    answer = officer.post(OF_P1, {"photos": [SimpleUploadedFile(f"{number}.jpg", b"x") for number in range(1000)]})
    assert answer.status_code == 400 and "100" in answer.content.decode() and not Photograph.objects.exists()


# --- what is written of them ---------------------------------------------------------------------------------------------


def test_the_day_of_the_camera_is_taken_where_none_was_typed_and_can_be_corrected(officer):
    send(officer, ("a.jpg", files.with_exif(taken="2021:05:04 10:00:00")))
    stored = Photograph.objects.get()
    assert stored.taken_edtf == "2021-05-04"
    answer = officer.post(f"/photographs/about/{stored.key}/", {"taken": "c. 1955", "caption": "A copy of an old print", "part_id": "P1", "access": "public"}, follow=True)
    assert "Recorded." in answer.content.decode() and Photograph.objects.get().taken_edtf == "1955~"


@pytest.mark.parametrize("told", ["1980:01:01 00:00:00", "2999:01:01 00:00:00", "0000:00:00 00:00:00", "yesterday", "2021:02:30 10:00:00"])
def test_a_camera_s_clock_that_cannot_be_right_is_not_believed(told, officer):
    send(officer, ("a.jpg", files.with_exif(taken=told)))
    assert Photograph.objects.get().taken == ""


def test_a_date_typed_holds_and_a_camera_that_was_not_asked_says_nothing(officer):
    send(officer, ("a.jpg", files.with_exif(taken="2021:05:04 10:00:00")), taken="summer 1936")
    assert Photograph.objects.get().taken_edtf == "1936-22"
    write(officer, "/photographs/add/?part=P2", camera_date=[])
    officer.post("/photographs/add/?part=P2", {"photos": [SimpleUploadedFile("a.jpg", files.with_exif(taken="2021:05:04 10:00:00"))]})
    assert Photograph.objects.get(part="p2").taken == ""


def test_a_text_that_cannot_be_read_is_told_and_no_picture_is_recorded(officer):
    answer = send(officer, ("a.jpg", files.picture()), taken="30 February 1900", caption="x" * 10)
    assert answer.status_code == 422 and "30 February 1900" in answer.content.decode() and not Photograph.objects.exists()
    assert send(officer, ("a.jpg", files.picture()), credit="NUL \0").status_code in (200, 422)


def test_sent_twice_is_recorded_once_and_what_was_written_since_stays(officer):
    data = files.picture()
    send(officer, ("a.jpg", data), token="t" * 30)
    stored = Photograph.objects.get()
    officer.post(f"/photographs/about/{stored.key}/", {"caption": "Corrected", "part_id": "P1", "access": "public"})
    send(officer, ("a.jpg", data), ("again.jpg", data), token="t" * 30)
    send(officer, ("b.jpg", data), caption="Anew")
    assert [one.caption for one in Photograph.objects.all()] == ["Corrected"]


def test_two_who_change_one_picture_meet_in_a_comparison(officer):
    send(officer, ("a.jpg", files.picture()))
    key = Photograph.objects.get().key
    old = Act.objects.order_by("-change_no").first().change_no
    officer.post(f"/photographs/about/{key}/", {"caption": "first", "part_id": "P1", "access": "public", "base_no": old})
    answer = officer.post(f"/photographs/about/{key}/", {"caption": "second", "part_id": "P1", "access": "public", "base_no": old})
    assert answer.status_code == 409 and "first" in answer.content.decode() and "second" in answer.content.decode()
    assert Photograph.objects.get().caption == "first"


def test_a_picture_struck_out_may_be_sent_again(officer):
    data = files.picture()
    send(officer, ("a.jpg", data))
    key = Photograph.objects.get().key
    assert officer.get(f"/strike-out/photographs/{key}/").status_code == 200
    officer.post(f"/strike-out/photographs/{key}/", {"reason": "of another part"})
    assert not Photograph.objects.exists()
    send(officer, ("a.jpg", data))
    assert Photograph.objects.get().key != key


# --- by the name of the file, and the tray ---------------------------------------------------------------------------------


BY_NAME = {
    "FR-001 left.jpg": "fr-001", "fr-001_2.JPG": "fr-001", "H6KC2Z8P.jpg": "fr-001", "shed h6kc2z8p 3.jpg": "fr-001", "IMG_fr 001.jpg": "fr-001",
    "p1.jpg": "p1", "No 6 cab.jpg": "l6", "6-cab.jpg": "l6", "L1 in the shed.jpg": "l1", "s1.png": "s1",
}


@pytest.mark.parametrize("name", BY_NAME)
def test_a_name_that_says_what_it_is_of_finds_it(name, officer):
    send(officer, (name, files.picture()), address="/photographs/add/")
    one = Photograph.objects.get()
    assert BY_NAME[name] in (one.part_id, one.vehicle_id, one.source_id)


@pytest.mark.parametrize("name", ["IMG_0006.jpg", "DSC 6.jpg", "P1 and FR-001.jpg", "holiday.jpg", "xp1x.jpg", ".jpg", "20240506_101112.jpg"])
def test_a_name_that_says_nothing_or_two_things_leaves_the_picture_in_the_tray(name, officer):
    page = send(officer, (name, files.picture()), address="/photographs/add/").content.decode()
    one = Photograph.objects.get()
    assert (one.part_id, one.vehicle_id, one.source_id) == (None, None, None) and "1 in the tray" in page


def test_the_tag_of_a_position_stands_for_the_part_that_is_fitted_there(officer):
    apply([change("positions", position_id="Q1", vehicle_id="L1", name="chimney", visibility="in view", tag="AAAA2222")], kind="test")
    send(officer, ("aaaa2222.jpg", files.picture()), address="/photographs/add/")
    assert Photograph.objects.get().part_id == "p1"


def test_pictures_of_the_tray_are_ticked_and_assigned(officer):
    send(officer, ("a.jpg", files.picture()), ("b.jpg", files.picture(colour=(1, 2, 3))), ("c.jpg", files.picture(colour=(9, 9, 9))), address="/photographs/add/")
    keys = list(Photograph.objects.order_by("key").values_list("key", flat=True))
    nobody = officer.post("/photographs/tray/", {"picture": keys[:2], "owner": "nonsense"})
    assert nobody.status_code == 422 and "Nothing in this register has that tag or id" in nobody.content.decode()
    assert officer.post("/photographs/tray/", {"owner": "P1"}).status_code == 422
    done = officer.post("/photographs/tray/", {"picture": keys[:2], "owner": "h6kc2z8p"}, follow=True)
    assert "2 photographs assigned to FR-001" in done.content.decode() and Photograph.objects.filter(part="fr-001").count() == 2
    late = officer.post("/photographs/tray/", {"picture": keys, "owner": "P1"})
    assert late.status_code == 422 and "no longer in the tray" in late.content.decode() and Photograph.objects.get(key=keys[2]).part is None


def test_no_visitor_sees_a_picture_of_the_tray(officer, client):
    send(officer, ("a.jpg", files.picture()), address="/photographs/add/")
    sha256 = Photograph.objects.get().sha256
    officer.logout()
    assert client.get(f"/photographs/{sha256}/small.webp").status_code == 404


# --- who may ---------------------------------------------------------------------------------------------------------------


def test_who_may_not_read_a_part_finds_neither_its_pictures_nor_its_page_for_adding(officer, sign_in):
    send(officer, ("a.jpg", files.picture()), address="/photographs/add/?part=P9")
    one = Photograph.objects.get()
    recorder = sign_in("recorder")
    assert recorder.get(f"/photographs/about/{one.key}/").status_code == 404
    assert recorder.get(f"/photographs/{one.sha256}/large.webp").status_code == 404
    assert sign_in("engineer").get(f"/photographs/about/{one.key}/").status_code == 200


def test_a_part_that_is_not_there_cannot_be_photographed(officer):
    assert officer.get("/photographs/add/?part=NOBODY").status_code == 404


def test_the_pages_of_part_vehicle_and_source_show_them_and_ask_as_often_for_one_as_for_many(officer, django_assert_num_queries):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    for page, of in (("/parts/p1/", "part=P1"), ("/vehicles/l1/", "vehicle=L1"), ("/sources/s1/", "source=S1")):
        send(officer, ("a.jpg", files.picture(colour=(len(page), 1, 1))), address=f"/photographs/add/?{of}")
        with CaptureQueriesContext(connection, ) as one:
            assert "/small.webp" in officer.get(page).content.decode()
        send(officer, *[(f"{number}.jpg", files.picture("PNG", colour=(number, 5, len(page)))) for number in range(8)], address=f"/photographs/add/?{of}")
        with CaptureQueriesContext(connection) as many:
            assert officer.get(page).content.decode().count("/small.webp") == 9
        assert len(many) == len(one), page


def test_the_camera_s_day_is_never_after_today():
    from register.services.photographs import camera_day

    picture = Image.open(io.BytesIO(files.with_exif(taken="2026:11:26 10:00:00")))
    assert camera_day(picture, date(2026, 11, 25)) is None and camera_day(picture, date(2026, 11, 26)) == date(2026, 11, 26)


@pytest.mark.parametrize("role", ["recorder", "engineer"])
def test_a_picture_from_the_shop_floor_waits_with_its_row_and_only_the_sender_and_the_reviewer_see_it(role, sign_in):
    data = files.picture()
    page = send(sign_in(role), ("P1 crack.jpg", data), address="/photographs/add/", caption="A crack").content.decode()
    sha256 = hashlib.sha256(data).hexdigest()
    assert "1 photograph handed in" in page and not Photograph.objects.exists() and original_path(sha256).read_bytes() == data
    waiting = ChangeSet.objects.get()
    address = f"/photographs/{sha256}/small.webp"
    assert waiting.state == WAITING and "P1" in str(waiting.changes) and sign_in(role).get(address).status_code == 200
    others = {"recorder", "engineer", "administrator"} - {role}
    assert {one: sign_in(one).get(address).status_code for one in others} == dict.fromkeys(others, 404)
    assert sign_in("officer").get(address).status_code == 200
    assert sign_in(None).get(address).status_code == 404
    decide(waiting.pk, "accept", user=get_user_model().objects.get(username="a-officer"))
    assert Photograph.objects.get().part_id == "p1" and Photograph.objects.get().caption == "A crack"


@pytest.mark.parametrize("role", ["recorder", "engineer", "administrator", None])
def test_the_tray_and_what_is_written_of_a_picture_are_the_officer_s(role, officer, sign_in):
    send(officer, ("a.jpg", files.picture()))
    key = Photograph.objects.get().key
    client = sign_in(role)
    assert {client.post("/photographs/tray/", {"picture": key, "owner": "P1"}).status_code, client.post(f"/photographs/about/{key}/", {"caption": "x"}).status_code} <= {302, 403}
    assert Photograph.objects.get().caption == ""


@pytest.mark.parametrize("address", ["/photographs/about/a%00b/", "/photographs/add/?part=a%00b", "/photographs/add/?part=", "/parts/a%00b/move/", "/places/a%00b/", "/places/a%00b/stocktake/"])
def test_an_address_that_nothing_can_have_is_not_there(address, officer):
    assert officer.get(address).status_code == 404


def test_a_token_that_is_none_of_ours_is_no_token(officer):
    for number, token in enumerate(("a\0b", "x" * 5000, "")):
        assert send(officer, ("a.jpg", files.picture("PNG", colour=(number, 1, 1))), token=token).status_code == 200
    assert officer.post("/photographs/tray/", {"picture": ["a\0b"], "owner": "P1", "token": "a\0b"}).status_code == 422
    assert Photograph.objects.count() == 3


def test_a_hash_in_the_words_of_a_find_opens_no_restricted_picture(sign_in):
    """A recorder who knows the SHA-256 of a restricted picture hands in words that hold it, and sees no more than before."""
    send(sign_in("officer"), ("secret.png", files.picture()), address="/photographs/add/?part=P9", access="restricted")
    sha256 = Photograph.objects.get(part="p9").sha256
    address = f"/photographs/{sha256}/large.webp"
    assert sign_in("officer").get(address).status_code == 200
    recorder = sign_in("recorder")
    assert recorder.get(address).status_code == 404
    recorder.post("/new/treatments/", {"part_id": "P1", "date": "2 May 2020", "work": f"seen {sha256}", "replaced": "0"})
    recorder.post("/new/photographs/", {"file": "mine.png", "sha256": sha256, "part_id": "P1"})
    assert ChangeSet.objects.filter(changes__icontains=sha256).exists()
    assert recorder.get(address).status_code == 404
