"""A sceptical assessor reads the demo locomotive's draft statement: every question is answered in the text, or the text
says that the answer is not known.

The questions are those that people ask of a claim such as "62 % original" (common practice, no source); what answers each
was read in the statement by eye. Patterns are of the words a reader would look for, and of figures in their form.
"""

from __future__ import annotations

import io
import re
from datetime import date
from pathlib import Path

import pytest
from pypdf import PdfReader

from register.services.drawings import load_drawings
from register.services.statements import draft_statement
from tests.demo_register import plant_demo_register

pytestmark = pytest.mark.django_db

DRAWINGS = Path(__file__).resolve().parents[2] / "fixtures" / "drawings"
NUMBER = r"[\d,]+(?:\.\d+)?"

QUESTIONS = {
    "of what: mass, count, area, cost, significance?": (r"By mass, against as built", r"By mass, by count, by significance\."),
    "numerator and denominator in kilograms?": (rf"Best: {NUMBER} ÷ {NUMBER} = [\d.]+ %", r"KG × FRACTION"),
    "what is the interval, and why this point in it?": (r"[\d.]+ to [\d.]+ %", r"Best\. 100 times the sum of weight times original fraction"),
    "at which reference date, and what is it at the other dates?": (r"as built \(12 May 1894\)", r"as rebuilt 1912", r"as withdrawn \(autumn 1956\)"),
    "original to what?": (r"“Original” is measured against the state of the vehicle", r"The part that belonged to this vehicle"),
    "how much is donor fabric, and what if it is taken out?": (r"With and without fabric from elsewhere", r"without fabric from elsewhere: the figure [\d.]+–[\d.]+", r"with fabric from elsewhere [\d.]+–[\d.]+", r"Wheel centre, trailing left-hand.{0,80}No\. 5"),
    "share of the present vehicle, or of what once existed?": (r"RETAINED: HOW MUCH OF IT IS ORIGINAL", r"SURVIVAL: HOW MUCH OF IT IS LEFT"),
    "how many parts in the schedule, and did it change since the last figure?": (r"3 of 238 unweighted", r"Earlier statements, and what has changed since.{0,40}not known"),
    "how are unknown parts treated?": (r"every part that is not assessed anywhere between nothing and all original", r"14 of 238 not assessed"),
    "are tubes, tyres, brake blocks and paint in or out, by which rule?": (r"\(brake blocks, tyres, gaskets, firebars, paint\) are wear parts: they are listed and left out", r"WEAR in no figure", r"15 wear parts are left out"),
    "how is a part-renewed plate counted, and who estimated it?": (r"Main frame plate, left-hand FR-001 RS \d+–\d+ best \d+", r"The share of a part-renewed part is the assessor’s estimate", r"Assessed by: [^.]+\(\d+ parts\)"),
    "weighed, drawn or guessed masses, and what is the closure?": (rf"weighed \d+ {NUMBER}", r"calculated \d+", r"estimated \d+", rf"Empty mass of the vehicle: {NUMBER} kg \([\d,]+–[\d,]+\); the parts add up to [\d.]+ % of it"),
    "what share of the claim rests on strong evidence?": (rf"documented a mark on the part itself.{{0,80}}\d+ {NUMBER}", r"documented only [\d.]+–[\d.]+"),
    "which single part moves the figure most, and is it disputed?": (r"What would narrow the bounds most", r"POINTS DISPUTED", r"Drag box, left-hand stay"),
    "which mark shows the boiler, when was it fitted, and where before?": (r"Boiler barrel, two rings BO-101 OR historic, later than the reference 0 June 1912", r"Boiler 61 built at Harrenby and fitted", r"1 mark .{0,60}firehole ring"),
    "was anything inspected dismantled, or read through paint?": (r"Whether a part was seen dismantled, in place or through paint is known only where", r"Strip and survey of every part"),
    "what changed since the last statement: work, or knowledge?": (r"what has changed since by work or by knowledge: not known",),
    "show every hidden modern part": (r"every replica and every modern substitute is listed, the hidden ones first", r"Inner firebox BO-140, welded steel plate MD hidden"),
    "what original parts left, and where are they?": (r"Originals that have left the vehicle", r"Boiler of 1894 BO-001", r"scrapped", r"kept"),
    "which options were rejected, and why not like for like?": (r"The old injectors|The old ones would not lift", r"considered and rejected.{0,60}not known"),
    "can each modern part be undone, at what cost?": (r"Whether a modern part can be undone, and at what cost.{0,60}not known",),
    "how would a stranger tell new from old on the part itself?": (r"MARKED AS NEW", r"R 2009 stamped inside", r"not recorded"),
    "what carries the identity, and at 20 %?": (r"No\. 6 by its main frames", r"the basis would stand at any figure"),
    "who checked the figure, and can they recompute it?": (r"Draft: not issued, not checked", r"An independent check of the figures: none", r"works them out again from the published tables"),
    "what do you say on the panel, and does it match?": (r"What is said on a panel beside the vehicle, and whether it agrees with this page: not known",),
}  # fmt: skip

_text: list[str] = []


@pytest.fixture
def text(settings):
    """The whole text of the draft, white space made single, heads and feet of pages too."""
    if not _text:
        settings.SITE_NAME, settings.PUBLIC_BASE_URL = "Selmouth & Harrenby Railway", "https://register.example"
        plant_demo_register()
        load_drawings(DRAWINGS)
        read = PdfReader(io.BytesIO(draft_statement("har", day=date(2026, 11, 25))))
        _text.append(" ".join(" ".join(page.extract_text() for page in read.pages).split()))
    return _text[0]


def test_there_are_twenty_five_questions():
    assert len(QUESTIONS) == 25


@pytest.mark.parametrize("question", QUESTIONS)
def test_the_draft_answers_the_assessor_or_says_that_it_is_not_known(question, text):
    unanswered = [pattern for pattern in QUESTIONS[question] if not re.search(pattern, text)]
    assert not unanswered, f"{question}: {unanswered}"
