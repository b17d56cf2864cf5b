"""Pictures of a find, and lots of pictures: each by itself, after the text, and none takes anything with it."""

from __future__ import annotations

import hashlib

import picture_files as files
import pytest
from builders import change, changes_of, tiny
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext

from register.models import Act, ChangeSet, FindDraft, Photograph, PictureLot
from register.services.change_sets import apply
from register.services.photographs import original_path
from tests.web.test_recording import begin, hand_in, hidden, say, text_of

pytestmark = pytest.mark.django_db
RED, BLUE = files.picture(), files.picture("PNG", colour=(1, 2, 200))
OF_P1 = "/photographs/add/?part=P1"


@pytest.fixture(autouse=True)
def small():
    apply(changes_of(tiny()), kind="import", whole=True)


def one_by_one(client, address, *sent):
    """As the script sends them: what became of each."""
    answers = [client.post(address, {"photos": SimpleUploadedFile(name, data)}, headers={"accept": "application/json"}) for name, data in sent]
    assert {one.status_code for one in answers} == {200}
    return [one.json() for one in answers]


def of_find(find):
    return f"/record/{find}/pictures/"


def sha(data):
    return hashlib.sha256(data).hexdigest()


# --- in a find -------------------------------------------------------------------------------------------------------------


def test_pictures_come_one_by_one_after_the_text_and_a_bad_one_takes_nothing_with_it(sign_in):
    client = sign_in("recorder")
    find = begin(client, "P2")
    say(client, find, "marks", marks="88 . D")
    told = one_by_one(client, of_find(find), ("whole.jpg", RED), ("mark.heic", files.HEIC), ("mark.png", BLUE), ("again.jpg", RED))
    assert [one["kept"] for one in told] == [["whole.jpg"], [], ["mark.png"], ["again.jpg"]] and "HEIC" in told[1]["failed"][0]["why"]
    draft = FindDraft.objects.get()
    assert [one["name"] for one in draft.answers["pictures"]["rows"]] == ["whole.jpg", "mark.png"] and draft.answers["marks"]["marks"] == "88 . D"
    assert original_path(sha(RED)).read_bytes() == RED and not ChangeSet.objects.exists() and not Photograph.objects.exists()


def test_without_script_several_come_at_once_and_those_that_cannot_be_taken_are_named(sign_in):
    client = sign_in("recorder")
    find = begin(client, "P2")
    answer = client.post(of_find(find), {"camera": SimpleUploadedFile("a.jpg", RED), "photos": [SimpleUploadedFile("b.jpg", b""), SimpleUploadedFile("c.png", BLUE)]})
    page = text_of(answer)
    assert answer.status_code == 422 and "b.jpg: the file is empty" in page and "Take a.jpg out" in page and "Take c.png out" in page
    assert client.post(of_find(find), {}).url == f"/record/{find}/captions/"
    assert client.post(of_find(find), {"take_out": sha(RED)}).url == of_find(find)
    assert [one["name"] for one in FindDraft.objects.get().answers["pictures"]["rows"]] == ["c.png"]


def test_no_picture_is_an_answer_and_takes_none_out(sign_in):
    client = sign_in("recorder")
    find = begin(client, "P2")
    assert say(client, find, "pictures", skip="none").url == f"/record/{find}/check/"
    assert client.get(f"/record/{find}/captions/").status_code == 404
    one_by_one(client, of_find(find), ("a.jpg", RED))
    assert client.post(of_find(find), {"skip": "none"}).url == f"/record/{find}/captions/" and FindDraft.objects.get().answers["pictures"]["rows"]


def test_the_officer_sees_the_picture_beside_the_find_and_it_is_recorded_with_it(sign_in):
    client = sign_in("recorder")
    find = begin(client, "P2")
    say(client, find, "status", status="replica")
    one_by_one(client, of_find(find), ("a.jpg", files.with_exif(taken="2021:05:04 10:00:00")), ("b.png", BLUE))
    first, second = FindDraft.objects.get().answers["pictures"]["rows"]
    say(client, find, "captions", **{f"caption-{first['sha256'][:12]}": "the rim"})
    assert "the rim" in text_of(client.get(f"/record/{find}/check/"))
    assert hand_in(client, find).status_code == 302
    stored = ChangeSet.objects.get()
    assert stored.title == "dome: replica, 2 pictures" and not Photograph.objects.exists()
    officer = sign_in("officer")
    page = officer.get(f"/review/{stored.pk}/").content.decode()
    assert f"/photographs/{first['sha256']}/small.webp" in page and 'alt="the rim"' in page and f"/photographs/{second['sha256']}/small.webp" in page
    assert officer.get(f"/photographs/{first['sha256']}/large.webp").status_code == 200
    officer.post(f"/review/{stored.pk}/", {"decision": "accept"})
    taken = Photograph.objects.get(sha256=first["sha256"])
    assert (taken.part_id, taken.caption, taken.taken_edtf, taken.access) == ("p2", "the rim", "2021-05-04", "restricted")


def test_a_picture_of_a_draft_is_its_author_s_alone(sign_in):
    client = sign_in("recorder")
    one_by_one(client, of_find(begin(client, "P2")), ("a.jpg", RED))
    address = f"/photographs/{sha(RED)}/small.webp"
    assert client.get(address).status_code == 200
    assert {role: sign_in(role).get(address).status_code for role in ("engineer", "officer", "administrator", None)} == dict.fromkeys(("engineer", "officer", "administrator", None), 404)


def test_what_was_not_taken_is_still_seen_by_who_decided_it(sign_in):
    client = sign_in("recorder")
    find = begin(client, "P2")
    one_by_one(client, of_find(find), ("a.jpg", RED))
    hand_in(client, find)
    key = ChangeSet.objects.get().pk
    officer = sign_in("officer")
    officer.post(f"/review/{key}/", {"decision": "supersede", "reason": "of another part"})
    assert "small.webp" in officer.get(f"/review/{key}/").content.decode()
    assert officer.get(f"/photographs/{sha(RED)}/small.webp").status_code == 200 and not Photograph.objects.exists()
    from register.services.photographs import copy_path

    for path in (original_path(sha(RED)), copy_path(sha(RED), "large"), copy_path(sha(RED), "small")):
        path.unlink()
    assert "not on the disk any more" in text_of(officer.get(f"/review/{key}/"))


def test_the_pages_of_a_find_ask_as_often_for_many_pictures_as_for_one(sign_in):
    counts = []
    for number in (1, 9):
        client = sign_in("recorder")
        find = begin(client, "P2")
        one_by_one(client, of_find(find), *[(f"{one}.png", files.picture("PNG", size=(8, 8), colour=(number, one, 0))) for one in range(number)])
        hand_in(client, find)
        key = ChangeSet.objects.order_by("-pk").first().pk
        for role, address in (("recorder", f"/handed-in/{key}/"), ("recorder", f"/record/{find}/check/"), ("officer", f"/review/{key}/")):
            client = sign_in(role)
            client.get(address)
            with CaptureQueriesContext(connection) as queries:
                assert client.get(address).content.decode().count("/small.webp") == number
            counts.append((address.split("/")[1], len(queries)))
    assert counts[:2] == counts[3:5] and counts[2][1] <= counts[5][1] <= counts[2][1] + 1  # the queue lists one more by then


def test_pictures_of_a_set_are_of_each_part_and_those_of_a_loose_part_come_with_it(sign_in):
    client = sign_in("recorder")
    find = begin(client, "P1", "P2")
    one_by_one(client, of_find(find), ("a.jpg", RED))
    hand_in(client, find)
    loose = int(client.post("/record/new/", {}).url.split("/")[2])
    say(client, loose, "what", name="handrail knob")
    one_by_one(client, of_find(loose), ("b.png", BLUE))
    hand_in(client, loose)
    officer = sign_in("officer")
    for stored in ChangeSet.objects.all():
        officer.post(f"/review/{stored.pk}/", {"decision": "accept"})
    assert sorted(Photograph.objects.values_list("sha256", "part__name")) == sorted([(sha(RED), "first chimney"), (sha(RED), "dome"), (sha(BLUE), "handrail knob")])


def test_a_picture_that_the_register_has_already_does_not_undo_what_was_written_of_it(sign_in):
    officer = sign_in("officer")
    for step in range(2):
        find = begin(officer, "P2")
        one_by_one(officer, of_find(find), ("a.jpg", RED))
        answer = hand_in(officer, find)
        if not step:
            key = Photograph.objects.get().key
            officer.post(f"/photographs/about/{key}/", {"caption": "Corrected", "part_id": "P2", "access": "public"})
    assert answer.status_code == 422 and "has these pictures of it already" in text_of(answer)
    assert [(one.caption, one.access) for one in Photograph.objects.all()] == [("Corrected", "public")]


def test_a_find_has_so_many_pictures_and_no_more(sign_in):
    client = sign_in("recorder")
    find = begin(client, "P2")
    sent = [(f"{number}.png", files.picture("PNG", size=(8, 8), colour=(number, 0, 0))) for number in range(21)]
    told = one_by_one(client, of_find(find), *sent)
    assert [bool(one["kept"]) for one in told] == [True] * 20 + [False] and "at most 20 pictures" in told[-1]["failed"][0]["why"]


def test_a_picture_for_a_find_that_was_handed_in_meanwhile_is_told(sign_in):
    client = sign_in("recorder")
    find = begin(client, "P2")
    say(client, find, "marks", marks="88")
    hand_in(client, find)
    assert "handed in already" in one_by_one(client, of_find(find), ("a.jpg", RED))[0]["failed"][0]["why"]


def test_another_s_find_takes_no_picture(sign_in):
    find = begin(sign_in("recorder"), "P2")
    assert sign_in("engineer").post(of_find(find), {"photos": SimpleUploadedFile("a.jpg", RED)}).status_code == 404
    assert not original_path(sha(RED)).exists()


# --- an old page ---------------------------------------------------------------------------------------------------------------


def test_text_from_a_tab_older_than_the_handing_in_is_kept_in_a_new_find_once(sign_in):
    client = sign_in("recorder")
    find = begin(client, "P2")
    say(client, find, "marks", marks="88")
    hand_in(client, find)
    answers = [client.post(f"/record/{find}/why/", {"why": "typed in the old tab"}) for _ in range(2)]
    assert len({one.url for one in answers}) == 1 and FindDraft.objects.count() == 2 and ChangeSet.objects.count() == 1
    page = text_of(client.get(answers[0].url))
    assert "typed in the old tab" in page and "handed in already" in page
    assert client.post(f"/record/{find}/marks/", {"marks": "88"}).url == f"/record/{find}/check/" and FindDraft.objects.count() == 2


# --- lots -------------------------------------------------------------------------------------------------------------------------


def test_a_lot_that_came_one_by_one_is_recorded_in_one_act_with_what_was_written_first(sign_in):
    client = sign_in("recorder")
    client.post(f"{OF_P1}&write=yes", {"caption": "The crack", "access": "restricted"})
    one_by_one(client, OF_P1, ("a.jpg", RED), ("b.jpg", b"no picture"), ("c.png", BLUE))
    assert not ChangeSet.objects.exists() and "The crack" in text_of(client.get(OF_P1))
    token = hidden(client.get(OF_P1), "token")
    said = [text_of(client.post(OF_P1, {"token": token}, follow=True)) for _ in range(2)]
    assert "2 photographs handed in" in said[0] and "recorded already, once" in said[1]
    assert [row["values"]["caption"] for row in ChangeSet.objects.get().changes] == ["The crack"] * 2


def test_a_page_gone_back_to_after_its_lot_was_recorded_records_the_next_one_too(sign_in):
    client = sign_in("officer")
    token = hidden(client.get(OF_P1), "token")
    for name, data in (("a.jpg", RED), ("b.png", BLUE)):
        one_by_one(client, OF_P1, (name, data))
        client.post(OF_P1, {"token": token})
    assert Photograph.objects.count() == 2 and not any(lot.pictures for lot in PictureLot.objects.all())


def test_a_lot_is_of_one_thing_and_of_one_person(sign_in):
    client = sign_in("recorder")
    one_by_one(client, OF_P1, ("a.jpg", RED))
    assert "Arrived so far" not in text_of(client.get("/photographs/add/?part=P2")) and "Arrived so far" not in text_of(sign_in("engineer").get(OF_P1))
    client = sign_in("recorder")
    assert "Arrived so far" in text_of(client.get(OF_P1))
    client.post(OF_P1, {"take_out": sha(RED)})
    answer = client.post(OF_P1, {})
    assert answer.status_code == 422 and "Take or choose a photograph first" in text_of(answer) and Act.objects.count() == 1


def test_what_was_written_of_a_lot_comes_back_after_signing_out(sign_in, django_user_model):
    client = sign_in("recorder")
    client.logout()
    answer = client.post(f"{OF_P1}&write=yes", {"caption": "Half an hour's typing", "taken": "c. 1955"})
    client.force_login(django_user_model.objects.get(), backend="register.web.backends.RoleBackend")
    from urllib.parse import parse_qs, urlsplit

    back = parse_qs(urlsplit(answer.url).query)["next"][0]
    page = text_of(client.get(back))
    assert "Half an hour" in page and "c. 1955" in page and "Of P1" in page and "You were signed out" in page


def test_pictures_that_the_script_sent_and_those_in_the_form_are_one_lot(sign_in):
    client = sign_in("officer")
    one_by_one(client, OF_P1, ("a.jpg", RED))
    page = text_of(client.post(OF_P1, {"photos": SimpleUploadedFile("b.png", BLUE)}, follow=True))
    assert "2 photographs recorded" in page and Photograph.objects.filter(part="p1").count() == 2


@pytest.mark.parametrize("texts", [{"take_out": "\0"}, {"take_out": "x" * 400}, {"skip": "\0"}, {"photos": "no file"}])
def test_nonsense_beside_pictures_never_breaks_the_page(texts, sign_in):
    client = sign_in("recorder")
    find = begin(client, "P2")
    for address in (of_find(find), OF_P1):
        assert client.post(address, texts).status_code in (302, 422)


def test_a_part_that_was_struck_out_meanwhile_is_told_and_the_pictures_stay(sign_in):
    client = sign_in("recorder")
    apply([change("parts", part_id="P9", name="lamp")], kind="test")
    find = begin(client, "P9")
    one_by_one(client, of_find(find), ("a.jpg", RED))
    from register.models import User
    from register.services.records import strike_out

    strike_out("parts", "p9", user=User.objects.get(), reason="a slip")
    answer = hand_in(client, find)
    assert answer.status_code == 422 and "struck out or merged" in text_of(answer) and FindDraft.objects.get().answers["pictures"]["rows"]
