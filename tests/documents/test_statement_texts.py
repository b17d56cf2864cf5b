"""What a conservation statement says in words: significance, change over time, open proposals, policy, decisions, in public;
and what each edition has of it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from register.documents.change_words import ChangeRow, ChangeTold
from register.documents.panel_words import ALL_WITHIN, NAMES_NONE, agreement, percentages_in
from register.documents.statement import render
from register.documents.statement_content import Statement
from register.documents.statement_editions import ASSESSOR, EDITIONS, INTERNAL, PUBLIC, for_edition
from tests.documents.reading import Read
from tests.documents.statements import FRONT, ISSUE, statement
from tests.documents.test_statement import BARE, rows, sections


@pytest.fixture(scope="module")
def full() -> Read:
    return Read(render(statement()))


@pytest.fixture(scope="module")
def said(full) -> dict[str, str]:
    return sections(full)


@pytest.fixture(scope="module")
def bare() -> dict[str, str]:
    return sections(Read(render(Statement(BARE, ()))))


# Significance


def test_significance_is_told_under_its_heads_of_the_whole_and_of_each_main_group(said, full):
    text = said["Significance"]
    assert "Evidential. The frames carry the makers’ numbers. How rare. One of two." in text
    assert "Frames Historical. What makes her No. 6." in text
    assert "In words not recorded: Brakes." in text
    assert ["Frames HAR-FR", "exceptional They carry the identity.", "2 exceptional, 1 some"] in rows(full)
    assert ["Brakes HAR-BR", "not graded", "none graded"] in rows(full)


def test_a_head_that_nobody_wrote_is_named_as_not_recorded():
    whole = replace(statement().significance[0], heads=(("Evidential", "Its numbers."), ("Communal", "")))
    text = sections(Read(render(statement(significance=(whole,)))))["Significance"]
    assert "Evidential. Its numbers. Not recorded: communal." in text
    assert "It has none: no position is recorded." in text


# Change over time


def test_the_chart_of_change_has_a_small_table_of_the_same_figures(said, full):
    assert ["1912", "boiler renewed", "40.1–60.2", "50.3", "91.0"] in rows(full)
    assert any(figure.entries["/Alt"].startswith("Change over time") for figure in full.of_kind("Figure"))
    assert "the reference date" in said["Change over time"]


def test_cumulative_loss_is_told_in_points_and_in_kilograms_and_held_to_the_policy(said, full):
    assert ["the reference date, as built (1894)", "95.0 %", "47.5 %", "−47.5"] in rows(full)
    assert ["lost", "2,600", "39.0"] in rows(full)
    assert ["of this gone for good: material renewed, and lost", "2,601", "39.1"] in rows(full)
    assert "allows a loss of 50 points: it is kept to." in said["Change over time"]


def test_what_changed_since_the_last_statement_is_told_as_work_and_as_knowledge(said):
    assert "Since the last statement A draft is compared with none." in said["Change over time"]
    told = ChangeTold(
        ("All of it is work: something was done.",), (ChangeRow("Boiler", "BO-1", "−2.0", "0.0"),), (("S-001", "1 May 2019", "40 to 60 %"),)
    )  # fmt: skip
    read = Read(render(statement(front=replace(FRONT, issue=replace(ISSUE, changed=told)))))
    assert "What changed since S-001, 14 March 2019 All of it is work" in sections(read)["Change over time"]
    assert ["Boiler BO-1", "−2.0", "0.0"] in rows(read)
    first = replace(ISSUE, supersedes="")
    assert "It is the first of this vehicle." in sections(Read(render(statement(front=replace(FRONT, issue=first)))))["Change over time"]


def test_no_heading_is_left_at_the_foot_of_a_page_without_what_it_stands_over():
    """The chart cannot be broken: whatever stands before it, its heading is on its page."""
    for more in range(0, 42, 3):
        unknown = statement().schedule[0].parts[:1] * more
        assembly = replace(statement().schedule[0], parts=unknown)
        read = Read(render(statement(schedule=(assembly,))))
        heading = next(node for node in read.of_kind("H3") if "How the figures went" in read.text_of(node))
        chart = next(one for one in read.of_kind("Figure") if one.entries["/Alt"].startswith("Change over time"))
        pages = [{page for page, _ in node.pieces} for node in (heading, chart)]
        assert pages[0] and pages[0] == pages[1], (more, pages)


# Open proposals


def test_an_open_proposal_is_told_with_its_options_before_and_after_and_a_conclusion(said, full):
    text = said["Impact of open proposals"]
    assert "P-027 Axleboxes, all six, submitted Why it is wanted. Safety: cracks of 38 mm." in text
    assert ["", "as it is", "36.0–59.8", "47.5", "46.3–56.8", ""] in rows(full)
    assert [
        "A", "Weld and re-bush: recommended Crown cracks welded. Treat WS-101. Can be undone: Irreversible.",
        "35.9–59.8 (low −0.1)", "47.3 (−0.2)", "46.1–56.6", "38 kg",
    ] in rows(full)  # fmt: skip
    assert "Against it: Takes out two sound boxes." in text
    assert "Is it necessary. Yes: a cracked crown can break." in text
    assert "Conclusion. Waits for a decision. Recommended: alternative A" in text
    assert "2 proposals are being written, and not assessed here." in text
    assert "Open proposals, which count in no figure: P-027 (submitted)." in said["Summary"]


def test_new_parts_of_which_the_same_is_told_share_a_row_and_none_is_left_out():
    one = statement().new_parts[0]
    stays = tuple(replace(one, position=f"Stay {number}", part=f"Stay {number}", part_id=f"BO-{number}") for number in (1, 2, 3))
    read = Read(render(statement(new_parts=(*stays, replace(one, date_mark="none")))))
    first, second = (row for row in rows(read) if row[1:3] == ["MD", "hidden"] and row[3] == "2009")
    assert first[0] == "Stay 1; Stay 2; Stay 3 BO-1, BO-2, BO-3, cast iron"
    assert second[0].startswith("Compressor BR-054") and second[-1] == "none"


def test_each_case_is_told_once_with_the_other_ways_and_who_decided(full, bare):
    assert ["P-003 Air compressor", "Law: brakes must work by air. Do nothing (it may not run)", "committee, minute 4"] in rows(full)
    quiet = sections(Read(render(statement(cases=()))))["Modern and hidden parts"]
    assert "No case is written of any of them: not recorded." in quiet


# Policy, decisions, in public


def test_policy_and_decisions_are_told_with_day_and_person(said, full):
    assert ["Principles adopted", "Venice Charter (1964), Article 12."] in rows(full)
    assert "Laid down on 3 March 2024 by M. Thorley, heritage officer; adopted: minute 31." in said["Policy"]
    assert ["2 May 2023", "P-001 Cab: approved", "the committee"] in rows(full)
    assert "This is a draft: nobody has signed it." in said["Decisions and sign-off"]
    assert "signed" not in sections(Read(render(statement(front=replace(FRONT, issue=ISSUE)))))["Decisions and sign-off"]


def test_what_may_be_said_in_public_and_what_must_not_be_claimed(said):
    text = said["What may be said in public"]
    assert "May stand on a panel: By weight, at least 40 and at most 60 parts in every hundred are original." in text
    assert "Stands there, as recorded: About half of her is of 1894. It names no percentage." in text
    assert text.index("What must not be claimed") < text.index("That she is all original.")


def test_what_nobody_recorded_is_said_to_be_not_recorded(bare):
    assert "Of the whole vehicle Not recorded." in bare["Significance"]
    assert "No proposal is open" in bare["Impact of open proposals"]
    assert "No policy is recorded for this vehicle." in bare["Policy"]
    assert "None recorded." in bare["Decisions and sign-off"]
    assert "The reference date is not over" in bare["Change over time"]
    quiet = replace(statement().in_public, panel="", agrees="")
    assert "beside the vehicle: not recorded." in sections(Read(render(statement(in_public=quiet))))["What may be said in public"]


@pytest.mark.parametrize(
    ("text", "found"),
    [("About 62 % of her", ["62"]), ("36 to 60 per cent", ["36", "60"]), ("between 36.5 and 60%", ["36.5", "60"]), ("half of her, built in 1894", []), ("62 parts in every hundred", ["62"])],
)
def test_the_percentages_on_a_panel_are_read(text, found):
    assert [written for written, _ in percentages_in(text)] == found


def test_a_panel_is_held_to_the_bounds_that_are_printed():
    bounds = [(36, 60), (0, 12)]
    assert agreement("half of her", bounds) == NAMES_NONE
    assert agreement("36 to 60 %, and 11 % from elsewhere", bounds) == ALL_WITHIN
    assert agreement("62 % original, 20 % new", bounds).startswith("It names 62 %, 20 %, which no bounds")


# Editions


def edition(name: str) -> Read:
    content = for_edition(statement(), name, parts=frozenset({"BR-054"}), events=frozenset({"boiler renewed", "Left the makers’ works"}))
    return Read(render(replace(content, front=replace(content.front, issue=replace(ISSUE, edition=name, accepted=())))))


def test_the_public_edition_is_short_and_has_the_sections_that_are_for_visitors():
    assert [name for name in sections(edition(PUBLIC)) if name != "front"] == [
        "Summary", "Identity", "History", "Significance", "Reference periods", "Fabric account, in short", "Change over time",
        "What may be said in public", "Cautions", "This statement, and how to check it",
    ]  # fmt: skip
    pages = {name: edition(name).pages() for name in EDITIONS}
    assert pages[PUBLIC] < pages[ASSESSOR] == pages[INTERNAL]


def test_the_public_edition_names_no_event_part_or_paper_that_a_visitor_may_not_read_of():
    text = edition(PUBLIC).text
    for words in ("boiler renewed", "Left the makers’ works", "What makes her No. 6."):
        assert words in text
    for words in ("cab", "Plain green", "the inspector", "P-003", "P-027", "P-001", "M 2009", "minute 31", "loss of 50 points", "P 0001"):
        assert words not in text, words
    assert "Hidden, 1 modern substitute: Compressor." in text and "In view, 1 replica: 1 not named here." in text
    assert "no reason recorded" not in text and "None recorded, which" not in text
