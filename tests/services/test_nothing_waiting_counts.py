"""Whatever waits, in whatever state, changes no figure, no export and no public page; and what a preview says is what comes,
to the digit. Random registers of finds, opinions and proposals, each looked at after every step."""

from __future__ import annotations

import random
from fractions import Fraction

import picture_files as files
import pytest
from builders import change, changes_of, read_folder, tiny
from django.utils import timezone

from register.exchange.faults import Refused
from register.fabric.figures import figures
from register.fabric.inputs import BASES
from register.models import Act, Assessment, ChangeSet, Proposal
from register.models.change_set import RETURNED, STANDING, WAITING
from register.services import proposal_decision, proposal_work
from register.services.change_sets import Conflicted, apply
from register.services.deciding import Decided, decide
from register.services.effects import effect_of
from register.services.export_register import export_register
from register.services.figures import figures_of
from register.services.find_pictures import add_pictures
from register.services.find_rows import WrongAnswers
from register.services.finds import add_evidence, answer, begin
from register.services.finds_sent import find_behind, open_again, send
from register.services.inputs import inputs_of
from register.services.kept_pictures import Sent, keep_pictures
from register.services.proposal_effect import effects_of as effects_of_proposal
from register.services.waiting_rows import as_accepted
from register.services.waiting_rows import changes_of as stored_changes
from tests.services.test_proposals import NEW, OUT, answers, done_form, written
from tests.services.test_waiting import DAY, person

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate()
FLOORS = range(4)


@pytest.fixture(autouse=True)
def small():
    rows = tiny(
        places=[{"place_id": "STORE", "name": "store"}],
        citations=[{"part_id": "P1", "source_id": "S1", "supports": "yes"}],
        assessments=[{"part_id": "P2", "assessed_on": "2020-05-01", "status": "restored", "fraction_low": "0.5", "fraction": "0.6", "fraction_high": "0.7"}],
    )
    rows["vehicles"][0] |= {"published": "yes", "empty_mass": "500 kg"}
    apply(changes_of(rows), kind="import", whole=True)


@pytest.fixture
def people():
    return {role: person(name, role) for role, name in (("recorder", "ruth"), ("engineer", "daniel"), ("officer", "margaret"))}


def every_figure():
    """On every basis, with and without wear parts, at every evidence floor, by each visibility, to the last digit."""
    found = {}
    for vehicle in ("l1", "l2"):
        inputs = inputs_of(vehicle)
        for reference in inputs.references:
            for basis in BASES:
                for floor in FLOORS:
                    asked = {"day": TODAY.toordinal(), "reference": reference, "basis": basis, "evidence_floor": floor}
                    found[vehicle, reference.label, basis, floor] = figures(inputs, **asked), figures(inputs, **asked, include_wear=True)
    return found


def exported(folder, *, public):
    export_register(folder, public=public, overwrite=True)
    return {name: sorted(map(repr, rows)) for name, rows in read_folder(folder).items()}


def without_opinions(tables):
    """A private export without what an opinion that stands or stood leaves in it, as the exchange format has it: a draft or
    withdrawn assessment, its citations, and the sources and the person that came with it."""
    from ast import literal_eval

    rows = {name: list(map(literal_eval, found)) for name, found in tables.items()}
    gone = {(row["part_id"], row["assessed_on"]) for row in rows.get("assessments", ()) if row["state"] != "accepted"}
    rows["assessments"] = [row for row in rows["assessments"] if row["state"] == "accepted"]
    rows["citations"] = [row for row in rows.get("citations", ()) if (row["part_id"], row["assessed_on"]) not in gone]
    rows["sources"] = [row for row in rows["sources"] if not row["source_id"].startswith("FIND-")]
    rows.pop("people", None)
    return {name: sorted(map(repr, found)) for name, found in rows.items() if found}


class Looked:
    """All that anybody could read, before; ``still()`` asks whether it is so now."""

    def __init__(self, client, folder):
        self.client, self.folder = client, folder
        self.before = self.all_of_it()
        assert b"Larkspur" in self.before[-1][1]

    def all_of_it(self):
        pages = [self.client.get(page).content for page in ("/id/", "/id/vehicles/l1/", "/id/vehicles/l2/")]
        whole = exported(self.folder / "whole", public=False)
        return every_figure(), without_opinions(whole), exported(self.folder / "public", public=True), pages

    def still(self):
        now = self.all_of_it()
        return [name for name, one, other in zip(("figures", "export", "public export", "public pages"), self.before, now, strict=True) if one != other]


def a_find(rng, user, tmp_path, day):
    """The answers of somebody who found something, through the questions."""
    draft = begin(user, rng.choice([["P1"], ["P2"], ["P3"], ["P1", "P2"], []]))
    if not draft.parts:
        answer(user, draft.pk, "what", {"name": "knob"})
    answer(user, draft.pk, "marks", {"marks": f"mark {rng.randint(1, 99)}"})
    if rng.random() < 0.5:
        answer(user, draft.pk, "measured", {"mass": f"{rng.randint(10, 90)} kg"})
    if rng.random() < 0.4:
        answer(user, draft.pk, "work", {"work": "patched", "date": str(rng.randint(1900, 2020)), "least": "5%", "most": f"{rng.randint(6, 60)}%"})
    if rng.random() < 0.8 and draft.parts:
        answer(user, draft.pk, "status", {"status": rng.choice(["original", "replica", "modern substitute"]), "to": "L1"})
    if rng.random() < 0.5:
        answer(user, draft.pk, "evidence", {"mark": "yes"})
        add_evidence(user, draft.pk, {"source": "a ledger", "kind": "ledger", "locator": "p 1", "supports": rng.choice(["yes", "no"])})
    if rng.random() < 0.3:
        path = tmp_path / "picture"
        path.write_bytes(files.picture("PNG", size=(8, 8), colour=(rng.randint(0, 255), 0, 0)))
        add_pictures(user, draft.pk, keep_pictures([Sent("a.png", path)], today=day).pictures)
    return send(user, draft.pk, day=day)[1]


def a_step(rng, people, tmp_path):
    """One thing that may happen to what waits, and that is no acceptance. Its name, "" where it could not be."""
    recorder, officer, engineer = people["recorder"], people["officer"], people["engineer"]
    day = DAY.replace(day=rng.randint(1, 25))
    open_ones = list(ChangeSet.objects.filter(state__in=(WAITING, RETURNED, STANDING)))
    one = rng.choice(open_ones) if open_ones else None
    proposals = list(Proposal.objects.filter(state__in=("draft", "submitted")))
    name = rng.choice(["find", "find", "ask", "answer", "write anew", "let stand", "let stand", "settle", "withdraw", "supersede", "propose", "decide proposal"])
    try:
        if name == "find":
            a_find(rng, recorder, tmp_path, day)
        elif name == "propose":
            written(engineer, steps=(OUT, {**NEW, "mass": f"{rng.randint(1, 200)} kg"}))
        elif name == "decide proposal" and proposals:
            made = rng.choice(proposals)
            if made.state == "draft":
                proposal_decision.submit(made, user=engineer)
                answers(made, engineer)
            proposal_decision.approve(made, user=officer, details={})
        elif one is None or name == "decide proposal":
            return ""
        elif name == "write anew":
            if find_behind(one) is None:
                decide(one.pk, "ask", user=officer, reason="which?")
            again = open_again(recorder, one.pk)
            answer(recorder, again.pk, "marks", {"marks": f"looked again {rng.randint(1, 99)}"})
            send(recorder, again.pk, day=day)
        else:
            who = recorder if name in ("answer", "withdraw") else officer
            decide(one.pk, name, user=who, reason="since it is so")
    except (Refused, Decided, WrongAnswers, Conflicted):
        return ""
    return name


@pytest.mark.parametrize("seed", range(5))
def test_nothing_that_waits_changes_a_figure_an_export_or_a_public_page(seed, people, client, tmp_path):
    rng, looked = random.Random(seed), Looked(client, tmp_path)
    done = []
    for _ in range(40):
        if step := a_step(rng, people, tmp_path):
            done.append(step)
            assert looked.still() == [], done
    assert len(done) > 12 and Assessment.objects.filter(state="accepted").count() == 2, done


def test_every_kind_of_step_was_taken_somewhere_in_those_walks(people, tmp_path):
    """So that the law above is about all of them: without looking, in a few walks more."""
    done = set()
    for seed in range(4):
        rng = random.Random(100 + seed)
        done |= {a_step(rng, people, tmp_path) for _ in range(40)}
    assert done >= {"find", "ask", "answer", "write anew", "let stand", "settle", "withdraw", "supersede", "propose", "decide proposal"}, done


def test_an_acceptance_would_have_been_noticed(people, client, tmp_path):
    """The law can fail: one accepted find shows in the figures, the exports and nowhere that is frozen."""
    looked = Looked(client, tmp_path)
    draft = begin(people["recorder"], ["P2"])
    answer(people["recorder"], draft.pk, "status", {"status": "replica"})
    decide(send(people["recorder"], draft.pk, day=DAY)[1].waiting.pk, "accept", user=people["officer"])
    assert {"figures", "export", "public export"} <= set(looked.still())


# --- the preview is the result ---------------------------------------------------------------------------------------------


def compared(changes, base_no, accept):
    """What the preview says, then what is there once ``accept()`` is done: equal on every basis, to the last digit."""
    told = {one.key: one for one in effect_of(changes, day=TODAY, base_no=base_no).vehicles}
    was = {vehicle: figures_of(vehicle, day=TODAY) for vehicle in ("l1", "l2")}
    accept()
    for vehicle in ("l1", "l2"):
        now = figures_of(vehicle, day=TODAY)
        promised = told[vehicle].after if vehicle in told else was[vehicle]
        assert dict(promised) == dict(now), vehicle
        if vehicle in told:
            assert dict(told[vehicle].before) == dict(was[vehicle])
            narrowed = told[vehicle].narrowing
            assert narrowed is None or isinstance(narrowed, Fraction)
    return len(told)


@pytest.mark.parametrize("seed", range(5))
def test_what_review_promises_of_finds_and_opinions_is_what_comes(seed, people, tmp_path):
    rng, shown = random.Random(1000 + seed), 0
    for number in range(8):
        try:
            waiting = a_find(rng, people["recorder"], tmp_path, DAY.replace(day=number + 1)).waiting
        except WrongAnswers:
            continue
        if rng.random() < 0.4 and any(row["table"] == "assessments" for row in waiting.changes):
            decide(waiting.pk, "let stand", user=people["officer"])
            waiting = ChangeSet.objects.filter(state=STANDING).order_by("-pk").first()
        changes = as_accepted(stored_changes(waiting), waiting)
        try:
            shown += compared(changes, waiting.base_no, lambda key=waiting.pk: decide(key, "accept", user=people["officer"], keep="file"))
        except Refused:
            continue
    assert shown


def test_what_a_proposal_promises_after_finds_were_accepted_is_what_comes(people):
    """Worked out again on the register as it is: what was accepted meanwhile is in it."""
    made = written(people["engineer"])
    apply([change("parts", part_id="P2", mass="33 kg")], kind="change part", user=people["officer"])
    promised = effects_of_proposal(made, TODAY).recommended.figures
    proposal_decision.submit(made, user=people["engineer"])
    answers(made, people["engineer"])
    proposal_decision.approve(made, user=people["officer"], details={})
    before = Act.objects.count()
    proposal_work.carry_out(made, done_form(made), user=people["engineer"])
    inputs = inputs_of("l1")
    from register.fabric.figures import figures_on

    assert {one.label: figures_on(inputs, day=TODAY.toordinal(), reference=one) for one in inputs.references} == promised and Act.objects.count() == before + 1
