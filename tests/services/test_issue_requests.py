"""A second person: who prepares a statement does not issue it where the policy says so, and however many press, it is one."""

from __future__ import annotations

import json
import threading

import pytest
from builders import change
from django.db import IntegrityError, connection, transaction

from register.exchange.faults import Refused
from register.models import Entry, IssueRequest, Statement, User, Vehicle
from register.services.change_sets import apply
from register.services.issue_requests import (
    latest_request,
    send_back,
    standing_request,
    standing_requests,
    take_back,
)
from register.services.issuing import AlreadyIssued, Asked, ask_second, issue_asked, issue_statement
from register.services.vehicle_policies import put_policy
from register.services.verifying import faults
from tests.services.issued import AT, DAY, accept_all, issue, plant

pytestmark = pytest.mark.django_db


@pytest.fixture
def ada():
    return User.objects.create(username="ada", last_name="Ada")


@pytest.fixture
def bob():
    return User.objects.create(username="bob", last_name="Bob")


@pytest.fixture
def strict(tmp_path, ada):
    """A vehicle whose policy asks for a second person."""
    plant(tmp_path)
    put_policy(Vehicle.objects.get(key="l1"), {"second_person": "yes"}, user=ada)


def asked(user, **details):
    return Asked("L1", DAY, user=user, reasons=accept_all(Asked("L1", DAY)), **details)


def test_whoever_prepares_does_not_issue_where_the_policy_asks_for_a_second_person(strict, ada):
    with pytest.raises(Refused, match="whoever prepares a statement does not issue it"):
        issue_statement(asked(ada), at=AT)
    request = ask_second(asked(ada), at=AT)
    with pytest.raises(Refused, match="a second person is somebody else"):
        issue_asked(request, user=ada, at=AT)
    assert not Statement.objects.exists() and not Entry.objects.exists()


def test_two_accounts_of_one_person_are_no_second_person(strict, ada, bob):
    apply([change("people", person_id="AD", name="Ada A.")], kind="test")
    User.objects.filter(pk__in=[ada.pk, bob.pk]).update(person="ad")
    request = ask_second(asked(User.objects.get(pk=ada.pk)), at=AT)
    with pytest.raises(Refused, match="a second person is somebody else"):
        issue_asked(request, user=User.objects.get(pk=bob.pk), at=AT)


def test_a_second_person_issues_what_the_first_prepared_and_both_are_recorded(strict, ada, bob):
    statement = issue_asked(ask_second(asked(ada), at=AT), user=bob, at=AT)
    assert (statement.number, statement.issued_by, statement.agreed_by) == ("CS-0001", ada, bob)
    told = json.loads(statement.entry.content)
    assert (told["issued_by"], told["agreed_by"], told["asked_at"]) == (ada.pk, bob.pk, AT.isoformat())
    assert {one["reason"] for one in told["accepted"]} == {"known, and said so"}
    assert standing_request("l1") is None and latest_request("l1") is None
    assert list(faults()) == []


def test_without_such_a_policy_one_officer_issues_or_asks_as_he_likes(tmp_path, ada, bob):
    plant(tmp_path)
    first = issue_statement(asked(ada), at=AT)
    second = issue_asked(ask_second(asked(ada, why="again"), at=AT), user=bob, at=AT)
    assert (first.agreed_by, second.agreed_by, second.supersedes) == (None, bob, "CS-0001")


def test_what_would_be_refused_is_refused_when_it_is_prepared(strict, ada):
    with pytest.raises(Refused, match="identity"):
        ask_second(Asked("L1", DAY, user=ada), at=AT)
    assert not IssueRequest.objects.exists()


def test_a_second_person_agrees_to_what_was_prepared_and_to_nothing_else(strict, ada, bob):
    request = ask_second(asked(ada), at=AT)
    apply([change("parts", part_id="G-ELSEWHERE", name="a lamp that is in no vehicle")], kind="test")
    apply([change("parts", part_id="P1", name="first chimney", mass="61 kg")], kind="test")
    with pytest.raises(Refused, match="not what it was when it was prepared"):
        issue_asked(request, user=bob, at=AT)
    assert not Statement.objects.exists()


def test_what_is_recorded_of_other_vehicles_meanwhile_does_not_matter(strict, ada, bob):
    request = ask_second(asked(ada), at=AT)
    apply([change("parts", part_id="G-ELSEWHERE", name="a lamp that is in no vehicle")], kind="test")
    assert issue_asked(request, user=bob, at=AT).number == "CS-0001"


def test_a_request_is_taken_back_by_the_one_and_sent_back_by_the_other(strict, ada, bob):
    request = ask_second(asked(ada), at=AT)
    assert standing_requests() == [request]
    with pytest.raises(Refused, match="only whoever asked takes it back"):
        take_back(request, user=bob, at=AT)
    with pytest.raises(Refused, match="take it back"):
        send_back(request, user=ada, words="x", at=AT)
    with pytest.raises(Refused, match="say what is to be put right"):
        send_back(request, user=bob, words=" ", at=AT)
    send_back(request, user=bob, words="the dome was weighed in May", at=AT)
    assert standing_requests() == []
    latest = latest_request("l1")
    assert latest is not None and (latest.by, latest.words, latest.reasons) == (bob, "the dome was weighed in May", request.reasons)
    for settle in (lambda: issue_asked(request, user=bob, at=AT), lambda: take_back(request, user=ada, at=AT)):
        with pytest.raises(Refused, match="not waiting any more"):
            settle()
    take_back(ask_second(asked(ada), at=AT), user=ada, at=AT)
    assert not Statement.objects.exists()


def test_one_request_waits_at_a_time_and_a_second_tap_asks_once(strict, ada, bob):
    first = ask_second(asked(ada, token="tap"), at=AT)
    assert ask_second(asked(ada, token="tap"), at=AT) == first
    with pytest.raises(Refused, match="Ada has asked a second person already"):
        ask_second(asked(bob, token="other"), at=AT)


def test_a_request_of_before_the_latest_statement_waits_no_more(tmp_path, ada, bob):
    plant(tmp_path)
    request = ask_second(asked(ada), at=AT)
    issue("L1", user=bob)
    assert standing_requests() == []
    with pytest.raises(AlreadyIssued, match="CS-0001 of this vehicle was issued meanwhile"):
        issue_asked(request, user=bob, at=AT)
    with pytest.raises(Refused, match="not waiting any more"):
        take_back(request, user=ada, at=AT)


def test_a_policy_that_comes_to_ask_for_a_second_person_while_the_paper_is_made_is_kept_to(tmp_path, ada, monkeypatch):
    from register.services import issuing

    plant(tmp_path)
    papers = issuing.Prepared.papers

    def slow(self):
        found = papers(self)
        put_policy(Vehicle.objects.get(key="l1"), {"second_person": "yes"}, user=ada)
        return found

    monkeypatch.setattr(issuing.Prepared, "papers", slow)
    with pytest.raises(Refused, match="does not issue it"):
        issue_statement(asked(ada), at=AT)
    assert not Statement.objects.exists()


def test_the_database_refuses_to_alter_what_was_asked(strict, ada):
    ask_second(asked(ada), at=AT)
    for attack in (lambda: IssueRequest.objects.update(kind="sent back"), lambda: IssueRequest.objects.all()._raw_delete("default")):
        with pytest.raises(IntegrityError, match="never changed or deleted"), transaction.atomic():
            attack()


@pytest.mark.django_db(transaction=True)
def test_however_many_officers_issue_it_at_the_same_moment_it_is_one_statement_with_one_number(tmp_path):
    plant(tmp_path)
    ada, others = User.objects.create(username="ada"), [User.objects.create(username=f"officer-{n}") for n in range(3)]
    put_policy(Vehicle.objects.get(key="l1"), {"second_person": "yes"}, user=ada)
    request, barrier, found = ask_second(asked(ada), at=AT), threading.Barrier(6), []

    def press(user):
        try:
            barrier.wait()
            found.append(issue_asked(request, user=user, at=AT).number)
        finally:
            connection.close()

    threads = [threading.Thread(target=press, args=(one,)) for one in others * 2]  # each of them twice
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found == ["CS-0001"] * 6
    statement = Statement.objects.get()
    assert statement.issued_by == ada and statement.agreed_by in others
    assert Entry.objects.count() == 1 and list(faults()) == []
