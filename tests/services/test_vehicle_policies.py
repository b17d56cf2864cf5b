"""What is laid down for a vehicle, and what it is worth in words: every version is kept, and the latest counts."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from builders import change
from django.db import IntegrityError, transaction

from register.exchange.faults import Refused
from register.models import SignificanceText, User, Vehicle, VehiclePolicy
from register.services.change_sets import apply
from register.services.significance_texts import WHOLE, groups_of, put_significance, texts_by_position
from register.services.significance_texts import history_of as history_of_words
from register.services.vehicle_policies import FIELDS, history_of, policy_of, put_policy, texts_of
from tests.services.issued import plant

pytestmark = pytest.mark.django_db
MAY, JUNE = datetime(2026, 5, 2, 9, 30, tzinfo=UTC), datetime(2026, 6, 3, 9, 30, tzinfo=UTC)


@pytest.fixture
def engine(tmp_path):
    plant(tmp_path)
    return Vehicle.objects.get(key="l1")


@pytest.fixture
def ada():
    return User.objects.create(username="ada", last_name="Ada")


@pytest.fixture
def bob():
    return User.objects.create(username="bob", last_name="Bob")


def test_who_changed_the_policy_when_and_what_it_said_before_is_answered(engine, ada, bob):
    put_policy(engine, {"marking": "a tag", "loss_limit": "5", "second_person": "yes"}, user=ada, at=MAY)
    put_policy(engine, {"marking": "a tag", "loss_limit": "3"}, user=bob, at=JUNE)
    latest, first = history_of("l1")
    assert (latest.by, latest.at, first.by, first.at) == (bob, JUNE, ada, MAY)
    assert latest.changes == (("Loss allowed since the reference date", "5", "3"), ("Second person", "yes", ""))
    assert ("Marking of new parts", "", "a tag") in first.changes
    counts = policy_of("l1")
    assert counts is not None and (counts.loss_limit, counts.second_person) == (3, False)


def test_the_same_policy_twice_is_one_version(engine, ada, bob):
    first = put_policy(engine, {"marking": "a tag "}, user=ada)
    assert put_policy(engine, {"marking": " a tag"}, user=bob) == first
    assert [one.by for one in history_of("l1")] == [ada]


@pytest.mark.parametrize("model", [VehiclePolicy, SignificanceText])
def test_the_database_refuses_to_alter_a_version(model, engine, ada):
    put_policy(engine, {"marking": "a tag"}, user=ada)
    put_significance(engine, WHOLE, {"evidential": "the frames"}, user=ada)
    for attack in (lambda: model.objects.update(vehicle="l2"), lambda: model.objects.all()._raw_delete("default")):
        with pytest.raises(IntegrityError, match="never changed or deleted"), transaction.atomic():
            attack()


def test_two_editors_of_a_policy_meet(engine, ada, bob):
    first = put_policy(engine, {"marking": "a tag"}, user=ada, after=0)
    second = put_policy(engine, {"marking": "a tag", "repair": "welding last"}, user=ada, after=first.pk)
    with pytest.raises(Refused, match=r"Ada changed it while you wrote.*Repair: welding last"):
        put_policy(engine, {"marking": "an etched year"}, user=bob, after=first.pk)
    assert put_policy(engine, {"marking": "an etched year"}, user=bob, after=second.pk).by == bob
    assert VehiclePolicy.objects.count() == 3


def test_a_policy_is_told_by_the_names_of_its_fields_whether_it_is_there_or_not(engine, ada):
    assert set(texts_of(None).values()) == {""}
    typed = {one.name: "yes" if one.options else "4" if one.name == "loss_limit" else "" if one.name == "never_lost" else one.label for one in FIELDS}
    assert texts_of(put_policy(engine, typed, user=ada)) == typed


def test_a_text_that_no_paper_would_print_is_refused(engine, ada):
    with pytest.raises(Refused, match="letters are too many"):
        put_policy(engine, {"repair": "x" * 20_001}, user=ada)
    with pytest.raises(Refused, match="letters are too many"):
        put_significance(engine, WHOLE, {"communal": "x" * 20_001}, user=ada)


# --- significance ---------------------------------------------------------------------------------------------------


def test_the_whole_and_its_main_groups_have_words_of_their_own(engine, ada, bob):
    apply([change("positions", position_id="Q9", vehicle_id="L1", parent_id="Q1", name="cap", visibility="in view")], kind="new")
    top = groups_of("l1")
    assert "q9" not in {one.key for one in top} and {one.vehicle_id for one in top} == {"l1"}
    put_significance(engine, WHOLE, {"evidential": "the frames", "rarity": "one of two"}, user=ada, at=MAY)
    put_significance(engine, top[0].key, {"evidential": "its marks", "rarity": "no such question"}, user=bob, at=JUNE)
    put_significance(engine, WHOLE, {"evidential": "the frames", "rarity": "the last of two"}, user=bob, at=JUNE)
    found = texts_by_position("l1")
    assert set(found) == {WHOLE, top[0].key}
    assert (found[WHOLE].rarity, found[top[0].key].evidential, found[top[0].key].rarity) == ("the last of two", "its marks", "")
    assert history_of_words("l1")[0].changes == (("How rare", "one of two", "the last of two"),)


def test_words_for_what_is_no_main_group_are_refused(engine, ada):
    apply([change("positions", position_id="Q9", vehicle_id="L1", parent_id="Q1", name="cap", visibility="in view")], kind="new")
    for position in ("q9", "g1", "nowhere"):
        with pytest.raises(Refused, match="no main group of that id"):
            put_significance(engine, position, {"evidential": "its marks"}, user=ada)
    assert put_significance(engine, WHOLE, {}, user=ada) is None
    assert not SignificanceText.objects.exists()


@pytest.mark.parametrize("typed", ["101", "0001999", "0001" + "9" * 22, "1" * 5000, "²", "-3", "2.5"])
def test_a_limit_that_no_percentage_is_is_refused_however_it_is_written(typed, engine, ada):
    with pytest.raises(Refused, match="whole number from 0 to 100"):
        put_policy(engine, {"loss_limit": typed}, user=ada)
    assert not VehiclePolicy.objects.exists()
