"""Recording on the site: what is typed is kept, one form makes one record, and nothing counts before its time."""

from __future__ import annotations

import re
from urllib.parse import urlencode

import pytest
from builders import change, changes_of, tiny
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from register.models import Act, Assessment, ChangeSet, FindDraft, Part, ReviewEntry, Source, Treatment
from register.services.change_sets import apply

pytestmark = pytest.mark.django_db


@pytest.fixture
def small():
    act, _ = apply(changes_of(tiny()), kind="import", whole=True)
    return act


def text_of(answer):
    return re.sub(r"\s+", " ", answer.content.decode().replace("&nbsp;", " ").replace("\xa0", " "))


def hidden(answer, name):
    found = re.search(rf'name="{name}" value="([^"]*)"', answer.content.decode())
    return found[1] if found else ""


def begin(client, *parts):
    token = hidden(client.get("/record/new/?" + urlencode([("part", part) for part in parts])), "token")
    answer = client.post("/record/new/", {"part": list(parts), "token": token})
    assert answer.status_code == 302, text_of(answer)
    return int(answer.url.split("/")[2])


def say(client, find, step, **texts):
    address = f"/record/{find}/{step}/"
    return client.post(address, {"was": hidden(client.get(address), "was"), **texts})


def hand_in(client, find, **texts):
    return client.post(f"/record/{find}/check/", {"day": "20 November 2026", **texts})


def test_a_find_is_asked_one_question_at_a_time_waits_and_counts_when_accepted(small, sign_in):
    client = sign_in("recorder")
    find = begin(client, "P2")
    assert say(client, find, "marks", marks="88 . D", where="rim", clear="worn").url == f"/record/{find}/measured/"
    assert say(client, find, "measured", mass="3 qr", basis="weighed", size="2 ft across").url == f"/record/{find}/work/"
    assert say(client, find, "work", skip="none").url == f"/record/{find}/status/"
    assert say(client, find, "status", status="restored", least="50%", most="75%").url == f"/record/{find}/why/"
    assert say(client, find, "why", why="old rivets", sure="fairly").url == f"/record/{find}/evidence/"
    assert say(client, find, "evidence", mark="yes").url == f"/record/{find}/pictures/"
    assert say(client, find, "pictures", skip="none").url == f"/record/{find}/check/"
    before = Act.objects.count()
    assert hand_in(client, find, note="seen with the lagging off").status_code == 302
    stored = ChangeSet.objects.get()
    assert stored.state == "waiting" and stored.title == "dome: marks, mass, dimensions, restored" and Act.objects.count() == before
    officer = sign_in("officer")
    page = text_of(officer.get(f"/review/{stored.pk}/"))
    for told in ("seen with the lagging off", "88 . D (rim; some letters worn)", "documented", "What it does to the figures", "Before", "After", "old rivets. How sure: fairly sure", "by mass", "by count", "by significance"):
        assert told.lower() in page.lower(), told
    assert officer.post(f"/review/{stored.pk}/", {"decision": "accept", "reason": "agreed"}).status_code == 302
    part = Part.objects.get(key="p2")
    assert (part.marks, part.mass, part.mass_basis, part.remarks) == ("88 . D (rim; some letters worn)", 38_102, "weighed", "Measured 20 November 2026: 2 ft across")
    found = Assessment.objects.get(part="p2")
    assert (found.status, found.fraction_low, found.fraction_high, found.assessed_on_edtf) == ("restored", 500_000, 750_000, "2026-11-20")
    assert Source.objects.get(kind="mark", key__startswith="find-").title == "Mark on dome: 88 . D"


def test_not_known_is_an_answer_everywhere_and_alone_is_nothing_to_hand_in(small, sign_in):
    client = sign_in("recorder")
    find = begin(client, "P2")
    for step in ("marks", "measured", "work", "status", "why", "evidence"):
        assert say(client, find, step, skip="not known").status_code == 302
    answer = hand_in(client, find)
    assert answer.status_code == 422 and "Nothing is filled in yet" in text_of(answer) and not ChangeSet.objects.exists()


def test_what_cannot_be_read_is_told_at_its_question_and_kept(small, sign_in):
    client = sign_in("recorder")
    find = begin(client, "P2")
    answer = say(client, find, "measured", mass="1 T")
    assert answer.status_code == 422 and "tonne" in text_of(answer) and 'value="1 T"' in answer.content.decode() and "<title>Error:" in answer.content.decode()
    assert FindDraft.objects.get().answers["measured"]["mass"] == "1 T"
    checked = hand_in(client, find)
    assert checked.status_code == 422 and f"/record/{find}/measured/#f-mass" in checked.content.decode()


def test_a_loose_part_that_fits_nowhere_is_welcome(small, sign_in):
    client = sign_in("recorder")
    answer = client.post("/record/new/", {})
    find = int(answer.url.split("/")[2])
    assert say(client, find, "what", name="").status_code == 422
    assert say(client, find, "what", name="handrail knob", said="loose, said to be off No. 4").url == f"/record/{find}/marks/"
    assert hand_in(client, find).status_code == 302
    stored = ChangeSet.objects.get()
    sign_in("officer").post(f"/review/{stored.pk}/", {"decision": "accept"})
    part = Part.objects.get(name="handrail knob")
    assert part.remarks == "loose, said to be off No. 4" and not part.installations.exists()


def test_a_set_is_recorded_once_for_all_of_it(small, sign_in):
    client = sign_in("recorder")
    find = begin(client, "P1", "P2", "P3")
    say(client, find, "measured", mass="12 kg")
    hand_in(client, find)
    sign_in("officer").post(f"/review/{ChangeSet.objects.get().pk}/", {"decision": "accept"})
    assert set(Part.objects.values_list("mass", flat=True)) == {12_000}


def test_what_an_engineer_did_counts_at_once_and_what_she_thinks_waits(small, sign_in):
    client = sign_in("engineer")
    find = begin(client, "P1")
    say(client, find, "work", work="new rim", date="2026", least="5%", most="10%")
    say(client, find, "status", status="restored", least="0.8", most="0.9")
    sent = hand_in(client, find)
    assert sent.status_code == 302, re.findall(r"<li>(.*?)<.li>", sent.content.decode())
    answer = client.get(sent.url)
    assert "Part of it is recorded and counts; the rest waits" in text_of(answer)
    assert Treatment.objects.get(part="p1").replaced == 0 and Assessment.objects.filter(part="p1").count() == 1


def test_an_older_reading_is_kept_beside_a_newer_one(small, sign_in):
    apply([change("parts", part_id="P2", marks="D 19")], kind="test")
    client = sign_in("officer")
    find = begin(client, "P2")
    say(client, find, "marks", marks="D 1926")
    hand_in(client, find)
    assert Part.objects.get(key="p2").marks == "D 19\nD 1926"


def test_the_answer_before_is_copied(small, sign_in):
    client = sign_in("recorder")
    say(client, begin(client, "P1"), "marks", marks="88 R", where="rim")
    find = begin(client, "P2")
    assert "Same as in the find before" in text_of(client.get(f"/record/{find}/marks/"))
    assert 'value="88 R"' in client.get(f"/record/{find}/marks/?copy=yes").content.decode()


# --- nothing typed is lost ------------------------------------------------------------------------------------------------


def test_a_form_posted_twice_makes_one_find_one_change_set_and_one_sentence(small, sign_in):
    client = sign_in("recorder")
    token = hidden(client.get("/record/new/?part=P2"), "token")
    first, second = (client.post("/record/new/", {"part": "P2", "token": token}) for _ in range(2))
    assert first.url == second.url and FindDraft.objects.count() == 1
    find = FindDraft.objects.get().pk
    for _ in range(2):
        say(client, find, "marks", marks="88")
    said = [text_of(client.get(hand_in(client, find).url)) for _ in range(2)]
    assert ChangeSet.objects.count() == 1 and ReviewEntry.objects.count() == 1
    assert "Handed in: it waits" in said[0] and "It was handed in already, once." in said[1]


def test_a_form_posted_after_signing_out_comes_back_with_its_text(small, sign_in, django_user_model):
    client = sign_in("recorder")
    find = begin(client, "P2")
    client.logout()
    answer = client.post(f"/record/{find}/marks/", {"marks": "88 <R>", "where": "rim"})
    assert answer.status_code == 302 and answer.url == f"/sign-in/?next=/record/{find}/marks/"
    client.force_login(django_user_model.objects.get(), backend="register.web.backends.RoleBackend")
    page = client.get(f"/record/{find}/marks/")
    assert "What you typed is below" in text_of(page) and 'value="88 &lt;R&gt;"' in page.content.decode() and FindDraft.objects.get().answers == {}
    assert "What you typed is below" not in text_of(client.get(f"/record/{find}/marks/"))


@pytest.mark.parametrize("address", ["/change/parts/p2/", "/review/{}/"])
def test_other_forms_too_come_back_after_signing_out(address, small, sign_in, django_user_model):
    from register.services.waiting import submit

    stored = submit([change("parts", part_id="P2", marks="88")], author=None, kind="find", title="t")
    client, path = sign_in("officer"), address.format(stored.pk)
    client.logout()
    client.post(path, {"name": "a dome, I think", "reason": "a question that took long to write", "why": "seen"})
    client.force_login(django_user_model.objects.get(), backend="register.web.backends.RoleBackend")
    page = text_of(client.get(path))
    assert "a dome, I think" in page or "a question that took long to write" in page


def test_a_form_from_a_page_older_than_the_sign_in_is_shown_again_and_not_acted_on(small, sign_in):
    """Signing in changes the secret that forms carry, so a tab left open before it cannot send."""
    signed_in, client = sign_in("recorder"), Client(enforce_csrf_checks=True)
    find, client.cookies = begin(signed_in, "P2"), signed_in.cookies
    client.get(f"/record/{find}/marks/")
    answer = client.post(f"/record/{find}/marks/", {"marks": "88", "csrfmiddlewaretoken": "x" * 64})
    assert answer.status_code == 302 and answer.url == f"/record/{find}/marks/" and FindDraft.objects.get().answers == {}
    assert 'value="88"' in client.get(answer.url).content.decode()
    elsewhere = client.post(f"/record/{find}/marks/", {"marks": "99"}, headers={"origin": "https://elsewhere.example"})
    assert elsewhere.status_code == 403


def test_a_question_answered_from_two_tabs_shows_both_texts_and_keeps_them(small, sign_in):
    client = sign_in("recorder")
    find = begin(client, "P2")
    address = f"/record/{find}/marks/"
    old = hidden(client.get(address), "was")
    say(client, find, "marks", marks="from the first tab")
    answer = client.post(address, {"marks": "from the second tab", "was": old})
    page = text_of(answer)
    assert answer.status_code == 409 and "from the first tab" in page and page.count("from the second tab") > 1
    assert client.post(address, {"marks": "from the second tab", "was": hidden(answer, "was")}).status_code == 302
    assert FindDraft.objects.get().answers["marks"]["marks"] == "from the second tab"


def test_a_part_changed_meanwhile_shows_both_texts_before_it_is_handed_in(small, sign_in):
    client = sign_in("officer")
    find = begin(client, "P2")
    say(client, find, "measured", mass="41 kg")
    apply([change("parts", part_id="P2", mass="43 kg")], kind="change part")
    answer = hand_in(client, find)
    page = text_of(answer)
    assert answer.status_code == 409 and "43 kg" in page and "41 kg" in page and Part.objects.get(key="p2").mass == 43_000
    assert hand_in(client, find, keep="mine").status_code == 302 and Part.objects.get(key="p2").mass == 41_000


def test_a_button_for_not_known_does_not_lose_what_was_typed_beside_it(small, sign_in):
    client = sign_in("recorder")
    find = begin(client, "P2")
    say(client, find, "marks", marks="88?", skip="not known")
    assert 'value="88?"' in client.get(f"/record/{find}/marks/").content.decode()


@pytest.mark.parametrize("texts", [{"marks": "\x00"}, {"marks": "x" * 30_000}, {"clear": "nonsense"}, {"marks": "<script>alert(1)</script>"}, {"marks": " "}, {"skip": "what?"}, {"was": "zzz"}])
def test_nonsense_in_a_question_never_breaks_it(texts, small, sign_in):
    client = sign_in("recorder")
    find = begin(client, "P2")
    answer = client.post(f"/record/{find}/marks/", texts)
    assert answer.status_code in (302, 409, 422) and b"<script>alert" not in answer.content
    assert hand_in(client, find).status_code in (302, 422)
    assert hand_in(client, find, day="29 February 1900").status_code in (302, 422)


@pytest.mark.parametrize(("day", "told"), [("29 February 1900", "Error"), ("1 January 2199", "still to come"), ("", ""), ("yesterday", "Error")])
def test_the_day_of_a_find_is_one_that_has_been(day, told, small, sign_in):
    client = sign_in("recorder")
    find = begin(client, "P2")
    say(client, find, "status", status="replica")
    answer = hand_in(client, find, day=day)
    assert (answer.status_code == 422 and told in text_of(answer)) if told else answer.status_code == 302


# --- who may -------------------------------------------------------------------------------------------------------------


def test_a_find_is_its_author_s_alone(small, sign_in):
    find = begin(sign_in("recorder"), "P2")
    for address in (f"/record/{find}/marks/", f"/record/{find}/check/"):
        assert sign_in("engineer").get(address).status_code == 404
    assert sign_in("engineer").post(f"/record/{find}/throw-away/").status_code == 404 and FindDraft.objects.exists()


def test_a_part_that_a_recorder_may_not_know_of_cannot_be_recorded_by_one(small, sign_in):
    apply([change("parts", part_id="P8", name="SECRET box", access="restricted", marks="SECRET")], kind="test")
    client = sign_in("recorder")
    assert client.get("/record/new/?part=P8").status_code == 404 and "SECRET" not in text_of(client.get("/record/?q=P8"))
    answer = client.post("/record/new/", {"part": "P8"})
    assert answer.status_code == 422 and "no part p8" in text_of(answer).lower()
    assert sign_in("engineer").get("/record/new/?part=P8").status_code == 200


def test_an_author_sees_the_question_and_answers_it(small, sign_in):
    client = sign_in("recorder")
    find = begin(client, "P2")
    say(client, find, "status", status="replica")
    hand_in(client, find)
    key = ChangeSet.objects.get().pk
    officer = sign_in("officer")
    assert officer.post(f"/review/{key}/", {"decision": "ask", "reason": " "}).status_code == 422
    officer.post(f"/review/{key}/", {"decision": "ask", "reason": "which rivets?"})
    client = sign_in("recorder")
    assert "the officer has a question" in text_of(client.get("/record/"))
    assert "which rivets?" in text_of(client.get(f"/handed-in/{key}/"))
    client.post(f"/handed-in/{key}/", {"decision": "answer", "reason": "the top row"})
    page = text_of(sign_in("officer").get(f"/review/{key}/"))
    assert "the top row" in page and "which rivets?" in page
    assert sign_in("engineer").get(f"/handed-in/{key}/").status_code == 404
    client = sign_in("recorder")
    client.post(f"/handed-in/{key}/", {"decision": "withdraw"})
    assert ChangeSet.objects.get().state == "withdrawn" and "withdrawn" in text_of(client.get(f"/handed-in/{key}/"))
    assert sign_in("officer").post(f"/review/{key}/", {"decision": "accept"}).status_code == 409


@pytest.mark.parametrize("decision", ["", "nonsense", "answer", "withdraw", "settle"])
def test_a_decision_that_cannot_be_taken_is_refused_in_a_sentence(decision, small, sign_in):
    client = sign_in("recorder")
    find = begin(client, "P2")
    say(client, find, "status", status="replica")
    hand_in(client, find)
    key = ChangeSet.objects.get().pk
    answer = sign_in("officer").post(f"/review/{key}/", {"decision": decision, "reason": "a text that is kept"})
    assert answer.status_code in (409, 422) and "a text that is kept" in text_of(answer) and ChangeSet.objects.get().state == "waiting"


# --- tags ----------------------------------------------------------------------------------------------------------------


def test_a_tag_leads_staff_to_the_part_in_either_case(small, sign_in):
    part = Part.objects.get(key="p2")
    client = sign_in("recorder")
    for text in (part.tag, part.tag.lower(), f"{part.tag[:4]}-{part.tag[4:]}"):
        assert client.get(f"/t/{text}/").url == "/parts/p2/"
    assert "Record a find" in text_of(client.get("/parts/p2/"))
    assert client.get("/t/22222222/").status_code == 404


def test_a_stranger_s_scan_shows_the_public_page_or_the_same_for_hidden_and_absent(small, client):
    tag = Part.objects.get(key="p2").tag
    hidden_page, absent = client.get(f"/t/{tag}/"), client.get("/t/22222222/")
    assert hidden_page.status_code == absent.status_code == 404
    assert text_of(hidden_page).replace(tag, "22222222") == text_of(absent) and "Nothing public here" in text_of(absent)
    apply([change("vehicles", vehicle_id="L1", published="yes")], kind="test")
    assert client.get(f"/t/{tag}/").url == "/id/vehicles/l1/"
    apply([change("parts", part_id="P2", access="restricted")], kind="test")
    assert text_of(client.get(f"/t/{tag}/")).replace(tag, "22222222") == text_of(absent)


@pytest.mark.parametrize("text", ["x", "%00", "<b>", "0O1IL000", "2" * 300])
def test_nonsense_for_a_tag_is_a_404(text, small, client, sign_in):
    assert client.get(f"/t/{text}/").status_code == 404 and sign_in("recorder").get(f"/t/{text}/").status_code == 404


# --- size ----------------------------------------------------------------------------------------------------------------


def test_the_queue_asks_as_many_questions_for_twelve_as_for_two(small, sign_in, officer):
    from register.services.waiting import submit

    counts = []
    for number in range(12):
        submit([change("parts", part_id="P2", marks=f"m {number}")], author=None, kind="find", title=f"t {number}")
        if number in (1, 11):
            officer.get("/review/")
            with CaptureQueriesContext(connection) as queries:
                assert officer.get("/review/").status_code == 200
            counts.append(len(queries))
    assert counts[0] == counts[1]


def test_a_part_that_was_restricted_since_is_in_no_page_of_a_find_about_it(small, sign_in):
    client = sign_in("recorder")
    find = begin(client, "P2")
    say(client, find, "marks", marks="88 . D", where="rim", clear="worn")
    apply([change("parts", part_id="P2", name="unspoken dome", marks="unspoken mark", access="restricted")], kind="edit")
    addresses = ["/record/", f"/record/{find}/measured/", f"/record/{find}/marks/", f"/record/{find}/check/"]
    for answer in map(client.get, addresses):
        assert answer.status_code == 200 and "unspoken" not in answer.content.decode()
    answer = hand_in(client, find)
    assert answer.status_code == 422 and "unspoken" not in answer.content.decode()
    assert not ChangeSet.objects.exists()


def test_a_find_that_waits_does_not_name_a_part_that_was_restricted_since(small, sign_in):
    client = sign_in("recorder")
    find = begin(client, "P2")
    say(client, find, "marks", marks="88 . D", where="rim", clear="worn")
    assert hand_in(client, find).status_code == 302
    apply([change("parts", part_id="P2", name="unspoken dome", remarks="unspoken", access="restricted")], kind="edit")
    for address in (f"/handed-in/{ChangeSet.objects.get().pk}/", f"/record/{find}/check/", "/record/"):
        answer = client.get(address)
        assert answer.status_code in (200, 404) and "unspoken" not in answer.content.decode()
