"""The conservation statement: what it says, in what order, and that it says what nobody knows."""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass, replace
from fractions import Fraction

import pytest

from register.documents.figure_view import figure_view
from register.documents.fonts import printable
from register.documents.statement import missing_glyphs_of, render
from register.documents.statement_content import Assembly, Balloon, OverTime, Statement, texts_of
from register.documents.statement_page import kilograms
from register.documents.statement_words import CAUTIONS, PROVENANCE_ONLY
from register.documents.step_band import Step
from register.fabric.figures import figures
from tests.documents.reading import Read, squeezed
from tests.documents.statements import (
    FIXED,
    FRONT,
    ISSUE,
    engine,
    map_texts,
    over_time,
    part,
    statement,
    survivals,
    views,
)
from tests.documents.test_pdf_text import HOSTILE
from tests.fabric.builders import TODAY, Engine

BARE = replace(
    FRONT, kind="", builder="", works_number="", built="", owner="", summary="", former_numbers=(), written_by=""
)  # fmt: skip


def said(content: Statement) -> str:
    """The whole text, white space made single."""
    return " ".join(Read(render(content)).text.split())


def sections(read: Read) -> dict[str, str]:
    """The text of each section by its name."""
    found: dict[str, str] = {}
    name = "front"
    for node in read.tree.children:
        text = " ".join(read.text_of(node).split())
        if node.kind == "H2" and re.match(r"\d+ ", text):
            name = text.split(" ", 1)[1]
        found[name] = f"{found.get(name, '')} {text}".strip()
    return found


def rows(read: Read) -> list[list[str]]:
    return [[" ".join(read.text_of(cell).split()) for cell in row.children] for row in read.of_kind("TR")]


def plain(words: str) -> str:
    """As it reads back: a space that does not break is a space."""
    return " ".join(words.split())


@pytest.fixture(scope="module")
def full() -> Read:
    return Read(render(statement()))


# What stands where


def test_the_sections_are_those_of_the_outline_in_its_order(full):
    names = [name for name in sections(full) if name != "front"]
    assert names == [
        "Summary", "Purpose, scope and words", "Identity", "History", "Significance", "Reference periods", "Fabric account", "Evidence",
        "Schedule of parts", "Change over time", "Modern and hidden parts", "Parts whose mass is not known",
        "Originals that have left the vehicle", "Disputed parts", "Impact of open proposals", "Policy", "What is not known", "Sources",
        "Cautions", "What may be said in public", "Method", "Records", "Decisions and sign-off",
    ]  # fmt: skip


def test_the_front_page_says_what_the_vehicle_is(full):
    front = sections(full)["front"]
    assert front.startswith("No. 6 Harrenby Locomotive. Garth, Pellow & Co., works number 412, built 12 May 1894.")
    assert "Identity, which no percentage decides. The engine is No. 6 by its main frames" in front
    assert "CHANGE OF THE REGISTER 17" in front and "version 1, 0.1.0" in front
    assert "WRITTEN BY M. Thorley, heritage officer" in front


def test_the_front_page_stands_by_itself(full):
    first = next(node for node in full.of_kind("H2") if full.text_of(node).strip().endswith("Summary"))
    assert {page for page, _ in first.pieces} == {1}


def test_every_page_of_a_draft_is_marked_as_one(full):
    assert all("DRAFT" in page for page in full.unmarked)
    assert "Draft: not issued" in full.text


def test_an_issued_statement_bears_its_number_and_no_mark_of_a_draft():
    read = Read(render(statement(front=replace(FRONT, issue=ISSUE))))
    assert all("DRAFT" not in page and "S-005" in page for page in read.unmarked)
    front = sections(read)["front"]
    for words in ("1 July 2024", "J. Penhale, trustee", "4f81b2c907de5a13", "register.example/s/5", "S-001, 14 March 2019"):
        assert words in front
    assert "Draft" not in front


def test_bounds_stand_before_the_best_figure(full):
    """With the basis, the reference, the day, the assessed share and the count of unweighted parts beside them."""
    view = statement().figures[0]
    for name in ("front", "Fabric account"):
        text = sections(full)[name]
        bounds, best = text.index(plain(view.own.words)), text.lower().index(f"best {view.own.best_text}")
        assert bounds < best
        caption = text.lower().index(plain(view.caption).lower())
        assert abs(caption - bounds) < 400
    assert "against as built (1894)" in view.caption and "0 of 5 unweighted" in view.caption


def test_there_is_a_row_for_every_basis_and_reference(full):
    """The figures are those of the core, as the one formatter writes them."""
    head = ["AGAINST", "WEIGHED BY", "BOUNDS, %", "BEST", "LIKELY, APPROX.", "ASSESSED, %", "UNWEIGHTED"]
    found = rows(full)
    start = found.index(head) + 1
    expected = []
    named = ""
    for view in statement().figures:
        for words, bounds in ((view.answer.basis, view.own), (f"{view.answer.basis}, whole vehicle", view.whole)):
            if bounds is not None:
                reference, named = ("" if view.reference == named else view.reference), view.reference
                expected.append([reference, words, bounds.short, bounds.best_text or "–"])
    assert [row[:4] for row in found[start : start + len(expected)]] == expected
    assert len(expected) == 8


def test_the_counts_that_no_figure_goes_without_are_below_the_table_of_figures(full):
    """Method, section 7: stand-ins beside any figure, parts graded intrusive beside one by significance."""
    summary = sections(full)["Summary"]
    below = summary[summary.index("UNWEIGHTED") : summary.index("Main losses")]
    assert "No temporary stand-in is in use." in below
    assert "1 part graded intrusive carries no weight." in below
    assert "1 wear part is left out." in below
    assert "Vehicles are never compared by count." in below


def test_the_schedule_gives_status_fraction_dates_mass_evidence_and_who_disputes(full):
    found = rows(full)
    assert ["Main frame plates × 2 FR-001", "RS", "80–90 best 85", "as built", "3,300 3,200–3,400", "close", "documented sources 1"] in found
    assert ["Lamp iron × 2 FR-053", "RS?", "80–90 best 85", "as built", "2.4 weighed", "close", "documented sources 1"] in found
    assert [
        "Boiler BO-110 Boiler of 1912", "OR / RP historic, later", "0", "1912", "5,000 4,800–5,200", "hidden", "corroborated sources 1, 2",
    ] in found  # fmt: skip
    assert ["Side tank TC-001 Tank", "NA", "0–100", "not known", "not known", "close", "none yet"] in found
    assert ["Tyre × 2 WS-071", "WEAR in no figure", "–", "2009", "248", "close", "none yet"] in found
    assert ["Frames", "", "", "", "3,302", "", ""] in found


def test_a_new_part_without_a_reason_or_a_mark_is_seen_to_have_none(full):
    assert ["Compressor BR-054 Air compressor, cast iron", "MD", "hidden", "2009",
            "The line may not run without it. P-003; can be undone: fully: three bolts", "M 2009, tag"] in rows(full)  # fmt: skip
    assert ["Cab TC-011", "RP", "in view", "1998", "no reason recorded", "not recorded"] in rows(full)


def test_what_left_what_is_disputed_and_what_is_not_known_is_told(full):
    found = sections(full)
    assert "First cab TC-010 Cab 1998 60–100 in store Wasted at the foot." in found["Originals that have left the vehicle"]
    assert "A newsletter of 1987 says that it was bought in. 2" in found["Disputed parts"]
    assert "1 Which frame plate was patched in 1931." in found["What is not known"].replace("\u00a0", " ")
    assert "Side tank TC-001 Tank NA some" in found["Parts whose mass is not known"]


def test_the_history_is_sourced_and_an_examination_is_a_pointer_to_a_paper(full):
    history = sections(full)["History"]
    assert "1904, until 1912 Plain green livery 1, 2" in history
    assert "Boiler, ten-yearly examination, folio 44, paper held by the inspector –" in history
    assert "results, limits and validity are not kept here" in history


def test_retained_and_survival_are_both_printed_and_told_apart(full):
    front = sections(full)["front"]
    assert front.index("RETAINED: HOW MUCH OF IT IS ORIGINAL") < front.index("SURVIVAL: HOW MUCH OF IT IS LEFT")
    assert "Of 3 parts fitted in the state as built (1894) (0 unweighted), by mass: with this vehicle" in front
    retained, survival = (plain(figure.entries["/Alt"]) for figure in full.of_kind("Figure") if "bounds: " in figure.entries["/Alt"])
    assert retained.startswith("Retained original fabric, bounds: ")
    share = plain(f"{float(survivals(engine())[0].shares['with_this_vehicle']):.1f} %")
    assert survival.endswith(f"Of the vehicle as built (1894). Best: {share}.")


def test_a_replica_already_in_place_then_is_named_beside_survival():
    made = engine()
    made.reference("as preserved", "2010")
    text = said(statement(figures=views(made), survival=survivals(made)))
    assert "2 of them are replicas or modern substitutes that were in place by then" in text
    assert "never original fabric of the other figure" in text


def test_a_wear_part_is_marked_as_one_and_not_as_not_assessed(full):
    """Nobody is asked for the status of a wear part, so it may not look like a gap in what is known."""
    (cell,) = (node for row in full.of_kind("TR") for node in row.children if full.text_of(node).startswith("WEAR"))
    assert [node.entries["/ActualText"] for node in cell.walk() if node.kind == "Span"] == ["Wear part"]


def test_the_summary_is_one_page_with_the_bounds_first_and_losses_and_questions_last(full):
    headings = full.of_kind("H2")
    pages = [{page for page, _ in node.pieces} for node in headings]
    assert pages[0] == {1} and pages[1] == {2}
    summary = sections(full)["Summary"]
    view = statement().figures[0]
    places = [summary.index(words) for words in (plain(view.own.words), "WEIGHED BY", "Main losses", "Open questions")]
    assert places == sorted(places)
    assert ["Cab of 1894 TC-010, First cab", "610", "in store", "1998"] in rows(full)
    assert ["Side tank TC-001 Tank", "not assessed", "3.1", "yes"] in rows(full)
    assert "1 of 5 not assessed; 0 disputed; 0 of 5 unweighted" in summary


def test_the_public_address_is_printed_and_encoded_where_there_is_one(full):
    front = sections(full)["front"]
    assert "WHAT ANYBODY MAY READ OF IT https://register.example/id/vehicles/har/" in front
    code = [figure for figure in full.of_kind("Figure") if "QR code" in figure.entries["/Alt"]]
    assert len(code) == 1
    bare = Read(render(statement(front=replace(FRONT, public_address=""))))
    assert not any("QR code" in figure.entries["/Alt"] for figure in bare.of_kind("Figure"))
    assert "WHAT ANYBODY MAY READ" not in bare.text


def test_the_elevation_is_described_by_what_its_regions_are(full):
    (drawing,) = (one for one in full.of_kind("Figure") if "elevation" in one.entries["/Alt"])
    assert drawing.entries["/Alt"] == "Left-hand elevation. Regions filled by status: restored 1, not assessed 1."


def test_evidence_is_told_by_strength_and_what_remains_without_the_weaker(full):
    """Bounds at each floor are those of the core; no best figure is given at one (method, section 7)."""
    found = rows(full)
    assert ["documented", "a mark on the part itself, a works drawing, a ledger, or a test or survey report", "3", "4,020"] in found
    assert ["not assessed", "no accepted assessment: it may be anything", "1", "900"] in found
    views = [statement().figures[0], *statement().evidence.floors]
    start = found.index(["CLAIMS COUNTED", "BOUNDS, %", "WHOLE VEHICLE, %", "ASSESSED, %", "NOT ASSESSED"]) + 1
    assert [row[1] for row in found[start : start + 4]] == [view.own.short for view in views]
    assert [row[0] for row in found[start : start + 4]] == ["all", "attributed or better", "corroborated or better", "documented only"]
    widths = [view.own.high - view.own.low for view in views]
    assert widths == sorted(widths) and widths[0] < widths[-1]


def test_fabric_from_elsewhere_is_listed_and_the_figure_given_with_and_without(full):
    found = rows(full)
    assert ["Whistle BO-180 Whistle of No. 3", "OR", "First No. 3", "1936", "6.0"] in found
    assert ["without fabric from elsewhere: the figure", statement().figures[0].own.short, statement().figures[0].own.best_text] in found
    assert ["with fabric from elsewhere", "30.0–50.0", "40.0"] in found


def test_the_masses_are_told_by_how_they_are_known_and_closed_against_the_empty_mass(full):
    assert ["weighed", "1", "2.4"] in rows(full)
    assert "Empty mass of the vehicle: 16,000 kg (15,900–16,100); the parts add up to 56.3 % of it." in sections(full)["Fabric account"]


def test_the_worked_check_divides_to_the_percentage_it_prints(full):
    method = sections(full)["Method"]
    sums = re.findall(r"([\d,.]+) ÷ ([\d,.]+) = ([\d.]+) %", method)
    assert len(sums) == 3
    for above, below, percentage in sums:
        quotient = 100 * float(above.replace(",", "")) / float(below.replace(",", ""))
        assert abs(quotient - float(percentage)) < 0.1
    assert ["Main frame plates FR-001 Frames", "3,300.000", "0.8500 0.8000–0.9000", "2,805.000"] in rows(full)
    assert ["2 more assessed items", "5,640.000", "", "0.000"] in rows(full)


def test_what_a_draft_does_not_know_is_said_to_be_not_known(full):
    records = sections(full)["Records"]
    for words in ("Earlier statements", "independent check", "rejected", "can be undone", "Condition", "deposited"):
        assert words in records
    issued = said(statement(front=replace(FRONT, issue=ISSUE)))
    assert "Earlier statements" not in issued and "a draft is not checked" not in issued


# Cautions


def test_the_cautions_are_on_every_statement_whatever_is_known():
    """Those that the trade expects (common practice, no source): provenance only and never fitness to run; asbestos and
    lead presumed until sampled; masses not for lifting; the safety file; local codes and competent persons first."""
    for content in (statement(), Statement(BARE, ())):
        found = sections(Read(render(content)))
        assert PROVENANCE_ONLY in found["front"]
        cautions = found["Cautions"].replace("\u00a0", " ")
        for words in CAUTIONS:
            assert words in cautions
        for words in ("fit or safe to run", "safety file", "responsible person", "presumed to hold asbestos or lead until",
                      "planning a lift", "local codes", "competent persons", "confined spaces"):  # fmt: skip
            assert words in cautions


def test_nothing_says_that_anything_is_fit_to_run(full):
    for words in re.findall(r"[^.]*\b(?:fit|safe)\b[^.]*\.", " ".join(full.text.split())):
        assert "does not show" in words or "safety file" in words


def test_hazards_recorded_are_listed_and_none_recorded_is_no_promise(full):
    assert "Side tank TC-001 Tank lead paint, asbestos" in sections(full)["Cautions"]
    assert "marked for: pressure, lifting" in sections(full)["Cautions"]
    assert "None recorded, which does not mean that there is none." in said(statement(hazards=(), safety=()))


# Where little is known


def test_a_vehicle_without_parts_or_facts():
    read = Read(render(Statement(BARE, views(Engine()))))
    found = sections(read)
    assert "Vehicle. Builder not known, works number not known, date of building not known." in found["front"]
    assert "No figure No part has a mass yet: no figure by mass." in found["front"]
    assert "Identity, which no percentage decides. Not recorded." in found["front"]
    assert "WRITTEN BY not known" in found["front"] and "OWNER not published" in found["front"]
    assert "No part is recorded in this vehicle." in found["Schedule of parts"]
    assert "None recorded." in found["History"] and "None recorded." in found["Sources"]
    assert "No replica or modern substitute is recorded." in found["Modern and hidden parts"]
    assert "does not mean that everything is known" in found["What is not known"]
    assert not re.search(r"\d %", found["front"] + found["Fabric account"])


def test_a_vehicle_without_figures():
    text = said(Statement(FRONT, ()))
    assert text.count("No figures have been worked out.") == 3  # front page, summary, account


def test_one_part_that_nobody_assessed_may_be_anything():
    made = Engine().item("frames", 1000)
    read = Read(render(Statement(FRONT, views(made), survival=survivals(made))))
    front = sections(read)["front"]
    assert front.count("0.0 to 100.0 %") == 2
    assert "not enough assessed" in front
    assert not any("Best: 0" in figure.entries["/Alt"] for figure in read.of_kind("Figure"))
    assert ["as built (1894)", "mass", "0.0–100.0", "not enough assessed", "–", "0.0", "0 of 1"] in rows(read)


def test_a_mass_percentage_kept_back_is_kept_back_everywhere():
    """Method, section 7: a part of considerable grade that nobody weighed."""
    made = engine().item("firebox", None, "replica", grade=3)
    made.vehicle = replace(made.vehicle, empty_mass=None)
    content = statement(figures=views(made), survival=survivals(made), over_time=over_time(made))
    read = Read(render(content))
    found = sections(read)
    assert "No percentage by mass" in found["front"]
    assert "6 parts: original 1, restored 1, replica 2, modern substitute 1, not assessed 1." in found["front"]
    assert ["as built (1894)", "mass", "none given", "–", "–", "–", "1 of 6"] in rows(read)
    assert "SURVIVAL" not in found["front"]
    assert found["Change over time"].count("Not given, as no percentage by mass is.") == 2
    view = content.figures[0]
    withheld = view.figures
    for percentage in (withheld.low, withheld.high, withheld.best, withheld.assessed_share):
        assert f"{float(percentage):.1f}" not in found["front"]
        assert f"{float(percentage):.1f}" not in without_other_bases(found["Summary"])
    by_mass = found["Fabric account"].split("Composition by count")[0]
    assert by_mass.endswith("Visibility by mass Not given, as no percentage is. 7.4 ")
    assert "Not given, as no percentage is." in by_mass[by_mass.index("Composition by mass") :]


def without_other_bases(summary: str) -> str:
    """Without the figures by count and by significance, which are not kept back, and what follows them."""
    return summary[: summary.index(" count ")]


def test_where_something_is_unweighted_the_whole_vehicle_stands_first():
    made = engine()
    for number in range(30):
        made.item(f"fitting {number:02}", 10, "original", grade=1)
    made.item("lamp iron", None, "original", grade=1)
    content = statement(figures=views(made), survival=survivals(made))
    view = content.figures[0]
    front = sections(Read(render(content)))["front"]
    assert "(WHOLE VEHICLE)" in front
    assert front.index(plain(view.whole.words)) < front.index(f"Of the weighted parts only: {plain(view.own.words)}")
    assert "Composition by mass, of the weighted parts only" in sections(Read(render(content)))["Fabric account"]


def test_a_day_before_anything_happened_has_no_chart_of_change():
    told = OverTime("by mass", (Step(TODAY, Fraction(0), Fraction(100), None),), TODAY)
    assert "There is no earlier day to compare with." in said(statement(over_time=told))


def test_an_event_outside_the_chart_is_still_told():
    told = over_time(engine())
    read = Read(render(statement(over_time=replace(told, balloons=(Balloon("1", 1, "long before it was built"),)))))
    assert "1 long before it was built" in " ".join(read.text.split())
    (chart,) = (one for one in read.of_kind("Figure") if one.entries["/Alt"].startswith("Change over time"))
    assert "1" not in read.text_of(chart).split()


# Text as it was typed


@pytest.mark.parametrize("hostile", HOSTILE, ids=lambda typed: typed[:20])
def test_hostile_text_in_every_field_is_printed_as_it_was_typed(hostile):
    """Each field holds the text with a number of its own, read back from the element that prints it."""
    numbers = iter(range(10_000))
    typed: list[str] = []

    def change(words: str) -> str:
        if not words:
            return words
        typed.append(f"«{next(numbers)}{hostile}»")
        return typed[-1]

    content = map_texts(statement(), change)
    read = Read(render(content))
    text = squeezed(read.text)
    # what stands in a heading, too, is printed; figures' views and labels repeat in the running heads
    missing = [words for words in typed if squeezed(printable(words)) not in text]
    assert len(typed) > 100
    assert not missing
    assert read.images() == 0
    assert set(read.fonts().values()) == {True}
    assert missing_glyphs_of(content) == []


def test_every_field_that_may_be_typed_is_tried_by_the_test_above():
    """A field that a statement forgets to print, or the test to fill, is found here."""
    empty = [where for where, words in texts_of(statement()) if not words and where.split(", ")[-1] not in FIXED]
    filled = {re.sub(r" \d+", "", where) for where, words in texts_of(statement()) if words}
    assert all(re.sub(r" \d+", "", where) in filled for where in empty)
    seen = {type(one) for one in everything(statement())}
    assert {one.__name__ for one in seen if is_dataclass(one)} >= {
        "Front", "ReferencePeriod", "HistoryEvent", "Assembly", "PartRow", "NewPart", "Unweighted", "RemovedPart", "Dispute",
        "SourceRow", "Hazard", "OverTime", "Balloon", "Survival", "Worth", "TimeRow", "Cumulative", "SinceRow", "Fate", "Proposed",
        "Case", "Impact", "Option", "Policy", "LogRow", "InPublic",
    }  # fmt: skip


def everything(value: object) -> list[object]:
    if isinstance(value, tuple):
        return [one for part_of in value for one in everything(part_of)]
    if type(value).__module__.startswith("register.documents.statement"):
        return [value, *(one for field in fields(value) for one in everything(getattr(value, field.name)))]
    return [value]


def test_a_note_of_thirty_pages_in_a_text_and_in_a_cell():
    note = "\n".join(f"{number}. " + "The plate was taken off, cleaned, drawn and measured. " * 10 for number in range(260))
    without = Read(render(statement(identity=""))).pages()
    new = replace(statement().new_parts[0], reason=note[: len(note) // 3])
    read = Read(render(statement(identity=note, new_parts=(new,))))
    assert read.pages() >= without + 30 + 20
    text = squeezed(read.text)
    assert squeezed(note) in text and text.count(squeezed(new.reason)) == 3  # identity, on the front page and in its section
    assert {page for node in read.tree.walk() for page, _ in node.pieces} == set(range(read.pages()))


def test_a_letter_without_a_glyph_is_named_with_its_field_and_explained():
    content = statement(
        front=replace(FRONT, builder="漢 & Co.", written_by="\x07"),
        schedule=(Assembly("Frames", (part(), part("字字")), None),),
    )
    assert missing_glyphs_of(content) == [
        ("front, builder", "漢"), ("front, written by", "\x07"), ("schedule 1, parts 2, position", "字"),
        ("schedule 1, parts 2, part", "字"),
    ]  # fmt: skip
    text = said(content)
    assert "[U+6F22] & Co." in text and "[U+0007]" in text
    assert "printed as its Unicode number" in text
    assert "printed as its Unicode number" not in said(statement())


def test_a_reference_period_of_the_figures_is_looked_through_for_letters_too():
    made = engine()
    made.reference("as 漢", "1912")
    content = Statement(FRONT, views(made), survival=survivals(made))
    assert ("figures 7, reference", "漢") in missing_glyphs_of(content)
    assert ("survival 3, reference", "漢") in missing_glyphs_of(content)


def test_right_to_left_names_read_back():
    assert "אבג דהו" in said(statement(front=replace(FRONT, builder="אבג דהו")))


# The file


def test_the_same_content_gives_the_same_bytes():
    assert render(statement()) == render(statement())


def test_the_file_is_tagged_in_english_and_dated_by_the_statement(full):
    assert full.catalog["/Lang"] == "en-GB"
    assert full.catalog["/MarkInfo"]["/Marked"]
    assert full.file.metadata["/Title"] == "Conservation statement, draft: No. 6 Harrenby"
    assert full.file.metadata["/CreationDate"].startswith("D:20240630")
    assert [node.kind for node in full.of_kind("H1")] == ["H1"]
    assert all(node.entries["/Alt"] for node in full.of_kind("Figure"))


def test_every_page_says_which_of_how_many(full):
    for number, furniture in enumerate(full.unmarked, 1):
        assert f"Page {number} of {full.pages()}" in furniture


def test_a_figure_of_another_question_is_shown_with_its_question():
    """A view at an evidence floor says so beside itself, and gives no best figure."""
    inputs = engine().inputs()
    asked = figures(inputs, day=TODAY, reference=inputs.references[0], basis="mass", evidence_floor=2)
    text = said(statement(figures=(figure_view(asked, inputs, guarded=True),), survival=()))
    assert "on corroborated evidence or better" in text
    assert "none at this evidence" in text


def test_masses_are_printed_to_the_kilogram_and_small_ones_to_the_tenth():
    assert [kilograms(grams) for grams in (1_640_499, 1_640_500, 9_949, 40)] == ["1,640", "1,641", "9.9", "0.0"]
