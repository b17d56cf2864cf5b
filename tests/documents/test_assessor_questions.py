"""A sceptical assessor reads the demo locomotive's statement, in draft and issued for the second time: every question is
answered in the text, or the text says that the answer is not known.

The questions are those that people ask of a claim such as "62 % original" (common practice, no source); what answers each
was read in the statement by eye. Patterns are of the words a reader would look for, and of figures in their form.
"""

from __future__ import annotations

import io
import re
from datetime import date
from pathlib import Path

import pytest
from builders import change
from pypdf import PdfReader

from register.models import User
from register.services.change_sets import apply
from register.services.demo_cases import load_cases
from register.services.demo_texts import load_texts
from register.services.drawings import load_drawings
from register.services.issuing import Asked, ask_second, issue_asked, prepare
from register.services.statements import draft_statement
from tests.demo_register import plant_demo_register
from tests.services.issued import AT

pytestmark = pytest.mark.django_db

DRAWINGS = Path(__file__).resolve().parents[2] / "fixtures" / "drawings"
DAY = date(2026, 11, 25)
NUMBER = r"[\d,]+(?:\.\d+)?"

QUESTIONS = {
    "of what: mass, count, area, cost, significance?": (r"By mass, against as built", r"By mass, by count, by significance\."),
    "numerator and denominator in kilograms?": (rf"Best: {NUMBER} ÷ {NUMBER} = [\d.]+ %", r"KG × FRACTION"),
    "what is the interval, and why this point in it?": (r"[\d.]+ to [\d.]+ %", r"Best\. 100 times the sum of weight times original fraction"),
    "at which reference date, and what is it at the other dates?": (r"as built \(12 May 1894\)", r"as rebuilt 1912", r"as withdrawn \(autumn 1956\)"),
    "original to what?": (r"“Original” is measured against the state of the vehicle", r"The part that belonged to this vehicle"),
    "how much is donor fabric, and what if it is taken out?": (r"With and without fabric from elsewhere", r"without fabric from elsewhere: the figure [\d.]+–[\d.]+", r"with fabric from elsewhere [\d.]+–[\d.]+", r"Wheel centre, trailing left-hand.{0,80}No\. 5"),
    "share of the present vehicle, or of what once existed?": (r"RETAINED: HOW MUCH OF IT IS ORIGINAL", r"SURVIVAL: HOW MUCH OF IT IS LEFT"),
    "how many parts in the schedule, and did it change since the last figure?": (r"3 of 238 unweighted", r"Earlier statements, and what has changed since.{0,40}a draft is compared with none"),
    "how are unknown parts treated?": (r"every part that is not assessed anywhere between nothing and all original", r"14 of 238 not assessed"),
    "are tubes, tyres, brake blocks and paint in or out, by which rule?": (r"\(brake blocks, tyres, gaskets, firebars, paint\) are wear parts: they are listed and left out", r"WEAR in no figure", r"15 wear parts are left out"),
    "how is a part-renewed plate counted, and who estimated it?": (r"Main frame plate, left-hand FR-001 RS \d+–\d+ best \d+", r"The share of a part-renewed part is the assessor’s estimate", r"Assessed by: [^.]+\(\d+ parts\)"),
    "weighed, drawn or guessed masses, and what is the closure?": (rf"weighed \d+ {NUMBER}", r"calculated \d+", r"estimated \d+", rf"Empty mass of the vehicle: {NUMBER} kg \([\d,]+–[\d,]+\); the parts add up to [\d.]+ % of it"),
    "what share of the claim rests on strong evidence?": (rf"documented a mark on the part itself.{{0,80}}\d+ {NUMBER}", r"documented only [\d.]+–[\d.]+"),
    "which single part moves the figure most, and is it disputed?": (r"What would narrow the bounds most", r"POINTS DISPUTED", r"Drag box, left-hand stay"),
    "which mark shows the boiler, when was it fitted, and where before?": (r"Boiler barrel, two rings BO-101 OR historic, later than the reference 0 June 1912", r"Boiler 61 built at Harrenby and fitted", r"1 mark .{0,60}firehole ring"),
    "was anything inspected dismantled, or read through paint?": (r"Whether a part was seen dismantled, in place or through paint is known only where", r"Strip and survey of every part"),
    "what changed since the last statement: work, or knowledge?": (r"Since the last statement A draft is compared with none\.",),
    "show every hidden modern part": (r"every replica and every modern substitute is listed, the hidden ones first", r"Inner firebox BO-140, welded steel plate MD hidden", r"No case is written of any of them: not recorded"),
    "what original parts left, and where are they?": (r"Originals that have left the vehicle", r"Boiler of 1894 BO-001", r"scrapped", r"kept"),
    "which options were rejected, and why not like for like?": (r"The old injectors|The old ones would not lift", r"Not known, or not recorded.{0,400}which alternatives were rejected, where no proposal is named"),
    "can each modern part be undone, at what cost?": (r"Not known, or not recorded.{0,400}Whether a modern part can be undone",),
    "how would a stranger tell new from old on the part itself?": (r"MARKED AS NEW", r"R 2009 stamped inside", r"not recorded"),
    "what carries the identity, and at 20 %?": (r"No\. 6 by its main frames", r"the basis would stand at any figure"),
    "who checked the figure, and can they recompute it?": (r"Draft: not issued, not checked", r"An independent check of the figures: a draft is not checked", r"works them out again from the published tables"),
    "what do you say on the panel, and does it match?": (r"May stand on a panel: By weight, at least \d+ and at most \d+ parts in every hundred", r"What stands on a panel beside the vehicle: not recorded"),
}  # fmt: skip

ISSUED = QUESTIONS | {
    "how many parts in the schedule, and did it change since the last figure?": (r"3 of 238 unweighted", r"What changed since CS-0001"),
    "what changed since the last statement: work, or knowledge?": (r"What changed since CS-0001 .{0,200}(?:work|knowledge)", r"BOUNDS OF AS AT CS-0001 .{0,60} to .{0,8} % CS-0002"),
    "show every hidden modern part": (r"the hidden ones first", r"Inner firebox BO-140, welded steel plate MD hidden", r"P-004 Steel inner firebox and its stays: decided long ago, written up afterwards Engineering committee, Trust minute 1996/40"),
    "which options were rejected, and why not like for like?": (r"P-004 Steel inner firebox and its stays .{0,900}New, like for like \([^)]+\)", r"P-027 Axleboxes, all six, submitted", r"B Like for like .{0,400}Against it: Takes out two sound boxes"),
    "can each modern part be undone, at what cost?": (r"P-004; can be undone: with loss: A copper box can go in", r"Can be undone: Irreversible"),
    "what carries the identity, and at 20 %?": (r"No\. 6 by its main frames", r"the basis would stand at any figure", r"Frames .{0,20}Evidential\. Stamped 412"),
    "who checked the figure, and can they recompute it?": (r"APPROVED BY a second person of the railway", r"CS-0002 issued as a second person", r"works them out again from the published tables", r"FROZEN TEXTS, SHA-256|Frozen texts, SHA-256"),
    "what do you say on the panel, and does it match?": (r"May stand on a panel: By weight, at least \d+ and at most \d+ parts", r"Stands there, as recorded: No\. 6 was built in 1894", r"It names no percentage\."),
}  # fmt: skip
"""What the issued statement answers besides, or otherwise: the demo's cases, policy and words are in it."""

_texts: dict[str, str] = {}


def words_of(data: bytes) -> str:
    """White space made single, heads and feet of pages too."""
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages).split())


@pytest.fixture
def railway(settings):
    settings.SITE_NAME, settings.PUBLIC_BASE_URL = "Selmouth & Harrenby Railway", "https://register.example"
    plant_demo_register()
    load_drawings(DRAWINGS)


@pytest.fixture
def text(request):
    """The whole text of the draft."""
    if "draft" not in _texts:
        request.getfixturevalue("railway")
        _texts["draft"] = words_of(draft_statement("har", day=DAY))
    return _texts["draft"]


@pytest.fixture
def issued(request):
    """That of the assessor's edition of the second statement, which one officer prepared and another one issued."""
    if "issued" not in _texts:
        request.getfixturevalue("railway")
        fixtures = DRAWINGS.parent
        author, officer, second = (User.objects.create(username=name) for name in ("author", "officer", "second"))
        load_cases(fixtures / "demo_cases.json", author=author, officer=officer)
        load_texts(fixtures / "demo_texts.json", officer=officer)
        for day in (date(2026, 6, 1), DAY):
            codes = [group.code for group in prepare(Asked("HAR", day), at=AT).readiness.groups]
            asked = Asked("HAR", day, user=officer, reasons=dict.fromkeys(codes, "known, and said so"), why="the tank was weighed")
            statement = issue_asked(ask_second(asked, at=AT), user=second, at=AT)
            if day != DAY:
                apply([change("treatments", part_id="FR-001", date="July 2026", work="patch let in", replaced="0.05")], kind="test")
        _texts["issued"] = words_of(bytes(statement.files.get(name="assessor.pdf").data))
    return _texts["issued"]


def test_there_are_twenty_five_questions():
    assert len(QUESTIONS) == len(ISSUED) == 25


@pytest.mark.parametrize("question", QUESTIONS)
def test_the_draft_answers_the_assessor_or_says_that_it_is_not_known(question, text):
    unanswered = [pattern for pattern in QUESTIONS[question] if not re.search(pattern, text)]
    assert not unanswered, f"{question}: {unanswered}"


@pytest.mark.parametrize("question", ISSUED)
def test_the_issued_statement_answers_the_assessor(question, issued):
    unanswered = [pattern for pattern in ISSUED[question] if not re.search(pattern, issued)]
    assert not unanswered, f"{question}: {unanswered}"
