"""The pages by which a statement is issued, read, withdrawn and checked, used as a hurried officer and a stranger would."""

from __future__ import annotations

import re

import pytest
from builders import change
from django.contrib.auth.models import Group
from django.core.files.uploadedfile import SimpleUploadedFile

from register.models import Entry, IssueRequest, Statement, StatementFile, Vehicle
from register.services.change_sets import apply
from register.services.vehicle_policies import put_policy
from tests.services.issued import issue, plant

pytestmark = pytest.mark.django_db
ISSUE = "/vehicles/l1/issue/"
REASON = "nobody has said yet"


@pytest.fixture
def planted(tmp_path):
    plant(tmp_path)


def form_of(answer):
    """The hidden fields of the form on a page."""
    text = answer.content.decode()
    return dict(re.findall(r'<input type="hidden" name="(token|after)" value="([^"]*)">', text))


def text_of(answer):
    return re.sub(r"\s+", " ", answer.content.decode())


def test_an_officer_reads_what_was_found_and_issues(planted, officer):
    page = officer.get(ISSUE)
    assert "What makes this vehicle this vehicle is not stated." in text_of(page)
    sent = {**form_of(page), "as_at": "1 June 2024", "reference": "as built", "accept-identity": REASON, "accept-unsupported": REASON}
    answer = officer.post(ISSUE, sent)
    assert answer.status_code == 302 and answer.url == "/statements/CS-0001/"
    shown = text_of(officer.get(answer.url))
    assert "CS-0001, Larkspur" in shown and REASON in shown and "1 June 2024" in shown
    pdf = officer.get("/statements/CS-0001/files/assessor.pdf")
    assert pdf["Content-Type"] == "application/pdf" and pdf.content.startswith(b"%PDF")
    assert "CS-0001" in text_of(officer.get("/statements/"))


def test_pressing_the_button_twice_issues_one(planted, officer):
    sent = {**form_of(officer.get(ISSUE)), "accept-identity": REASON, "accept-unsupported": REASON}
    first, second = officer.post(ISSUE, sent), officer.post(ISSUE, sent)
    assert first.url == second.url == "/statements/CS-0001/"
    assert Statement.objects.count() == 1


def test_an_officer_with_an_old_page_is_told_of_the_other_s_statement(planted, officer):
    page = form_of(officer.get(ISSUE))
    issue()
    answer = officer.post(ISSUE, {**page, "accept-identity": REASON, "accept-unsupported": REASON, "why": "x"})
    assert answer.status_code == 422
    assert "CS-0001 of this vehicle was issued meanwhile" in text_of(answer)
    assert Statement.objects.count() == 1


def test_without_a_reason_nothing_is_issued_and_what_was_typed_is_kept(planted, officer):
    issue()
    answer = officer.post(ISSUE, {**form_of(officer.get(ISSUE)), "accept-identity": "  ", "accept-unsupported": REASON, "why": "kept words"})
    text = text_of(answer)
    assert answer.status_code == 422 and "<title>Error: " in text
    assert 'href="#f-accept-identity"' in text and "kept words" in text
    assert Statement.objects.count() == 1


def test_what_stands_in_the_way_is_said_once(planted, officer):
    apply([change("parts", part_id="P1", name="chimney 漢", mass="60 kg")], kind="test")
    answer = officer.post(ISSUE, {**form_of(officer.get(ISSUE)), "accept-identity": REASON, "accept-unsupported": REASON})
    text = text_of(answer)
    assert answer.status_code == 422 and "“漢” (U+6F22)" in text
    assert not Statement.objects.exists()


@pytest.mark.parametrize("day", ["1900-02-30", "x" * 10_000, "\0", "tomorrow"])
def test_a_day_that_is_none_is_told_and_nothing_is_issued(day, planted, officer):
    answer = officer.post(ISSUE, {**form_of(officer.get(ISSUE)), "as_at": day, "accept-identity": REASON, "accept-unsupported": REASON})
    assert answer.status_code == 422 and "Error: " in text_of(answer)
    assert not Statement.objects.exists()


def test_a_reference_that_is_none_is_told(planted, officer):
    answer = officer.post(ISSUE, {"reference": "1066", "accept-identity": REASON, "accept-unsupported": REASON})
    assert answer.status_code == 422 and "no such reference period" in text_of(answer)
    assert officer.get("/vehicles/nobody/issue/").status_code == 404


def test_an_engineer_reads_editions_without_stores_and_issues_nothing(planted, sign_in):
    issue()
    engineer = sign_in("engineer")
    page = text_of(engineer.get("/statements/CS-0001/"))
    assert "assessor.pdf" in page and "internal.pdf" not in page and "Withdraw" not in page
    assert engineer.get("/statements/CS-0001/files/internal.pdf").status_code == 403
    assert engineer.get("/statements/CS-0001/files/figures.json").status_code == 200
    assert engineer.post(ISSUE, {}).status_code == 403


def test_withdrawing_asks_why_and_everybody_who_checks_reads_it(planted, officer, client):
    issue()
    assert officer.post("/statements/CS-0001/withdraw/", {"reason": " "}).status_code == 422
    assert officer.post("/statements/CS-0001/withdraw/", {"reason": "wrong engine"}).status_code == 302
    assert "Withdrawn" in text_of(officer.get("/statements/CS-0001/")) and Entry.objects.count() == 2
    client.logout()
    text = text_of(client.get("/id/statements/CS-0001/"))
    assert "Withdrawn" in text and "wrong engine" not in text  # the vehicle is not published, nor what is said of it


# --- a second person ------------------------------------------------------------------------------------------------


@pytest.fixture
def two(planted, client, django_user_model):
    """two("ada") gives a client in which that officer is signed in. The policy of the vehicle asks for a second person."""
    group, _ = Group.objects.get_or_create(name="officer")
    people = {name: django_user_model.objects.create(username=name, last_name=name.title()) for name in ("ada", "bob", "cy")}
    for one in people.values():
        one.groups.set([group])
    put_policy(Vehicle.objects.get(key="l1"), {"second_person": "yes"}, user=people["cy"])

    def signed_in(name):
        client.logout()
        client.force_login(people[name], backend="register.web.backends.RoleBackend")
        return client

    return signed_in


ACCEPTED = {"accept-identity": REASON, "accept-unsupported": REASON}


def waiting(two):
    """Prepared by Ada; the number of her request."""
    page = two("ada").get(ISSUE)
    assert "Ask a second person to issue CS-0001" in text_of(page) and ">Issue CS-0001<" not in text_of(page)
    sent = {**form_of(page), **ACCEPTED, "as_at": "1 June 2024", "do": "ask"}
    assert two("ada").post(ISSUE, sent).status_code == 302
    assert two("ada").post(ISSUE, sent).status_code == 302, "a second tap"
    return {"request": str(IssueRequest.objects.get().pk)}


def test_alone_an_officer_is_refused_with_a_sentence_and_loses_nothing(two):
    answer = two("ada").post(ISSUE, {**form_of(two("ada").get(ISSUE)), **ACCEPTED})
    assert answer.status_code == 422 and "whoever prepares a statement does not issue it" in text_of(answer) and REASON in text_of(answer)
    assert not Statement.objects.exists()


def test_one_prepares_another_reads_and_issues(two):
    sent = waiting(two)
    own = text_of(two("ada").get(ISSUE))
    assert "Take it back" in own and ">Issue CS-0001<" not in own
    assert two("ada").post(ISSUE, {**sent, "do": "issue"}).status_code == 422
    bob = two("bob")
    assert "Larkspur</a>, prepared by Ada" in text_of(bob.get("/statements/"))
    page = text_of(bob.get(ISSUE))
    assert "<b>Ada</b> prepared it" in page and "1 June 2024" in page and REASON in page and ">Issue CS-0001<" in page
    first, second = (bob.post(ISSUE, {**sent, "do": "issue"}).url for _ in range(2))
    assert first == second == "/statements/CS-0001/"
    assert two("cy").post(ISSUE, {**sent, "do": "issue"}).url == first, "an officer with an old page"
    assert Statement.objects.count() == 1
    shown = text_of(bob.get(first))
    assert "written by Ada" in shown and "issued by Bob as a second person" in shown


def test_what_is_sent_back_is_told_and_what_was_typed_is_there_again(two):
    sent = waiting(two)
    bob = two("bob")
    assert bob.post(ISSUE, {**sent, "do": "send back", "words": " "}).status_code == 422
    assert bob.post(ISSUE, {**sent, "do": "send back", "words": "weigh the dome \x01"}).status_code == 302
    page = text_of(two("ada").get(ISSUE))
    assert "Bob sent it back" in page and "weigh the dome" in page and REASON in page
    answer = two("bob").post(ISSUE, {**sent, "do": "issue"})
    assert answer.status_code == 422 and "not waiting any more" in text_of(answer)
    assert not Statement.objects.exists()


def test_what_changed_since_it_was_prepared_is_not_issued(two):
    sent = waiting(two)
    apply([change("parts", part_id="P1", name="first chimney", mass="61 kg")], kind="test")
    page = text_of(two("bob").get(ISSUE))
    assert "is not what it was when it was prepared" in page and ">Issue CS-0001<" not in page
    assert two("bob").post(ISSUE, {**sent, "do": "issue"}).status_code == 422
    assert two("ada").post(ISSUE, {**sent, "do": "take back"}).status_code == 302
    assert REASON in text_of(two("ada").get(ISSUE))
    assert not Statement.objects.exists()


@pytest.mark.parametrize("request_no", ["", "0", "x", "9" * 40, "\0"])
def test_a_request_that_is_none_is_told(request_no, two):
    waiting(two)
    assert two("bob").post(ISSUE, {"request": request_no, "do": "issue"}).status_code == 422
    assert not Statement.objects.exists()


# --- a stranger -----------------------------------------------------------------------------------------------------


def test_a_stranger_looks_a_number_up(planted, client):
    issue()
    issue(why="again")
    assert client.get("/id/check/?number=cs-0001 ").url == "/id/statements/CS-0001/"
    text = text_of(client.get("/id/statements/CS-0001/"))
    assert "Superseded" in text and "/id/statements/CS-0002/" in text
    for file in StatementFile.objects.filter(statement=1):
        assert file.sha256 in text
    assert "Larkspur" not in text
    missing = client.get("/id/check/?number=CS-9999")
    assert missing.status_code == 422 and "No statement has that number" in text_of(missing)
    assert client.get("/id/statements/CS-9999/").status_code == 404


def test_a_file_is_told_from_one_that_differs_in_one_bit_and_nothing_is_kept(planted, client, settings):
    issue()
    data = bytes(StatementFile.objects.get(name="assessor.pdf").data)
    before = sorted(settings.DATA.rglob("*"))

    def sent(content):
        return text_of(client.post("/id/check/", {"file": SimpleUploadedFile("a.pdf", content)}))

    assert "It is what was issued" in sent(data)
    assert "assessor.pdf" in sent(data)
    assert "No statement has this file" in sent(data[:-1] + bytes([data[-1] ^ 1]))
    assert sorted(settings.DATA.rglob("*")) == before
    assert client.post("/id/check/").status_code == 422
    assert client.post("/id/check/", {"file": SimpleUploadedFile("a.pdf", b"")}).status_code == 422


def test_a_published_vehicle_is_named(tmp_path, client):
    plant(tmp_path)
    apply([change("vehicles", vehicle_id="L1", published="yes")], kind="test")
    issue()
    assert "Larkspur" in text_of(client.get("/id/statements/CS-0001/"))


def test_the_list_asks_the_same_number_of_queries_however_many_were_issued(planted, officer, django_assert_num_queries):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    issue()
    with CaptureQueriesContext(connection) as few:
        officer.get("/statements/")
    for number in range(3):
        issue(why=str(number))
    with CaptureQueriesContext(connection) as many:
        officer.get("/statements/")
    assert len(few) == len(many)


def test_a_qr_code_leads_to_the_check_where_the_site_has_an_address(planted, settings):
    from io import BytesIO

    from pypdf import PdfReader

    settings.PUBLIC_BASE_URL = "https://register.example"
    statement = issue()
    data = bytes(StatementFile.objects.get(statement=statement, name="public.pdf").data)
    text = "".join(page.extract_text() for page in PdfReader(BytesIO(data)).pages)
    assert "https://register.example/id/statements/CS-0001/" in "".join(text.split())


# --- what changed ---------------------------------------------------------------------------------------------------


def test_the_page_tells_what_changed_since_the_last_statement(planted, officer):
    assert "No statement of this vehicle was issued yet" in text_of(officer.get("/vehicles/l1/change/"))
    issue()
    apply([change("treatments", part_id="P1", date="2024-07-01", work="new top", replaced="0.5")], kind="test")
    text = text_of(officer.get("/vehicles/l1/change/"))
    assert "All of it is work" in text and "first chimney" in text
    assert "Nothing changed" in text_of(officer.get("/vehicles/l1/change/?from=CS-0001&to=CS-0001"))


@pytest.mark.parametrize("address", ["?from=CS-0404", "?from=&from_day=1900-02-30", "?from_day=x&to_day=y"])
def test_what_cannot_be_compared_is_told_on_the_page(address, planted, officer):
    issue()
    answer = officer.get("/vehicles/l1/change/" + address)
    assert answer.status_code == 422 and "<title>Error:" in text_of(answer)


def test_a_statement_of_another_vehicle_is_not_found_there(planted, officer):
    issue()
    assert officer.get("/vehicles/l2/change/?from=CS-0001").status_code == 404


def test_a_package_is_handed_over(planted, officer, sign_in):
    issue()
    answer = officer.get("/statements/CS-0001/package/assessor.zip")
    assert answer["Content-Type"] == "application/zip" and answer.content.startswith(b"PK")
    assert officer.get("/statements/CS-0001/package/internal.zip").status_code == 200
    assert officer.get("/statements/CS-0001/package/public.zip").status_code == 404
    assert sign_in("engineer").get("/statements/CS-0001/package/internal.zip").status_code == 403


@pytest.mark.parametrize("address", ["/statements/%00/", "/statements/CS-0001/files/%00", "/id/statements/%00x/", "/id/check/?number=%00", "/vehicles/l1/change/?from=%00", "/vehicles/%00/issue/", "/vehicles/%00/publish/",
                                     "/id/statements/" + "x" * 300 + "/", "/statements/CS-0001/package/%00.zip"])
def test_addresses_that_no_page_has_are_told_from_errors(address, planted, officer):
    assert officer.get(address).status_code in (404, 422)
