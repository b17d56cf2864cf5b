"""A returned find is opened again in its questions and handed in again: one change set, one log, both versions kept."""

from __future__ import annotations

import picture_files as files
import pytest
from builders import change, changes_of, tiny

from register.models import Act, Assessment, ChangeSet, FindDraft, Part, Photograph, Treatment
from register.services.change_sets import apply
from tests.web.test_find_pictures import of_find, one_by_one, sha
from tests.web.test_recording import begin, hand_in, hidden, say, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def small():
    apply(changes_of(tiny()), kind="import", whole=True)


def decide(client, key, **posted):
    page = client.get(f"/review/{key}/")
    return client.post(f"/review/{key}/", {"token": hidden(page, "token"), "seen": hidden(page, "seen"), **posted})


def returned(sign_in, role="recorder", question="which rivets?"):
    """A find that was handed in and returned; its key."""
    client = sign_in(role)
    find = begin(client, "P2")
    say(client, find, "marks", marks="88 . D", where="rim")
    say(client, find, "status", status="replica")
    say(client, find, "why", why="too crisp")
    assert hand_in(client, find, note="seen from the footplate").status_code == 302
    key = ChangeSet.objects.get().pk
    assert decide(sign_in("officer"), key, decision="ask", reason=question).status_code == 302
    return key


def opened(sign_in, key, role="recorder"):
    """Opened again by its author: (client, find)."""
    client = sign_in(role)
    answer = client.post(f"/handed-in/{key}/", {"decision": "open"})
    assert answer.status_code == 302, text_of(answer)
    return client, int(answer.url.split("/")[2])


def test_a_returned_find_is_opened_with_what_was_typed_and_handed_in_again_as_the_same(sign_in):
    key = returned(sign_in)
    client, find = opened(sign_in, key)
    assert "by a colleague on" in text_of(client.get(f"/handed-in/{key}/")) and "A officer" not in text_of(client.get(f"/handed-in/{key}/"))
    page = client.get(f"/record/{find}/check/")
    for kept in ("which rivets?", "88 . D", "too crisp", "seen from the footplate", "20 November 2026", "Hand it in again"):
        assert kept in text_of(page), kept
    assert "which rivets?" in text_of(client.get(f"/record/{find}/why/"))
    assert say(client, find, "why", why="the top row has the new pitch").url == f"/record/{find}/check/"
    assert hand_in(client, find, note="looked again").status_code == 302
    stored = ChangeSet.objects.get()
    assert (stored.pk, stored.state, stored.reason) == (key, "waiting", "looked again")
    assert [(one.verb, one.text) for one in stored.entries.all()] == [("handed in", "seen from the footplate"), ("asked", "which rivets?"), ("written anew", "looked again")]
    assert "too crisp" in str(stored.entries.last().changes) and "the top row" in str(stored.changes) and "too crisp" not in str(stored.changes)


def test_the_officer_sees_the_question_and_both_versions_and_accepts_the_second(sign_in):
    key = returned(sign_in)
    client, find = opened(sign_in, key)
    say(client, find, "status", status="restored", least="50%", most="75%")
    say(client, find, "marks", marks="88 R D", where="rim")
    hand_in(client, find)
    officer = sign_in("officer")
    page = text_of(officer.get(f"/review/{key}/"))
    for told in ("Written anew", "After the question “which rivets?”", "88 . D (rim)", "88 R D (rim)", "What it said until then"):
        assert told in page, told
    assert decide(officer, key, decision="accept").status_code == 302
    found = Assessment.objects.get(part="p2")
    assert (found.status, found.fraction_low) == ("restored", 500_000) and Part.objects.get(key="p2").marks == "88 R D (rim)"
    assert "replica" in text_of(officer.get(f"/review/{key}/")) and "Written anew" in text_of(officer.get(f"/review/{key}/"))


def test_what_was_typed_first_stays_as_it_was_and_may_be_left_so(sign_in):
    key = returned(sign_in)
    client, find = opened(sign_in, key)
    say(client, find, "marks", marks="a slip")
    assert opened(sign_in, key)[1] == find and FindDraft.objects.count() == 2  # opened twice is opened once
    assert "opened again" in text_of(client.get("/record/"))
    assert client.post(f"/record/{find}/throw-away/").url == f"/handed-in/{key}/"
    first = FindDraft.objects.get()
    assert first.answers["marks"]["marks"] == "88 . D" and ChangeSet.objects.get().state == "returned" and "88 . D" in str(ChangeSet.objects.get().changes)
    client.post(f"/handed-in/{key}/", {"decision": "answer", "reason": "the top row"})
    assert ChangeSet.objects.get().state == "waiting"


def test_it_can_be_returned_and_written_anew_again_and_every_version_is_kept(sign_in):
    key = returned(sign_in)
    for number, why in enumerate(("first try", "second try")):
        client, find = opened(sign_in, key)
        assert ("first try" in text_of(client.get(f"/record/{find}/check/"))) is bool(number)
        say(client, find, "why", why=why)
        hand_in(client, find)
        decide(sign_in("officer"), key, decision="ask", reason=f"and {number}?")
    entries = list(ChangeSet.objects.get().entries.all())
    assert [one.verb for one in entries] == ["handed in", "asked", "written anew", "asked", "written anew", "asked"]
    assert "too crisp" in str(entries[2].changes) and "first try" in str(entries[4].changes)


def test_handed_in_twice_is_written_anew_once(sign_in):
    key = returned(sign_in)
    client, find = opened(sign_in, key)
    say(client, find, "why", why="looked again")
    said = [text_of(client.get(hand_in(client, find).url)) for _ in range(2)]
    assert "Handed in: it waits" in said[0] and "handed in already, once" in said[1]
    assert ChangeSet.objects.get().entries.filter(verb="written anew").count() == 1


def test_a_decision_on_a_page_from_before_it_was_written_anew_is_not_taken(sign_in):
    """The officer accepts what he saw, or nothing."""
    key = returned(sign_in)
    officer = sign_in("officer")
    old = officer.get(f"/review/{key}/")
    client, find = opened(sign_in, key)
    say(client, find, "status", status="original")
    hand_in(client, find)
    answer = sign_in("officer").post(f"/review/{key}/", {"decision": "accept", "reason": "a text that is kept", "token": hidden(old, "token"), "seen": hidden(old, "seen")})
    page = text_of(answer)
    assert answer.status_code == 409 and "wrote it anew since you opened this page" in page and "a text that is kept" in page and not Assessment.objects.filter(part="p2").exists()
    assert sign_in("officer").post(f"/review/{key}/", {"decision": "accept", "seen": hidden(answer, "seen")}).status_code == 302


@pytest.mark.parametrize("decision", ["accept", "supersede"])
def test_what_was_decided_meanwhile_is_told_and_what_was_written_becomes_a_find_of_its_own(decision, sign_in):
    key = returned(sign_in)
    client, find = opened(sign_in, key)
    say(client, find, "marks", marks="another mark")
    decide(sign_in("officer"), key, decision=decision, reason="enough")
    client = sign_in("recorder")
    answer = hand_in(client, find, day="21 November 2026")
    assert answer.status_code == 422 and "What you wrote since is kept" in text_of(answer) and f"It was {decision}" in text_of(answer)
    assert "Hand it in as a find of its own" in text_of(answer) and hand_in(client, find, day="21 November 2026").status_code == 422 and ChangeSet.objects.count() == 1
    assert hand_in(client, find, day="21 November 2026", keep="mine", own="yes").status_code == 302 and ChangeSet.objects.count() == 2
    assert "another mark" in str(ChangeSet.objects.order_by("-pk").first().changes)


def test_answered_in_words_meanwhile_it_can_still_be_written_anew(sign_in):
    key = returned(sign_in)
    client, find = opened(sign_in, key)
    client.post(f"/handed-in/{key}/", {"decision": "answer", "reason": "the top row"})
    say(client, find, "why", why="the top row has the new pitch")
    assert hand_in(client, find).status_code == 302
    assert [one.verb for one in ChangeSet.objects.get().entries.all()] == ["handed in", "asked", "answered", "written anew"]


def test_a_record_changed_meanwhile_is_compared_before_it_is_handed_in_again(sign_in):
    key = returned(sign_in)
    apply([change("parts", part_id="P2", marks="83")], kind="change part")
    client, find = opened(sign_in, key)
    answer = hand_in(client, find)
    assert answer.status_code == 409 and "83" in text_of(answer) and ChangeSet.objects.get().state == "returned"
    assert hand_in(client, find, keep="mine").status_code == 302


def test_what_counted_at_once_stays_as_it_was_and_the_rest_is_written_anew(sign_in):
    client = sign_in("engineer")
    find = begin(client, "P1")
    say(client, find, "work", work="new rim", date="2026", least="5%", most="10%")
    hand_in(client, find)
    key = ChangeSet.objects.get().pk
    decide(sign_in("officer"), key, decision="ask", reason="measured how?")
    client, again = opened(sign_in, key, "engineer")
    say(client, again, "work", work="another text", date="2026", least="5%", most="10%")
    answer = hand_in(client, again)
    assert answer.status_code == 422 and "counts since you first handed the find in" in text_of(answer) and f"/record/{again}/work/#f-work" in answer.content.decode()
    say(client, again, "work", work="new rim", date="2026", least="10%", most="20%")
    acts = Act.objects.count()
    assert hand_in(client, again).status_code == 302 and Act.objects.count() == acts and Treatment.objects.count() == 1
    decide(sign_in("officer"), key, decision="accept")
    assert (Treatment.objects.get().replaced_low, Treatment.objects.get().replaced_high) == (100_000, 200_000)


def test_work_that_is_added_when_it_is_written_anew_counts_at_once_as_it_would_have_at_first(sign_in):
    key = returned(sign_in, "engineer")
    client, find = opened(sign_in, key, "engineer")
    say(client, find, "work", work="new rim", date="2026")
    assert hand_in(client, find).status_code == 302
    assert Treatment.objects.get().work == "new rim" and ChangeSet.objects.get().state == "waiting"


def test_a_loose_part_and_its_new_source_keep_their_ids(sign_in):
    client = sign_in("recorder")
    find = int(client.post("/record/new/", {}).url.split("/")[2])
    say(client, find, "what", name="handrail knob")
    say(client, find, "marks", marks="S&HR")
    say(client, find, "evidence", mark="yes")
    one_by_one(client, of_find(find), ("a.jpg", files.picture()))
    hand_in(client, find)
    stored = ChangeSet.objects.get()
    before = {(row["table"], row["values"].get("part_id"), row["values"].get("source_id")) for row in stored.changes}
    decide(sign_in("officer"), stored.pk, decision="ask", reason="brass or iron?")
    client, again = opened(sign_in, stored.pk)
    say(client, again, "what", name="handrail knob, brass")
    hand_in(client, again)
    stored.refresh_from_db()
    assert {(row["table"], row["values"].get("part_id"), row["values"].get("source_id")) for row in stored.changes} == before
    decide(sign_in("officer"), stored.pk, decision="accept")
    assert Part.objects.get(name="handrail knob, brass") and Photograph.objects.get().sha256 == sha(files.picture())


@pytest.mark.parametrize("state", ["waiting", "accepted", "withdrawn"])
def test_only_what_was_returned_is_opened_again(state, sign_in):
    key = returned(sign_in)
    client = sign_in("recorder")
    if state == "waiting":
        client.post(f"/handed-in/{key}/", {"decision": "answer", "reason": "yes"})
    elif state == "withdrawn":
        client.post(f"/handed-in/{key}/", {"decision": "withdraw"})
    else:
        decide(sign_in("officer"), key, decision="accept")
    client = sign_in("recorder")
    assert "Open it again" not in text_of(client.get(f"/handed-in/{key}/"))
    answer = client.post(f"/handed-in/{key}/", {"decision": "open"})
    assert answer.status_code == 409 and "cannot be opened again" in text_of(answer) and FindDraft.objects.count() == 1


def test_another_s_find_is_not_opened_and_neither_is_what_came_from_no_find(sign_in):
    key = returned(sign_in)
    assert sign_in("engineer").post(f"/handed-in/{key}/", {"decision": "open"}).status_code == 404
    client = sign_in("recorder")
    client.post("/new/treatments/", {"part_id": "P1", "date": "2 May 2020", "work": "patched", "replaced": "0"})
    other = ChangeSet.objects.exclude(pk=key).get().pk
    decide(sign_in("officer"), other, decision="ask", reason="by whom?")
    client = sign_in("recorder")
    assert "Open it again" not in text_of(client.get(f"/handed-in/{other}/")) and client.post(f"/handed-in/{other}/", {"decision": "open"}).status_code == 409


def test_what_an_opinion_left_over_is_answered_in_words(sign_in):
    """The opinion stands already: written anew, it would be handed in a second time."""
    key = returned(sign_in)
    client = sign_in("recorder")
    client.post(f"/handed-in/{key}/", {"decision": "answer", "reason": "the top row"})
    decide(sign_in("officer"), key, decision="let stand")
    decide(sign_in("officer"), key, decision="ask", reason="and the marks?")
    client = sign_in("recorder")
    assert ChangeSet.objects.get(pk=key).state == "returned" and "Open it again" not in text_of(client.get(f"/handed-in/{key}/"))
