"""What waits counts nowhere; what is decided counts as its preview said, once, and by whoever was first."""

from __future__ import annotations

import random
from datetime import date

import pytest
from at_once import at_once
from builders import change, changes_of, tiny
from django.contrib.auth.models import Group

from register.exchange.faults import Refused
from register.exchange.records import Change
from register.models import Act, Assessment, ChangeSet, Installation, Part, ReviewEntry, Treatment
from register.services.change_sets import Conflicted, apply
from register.services.deciding import Decided, decide
from register.services.effects import effect_of
from register.services.figures import figures_of
from register.services.loading import load_register
from register.services.public import public_register
from register.services.records import put_record
from register.services.waiting import hand_in, submit
from register.services.waiting_rows import changes_of as stored_changes

DAY = date(2026, 11, 25)
pytestmark = pytest.mark.django_db


def person(name, role):
    from register.models import User

    user, _ = User.objects.get_or_create(username=name, defaults={"last_name": name.title()})
    user.groups.add(Group.objects.get_or_create(name=role)[0])
    return User.objects.get(pk=user.pk)


@pytest.fixture
def small():
    act, _ = apply(changes_of(tiny()), kind="import", whole=True)
    return act


@pytest.fixture
def recorder():
    return person("ruth", "recorder")


@pytest.fixture
def engineer():
    return person("daniel", "engineer")


@pytest.fixture
def officer():
    return person("margaret", "officer")


FIND = {"part_id": "P2", "assessed_on": "2026-11-20", "status": "restored", "fraction_low": "0.5", "fraction": "0.6", "fraction_high": "0.75", "reason": "new rim"}


def everything():
    """All that anybody could read of the register: figures on every basis, the whole of it, the public part."""
    register = load_register()
    return (
        {vehicle: figures_of(vehicle, day=DAY) for vehicle in ("l1", "l2")},
        {name: sorted(map(repr, rows.items())) for name, rows in register.tables.items()},
        sorted(map(repr, register.drafts.items())),
        {name: sorted(map(repr, rows.items())) for name, rows in public_register(register).tables.items()},
        register.change_no,
    )


def test_a_recorder_s_find_waits_and_counts_when_it_is_accepted(small, recorder, officer):
    before = everything()
    handed = hand_in([change("assessments", **FIND)], user=recorder, kind="find", title="Dome: restored")
    assert handed.act is None and handed.waiting.state == "waiting" and everything() == before
    decided = decide(handed.waiting.pk, "accept", user=officer, reason="agrees with the drawing")
    assert decided.state == "accepted" and decided.decided_by.reason == "agrees with the drawing"
    assert Assessment.objects.get(part="p2").status == "restored"
    assert [entry.verb for entry in decided.entries.all()] == ["handed in", "accepted"]


def random_change(rng, number):
    part, position = f"P{rng.randint(1, 3)}", rng.choice(["Q1", "Q2", "G1"])
    return rng.choice([
        lambda: change("assessments", part_id=part, assessed_on=f"2021-0{rng.randint(1, 9)}-03", status=rng.choice(["original", "replica", "modern substitute"]), original_to="L1"),
        lambda: change("treatments", part_id=part, date=str(rng.randint(1900, 2000)), work=f"work {number}", replaced=f"0.{rng.randint(1, 9)}"),
        lambda: change("parts", part_id=part, mass=f"{rng.randint(10, 90)} kg"),
        lambda: change("parts", part_id=f"N{number}", name="loose part", mass="5 kg"),
        lambda: change("positions", position_id=position, significance=rng.choice(["exceptional", "some"])),
        lambda: change("vehicles", vehicle_id="L1", empty_mass=f"{rng.randint(200, 900)} kg", published=rng.choice(["yes", "no"])),
        lambda: change("citations", part_id=part, source_id="S1", supports=rng.choice(["yes", "no"]), locator=f"p {number}"),
        lambda: change("sources", source_id=f"T{number}", kind="ledger", title="ledger"),
        lambda: change("installations", position_id=position, part_id=part, fitted=str(rng.randint(1895, 2020))),
    ])()  # fmt: skip


@pytest.mark.parametrize("seed", range(6))
def test_nothing_that_waits_changes_any_figure_export_or_public_page(seed, small, recorder, engineer, officer, client):
    """Over random change sets, each in whatever state it may be in while it is not accepted."""
    rng = random.Random(seed)
    apply([change("vehicles", vehicle_id="L1", published="yes")], kind="publish")
    pages = ["/id/", "/id/vehicles/l1/", "/id/vehicles/l2/"]
    before, seen = everything(), [client.get(page).content for page in pages]
    made = 0
    for number in range(14):
        try:
            stored = submit([random_change(rng, f"{number}{one}") for one in range(rng.randint(1, 3))], author=recorder, kind="find", title="a find")
        except Refused:
            continue
        made += 1
        verb, who = rng.choice([("", None), ("ask", officer), ("supersede", officer), ("withdraw", recorder)])
        if verb:
            decide(stored.pk, verb, user=who, reason="which one?")
        if verb == "ask" and rng.random() < 0.5:
            decide(stored.pk, "answer", user=recorder, reason="this one")
    assert made > 3 and everything() == before
    assert [client.get(page).content for page in pages] == seen


@pytest.mark.parametrize("seed", range(6))
def test_every_preview_equals_its_result_to_the_digit(seed, small, recorder, officer):
    rng = random.Random(seed)
    compared = 0
    for number in range(7):
        rows = [random_change(rng, f"{number}{one}") for one in range(rng.randint(1, 3))]
        try:
            stored = submit(rows, author=recorder, kind="find", title="a find")
        except Refused:
            continue
        effects = effect_of(stored_changes(stored), day=DAY, base_no=stored.base_no)
        was = {vehicle: figures_of(vehicle, day=DAY) for vehicle in ("l1", "l2")}
        assert not effects.conflicts
        decide(stored.pk, "accept", user=officer)
        told = {one.key: one for one in effects.vehicles}
        for vehicle in ("l1", "l2"):
            now = figures_of(vehicle, day=DAY)
            if vehicle in told:
                assert dict(told[vehicle].before) == dict(was[vehicle]) and dict(told[vehicle].after) == dict(now)
                compared += 1
            else:
                assert dict(now) == dict(was[vehicle])
    assert compared


def test_facts_of_the_shop_floor_count_at_once_and_the_rest_of_them_waits(small, engineer):
    """One table in policy says so; a treatment's work counts, its share of new material waits."""
    handed = hand_in(
        [change("treatments", part_id="P1", date="2026-11-20", work="new rim", replaced="0.1"), change("installations", position_id="G1", part_id="P3", fitted="2026-11-20"), change("parts", part_id="P1", mass="70 kg")],
        user=engineer, kind="find", title="chimney",
    )  # fmt: skip
    work = Treatment.objects.get(part="p1")
    assert work.work == "new rim" and work.replaced == 0 and Installation.objects.filter(part="p3").exists()
    assert Part.objects.get(key="p1").mass == 60_000
    assert {(row["table"], *row["values"]) for row in handed.waiting.changes} >= {("parts", "part_id", "mass")}
    decide(handed.waiting.pk, "accept", user=person("o", "officer"))
    assert Treatment.objects.get(part="p1").replaced == 100_000 and Part.objects.get(key="p1").mass == 70_000


def test_what_is_fitted_waits_with_the_part_that_it_is(small, engineer):
    handed = hand_in([change("parts", part_id="P9", name="new dome"), change("installations", position_id="G1", part_id="P9", fitted="2020")], user=engineer, kind="find", title="x")
    assert handed.act is None and len(handed.waiting.changes) == 2 and not Part.objects.filter(key="p9").exists()


@pytest.mark.parametrize(("role", "table", "texts"), [
    ("recorder", "movements", {"part_id": "P1", "moved_on": "2026", "reason": "lent"}),
    ("recorder", "installations", {"position_id": "G1", "part_id": "P3", "fitted": "1990"}),
    ("engineer", "assessments", {"part_id": "P2", "assessed_on": "2026-01-01", "status": "replica"}),
    ("engineer", "citations", {"part_id": "P1", "source_id": "S1"}),
    ("engineer", "parts", {"part_id": "P1", "mass": "1 kg"}),
])  # fmt: skip
def test_what_a_role_may_not_decide_waits_whatever_way_it_comes(role, table, texts, small):
    """The services enforce the table of policy, whichever page was used."""
    before = everything()
    put_record(table, texts, key=None if table != "parts" else "p1", user=person("x", role))
    assert everything() == before and ChangeSet.objects.get().state == "waiting"


def test_a_question_is_answered_and_the_change_set_waits_again(small, recorder, officer):
    stored = submit([change("assessments", **FIND)], author=recorder, kind="find", title="t")
    with pytest.raises(Refused, match="Write the question"):
        decide(stored.pk, "ask", user=officer, reason=" ")
    assert decide(stored.pk, "ask", user=officer, reason="which rim?").state == "returned"
    with pytest.raises(Decided, match="Only its author"):
        decide(stored.pk, "answer", user=officer, reason="the front one")
    assert decide(stored.pk, "answer", user=recorder, reason="the front one").state == "waiting"
    assert [(entry.verb, entry.text) for entry in stored.entries.all()] == [("handed in", ""), ("asked", "which rim?"), ("answered", "the front one")]


def test_what_was_said_in_review_cannot_be_changed_or_deleted(small, recorder):
    from django.db import DatabaseError, IntegrityError, transaction

    submit([change("assessments", **FIND)], author=recorder, kind="find", title="t")
    for work in (lambda: ReviewEntry.objects.update(text="x"), lambda: ReviewEntry.objects.all().delete()):
        with pytest.raises((IntegrityError, DatabaseError)), transaction.atomic():
            work()


def test_a_form_sent_twice_decides_once_and_a_second_officer_is_told(small, recorder, officer):
    stored = submit([change("assessments", **FIND)], author=recorder, kind="find", title="t", token="f1")
    assert submit([change("assessments", **FIND)], author=recorder, kind="find", title="t", token="f1").pk == stored.pk
    decide(stored.pk, "accept", user=officer, token="d1")
    assert decide(stored.pk, "accept", user=officer, token="d1").state == "accepted"
    with pytest.raises(Decided, match="accepted by Margaret"):
        decide(stored.pk, "supersede", user=person("second", "officer"), reason="no")
    assert Act.objects.filter(kind="accept find").count() == 1


def test_a_record_changed_since_is_a_conflict_until_the_officer_says_which(small, recorder, officer):
    stored = submit([change("parts", part_id="P1", marks="88 R")], author=recorder, kind="find", title="t")
    apply([change("parts", part_id="P1", marks="83")], kind="change part")
    assert effect_of(stored_changes(stored), day=DAY, base_no=stored.base_no).conflicts[0].differences == (("marks", "83", "88 R"),)
    with pytest.raises(Conflicted):
        decide(stored.pk, "accept", user=officer)
    assert Part.objects.get(key="p1").marks == "83"
    decide(stored.pk, "accept", user=officer, keep="file")
    assert Part.objects.get(key="p1").marks == "88 R"


def test_an_id_that_was_taken_meanwhile_is_not_written_over(small, recorder, officer):
    stored = submit([change("parts", part_id="LOOSE-1", name="a knob")], author=recorder, kind="find", title="t")
    apply([change("parts", part_id="loose-1", name="a lamp")], kind="new part")
    with pytest.raises(Refused, match="given that id since"):
        decide(stored.pk, "accept", user=officer, keep="file")
    assert Part.objects.get(key="loose-1").name == "a lamp"


def test_a_differing_opinion_stands_counts_nowhere_and_travels_as_a_draft(small, recorder, officer, tmp_path):
    """The exchange format knows it as an assessment with state draft; once settled, as withdrawn."""
    before = everything()[0]
    stored = submit([change("assessments", part_id="P1", assessed_on="2026-11-20", status="replica", reason="too crisp"), change("parts", part_id="P1", marks="88?"),
                     change("citations", part_id="P1", source_id="S1", supports="no", locator="rim")], author=recorder, kind="find", title="Chimney")
    decide(stored.pk, "let stand", user=officer, reason="worth keeping")
    standing = ChangeSet.objects.get(state="standing")
    assert (standing.author, standing.kind, standing.part) == (recorder, "opinion", "p1") and everything()[0] == before
    stored.refresh_from_db()
    assert stored.state == "waiting" and [row["table"] for row in stored.changes] == ["parts"]
    assert [row["status"] for row in load_register().drafts.values()] == ["replica"]
    decide(standing.pk, "settle", user=officer, reason="agreed that it is the first")
    assert not load_register().drafts and everything()[0] == before
    assert Assessment.objects.get(part="p1", status="replica").state == "withdrawn"


def test_an_opinion_is_withdrawn_by_its_author_alone(small, recorder, officer):
    stored = submit([change("assessments", part_id="P1", assessed_on="2026-11-20", status="replica")], author=recorder, kind="find", title="Chimney")
    decide(stored.pk, "let stand", user=officer)
    standing = ChangeSet.objects.get(state="standing")
    with pytest.raises(Decided, match="Only its author"):
        decide(standing.pk, "withdraw", user=officer)
    assert decide(standing.pk, "withdraw", user=recorder).state == "withdrawn" and not load_register().drafts


def test_a_draft_that_came_in_a_file_is_reviewed_like_any_other(small, officer):
    apply([change("assessments", part_id="P2", assessed_on="2022-02-02", state="draft", status="replica")], kind="import")
    draft = ChangeSet.objects.get()
    decide(draft.pk, "accept", user=officer)
    draft.refresh_from_db()
    assert draft.state == "accepted" and Assessment.objects.get(part="p2").status == "replica"


def test_only_officers_decide(small, recorder, engineer):
    stored = submit([change("assessments", **FIND)], author=recorder, kind="find", title="t")
    for who in (recorder, engineer, person("lewis", "administrator")):
        with pytest.raises(Decided, match="for the heritage officer"):
            decide(stored.pk, "accept", user=who)


def test_what_the_register_would_refuse_is_refused_when_it_is_handed_in(small, recorder):
    with pytest.raises(Refused, match="No part has that id"):
        submit([change("assessments", **FIND | {"part_id": "P99"})], author=recorder, kind="find", title="t")
    with pytest.raises(Refused, match="holds all of this already"):
        submit([change("parts", part_id="P1", name="first chimney")], author=recorder, kind="find", title="t")
    assert not ChangeSet.objects.exists()


def test_the_stored_texts_are_read_back_as_they_were_handed_in(small, recorder):
    rows = [change("assessments", **FIND), change("parts", part_id="P2", mass="40-44 kg", hazards="asbestos;lead paint"), change("treatments", part_id="P1", date="between 1903 and 1907", work="x")]
    assert stored_changes(submit(rows, author=recorder, kind="find", title="t")) == [Change(one.table, one.values) for one in rows]


# --- many at the same moment --------------------------------------------------------------------------------------------


@pytest.mark.django_db(transaction=True)
def test_twenty_people_edit_one_part_one_is_accepted_and_nineteen_are_told_with_both_texts(small):
    user = person("margaret", "officer")
    found = at_once(lambda index: put_record("parts", {"marks": f"read by {index}"}, key="p1", user=user, base_no=small.change_no))
    told = [one for one in found if isinstance(one, Conflicted)]
    assert len(told) == 19 and len([one for one in found if not isinstance(one, Exception)]) == 1, found
    stored = Part.objects.get(key="p1").marks
    assert {one.conflicts[0].differences[0][1] for one in told} == {stored}
    assert len({one.conflicts[0].differences[0][2] for one in told}) == 19


@pytest.mark.django_db(transaction=True)
def test_one_part_fitted_in_twenty_places_at_the_same_moment_is_in_one(small):
    apply([change("positions", position_id=f"T{index}", vehicle_id="L1", name=f"place {index}", visibility="hidden") for index in range(20)], kind="test")
    user = person("daniel", "engineer")
    found = at_once(lambda index: hand_in([change("installations", position_id=f"T{index}", part_id="P3", fitted="2001")], user=user, kind="fit", title="x"))
    assert [type(one).__name__ for one in found].count("Refused") == 19, found
    assert Installation.objects.filter(part="p3").count() == 1


@pytest.mark.django_db(transaction=True)
def test_of_twenty_officers_who_accept_at_the_same_moment_one_is_first(small):
    user, stored = person("margaret", "officer"), submit([change("assessments", **FIND)], author=person("ruth", "recorder"), kind="find", title="t")
    found = at_once(lambda index: decide(stored.pk, "accept", user=user, token=f"form-{index}"))
    assert [type(one).__name__ for one in found].count("Decided") == 19, found
    assert Assessment.objects.filter(part="p2").count() == 1 and Act.objects.filter(kind="accept find").count() == 1


@pytest.mark.django_db(transaction=True)
def test_a_find_handed_in_twenty_times_by_one_form_is_one_find(small):
    user = person("ruth", "recorder")
    found = at_once(lambda index: submit([change("assessments", **FIND)], author=user, kind="find", title="t", token="the-form"))
    assert {one.pk for one in found} == {ChangeSet.objects.get().pk}
