"""Ten minutes of a clumsy volunteer: twice, too late, from an old tab, with the wrong picture or a slip in the tag. What was
typed is kept, there is one record, and one sentence says what to do."""

from __future__ import annotations

import hashlib
import re
from urllib.parse import parse_qs, urlsplit

import picture_files as files
import pytest
from builders import change, changes_of, tiny
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from register.models import Act, ChangeSet, FindDraft, Movement, Part, Photograph
from register.services.change_sets import apply
from register.services.photographs import MAX_BYTES, copy_path, original_path
from tests.web.test_find_pictures import of_find, one_by_one, sha
from tests.web.test_photographs import REFUSED, TAKEN
from tests.web.test_recording import begin, hand_in, hidden, say, text_of
from tests.web.test_whereabouts import TODAY

pytestmark = pytest.mark.django_db
BACKEND = "register.web.backends.RoleBackend"


@pytest.fixture(autouse=True)
def small():
    apply([*changes_of(tiny()), change("places", place_id="SHED", name="Running shed"), change("movements", part_id="P3", moved_on="2020-01-01", place_id="SHED")], kind="import", whole=True)


@pytest.fixture
def recorder(sign_in):
    return sign_in("recorder")


# --- the wrong picture -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("case", REFUSED)
def test_a_wrong_picture_of_a_find_is_named_and_takes_nothing_with_it(case, recorder):
    data, why = REFUSED[case]
    find = begin(recorder, "P2")
    say(recorder, find, "marks", marks="88 . D")
    told = one_by_one(recorder, of_find(find), ("IMG_1.jpg", data), ("IMG_2.png", files.picture("PNG")))
    assert why in told[0]["failed"][0]["why"] and told[1]["kept"] == ["IMG_2.png"]
    assert hand_in(recorder, find).status_code == 302
    stored = ChangeSet.objects.get()
    assert "88 . D" in str(stored.changes) and [row["table"] for row in stored.changes].count("photographs") == 1


@pytest.mark.parametrize("case", TAKEN)
def test_a_right_picture_under_a_wrong_name_or_of_a_rare_kind_is_kept_as_it_came(case, recorder):
    data, ending = TAKEN[case]
    find = begin(recorder, "P2")
    assert one_by_one(recorder, of_find(find), ("IMG_1.HEIC.jpg", data))[0]["kept"]
    hand_in(recorder, find)
    row = next(row for row in ChangeSet.objects.get().changes if row["table"] == "photographs")["values"]
    assert row["file"].endswith(f".{ending}") and row["sha256"] == hashlib.sha256(data).hexdigest() and original_path(row["sha256"]).read_bytes() == data


def test_a_picture_of_more_than_sixty_megabytes_is_named_and_the_text_is_kept(recorder):
    find = begin(recorder, "P2")
    say(recorder, find, "marks", marks="88 . D")
    told = one_by_one(recorder, of_find(find), ("video.jpg", files.picture() + b"\0" * MAX_BYTES))
    assert "larger than 60 MB" in told[0]["failed"][0]["why"]
    assert FindDraft.objects.get().answers == {"marks": {"marks": "88 . D", "where": "", "clear": ""}} and hand_in(recorder, find).status_code == 302


@pytest.mark.parametrize("orientation", range(2, 9))
def test_a_telephone_held_any_way_gives_the_officer_an_upright_picture_beside_the_find(orientation, recorder):
    data = files.half_red_half_blue(orientation)
    find = begin(recorder, "P2")
    one_by_one(recorder, of_find(find), ("IMG_1.jpg", data))
    copy = Image.open(copy_path(sha(data), "large")).convert("RGB")
    left, right = copy.getpixel((40, 100)), copy.getpixel((copy.width - 40, 100))
    assert copy.width > copy.height and left[0] > 150 > left[2] and right[2] > 150 > right[0]


def test_the_place_in_a_picture_is_in_no_copy_that_anybody_is_shown(recorder):
    data = files.with_exif(gps=True)
    one_by_one(recorder, of_find(begin(recorder, "P2")), ("IMG_1.jpg", data))
    assert 0x8825 in Image.open(original_path(sha(data))).getexif()
    assert not any(dict(Image.open(copy_path(sha(data), size)).getexif()) for size in ("large", "small"))


# --- twice ------------------------------------------------------------------------------------------------------------------


def test_every_form_of_a_find_posted_twice_is_one_find_with_one_picture(recorder):
    find = begin(recorder, "P2")
    for _ in range(2):
        say(recorder, find, "marks", marks="88")
        say(recorder, find, "evidence", source="the ledger", kind="ledger", add="yes")
        recorder.post(of_find(find), {"photos": SimpleUploadedFile("a.jpg", files.picture())})
        hand_in(recorder, find)
    rows = [row["table"] for row in ChangeSet.objects.get().changes]
    assert (rows.count("photographs"), rows.count("citations"), rows.count("sources"), rows.count("parts")) == (1, 1, 1, 1)


# --- too late, and from an old tab ---------------------------------------------------------------------------------------------


def signed_out_and_in_again(client, address, data):
    """Posts after the session ended, signs in, and comes back to where signing in leads."""
    user = client.session["_auth_user_id"]
    client.logout()
    answer = client.post(address, data)
    assert answer.status_code == 302 and "/sign-in/" in answer.url
    from register.models import User

    client.force_login(User.objects.get(pk=user), backend=BACKEND)
    return text_of(client.get(parse_qs(urlsplit(answer.url).query)["next"][0]))


@pytest.mark.parametrize(("address", "data", "kept"), [
    ("/record/new/", {"part": ["P1", "P2"]}, ("first chimney", "dome")),
    ("/parts/p3/move/", {"how": "part", "with_part": "P1", "moved_on": "3 May 2026", "reason": "leans on it"}, ("3 May 2026", "leans on it", 'value="part" checked')),
    ("/places/shed/stocktake/", {"step": "ask", "moved_on": "3 May 2026", "seen": "p3", "came": "P1"}, ("3 May 2026", 'value="p3" checked', "P1")),
    ("/new/movements/", {"part_id": "P3", "moved_on": "3 May 2026", "reason": "leans on it"}, ("3 May 2026", "leans on it")),
    ("/photographs/add/?part=P1&write=yes", {"caption": "the crack", "taken": "c. 1955"}, ("the crack", "c. 1955")),
])  # fmt: skip
def test_what_was_typed_in_any_form_comes_back_after_signing_in(address, data, kept, recorder):
    page = signed_out_and_in_again(recorder, address, data)
    assert all(text in page for text in kept) and not ChangeSet.objects.exists() and not FindDraft.objects.exists() and Act.objects.count() == 1


@pytest.mark.parametrize("address", ["/record/{}/pictures/", "/photographs/add/?part=P1"])
def test_pictures_that_came_after_the_session_ended_are_asked_for_again(address, recorder):
    find = begin(recorder, "P2")
    say(recorder, find, "marks", marks="88")
    address = address.format(find)
    page = signed_out_and_in_again(recorder, address, {"was": "", "token": "x", "photos": SimpleUploadedFile("a.jpg", files.picture())})
    assert "You were signed out" in page and "have to be chosen again" in page and FindDraft.objects.get().answers["marks"]["marks"] == "88"
    assert not original_path(sha(files.picture())).exists()


def test_text_from_the_tab_of_a_find_that_was_thrown_away_is_kept_once_and_another_s_find_stays_unknown(recorder, sign_in):
    find = begin(recorder, "P2")
    recorder.post(f"/record/{find}/throw-away/")
    answers = [recorder.post(f"/record/{find}/why/", {"why": "typed in the old tab"}) for _ in range(2)]
    assert len({one.url for one in answers}) == 1 and FindDraft.objects.count() == 1
    page = text_of(recorder.get(answers[0].url))
    assert "typed in the old tab" in page and "was thrown away" in page
    assert recorder.post(f"/record/{find}/why/", {"why": " "}).status_code == 404 and recorder.get(f"/record/{find}/why/").status_code == 404
    theirs = FindDraft.objects.get().pk
    other = sign_in("engineer")
    for number in (theirs, theirs + 999):  # what is another's and what was never there are answered alike
        answer = other.post(f"/record/{number}/why/", {"why": "mine"})
        assert answer.status_code == 302 and f"/record/{theirs}/" not in answer.url
    assert FindDraft.objects.get(pk=theirs).answers == {"why": {"why": "typed in the old tab", "sure": ""}}


def test_captions_for_pictures_that_were_taken_out_meanwhile_lead_back_to_the_pictures(recorder):
    find = begin(recorder, "P2")
    assert recorder.post(f"/record/{find}/captions/", {"caption-x": "the rim"}).url == of_find(find)


def test_a_tab_from_before_the_sign_in_shows_its_text_again_wherever_it_stood(recorder):
    """The secret that forms carry changes at signing in: the address is kept with all that it asks for."""
    strict = Client(enforce_csrf_checks=True)
    strict.cookies = recorder.cookies
    address = "/photographs/add/?part=P1&write=yes"
    strict.get(address)
    answer = strict.post(address, {"caption": "the crack", "csrfmiddlewaretoken": "x" * 64})
    assert answer.status_code == 302 and answer.url == address and "the crack" in text_of(strict.get(answer.url))


# --- slips --------------------------------------------------------------------------------------------------------------------


WORD = "W" * 400


def test_a_word_of_400_letters_is_told_where_it_is_too_long_and_kept_everywhere(recorder):
    find = begin(recorder, "P2")
    for step, texts in (("marks", {"marks": WORD, "where": WORD}), ("measured", {"mass": WORD, "size": WORD}), ("work", {"work": WORD, "date": WORD, "by": WORD}), ("why", {"why": WORD}), ("evidence", {"source": WORD, "kind": "ledger"})):
        answer = say(recorder, find, step, **texts)
        assert answer.status_code in (302, 422) and (answer.status_code == 302 or WORD in text_of(answer))
    refused = hand_in(recorder, find)
    assert refused.status_code == 422 and text_of(refused).count("Error:") >= 2 and not ChangeSet.objects.exists()
    held = FindDraft.objects.get().answers
    assert held["measured"]["mass"] == held["work"]["by"] == held["marks"]["marks"] == held["evidence"]["rows"][0]["source"] == WORD


@pytest.mark.parametrize("slip", ["{}X", "{:.7}", "0{:.7}", "8B5S2Z8B", "{} {}", "x" * 400])
def test_a_slip_in_a_tag_is_told_in_a_sentence_and_leads_on(slip, recorder):
    tag = Part.objects.get(key="p2").tag
    answer = recorder.get(f"/t/{slip.format(tag, tag)}/")
    page = text_of(answer)
    assert answer.status_code == 404 and "No such tag" in page and "digits from 2 to 9" in page and 'href="/record/"' in page


def test_a_tag_in_small_letters_with_blanks_finds_its_part_wherever_a_tag_may_be_typed(recorder):
    tag = Part.objects.get(key="p2").tag
    typed, printed = f" {tag[:4].lower()} {tag[4:].lower()} ", f"{tag[:4]}-{tag[4:]}"
    assert recorder.get(f"/t/{tag.lower()}/").url == "/parts/p2/" and "P2 dome" in text_of(recorder.get("/record/", {"q": typed.strip()}))
    asked = text_of(recorder.post("/places/shed/stocktake/", {"step": "ask", "moved_on": TODAY, "came": f"{printed}\n{typed}\np2"}))
    assert "1 more typed in" in asked
    recorder.post("/parts/p3/move/", {"how": "part", "with_part": typed, "moved_on": TODAY})
    assert "P2" in str(ChangeSet.objects.get().changes) and not Movement.objects.filter(with_part="p2").exists()


def test_a_part_that_may_not_be_known_of_is_answered_as_a_slip(recorder):
    apply([change("parts", part_id="P8", name="SECRET box", access="restricted")], kind="test")
    tag = Part.objects.get(key="p8").tag
    hidden_one, absent = text_of(recorder.get(f"/t/{tag}/")), text_of(recorder.get("/t/22222222/"))
    hidden_one, absent = (re.sub(r'name="csrfmiddlewaretoken" value="[^"]*"', "", one) for one in (hidden_one, absent))
    assert hidden_one.replace(tag, "22222222") == absent and "SECRET" not in hidden_one


def test_a_reason_is_never_cut_without_a_word(sign_in):
    officer = sign_in("officer")
    long, base = "because " * 6000, hidden(officer.get("/change/parts/p2/"), "base_no")
    answer = officer.post("/change/parts/p2/", {"name": "a dome", "why": long, "base_no": base})
    assert answer.status_code == 422 and "letters: shorten it" in text_of(answer) and Part.objects.get(key="p2").name == "dome"
    assert officer.post("/change/parts/p2/", {"name": "a dome", "why": "because " * 400, "base_no": base}).status_code == 302
    assert Act.objects.order_by("-change_no").first().reason == "because " * 400 and not Photograph.objects.exists()
