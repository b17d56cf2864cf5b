"""What a statement says in words is frozen as it was printed, kept from whom it is not for, and worked out again."""

from __future__ import annotations

import hashlib
import io
import json
import subprocess
import sys
import zipfile
from datetime import date
from fractions import Fraction

import pytest
from builders import change
from django.conf import settings
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from register.exchange.faults import Refused
from register.exchange.frozen import canonical, register_of
from register.fabric.figures import figures_on
from register.models import Entry, Proposal, StatementFile, User, Vehicle, triggers
from register.services import proposals
from register.services.chain import NOTHING, hash_of
from register.services.change_sets import apply
from register.services.demo_cases import load_cases
from register.services.demo_texts import load_texts
from register.services.inputs import inputs_of
from register.services.issuing import Asked, ask_second, issue_asked, prepare
from register.services.packages import package_of
from register.services.proposal_decision import approve, checks_now, submit
from register.services.proposal_effect import effects_of
from register.services.proposal_fields import QUESTIONS
from register.services.proposal_work import carry_out
from register.services.significance_texts import WHOLE, put_significance
from register.services.statement_impact import effects_from
from register.services.statement_texts import open_proposals
from register.services.statements import gathered, statement_content
from register.services.vehicle_page import Question
from register.services.vehicle_policies import put_policy
from register.services.verifying import faults
from tests.demo_register import plant_demo_register
from tests.services.issued import AT, DAY, accept_all, issue, plant

pytestmark = pytest.mark.django_db
OUT = {"do": "take out", "part_id": "P1", "place_id": "STORE"}
NEW = {"do": "fit", "position_id": "Q1", "part_id": "P9", "name": "steel chimney", "mass": "55 kg", "status": "modern substitute"}


@pytest.fixture
def ada():
    return User.objects.create(username="ada", last_name="CANARY-ADA")


@pytest.fixture
def bob():
    return User.objects.create(username="bob", last_name="CANARY-BOB")


@pytest.fixture
def engine(tmp_path):
    plant(tmp_path, places=[{"place_id": "STORE", "name": "CANARY-STORE"}])
    return Vehicle.objects.get(key="l1")


def put_forward(user, *, steps=(OUT, NEW), title="Chimney"):
    """A proposal of another chimney, handed in."""
    made = proposals.begin(vehicle_id="L1", title=title, user=user, at=AT)
    answers = {name: one.options[0] if one.options else f"answer to {name}" for name, one in QUESTIONS.items()}
    proposals.write(made, answers | {"kept": "in the CANARY-STORE"}, user=user, revision=made.revision)
    for one in made.alternatives.all():
        proposals.put_alternative(made, one.letter, {"kind": one.kind, "title": one.title, "why_not": "not good enough"}, user=user, revision=made.revision)
    proposals.put_alternative(made, "", {"kind": "new and modern, hidden", "title": "Steel", "undo": "fully", "recommended": "yes"}, user=user, revision=made.revision)
    letter = made.alternatives.get(recommended=True).letter
    for step in steps:
        proposals.add_step(made, letter, step, user=user, revision=made.revision, at=AT)
    submit(made, user=user, at=AT)
    return made


def decide(made, user, words=""):
    proposals.answer_checks(made, {one.key: "yes" for one in checks_now(made, at=AT)}, user=user, at=AT)
    approve(made, user=user, words=words, details={"body": "Committee", "minute": "minute 7"}, at=AT)


def laid_down(engine, user, **more):
    put_policy(engine, {"marking": "a brass tag", "panel": "Built in 1894.", "not_claimed": "That she is complete.", "loss_limit": "40", **more}, user=user, at=AT)
    put_significance(engine, WHOLE, {"evidential": "her numbers"}, user=user, at=AT)
    put_significance(engine, "q1", {"historical": "the chimney of the strike"}, user=user, at=AT)


def text_of(statement, edition):
    data = bytes(StatementFile.objects.get(statement=statement, name=f"{edition}.pdf").data)
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages).split())


def texts_of(statement):
    return json.loads(bytes(StatementFile.objects.get(statement=statement, name="texts.json").data))


# --- what is printed is what is frozen ------------------------------------------------------------------------------


def test_the_words_are_frozen_with_the_statement_and_do_not_change_with_the_register(engine, ada):
    laid_down(engine, ada)
    put_forward(ada)
    statement = issue(user=ada)
    frozen, before = texts_of(statement), text_of(statement, "internal")
    assert frozen["policy"]["marking"] == "a brass tag" and [one["position"] for one in frozen["significance"]] == [WHOLE, "q1"]
    assert frozen["proposals"][0]["alternatives"][2]["steps"] == [OUT, NEW]
    for words in ("a brass tag", "her numbers", "the chimney of the strike", "Built in 1894.", "That she is complete.", "P-001 Chimney", "Steel"):
        assert words in before, words
    laid_down(engine, ada, marking="paint")
    assert texts_of(statement) == frozen and text_of(statement, "internal") == before
    assert "paint" in text_of(issue(user=ada), "internal")
    assert list(faults(recompute=True)) == []


def test_one_bit_of_the_texts_flipped_is_named(engine, ada):
    laid_down(engine, ada)
    statement = issue(user=ada)
    connection.check_constraints()
    triggers.drop_triggers()
    file = StatementFile.objects.get(statement=statement, name="texts.json")
    data = bytearray(file.data)
    data[data.index(b"brass")] ^= 1
    StatementFile.objects.filter(pk=file.pk).update(data=bytes(data))
    assert next(faults()).startswith("CS-0001, texts.json: the file was changed. Its SHA-256 is")


def test_steps_or_effects_changed_together_with_every_hash_are_found_by_recomputing(engine, ada):
    put_forward(ada)
    statement = issue(user=ada)
    told = json.loads(statement.entry.content)
    for name, old, new in (("texts.json", b"55 kg", b"95 kg"), ("figures.json", b'"alternatives":[{"fabric"', b'"alternatives":[{"fabrik"')):
        kept = StatementFile.objects.get(statement=statement, name=name)
        data = bytes(kept.data).replace(old, new)
        assert data != bytes(kept.data)
        connection.check_constraints()
        triggers.drop_triggers()
        sha256 = hashlib.sha256(data).hexdigest()
        content = canonical(told | {"files": told["files"] | {name: sha256}}).decode()
        StatementFile.objects.filter(pk=kept.pk).update(data=data, sha256=sha256)
        Entry.objects.update(content=content, hash=hash_of(NOTHING, content))
        connection.check_constraints()
        triggers.make_triggers()
        assert list(faults()) == [], "a chain that was written anew tells nothing by itself"
        assert list(faults(recompute=True)) == ["CS-0001, figures.json: recomputed from its frozen rows, proposals is not what was issued."]
        triggers.drop_triggers()
        StatementFile.objects.filter(pk=kept.pk).update(data=bytes(kept.data), sha256=kept.sha256)


@pytest.mark.parametrize("damaged", [b"[]", b"{}", b"{", b'{"proposals":[{"state":"submitted"}]}'])
def test_texts_that_are_none_are_told_and_nothing_breaks(damaged, engine, ada):
    statement = issue(user=ada)
    connection.check_constraints()
    triggers.drop_triggers()
    StatementFile.objects.filter(statement=statement, name="texts.json").update(data=damaged)
    assert any(one.startswith("CS-0001, texts.json") for one in faults(recompute=True))


def test_a_statement_is_made_again_if_somebody_lays_down_a_policy_meanwhile(engine, ada, monkeypatch):
    from register.services import issuing

    papers, made = issuing.Prepared.papers, []

    def slow(self):
        found = papers(self)
        if not made:
            put_policy(engine, {"marking": "etched"}, user=ada)
        made.append(self)
        return found

    monkeypatch.setattr(issuing.Prepared, "papers", slow)
    assert texts_of(issue(user=ada))["policy"]["marking"] == "etched" and len(made) == 2


def test_a_second_person_agrees_to_the_words_too(engine, ada, bob):
    laid_down(engine, ada)
    asked = Asked("L1", DAY, user=ada, reasons=accept_all(Asked("L1", DAY)))
    request = ask_second(asked, at=AT)
    put_significance(engine, WHOLE, {"evidential": "something else"}, user=ada, at=AT)
    with pytest.raises(Refused, match="not what it was when it was prepared"):
        issue_asked(request, user=bob, at=AT)


# --- for whom -------------------------------------------------------------------------------------------------------


def test_both_persons_stand_in_the_internal_edition_and_by_name_in_no_other(engine, ada, bob):
    laid_down(engine, ada, second_person="yes")
    decide(put_forward(ada), bob, words="mark it, says CANARY-BOB")
    asked = Asked("L1", DAY, user=ada, reasons=accept_all(Asked("L1", DAY)))
    statement = issue_asked(ask_second(asked, at=AT), user=bob, at=AT)
    internal, assessor, public = (text_of(statement, name) for name in ("internal", "assessor", "public"))
    for words in ("CS-0001 prepared CANARY-ADA", "CS-0001 issued as a second person CANARY-BOB", "Laid down on 2 January 2030 by CANARY-ADA",
                  "Committee, minute 7; CANARY-BOB", "Conditions: mark it, says CANARY-BOB", "to STORE", "in the CANARY-STORE", "Safety sign-off needed"):  # fmt: skip
        assert words in internal, words
    assert "CANARY" not in assessor + public
    for words in ("a brass tag", "P-001 Chimney: approved Committee, minute 7; the heritage officer", "Take out P1", "Approved on 2 January 2030"):
        assert words in assessor and words not in public, words
    assert "STORE" not in assessor + public
    for words in ("her numbers", "the chimney of the strike", "Built in 1894.", "That she is complete.", "Cumulative loss", "May stand on a panel"):
        assert words in public, words


def test_the_package_of_an_assessor_has_the_words_without_names_and_stores(engine, ada, bob):
    laid_down(engine, ada)
    decide(put_forward(ada), bob, words="CANARY-WORDS")
    statement = issue(user=ada)
    for edition, private in (("internal", True), ("assessor", False)):
        with zipfile.ZipFile(io.BytesIO(package_of(statement, edition))) as archive:
            name = f"{statement.number}-{edition}/data/statement/texts.json"
            data, readme = archive.read(name), archive.read(f"{statement.number}-{edition}/data/README.md").decode()
        assert (b"CANARY" in data, b"STORE" in data) == (private, private)
        told = json.loads(data)
        assert told["policy"]["marking"] == "a brass tag" and told["proposals"][0]["alternatives"][2]["title"] == "Steel"
        assert "`statement/texts.json`" in readme and all(f"`{key}`" in readme for key in ("at_reference", "proposals"))
    assert json.loads(data)["proposals"][0]["acts"][-1] == {
        "kind": "approved", "at": AT.isoformat(), "by": {"public": "the heritage officer"}, "details": {"body": "Committee", "minute": "minute 7"},
    }  # fmt: skip


def test_the_printed_digits_are_recomputed_from_the_package_with_a_proposal_open(engine, ada, tmp_path):
    """``recompute.py`` shares no code with the register: rows that are frozen for a proposal's sake are in none of its sums."""
    apply([change("parts", part_id="P8", name="a chimney of elsewhere", mass="70 kg")], kind="test")
    put_forward(ada, steps=(OUT, {"do": "fit", "position_id": "Q1", "part_id": "P8", "status": "replica"}))
    statement = issue(user=ada)
    assert "p8" in register_of(bytes(statement.files.get(name="inputs.json").data)).tables["parts"]
    with zipfile.ZipFile(io.BytesIO(package_of(statement))) as archive:
        archive.extractall(tmp_path)
    done = subprocess.run([sys.executable, "-I", "-S", "data/recompute.py"], cwd=tmp_path / "CS-0001-assessor", capture_output=True, text=True, check=True)
    issued = json.loads(bytes(statement.files.get(name="figures.json").data))["fabric"]
    answers = json.loads(done.stdout)["figures"]
    assert [one["basis"] for one in answers] == ["mass", "count", "significance"]
    assert [{name: told[name] for name in found} for found, told in zip(answers, issued, strict=True)] == answers


# --- open proposals -------------------------------------------------------------------------------------------------


def test_the_effect_in_a_statement_is_that_on_the_page_of_the_proposal(engine, ada):
    made = put_forward(ada)
    page = effects_of(made, DAY)
    statement = issue(user=ada)
    frozen = register_of(bytes(statement.files.get(name="inputs.json").data))
    (effect,) = effects_from(frozen, "l1", DAY, "as built", texts_of(statement))
    for outcome, way in zip(page.outcomes, effect.ways, strict=True):
        assert way.told["letter"] == outcome.alternative.letter
        assert {name: one.whole for name, one in way.figures.items()} == {name: one.whole for name, one in outcome.figures["as built"].items()}
    inputs = inputs_of("l1")
    now = figures_on(inputs, day=DAY.toordinal(), reference=inputs.references[0])["mass"].whole
    assert effect.ways[0].figures["mass"].whole == now != effect.ways[2].figures["mass"].whole
    (told,) = json.loads(bytes(statement.files.get(name="figures.json").data))["proposals"]
    assert [one["letter"] for one in told["alternatives"]] == ["A", "B", "C"]


def test_an_alternative_that_cannot_be_laid_over_the_rows_says_why(engine, ada):
    put_forward(ada)
    row = Vehicle.objects.get(key="l1").positions.get(key="q1").installations.get()
    apply([change("installations", row_id=row.code, removed="2025")], kind="test")
    (impact,) = statement_content("L1", day=date(2029, 1, 1)).proposed.impacts
    steel = impact.options[2]
    assert set(steel.figures) == {"cannot be worked out"} and steel.leaving == "not given" and steel.why_not


@pytest.mark.parametrize(("state", "words"), [("submitted", "Waits for a decision. Recommended: alternative C, Steel."), ("returned", "Returned with a question"), ("approved", "Not carried out yet.")])
def test_open_proposals_are_told_and_others_are_not(state, words, engine, ada, bob):
    made = put_forward(ada)
    if state == "approved":
        decide(made, bob)
    elif state == "returned":
        from register.services.proposal_decision import send_back

        send_back(made, user=bob, words="why not bronze?", at=AT)
    proposals.begin(vehicle_id="L1", title="Only begun", user=ada)
    content = statement_content("L1", day=DAY)
    assert words in content.proposed.impacts[0].conclusion and content.proposed.writing == 1
    assert "Only begun" not in str(content)


def test_what_was_carried_out_stands_with_its_part_and_in_the_log_and_is_open_no_more(engine, ada, bob):
    made = put_forward(ada)
    decide(made, bob)
    carry_out(made, {1: {"on": "2 January 2030"}, 2: {"on": "2 January 2030"}}, user=ada, at=AT)
    content = gathered("L1", Question(date(2030, 1, 3))).content(None)
    assert not content.proposed.impacts
    (new,) = content.new_parts
    assert (new.part_id, new.case, new.undo) == ("P9", "P-001", "fully")
    assert [row.what for row in content.log] == ["P-001 Chimney: carried out", "P-001 Chimney: approved"]


def test_open_proposals_take_the_same_queries_however_many_there_are(engine, ada):
    def count():
        apply([change("vehicles", vehicle_id="L1", gauge=str(Proposal.objects.count()))], kind="test")
        with CaptureQueriesContext(connection) as found:
            statement_content("L1", day=DAY)
        return len(found)

    none = count()
    put_forward(ada)
    one = count()
    for number in range(3):
        put_forward(ada, steps=(NEW | {"part_id": f"P9{number}"},), title=f"Another {number}")
    assert count() == one <= 18
    assert none <= 12


# --- change over time -----------------------------------------------------------------------------------------------


def test_loss_is_counted_from_the_reference_date_and_from_the_first_statement(engine, ada):
    """By hand: on the reference date chimney (60 kg) and dome (40 kg) are both hers. Then half of the chimney's material was
    renewed: 70 of 100 kg are left by the assessed parts alone."""
    apply([change("assessments", part_id="P2", assessed_on="2020-05-01", status="original")], kind="test")
    put_policy(engine, {"loss_limit": "29"}, user=ada)
    first = issue(user=ada)
    apply([change("treatments", part_id="P1", date="2024-07-01", work="new top", replaced="0.5")], kind="test")
    content = prepare(Asked("L1", date(2025, 1, 1), user=ada), at=AT).content
    told = content.cumulative
    assert told is not None
    assert [(one.then, one.now, one.change) for one in told.since] == [("100.0\N{NO-BREAK SPACE}%", "70.0\N{NO-BREAK SPACE}%", "−30.0")] * 2
    assert first.number in told.since[1].label
    assert told.gone == ("30", "30.0") and told.total == ("100", "100.0")
    assert told.limit.endswith("29 points since the reference date: it is exceeded.")
    assert [row.what for row in content.time_rows] == ["the reference date", "this statement"]
    assert Fraction(content.time_rows[-1].best) == 70


def test_a_best_figure_that_may_not_be_shown_is_drawn_in_no_chart(engine):
    """Less than half of the weight assessed: the chimney is 60 of 460 kg."""
    apply([change("parts", part_id="P2", mass="400 kg")], kind="test")
    content = statement_content("L1", day=DAY)
    assert content.over_time is not None and {step.best for step in content.over_time.steps} == {None}
    assert {row.best for row in content.time_rows} == {"not enough assessed"}
    assert content.cumulative is not None and content.cumulative.since[0].change == "–"


# --- findings -------------------------------------------------------------------------------------------------------


def test_a_percentage_on_the_panel_that_no_bounds_hold_is_found(engine, ada):
    apply([change("assessments", part_id="P2", assessed_on="2020-05-01", status="original", fraction="0.5")], kind="test")
    put_policy(engine, {"panel": "80 % original; 12 % is new."}, user=ada)
    found = {group.code: [one.message for one in group.found] for group in prepare(Asked("L1", DAY), at=AT).readiness.groups}
    assert len(found["panel"]) == 1 and "name 12 %, which no bounds" in found["panel"][0]


def test_private_names_in_a_text_that_leaves_the_railway_are_found_with_their_place(engine, ada):
    people = [change("people", person_id="AB", name="Ann Tern", role="neighbour"), change("people", person_id="CD", name="Cy Dove", role="fitter", public_as="Cy Dove")]
    apply([*people, change("positions", position_id="Q1", significance="some", significance_reason="Ann Tern saw it; so did Cy Dove.")], kind="test")
    put_significance(engine, WHOLE, {"communal": "Kept in CANARY-STORE for years, beside CANARY-STOREY."}, user=ada)
    found = {group.code: group.found for group in prepare(Asked("L1", DAY), at=AT).readiness.groups}["private name"]
    assert {one.record for one in found} == {"Ann Tern", "CANARY-STORE"}
    assert any("significance 1, heads" in one.message for one in found)
    assert issue(user=ada).number == "CS-0001", "accepted with a reason, as every finding"


# --- vehicles with little -------------------------------------------------------------------------------------------


LITTLE = {
    "nothing at all": [],
    "a position and no part": [change("positions", position_id="R1", vehicle_id="R", name="frame", visibility="hidden")],
    "one part, not assessed, not weighed": [
        change("positions", position_id="R1", vehicle_id="R", name="frame", visibility="hidden"),
        change("parts", part_id="RP", name="frame"), change("installations", position_id="R1", part_id="RP", fitted="as built"),
    ],
    "one part, not assessed": [
        change("positions", position_id="R1", vehicle_id="R", name="frame", visibility="hidden"),
        change("parts", part_id="RP", name="frame", mass="3 t"), change("installations", position_id="R1", part_id="RP", fitted="as built"),
    ],
    "one part, all original": [
        change("positions", position_id="R1", vehicle_id="R", name="frame", visibility="hidden"),
        change("parts", part_id="RP", name="frame", mass="3 t"), change("installations", position_id="R1", part_id="RP", fitted="as built"),
        change("assessments", part_id="RP", assessed_on="2020-01-01", status="original"),
    ],
    "only a wear part": [
        change("positions", position_id="R1", vehicle_id="R", name="blocks", visibility="hidden", wear_part="yes"),
        change("parts", part_id="RP", name="blocks", mass="30 kg"), change("installations", position_id="R1", part_id="RP", fitted="2020"),
    ],
}  # fmt: skip


@pytest.mark.parametrize("little", LITTLE)
def test_a_vehicle_with_little_has_a_statement_that_says_so(little, ada):
    from register.services.statements import draft_statement

    apply([change("vehicles", vehicle_id="R", name="Robin", kind="wagon", built="1900"), *LITTLE[little]], kind="test")
    for day in (DAY, date(1900, 1, 2), date(1850, 1, 1)):
        text = " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(draft_statement("R", day=day))).pages).split())
        for words in ("No policy is recorded", "Of the whole vehicle Not recorded.", "No proposal is open", "nobody has signed it"):
            assert words in text, (day, words)
    if little.startswith("one part"):
        statement = issue("R", user=ada)
        assert {len(PdfReader(io.BytesIO(bytes(one.data))).pages) > 3 for one in statement.files.filter(name__endswith=".pdf")} == {True}
        assert list(faults(recompute=True)) == []
        assert "CS-0001 issued" in text_of(statement, "internal")
    else:
        with pytest.raises(Refused, match=r"no part is fitted|nothing to state"):
            issue("R", user=ada)


# --- the demo -------------------------------------------------------------------------------------------------------


def test_every_vehicle_of_the_demo_is_told_in_words_and_its_statement_verifies():
    plant_demo_register()
    author, officer, second = (User.objects.create(username=name, last_name=name) for name in ("author", "officer", "second"))
    load_cases(settings.FIXTURES / "demo_cases.json", author=author, officer=officer)
    assert load_texts(settings.FIXTURES / "demo_texts.json", officer=officer) > 8
    assert load_texts(settings.FIXTURES / "demo_texts.json", officer=officer) == 0
    for vehicle in Vehicle.objects.filter(in_fleet=True):
        asked = Asked(vehicle.key, date(2026, 11, 25), user=officer)
        made = prepare(asked, at=AT)
        codes = [group.code for group in made.readiness.groups]
        assert not {"panel", "private name"} & set(codes), vehicle
        asked = Asked(vehicle.key, date(2026, 11, 25), user=officer, reasons=dict.fromkeys(codes, "known, and said so"))
        assert made.content.significance[0].is_recorded and made.content.in_public.sentence
        request = ask_second(asked, at=AT)
        statement = issue_asked(request, user=second, at=AT)
        frozen = register_of(bytes(statement.files.get(name="inputs.json").data))
        for proposal, effect in zip(open_proposals(texts_of(statement)), effects_from(frozen, vehicle.key, asked.day, made.reference, texts_of(statement)), strict=True):
            live = effects_of(Proposal.objects.get(number=proposal["number"]), asked.day)
            for outcome, way in zip(live.outcomes, effect.ways, strict=True):
                assert outcome.faults == way.faults == ()
                assert {name: one.whole for name, one in way.figures.items()} == {name: one.whole for name, one in outcome.figures[made.reference].items()}
    assert list(faults(recompute=True)) == []
