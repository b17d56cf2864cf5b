"""Proposals: nothing counts before it is done, the preview is what comes, and what was decided stays."""

from __future__ import annotations

import random
from datetime import date

import pytest
from builders import changes_of, tiny
from django.db import DatabaseError, transaction
from django.utils import timezone

from register.exchange.faults import Refused
from register.fabric.figures import figures_on
from register.fabric.timeline import timeline
from register.models import Act, Installation, Part, Proposal, ProposalAct, User, VehiclePolicy
from register.services import proposal_decision as decision
from register.services import proposal_work as work
from register.services import proposals as service
from register.services.change_sets import apply
from register.services.inputs import inputs_of
from register.services.justification import effect_kept, justification
from register.services.proposal_effect import effects_of
from register.services.proposal_fields import LIKE_FOR_LIKE, QUESTIONS
from register.services.proposal_record import Stale
from register.services.proposal_steps import changes_for_steps, register_for
from register.services.vehicle_policies import put_policy

pytestmark = pytest.mark.django_db

TODAY = timezone.localdate()


@pytest.fixture
def engine():
    rows = tiny(
        places=[{"place_id": "STORE", "name": "store"}],
        positions=[{"position_id": "Q5", "vehicle_id": "L1", "name": "boiler", "visibility": "hidden", "safety": "pressure"}],
        parts=[{"part_id": "P5", "name": "boiler", "mass": "400 kg", "hazards": "asbestos"}],
        installations=[{"position_id": "Q5", "part_id": "P5", "fitted": "as built"}],
        assessments=[{"part_id": "P5", "assessed_on": "2020-05-01", "status": "restored", "fraction_low": "0.5", "fraction": "0.6", "fraction_high": "0.7"},
                     {"part_id": "P2", "assessed_on": "2020-05-01", "status": "original"}],
    )
    apply(changes_of(rows), kind="test")


@pytest.fixture
def ada(django_user_model):
    return django_user_model.objects.create_user("ada", last_name="Ada")


@pytest.fixture
def bob(django_user_model):
    return django_user_model.objects.create_user("bob", last_name="Bob")


OUT = {"do": "take out", "part_id": "P1", "place_id": "STORE"}
NEW = {"do": "fit", "position_id": "Q1", "part_id": "P9", "name": "steel chimney", "mass": "55 kg", "mass_basis": "calculated", "status": "modern substitute", "date_mark": "M 2026 etched inside"}
WELD = {"do": "treat", "part_id": "P5", "work": "crown welded", "replaced": "0.1"}


def written(user, *, steps=(OUT, NEW), undo="fully", letter="C") -> Proposal:
    """A proposal with every question answered and a third way with these steps, which is the one proposed."""
    made = service.begin(vehicle_id="L1", title="Chimney", user=user)
    service.write(made, {name: one.options[0] if one.options else f"answer to {name}" for name, one in QUESTIONS.items()}, user=user, revision=made.revision)
    for one in made.alternatives.all():
        service.put_alternative(made, one.letter, {"kind": one.kind, "title": one.title, "why_not": "not good enough"}, user=user, revision=made.revision)
    service.put_alternative(made, "", {"kind": "repair by a modern method", "title": "Another way", "why_not": "weaker"}, user=user, revision=made.revision)
    service.put_alternative(made, "", {"kind": "new and modern, hidden", "title": "Steel", "undo": undo, "marked": "etched", "recommended": "yes"}, user=user, revision=made.revision)
    letter = made.alternatives.get(recommended=True).letter
    for step in steps:
        service.add_step(made, letter, step, user=user, revision=made.revision)
    return made


def figures_now():
    inputs = inputs_of("l1")
    return {one.label: figures_on(inputs, day=TODAY.toordinal(), reference=one) for one in inputs.references}


def done_form(proposal, on=""):
    planned = proposal.alternatives.get(recommended=True).steps
    return {number: {"on": on or TODAY.isoformat(), **{name: text for name, text in step.items() if name != "do"}} for number, step in enumerate(planned, 1)}


def test_a_new_proposal_has_the_two_ways_that_are_never_left_out(engine, ada):
    made = service.begin(vehicle_id="l1", title="Chimney", user=ada, token="once")
    assert [one.title for one in made.alternatives.all()] == ["Do nothing", "New, like for like"]
    assert service.begin(vehicle_id="l1", title="Chimney", user=ada, token="once").pk == made.pk
    assert made.code == "P-001"


def test_nothing_of_it_enters_a_figure_before_it_is_done(engine, ada, bob):
    before, acts = figures_now(), Act.objects.count()
    steps_then = timeline(inputs_of("l1"), reference=inputs_of("l1").references[0], basis="mass")
    made = written(ada)
    decision.submit(made, user=ada)
    answers(made, ada)
    decision.approve(made, user=bob, details={})
    assert figures_now() == before
    assert Act.objects.count() == acts and not Part.objects.filter(key="p9").exists()
    assert timeline(inputs_of("l1"), reference=inputs_of("l1").references[0], basis="mass") == steps_then


def answers(made, user):
    service.answer_checks(made, {one.key: "because" for one in decision.checks_now(made)}, user=user)


def test_what_is_previewed_is_what_comes_to_the_digit(engine, ada, bob):
    made = written(ada, steps=(OUT, NEW, WELD))
    promised = effects_of(made, TODAY).recommended.figures
    decision.submit(made, user=ada)
    answers(made, ada)
    decision.approve(made, user=bob, details={})
    act = work.carry_out(made, done_form(made), user=ada)
    assert act.kind == "carry out proposal" and made.code in act.reason
    assert figures_now() == promised
    made.refresh_from_db()
    assert made.state == "done"
    assert work.case_for_parts("l1") == {"p9": made}


@pytest.mark.parametrize("seed", range(6))
def test_what_random_proposals_promise_is_what_comes(engine, ada, bob, seed):
    chance = random.Random(seed)
    steps = [OUT, {**NEW, "mass": f"{chance.randint(1, 500)} kg", "status": chance.choice(["replica", "modern substitute"]), "pattern_basis": "drawing"}]
    steps = chance.sample([{**WELD, "replaced": f"0.{chance.randint(1, 99):02}"}, {"do": "take out", "part_id": "P2", "disposal": "scrapped"}], chance.randint(0, 2)) + (steps if chance.random() < 0.7 else [])
    steps = steps or [WELD]
    made = written(ada, steps=steps)
    promised = effects_of(made, TODAY).recommended.figures
    decision.submit(made, user=ada)
    answers(made, ada)
    decision.approve(made, user=bob, details={})
    work.carry_out(made, done_form(made), user=ada)
    assert figures_now() == promised


def test_half_done_is_visible_and_the_rest_can_follow(engine, ada, bob):
    made = written(ada)
    decision.submit(made, user=ada)
    answers(made, ada)
    decision.approve(made, user=bob, details={})
    form = done_form(made, "14 November 2026" if date(2026, 11, 14) <= TODAY else TODAY.isoformat())
    work.carry_out(made, {1: form[1]}, user=ada)
    assert (made.state, work.steps_done(made)) == ("approved", {1: "done"})
    with pytest.raises(Refused, match="recorded already"):
        work.carry_out(made, {1: form[1]}, user=ada)
    work.carry_out(made, {}, given_up={2: "no money"}, user=ada)
    assert made.state == "done" and work.steps_done(made) == {1: "done", 2: "not done"}
    assert not Part.objects.filter(key="p9").exists()


def test_departures_are_noted_of_themselves(engine, ada, bob):
    made = written(ada)
    decision.submit(made, user=ada)
    answers(made, ada)
    decision.approve(made, user=bob, details={})
    form = done_form(made)
    form[2]["mass"] = "58 kg"
    work.carry_out(made, form, user=ada, token="once", photographs="IMG 12")
    work.carry_out(made, form, user=ada, token="once")
    act = made.acts.get(kind="done")
    assert act.details["departures"] == {"2": "mass 58 kg instead of 55 kg"}
    assert Part.objects.get(key="p9").mass == 58_000
    assert Installation.objects.filter(part="p9").count() == 1


def test_a_draft_says_what_is_lacking(engine, ada):
    made = service.begin(vehicle_id="L1", title="Chimney", user=ada)
    with pytest.raises(Refused) as refused:
        decision.submit(made, user=ada)
    told = [fault.message for fault in refused.value.faults]
    assert any("What fails" in one for one in told) and any("No alternative is recommended" in one for one in told)
    assert made.state == "draft"


@pytest.mark.parametrize(
    ("steps", "undo", "key"),
    [
        ((OUT, NEW), "fully", "original in view"),
        (({"do": "take out", "part_id": "P1"},), "fully", "not kept"),
        ((WELD,), "irreversible", "irreversible"),
        ((WELD,), "fully", "hazard disturbed"),
        ((WELD,), "fully", "no sign-off"),
        ((OUT, {**NEW, "date_mark": ""}), "fully", "unmarked p9"),
        (({"do": "take out", "part_id": "P5", "place_id": "STORE"}, {**NEW, "position_id": "Q5", "date_mark": "stamped R 2026"}), "fully", "stamped p9"),
        (({"do": "take out", "part_id": "P5", "place_id": "STORE"}, {**NEW, "position_id": "Q5", "status": "replica", "pattern_basis": "drawing"}), "fully", "pressure replica p9"),
    ],
)
def test_what_must_be_answered_in_writing(engine, ada, bob, steps, undo, key):
    made = written(ada, steps=steps, undo=undo)
    service.write(made, {"signoff": ""}, user=ada, revision=made.revision)
    keys = [one.key for one in decision.checks_now(made)]
    assert key in keys
    decision.submit(made, user=ada)
    with pytest.raises(Refused, match="Not answered yet"):
        decision.approve(made, user=bob, details={})
    answers(made, ada)
    decision.approve(made, user=bob, details={})
    assert made.state == "approved"


def test_a_proposal_that_harms_nothing_is_asked_nothing_of_it(engine, ada):
    made = written(ada, steps=({"do": "fit", "position_id": "G1", "part_id": "P9", "name": "dome", "mass": "40 kg", "status": "replica", "pattern_basis": "drawing", "date_mark": "R 2026 cast inside"},))
    assert decision.checks_now(made) == []


def test_no_alternative_and_no_like_for_like_are_asked_about(engine, ada):
    made = service.begin(vehicle_id="L1", title="Weld", user=ada)
    service.put_alternative(made, "", {"kind": "repair by a modern method", "title": "Weld", "undo": "fully", "recommended": "yes"}, user=ada, revision=made.revision)
    service.add_step(made, "C", WELD, user=ada, revision=made.revision)
    assert {"no alternative", "like for like"} <= {one.key for one in decision.checks_now(made)}


def test_the_policy_of_the_vehicle_is_kept_to(engine, ada, bob):
    from register.models import Vehicle

    put_policy(Vehicle.objects.get(key="l1"), {"never_lost": "Q1", "loss_limit": "1", "second_person": "yes"}, user=bob)
    made = written(ada)
    assert {"never to be lost", "beyond the policy"} <= {one.key for one in decision.checks_now(made)}
    decision.submit(made, user=ada)
    answers(made, ada)
    with pytest.raises(Refused, match="second person"):
        decision.approve(made, user=ada, details={})
    decision.approve(made, user=ada, details={"body": "Committee", "minute": "2026/4", "dissent": "One of five was against."})
    decided = made.acts.get(kind="approved")
    assert decided.details["body"] == "Committee" and "by_author" not in decided.details
    with pytest.raises(Refused, match="no position"):
        put_policy(Vehicle.objects.get(key="l1"), {"never_lost": "NOWHERE", "loss_limit": "-3"}, user=bob)
    assert VehiclePolicy.objects.get().loss_limit == 1


def test_own_decision_is_kept_as_such_where_no_second_person_is_asked_for(engine, ada):
    made = written(ada)
    decision.submit(made, user=ada)
    answers(made, ada)
    decision.approve(made, user=ada, details={})
    assert made.acts.get(kind="approved").details["by_author"] == "yes"


def test_what_was_decided_is_never_edited(engine, ada, bob):
    made = written(ada)
    decision.submit(made, user=ada)
    for change in (
        lambda: service.write(made, {"fails": "other"}, user=ada, revision=made.revision),
        lambda: service.add_step(made, "D", WELD, user=ada, revision=made.revision),
    ):
        with pytest.raises(Refused, match="not edited any more"):
            change()
    answers(made, ada)
    kept = effect_kept(made)
    decision.approve(made, user=bob, details={})
    with pytest.raises(Refused, match="decided"):
        service.answer_checks(made, {"x": "y"}, user=ada)
    work.carry_out(made, done_form(made), user=ada)
    assert effect_kept(made) == kept  # as it was known when it was decided, not as it would be worked out now
    with pytest.raises(DatabaseError), transaction.atomic():
        ProposalAct.objects.filter(proposal=made).update(words="changed")
    with pytest.raises(DatabaseError), transaction.atomic():
        ProposalAct.objects.filter(proposal=made).first().delete()


def test_one_that_supersedes_starts_from_the_case_and_leaves_it_when_it_is_approved(engine, ada, bob):
    made = written(ada)
    decision.submit(made, user=ada)
    answers(made, ada)
    decision.approve(made, user=bob, details={})
    other = decision.supersede(made, user=ada, token="again")
    assert decision.supersede(made, user=ada, token="again").pk == other.pk
    assert other.alternatives.count() == made.alternatives.count() and other.answers == made.answers
    decision.submit(other, user=ada)
    answers(other, ada)
    decision.approve(other, user=bob, details={})
    made.refresh_from_db()
    assert made.state == "superseded"
    with pytest.raises(Refused, match="superseded"):
        work.carry_out(made, done_form(made), user=ada)


def test_two_editors_meet_and_neither_is_overwritten(engine, ada, bob):
    made = service.begin(vehicle_id="L1", title="Chimney", user=ada)
    old = made.revision
    service.write(made, {"fails": "cracked"}, user=ada, revision=old)
    with pytest.raises(Stale):
        service.write(made, {"fails": "sound"}, user=bob, revision=old)
    assert Proposal.objects.get().answers["fails"] == "cracked"


def test_a_double_click_decides_once(engine, ada, bob):
    made = written(ada)
    decision.submit(made, user=ada, token="s")
    decision.submit(made, user=ada, token="s")
    answers(made, ada)
    decision.approve(made, user=bob, details={}, token="a")
    decision.approve(made, user=bob, details={}, token="a")
    assert made.acts.filter(kind="approved").count() == 1 == made.acts.filter(kind="submitted").count()


@pytest.mark.parametrize(
    ("step", "sentence"),
    [
        ({"do": "take out", "part_id": "NONE"}, "no part with that id"),
        ({"do": "take out", "part_id": "P3"}, "in no position now"),
        ({"do": "fit", "position_id": "NONE", "part_id": "P9", "name": "x"}, "no position with that id"),
        ({"do": "fit", "position_id": "Q1", "part_id": "P9"}, "needed"),
        ({"do": "fit", "position_id": "Q1", "part_id": "P9", "name": "x", "mass": "1 T"}, "tons or tonnes"),
        ({"do": "treat", "part_id": "P1", "work": "welded", "replaced": "1.5"}, "between 0 and 1|0 to 1|1"),
        ({"do": "explode"}, "A step is one of"),
    ],
)
def test_a_step_that_cannot_be_says_why_and_is_not_kept(engine, ada, step, sentence):
    made = service.begin(vehicle_id="L1", title="Chimney", user=ada)
    with pytest.raises(Refused) as refused:
        service.add_step(made, "B", step, user=ada, revision=made.revision)
    import re

    assert re.search(sentence, " ".join(fault.message for fault in refused.value.faults))
    assert made.alternatives.get(kind=LIKE_FOR_LIKE).steps == []


def test_a_part_fitted_before_anybody_wrote_its_case_gets_one_and_nothing_else_changes(engine, ada, bob):
    before = figures_now()
    made = written(ada, steps=({"do": "already there", "part_id": "P5"},))
    decision.submit(made, user=ada)
    answers(made, ada)
    decision.approve(made, user=bob, details={})
    work.carry_out(made, {1: {"on": TODAY.isoformat(), "part_id": "P5"}}, user=ada)
    assert Part.objects.get(key="p5").public_note == "answer to public"
    assert figures_now() == before and work.case_for_parts("l1") == {"p5": made}


def test_the_preview_is_made_by_the_function_that_carries_out(engine, ada):
    made = written(ada)
    steps = made.alternatives.get(recommended=True).steps
    register = register_for("l1", steps)
    one = changes_for_steps(register, steps, days=["2026-01-02", "2026-01-02"], why="x")
    assert [change.table for change in one] == ["installations", "movements", "parts", "assessments", "installations"]


def test_the_justification_is_a_paper_of_one_or_two_pages_with_the_four_tests(engine, ada, bob):
    from io import BytesIO

    from pypdf import PdfReader

    made = written(ada)
    decision.submit(made, user=ada)
    answers(made, ada)
    decision.approve(made, user=bob, words="Keep the old chimney in the store.", details={"body": "Committee", "minute": "2026/4"})
    reader = PdfReader(BytesIO(justification(made)))
    text = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    assert len(reader.pages) <= 2
    for words in ("demonstrably necessary", "without harm", "kept as small", "decisively outweigh", "Committee", "2026/4", "not good enough", "Keep the old chimney", "It does not say that anything is fit"):
        assert words in text, words


def test_people_s_answers_may_be_long_and_hostile(engine, ada):
    made = service.begin(vehicle_id="L1", title="<b>x</b> & é", user=ada)
    service.write(made, {"fails": "bolt <M12> long & " + "w" * 400 + "\n\nŁódź"}, user=ada, revision=made.revision)
    assert justification(made).startswith(b"%PDF")
    with pytest.raises(Refused, match="too many"):
        service.write(made, {"fails": "x" * 20_001}, user=ada, revision=made.revision)


def test_a_person_who_wrote_a_proposal_stays_in_the_record(engine, ada):
    service.begin(vehicle_id="L1", title="Chimney", user=ada)
    from django.db.models import ProtectedError

    with pytest.raises(ProtectedError):
        User.objects.get(pk=ada.pk).delete()


def test_cumulative_change_is_told_since_the_first_statement_too(engine, ada):
    from tests.services.issued import issue

    stated = issue("L1", day=TODAY)
    first = figures_now()[inputs_of("l1").references[0].label]["mass"].whole.best
    made = written(ada)
    effects = effects_of(made, TODAY)
    _, since_first, before = effects.since(effects.recommended)
    assert stated.number in since_first.label
    assert abs(float(since_first.then - first)) < 1e-6  # JSON holds six decimals (the exchange format, section on JSON)
    assert since_first.change < 0 and before.then == first


def test_where_too_little_is_assessed_nothing_is_worked_out_of_a_best_figure(engine, ada, bob):
    """Method, section 7: below half assessed the best figure gives way to "not enough assessed"; so does what would be
    worked out of it. A heavy part that nobody has dated or assessed makes the vehicle such a one."""
    from io import BytesIO

    from pypdf import PdfReader

    from register.models import Vehicle
    from register.services.structure import preview
    from register.services.structure_moves import plan_taking

    apply(changes_of({"positions": [{"position_id": "Q9", "vehicle_id": "L1", "name": "frame", "visibility": "in view"}],
                      "parts": [{"part_id": "P50", "name": "frame", "mass": "5000 kg"}],
                      "installations": [{"position_id": "Q9", "part_id": "P50", "seen_on": "2020-01-01"}]}), kind="test")
    put_policy(Vehicle.objects.get(key="l1"), {"loss_limit": "5", "never_lost": "Q9"}, user=bob)
    unknown = written(ada, steps=({"do": "take out", "part_id": "P50", "place_id": "STORE"},))
    assert {"never to be lost", "original in view"} <= {one.key for one in decision.checks_now(unknown)}  # it may be all original
    assert effects_of(unknown, TODAY).leaving(effects_of(unknown, TODAY).recommended) is None
    made = written(ada, steps=(OUT,))
    effects = effects_of(made, TODAY)
    assert effects.leaving(effects.recommended) is None
    assert [one.change for one in effects.since(effects.recommended)] == [None, None]
    assert "loss not known" in {one.key for one in decision.checks_now(made)}
    decision.submit(made, user=ada)
    answers(made, ada)
    decision.approve(made, user=bob, details={})
    assert made.acts.get(kind="approved").case["policy"]["loss_limit"] == 5
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(justification(made))).pages).split())
    assert "Original metal leaving. not known" in text and "not enough assessed" in text
    told = preview(plan_taking(part_id="P1", on=TODAY.isoformat(), place_id="STORE", comes_out=True), day=TODAY).sentences
    assert told and all("best" not in one or "not enough assessed" in one for one in told if "by mass" in one)
