"""What is said of a figure: bounds first, nothing without its counts, nothing that may not be shown (method,
section 7), rounded outwards (section 13). Figures of BRIN are those of
tests/worked_example/worked_example.md, worked out by hand.
"""

from __future__ import annotations

import pytest

from register.documents.figure_view import FigureView, command_lines, figure_view
from register.documents.figure_words import figure, percent, reference_words, since_words
from register.fabric.figures import figures, intrusive_items
from register.fabric.inputs import Reference, VehicleInputs
from tests.fabric.builders import TODAY, Engine, span
from tests.fabric.worked_example_inputs import worked_example

BRIN = worked_example("BRIN")


def plain(text: str) -> str:
    """With ordinary spaces, to be read in a test."""
    return text.replace("\u00a0", " ")


def view(
    inputs: VehicleInputs, *, basis: str = "mass", public: bool = False, guarded: bool = False, **question
) -> FigureView:
    answer = figures(inputs, day=TODAY, reference=inputs.references[0], basis=basis, **question)
    return figure_view(answer, inputs, public=public, guarded=guarded)


def cells(shown: FigureView) -> dict[str, tuple[str, str]]:
    return {cell.key: (plain(cell.value), plain(cell.note)) for cell in shown.cells}


def weighed(**options) -> Engine:
    """Four tons, all weighed, the empty mass not known unless it is given."""
    return (
        Engine(**options)
        .item("frames", 1000, "original", grade=4)
        .item("boiler", (900, 1000, 1100), "restored", (0.5, 0.6, 0.7), grade=3)
        .item("cab", 1000, "replica", grade=2)
        .item("tanks", 1000, grade=1)
    )


# The worked example, §5: bounds 52.078374 to 74.884656, best 65.815455, assessed 92.046148, likely 60.583538 to
# 71.047372; one of nine unweighted, so the whole vehicle stands first


def test_the_worked_example_is_said_as_it_was_worked_out() -> None:
    shown = view(BRIN)
    assert shown.own is not None
    assert plain(shown.own.words) == "52.0 to 74.9 %", "a low bound goes down, a high bound up"
    assert shown.own.best_text == "65.8"
    assert shown.own.likely_words == "likely 60.5–71.1, approximate"
    assert plain(shown.assessed) == "92.0 %"
    assert shown.unweighted == "1 of 9"
    assert plain(shown.asked) == "by mass, against as built (1894), as at 30 June 2024"
    assert plain(shown.caption).endswith("; assessed 92.0 %; 1 of 9 unweighted")


def test_with_anything_unweighted_the_whole_vehicle_stands_first() -> None:
    shown = view(BRIN)
    assert shown.lead is shown.whole
    assert shown.lead is not None
    assert shown.lead.label == "Whole vehicle, bounds"
    assert shown.lead.best is None, "no best figure can be given of what is not listed"
    assert shown.own is not None
    assert shown.own.label == "Retained original fabric, of the weighted parts only, bounds"


def test_with_everything_weighed_the_figure_itself_stands_first() -> None:
    shown = view(weighed(empty_kg=4500).inputs())
    assert shown.lead is shown.own
    assert shown.own is not None
    assert shown.own.label == "Retained original fabric, bounds"
    assert "whole" in cells(shown)


def test_without_an_empty_mass_the_weighted_parts_stand_first_and_say_so() -> None:
    shown = view(weighed().item("gauges", None, "original").inputs())
    assert shown.whole is None
    assert shown.lead is shown.own
    assert shown.own is not None
    assert "of the weighted parts only" in shown.own.label
    assert cells(shown)["whole"] == ("not known", "empty mass not known")


def test_only_mass_is_of_the_weighted_parts_only() -> None:
    shown = view(weighed(empty_kg=4500).item("gauges", None, "original").inputs(), basis="significance")
    assert shown.lead is shown.own
    assert shown.lead is not None
    assert "weighted parts only" not in shown.lead.label
    assert cells(shown)["unweighted"] == ("1 of 5", "no grade")
    assert "whole" not in cells(shown)


# Less than half assessed


def test_a_best_figure_of_less_than_half_assessed_is_not_shown() -> None:
    inputs = Engine().item("frames", 499, "original").item("rest", 501).inputs()
    shown = view(inputs)
    assert shown.own is not None
    assert (shown.own.best, shown.own.likely) == (None, None)
    assert shown.own.best_text == "not enough assessed"
    assert cells(shown)["best"] == ("not enough assessed", "")
    assert "not enough assessed" in shown.own.description


def test_a_best_figure_of_exactly_half_assessed_is_shown() -> None:
    shown = view(Engine().item("frames", 500, "original").item("rest", 500).inputs())
    assert cells(shown)["best"][0] == "100.0 %"
    assert plain(shown.own.words) == "50.0 to 100.0 %" if shown.own else False


def test_the_visibility_table_keeps_a_best_figure_back_by_the_same_rule() -> None:
    inputs = Engine().item("frames", 500, "original", visibility="hidden").item("cab", 500).inputs()
    seen = {row.visibility: row for row in view(inputs).visibility}
    assert seen["hidden"].bounds is not None
    assert seen["hidden"].bounds.best_text == "100.0"
    assert seen["in view"].bounds is not None
    assert seen["in view"].bounds.best_text == "not enough assessed"
    assert seen["close inspection"].bounds is None, "nothing there has a weight"


def test_at_an_evidence_floor_there_is_no_best_figure_and_the_page_says_why() -> None:
    inputs = Engine().item("frames", 900, "original", strength=3).item("cab", 100, "original").inputs()
    shown = view(inputs, evidence_floor=2)
    assert cells(shown)["best"][0] == "none at this evidence"
    assert plain(shown.asked).endswith("on corroborated evidence or better")
    assert any("less than corroborated evidence" in note for note in shown.notes)
    assert cells(view(inputs, evidence_floor=3))["best"][0] == "none at this evidence"
    assert view(inputs, evidence_floor=3).asked.endswith("on documented evidence")
    weak = Engine().item("frames", 900, "original").item("cab", 100, "original", strength=3).inputs()
    assert cells(view(weak, evidence_floor=3))["best"][0] == "not enough assessed"


# Too much unweighted for a statement, an application or a public page


@pytest.mark.parametrize("audience", [{"public": True}, {"guarded": True}])
def test_a_major_part_that_nobody_weighed_keeps_the_percentage_back(audience: dict[str, bool]) -> None:
    inputs = weighed(empty_kg=(5000, 5200, 5400)).item("wheels", None, "original", grade=3).inputs()
    shown = view(inputs, **audience)
    assert shown.own is None
    assert shown.lead is shown.whole
    assert not shown.composition
    assert not shown.visibility
    assert set(cells(shown)) == {"assessed", "unweighted"}, "and no other percentage by mass stands there"
    assert "%" not in "".join(value + note for value, note in cells(shown).values())
    assert plain(shown.no_figure).startswith("1 of 5 parts has no known mass")
    assert "%" not in shown.caption
    assert view(inputs).own is not None, "the officer's own page shows it, headed as what it is"


def test_without_an_empty_mass_only_the_parts_by_status_are_left_to_say() -> None:
    shown = view(weighed().item("wheels", None, "original", grade=3).inputs(), public=True)
    assert shown.lead is None
    assert "counted by status" in shown.no_figure
    assert [(one.mark.code, one.number) for one in shown.statuses] == [
        ("OR", 2), ("RS", 1), ("RP", 1), ("MD", 0), ("NA", 1)
    ]  # fmt: skip
    assert shown.plain == "How much is original by weight cannot be said yet."


def test_one_in_twenty_unweighed_is_few_and_one_in_nineteen_is_not() -> None:
    few = Engine(empty_kg=2000)
    for number in range(19):
        few.item(f"part-{number}", 100, "original")
    shown = view(few.item("bolt", None, "original").inputs(), guarded=True)
    assert shown.own is not None
    fewer = Engine(empty_kg=2000)
    for number in range(18):
        fewer.item(f"part-{number}", 100, "original")
    shown = view(fewer.item("bolt", None, "original").inputs(), guarded=True)
    assert shown.own is None


def test_what_may_be_shown_in_public_is_not_judged_without_the_inputs() -> None:
    answer = figures(BRIN, day=TODAY, reference=BRIN.references[0], basis="mass")
    with pytest.raises(TypeError, match="judged on the inputs"):
        figure_view(answer, public=True)


def test_nothing_weighed_is_said_and_not_shown_as_nought() -> None:
    inputs = Engine().item("body", None, "original").item("roof").inputs()
    shown = view(inputs)
    assert shown.lead is None
    assert shown.no_figure == "No part has a mass yet: no figure by mass."
    assert cells(shown)["best"][0] == "–"
    assert view(inputs, basis="significance").no_figure == "No part is graded yet: no figure by significance."
    assert (
        view(Engine().inputs(), basis="count").no_figure
        == "No part is fitted on this day: no figure by count."
    )


# What stands beside a figure


def test_stand_ins_and_wear_parts_are_told_beside_any_figure() -> None:
    notes = [plain(note) for note in view(BRIN).notes]
    assert "1 temporary stand-in is in use, in no figure." in notes
    assert "1 wear part is left out." in notes
    assert "1 part is weighed by the design mass of the position." in notes
    assert "No temporary stand-in is in use." in view(weighed().inputs()).notes
    assert "Wear parts are counted in." in view(BRIN, include_wear=True).notes
    assert view(BRIN, include_wear=True).asked.endswith("with wear parts")


@pytest.mark.parametrize("grades", [(), (0,), (0, 0, 1)])
def test_beside_significance_stands_how_many_intrusive_parts_carry_no_weight(grades: tuple[int, ...]) -> None:
    engine = weighed()
    for number, grade in enumerate(grades):
        engine.item(f"pump-{number}", 10, "modern substitute", grade=grade)
    inputs = engine.inputs()
    answer = figures(inputs, day=TODAY, reference=inputs.references[0], basis="significance")
    number = intrusive_items(answer, inputs)
    noun = "part graded intrusive carries" if number == 1 else "parts graded intrusive carry"
    assert f"{number} {noun} no weight." in [plain(note) for note in figure_view(answer, inputs).notes]
    assert figure_view(answer, inputs).notes[0] == "Significance is a judgement, graded part by part."


def test_count_is_not_for_comparing_vehicles() -> None:
    assert any("never compared by count" in note for note in view(BRIN, basis="count").notes)


def test_a_visibility_is_named_in_the_question() -> None:
    shown = view(BRIN, visibility="in view")
    assert "in view alone" in shown.asked
    assert shown.whole is None
    assert "whole" not in cells(shown)


# Composition


def test_the_composition_is_that_of_the_worked_example() -> None:
    """§5 there: reference fabric 609.320800 kg of 1005.802, historic later 50, from elsewhere 22.5, new
    material 143.9812, replica 60, modern 40, not assessed 80."""
    rows = {row.mark.code: (row.weight_text, row.percent_text) for row in view(BRIN).composition}
    assert rows == {
        "RF": ("609", "60.6"), "HL": ("50", "5.0"), "HE": ("23", "2.2"), "NM": ("144", "14.3"), "RP": ("60", "6.0"),
        "MD": ("40", "4.0"), "NA": ("80", "8.0"),
    }  # fmt: skip
    assert view(BRIN).total_text == "1,006"
    assert sum(view(BRIN).shares.values()) == 100


def test_visitors_read_plainer_words_and_whole_numbers() -> None:
    inputs = weighed(empty_kg=4500).inputs()
    shown = view(inputs, public=True)
    assert [row.words for row in shown.composition][:2] == ["Here since 1894", "Historic, but later"]
    assert all("." not in row.percent_text for row in shown.composition)
    assert shown.asked.startswith("by weight, ")
    officer, visitor = view(inputs).own, shown.own
    assert officer is not None
    assert visitor is not None
    assert (officer.short, visitor.short) == ("37.1–67.6", "37–68")  # 1450 of 3900, 2770 of 4100
    assert shown.plain == (
        "By weight, at least 37 and at most 68 parts in every hundred are original, measured against as built (1894)."
    )


def test_a_little_is_not_nothing() -> None:
    inputs = Engine().item("frames", 20_000, "original").item("plate", 0.4, "replica").inputs()
    row = next(row for row in view(inputs).composition if row.mark.code == "RP")
    assert (row.weight_text, row.percent_text) == ("under 1", "under 0.1")
    assert figure(0) == "0.0"
    assert figure(0.06) == "0.1"
    assert plain(percent(None)) == "–"
    assert figure(14_260, 0) == "14,260"


# The reference in words


@pytest.mark.parametrize(
    ("label", "edtf", "words", "since"),
    [
        ("as built", "1894", "as built (1894)", "1894"),
        ("as rebuilt 1912", "1912", "as rebuilt 1912", "1912"),
        ("as rebuilt", "1912-06", "as rebuilt (June 1912)", "June 1912"),
        ("as withdrawn", "[1960..1962]", "as withdrawn (between 1960 and 1962)", "the state as withdrawn"),
    ],
)
def test_the_reference_is_said_with_its_date_once(label: str, edtf: str, words: str, since: str) -> None:
    reference = Reference(label, edtf, span(edtf) if edtf.isdigit() else span("1912"))
    assert reference_words(reference) == words
    assert since_words(reference) == since


# At a terminal


def test_the_command_line_says_bounds_first_and_every_count() -> None:
    answer = figures(BRIN, day=TODAY, reference=BRIN.references[0], basis="mass")
    lines = [plain(line) for line in command_lines(answer, "BRIN")]
    assert lines[:6] == [
        "BRIN: retained original fabric by mass, against as built (1894), as at 30 June 2024",
        "Whole vehicle: 42.9 to 79.4 %, 85.1 % accounted for",
        "Of the weighted parts only: 52.0 to 74.9 %",
        "Best: 65.8 % (likely 60.5–71.1, approximate)",
        "Assessed share: 92.0 % (1 of 9 not assessed)",
        "Unweighted: 1 of 9 (mass not known)",
    ]
    assert any(
        line.split() == ["NM", "New", "material", "in", "historic", "parts", "144", "14.3"] for line in lines
    )
    assert any(line.startswith("  Hidden: 0.0 to 0.0 %") and "1 unweighted" in line for line in lines)


def test_the_command_line_has_a_sentence_where_there_is_no_figure() -> None:
    inputs = Engine().item("body").inputs()
    answer = figures(inputs, day=TODAY, reference=inputs.references[0], basis="mass")
    assert "No part has a mass yet: no figure by mass." in command_lines(answer, "VAN")
