"""The period report: what was done, what was found out, and the figures by section 12 of the method."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime

import pytest
from builders import change, changes_of, tiny
from django.core.management import call_command

from register.exchange.faults import Refused
from register.exchange.records import Change
from register.fabric.period import Period
from register.fabric.rounding import to_six
from register.services.change_sets import apply
from register.services.issuing import Asked as Issuing
from register.services.issuing import issue_statement
from register.services.period_figures import VehicleSums
from register.services.period_moments import moments
from register.services.sight import EVERYTHING, Sight
from tests.services.issued import accept_all
from tests.services.periods import brindlewick, lines, of, on, report

pytestmark = pytest.mark.django_db
HALF_YEAR = date(2024, 7, 1), date(2024, 12, 31)


def sums() -> VehicleSums:
    return VehicleSums(moments(Period(*(day.toordinal() for day in HALF_YEAR)), HALF_YEAR[1], EVERYTHING))


# --- the figures ------------------------------------------------------------------------------------------------------


@pytest.mark.outside
def test_work_and_knowledge_are_those_that_were_worked_out_by_hand():
    """tests/worked_example/period.md, worked out with a desk calculator, outside this program."""
    brindlewick()
    found = sums().sides("brin").changes["mass"]
    assert (to_six(found.before.whole.best), to_six(found.known_better.whole.best), to_six(found.after.whole.best)) == (65.815455, 68.534443, 74.499832)
    assert (to_six(found.total), to_six(found.work), to_six(found.knowledge)) == (8.684377, 5.965389, 2.718988)
    assert (to_six(found.before.whole.low), to_six(found.before.whole.high)) == (52.078374, 74.884656)
    assert (to_six(found.after.whole.low), to_six(found.after.whole.high)) == (65.533173, 80.787115)
    by_part = {one.part: (to_six(one.work), to_six(one.knowledge)) for one in found.parts}
    assert by_part == {"p1": (0, -3.436524), "p2": (0, -1.623758), "p3": (0, -0.174582), "p11": (0, 7.953852), "p5": (5.965389, 0)}


def test_a_change_by_mass_is_kept_back_where_a_percentage_by_mass_is():
    """1 of 9 items unweighted is more than 1 in 20: a paper gives only the bounds of the whole vehicle (method, section 7),
    which the worked example of the method has as 42.920831 to 79.335889."""
    brindlewick()
    told = of(report(*HALF_YEAR), "Brindlewick").figures
    by_basis = {row.basis: (row.total, row.work, row.knowledge) for row in told.split}
    assert by_basis["mass"] == ("–", "–", "–") and told.parts == ()
    assert by_basis["count"][0].startswith("+")
    assert "is not said" in " ".join(told.sentences)
    rows = [(row.day, row.words, row.best, row.assessed, row.unweighted) for row in told.rows if row.basis.startswith("mass")]
    assert told.against == "as built (1894)"
    assert rows[0] == ("30 June 2024, as known then", "42.9–79.4", "–", "–", "1 of 9")
    assert [row[0] for row in rows[1:]] == ["30 June 2024, as known in the end", "31 December 2024"]
    assert {row[2] for row in rows} == {"–"} and not any("best figure by mass went" in words for words in told.sentences)


@pytest.fixture
def two(db):
    """60 kg of chimney and 40 kg of dome, both original: 100 %. Then half of the chimney is renewed (work), and the dome
    turns out a replica (knowledge): 60 · 0.5 ÷ 100 = 30 %. Of the 70 points 30 are work and 40 knowledge (by hand)."""
    on("2025-06-01", *changes_of(tiny(assessments=[{"part_id": "P2", "assessed_on": "2020-05-01", "status": "original"}])))
    on("2026-03-02", change("treatments", part_id="P1", date="1 March 2026", work="new top", replaced="0.5"))
    on("2026-05-01", change("assessments", part_id="P2", assessed_on="2021-05-01", status="replica"))


def test_the_change_is_told_in_words_by_part_and_on_every_basis(two):
    told = of(report(), "Larkspur").figures
    text = " ".join(told.sentences).replace("\u00a0", " ")
    assert "The best figure by mass went from 100.0 % to 30.0 %: −70.0 points." in text
    assert "40.0 of the 70.0 points are knowledge (something was found out), 30.0 are work (something was done)." in text
    assert next((row.basis, row.total, row.work, row.knowledge) for row in told.split) == ("mass", "−70.0", "−30.0", "−40.0")
    assert {(row.part_id, row.work, row.knowledge) for row in told.parts} == {("P1", "−30.0", "0.0"), ("P2", "0.0", "−40.0")}
    rows = [(row.day, row.words, row.best, row.assessed, row.unweighted) for row in told.rows if row.basis == "mass"]
    assert rows == [
        ("31 December 2025, as known then", "100.0–100.0", "100.0", "100.0", "0 of 2"),
        ("31 December 2025, as known in the end", "60.0–60.0", "60.0", "100.0", "0 of 2"),
        ("30 June 2026", "30.0–30.0", "30.0", "100.0", "0 of 2"),
    ]


def test_it_is_the_change_between_the_statements_of_those_days(capsys):
    """Section 12 of the method, by the command that compares two issued statements."""
    on("2025-06-01", *changes_of(tiny(assessments=[{"part_id": "P2", "assessed_on": "2020-05-01", "status": "original"}])))

    def issue(day, at):
        reasons = accept_all(Issuing("L1", day))
        issue_statement(Issuing("L1", day, reasons=reasons, why="a test"), at=at)

    issue(date(2025, 12, 31), datetime(2025, 12, 31, 20, tzinfo=UTC))
    on("2026-03-02", change("treatments", part_id="P1", date="1 March 2026", work="new top", replaced="0.5"))
    on("2026-05-01", change("assessments", part_id="P2", assessed_on="2021-05-01", status="replica"))
    issue(date(2026, 6, 30), datetime(2026, 6, 30, 20, tzinfo=UTC))
    capsys.readouterr()
    call_command("change", "CS-0001", "CS-0002", "--json")
    told = json.loads(capsys.readouterr().out)
    days = Period(date(2026, 1, 1).toordinal(), date(2026, 6, 30).toordinal())
    found = VehicleSums(moments(days, date(2026, 6, 30), EVERYTHING)).sides("l1").changes["mass"]
    assert (told["total"], told["work"], told["knowledge"]) == tuple(map(to_six, (found.total, found.work, found.knowledge)))
    assert {one["part_id"].lower(): (one["work"], one["knowledge"]) for one in told["parts"]} == {
        one.part: (to_six(one.work), to_six(one.knowledge)) for one in found.parts
    }


def test_two_reports_that_follow_each_other_tell_everything_once(two):
    first, second = report("2026-01-01", "2026-03-31"), report("2026-04-01", "2026-06-30")
    ends = [row for row in of(first, "Larkspur").figures.rows if row.basis == "mass"][-1], next(row for row in of(second, "Larkspur").figures.rows if row.basis == "mass")
    assert (ends[0].words, ends[0].best) == (ends[1].words, ends[1].best) == ("70.0–70.0", "70.0")
    assert of(first, "Larkspur").counts == {"treated": 1} and of(second, "Larkspur").counts == {"found": 1}


def test_where_too_little_is_assessed_nothing_is_worked_out_of_a_best_figure():
    """Method, section 7: below half assessed the best figure gives way to "not enough assessed"."""
    more = {"positions": [{"position_id": "Q9", "vehicle_id": "L1", "name": "frame", "visibility": "in view"}],
            "parts": [{"part_id": "P50", "name": "frame", "mass": "5000 kg"}], "installations": [{"position_id": "Q9", "part_id": "P50", "fitted": "as built"}]}  # fmt: skip
    on("2025-06-01", *changes_of(tiny(**more)))
    on("2026-03-02", change("treatments", part_id="P1", date="1 March 2026", work="new top", replaced="0.5"))
    told = of(report(), "Larkspur").figures
    assert told.split[0].total == "–" and told.parts == ()
    assert {row.best for row in told.rows if row.basis == "mass"} == {"not enough assessed"}
    assert "best figure by mass went" not in " ".join(told.sentences)


# --- what was done ------------------------------------------------------------------------------------------------------


@pytest.fixture
def workshop(db):
    """A chimney changed, treated, lent, scrapped; entered as it happened."""
    more = {
        "places": [{"place_id": "STORE", "name": "Store"}, {"place_id": "MUS", "name": "Town museum", "access": "public"}],
        "people": [{"person_id": "AB", "name": "A. Bell", "public_as": "our fitter"}],
        "assessments": [{"part_id": "P2", "assessed_on": "2020-05-01", "status": "original"}],
        "parts": [{"part_id": "P8", "name": "bell", "mass": "3 kg"}, {"part_id": "P9", "name": "set of blocks", "quantity": "6"}],
        "positions": [{"position_id": "Q7", "vehicle_id": "L1", "name": "brake blocks", "visibility": "hidden", "wear_part": "yes"}],
    }
    on("2025-06-01", *changes_of(tiny(**more)))
    on(
        "2026-02-10",
        change("installations", position_id="Q1", part_id="P1", fitted="as built", removed="9 February 2026", reason="cracked at the base"),
        change("movements", part_id="P1", moved_on="9 February 2026", place_id="STORE", reason="kept"),
        change("parts", part_id="P10", name="steel chimney", mass="55 kg", date_mark="M 2026 inside"),
        change("installations", position_id="Q1", part_id="P10", fitted="9 February 2026", reason="the old one is cracked"),
        change("assessments", part_id="P10", assessed_on="2026-02-10", status="modern substitute"),
        change("installations", position_id="Q7", part_id="P9", fitted="10 February 2026"),
        change("installations", position_id="Q1", part_id="P3", fitted="1 February 2026", removed="5 February 2026", temporary="yes"),
    )
    on("2026-03-05", change("treatments", part_id="P2", date="March 2026", work="patched", replaced_low="0.02", replaced="0.05", replaced_high="0.1", done_by="AB"))
    on("2026-03-06", change("movements", part_id="P2", moved_on="6 March 2026", place_id="MUS", due_back="May 2026"))
    on("2026-03-07", change("events", vehicle_id="L1", date="7 March 2026", kind="examination", title="Boiler opened", reference="E 4", holder="AB"))
    on("2026-04-01", change("parts", part_id="P8", name="bell", disposal="transferred", disposal_date="2 April 2026"))


def test_what_was_fitted_says_what_it_is_in_whose_place_and_how_it_is_seen(workshop):
    told = of(report(), "Larkspur")
    group = next(group for group in told.groups if group.kind == "fitted")
    steel = next(line for line in group.lines if line.code == "P10")
    assert (steel.status, steel.visibility, steel.position, steel.key) == ("modern substitute", "in view", "chimney", "p10")
    assert steel.said == ("in place of first chimney", "marked as new: M 2026 inside", "the old one is cracked")
    blocks = next(line for line in group.lines if line.code == "P9")
    assert (blocks.status, blocks.about.replace("\u00a0", " ")) == ("wear", "set of blocks × 6")
    stand_in = next(line for line in group.lines if line.code == "P3")
    assert stand_in.said[0] == "a stand-in: in no figure" and stand_in.status == ""


def test_what_was_removed_says_where_it_went(workshop):
    removed = lines(of(report(), "Larkspur"), "removed")
    assert ("9 February 2026", "first chimney", ("to Store", "cracked at the base"), ()) in removed
    assert lines(of(report(), "Larkspur"), "moved") == [("6 March 2026", "dome", ("to Town museum, due back May 2026",), ())]  # that to the store is told above


def test_what_was_treated_disposed_of_and_what_happened_to_the_vehicle(workshop):
    told = report()
    assert lines(of(told, "Larkspur"), "treated") == [("March 2026", "dome", ("patched", "5\u00a0% (2 to 10\u00a0%) of its material replaced", "done by A. Bell"), ())]
    assert lines(of(told, "Larkspur"), "events") == [("7 March 2026", "Boiler opened", ("examination", "E 4", "paper held by A. Bell"), ())]
    assert lines(of(told, "Parts that belong to no vehicle"), "disposed") == [("2 April 2026", "bell", ("transferred",), ())]
    assert told.totals["fitted"] == 3 and told.totals["removed"] == 2 and told.totals["found"] == 0


def test_a_part_that_went_to_another_vehicle_is_told_of_in_both():
    on("2025-06-01", *changes_of(tiny()))
    on("2026-02-02", change("installations", position_id="Q2", part_id="P2", fitted="1894", removed="1 February 2026"),
       change("installations", position_id="G1", part_id="P2", fitted="1 February 2026"))  # fmt: skip
    told = report()
    assert lines(of(told, "Larkspur"), "removed")[0][2] == ("now in Lapwing, as dome",)
    assert lines(of(told, "Lapwing"), "fitted")[0][2] == ("before in Larkspur",)


def test_a_vehicle_in_which_nothing_happened_is_named_and_no_more(workshop):
    told = report()
    assert told.quiet == ("Lapwing",) and [one.name for one in told.vehicles] == ["Larkspur", "Parts that belong to no vehicle"]


def test_some_vehicles_are_told_of_alone(workshop):
    assert [one.name for one in report(vehicles=("L1",)).vehicles] == ["Larkspur"]
    alone = report(vehicles=("l2",))
    assert alone.vehicles == () and alone.quiet == ("Lapwing",) and alone.front.vehicles == ("Lapwing",)


# --- dates at the edge --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("date_text", "kind", "doubt"),
    [
        ("1 January 2026", "treated", ""),
        ("30 June 2026", "treated", ""),
        ("about January 2026", "treated", "may have been before 1 January 2026"),
        ("about June 2026", "treated", "may have been after 30 June 2026"),
        ("2026", "possible", "taken as after the period, and may have been in it"),
        ("2025 or 2026", "possible", "taken as before the period, and may have been in it"),
        ("between 2025 and 2027", "treated", "may have been before 1 January 2026, or after 2 July 2026"),
        ("31 December 2025", "", ""),
        ("1 July 2026", "", ""),
    ],
)
def test_a_date_at_the_edge_of_the_period_is_told_where_it_counts_and_its_doubt_is_said(date_text, kind, doubt):
    """By the best day (method, section 2, the middle rounded down): 2026 and between 2025 and 2027 are taken as 2 July 2026,
    2025 or 2026 as 31 December 2025."""
    on("2025-06-01", *changes_of(tiny()), change("treatments", part_id="P1", date=date_text, work="patched"))
    told = report(last="2026-07-02" if date_text.startswith("between") else "2026-06-30")
    found = {group.kind: group.lines for one in told.vehicles for group in one.groups}
    assert set(found) == ({kind} if kind else set())
    if kind:
        assert found[kind][0].doubts == ((doubt,) if doubt else ())
        assert ("treated" in found[kind][0].said) == (kind == "possible")


def test_what_may_be_of_any_year_is_counted_and_not_listed():
    on("2025-06-01", *changes_of(tiny(treatments=[{"part_id": "P1", "date": "from 1921", "work": "patched"}])))
    told = report()
    assert told.vehicles == () and "1 thing is dated so loosely" in told.notes[0]


def test_a_part_of_which_only_a_day_in_place_is_known_is_said_to_be_that():
    on("2025-06-01", *changes_of(tiny()))
    on("2026-02-01", change("installations", position_id="G1", part_id="P3", seen_on="2026-01-20"))
    told = lines(of(report(), "Lapwing"), "fitted")
    assert told == [("not known; seen in place on 20 January 2026", "spare chimney", (), ("may have been before 1 January 2026",))]


# --- what was found out ----------------------------------------------------------------------------------------------------


def test_what_was_done_in_1931_and_entered_in_the_period_is_found_out_and_no_work(two):
    on("2026-06-01", change("treatments", part_id="P1", date="1931", work="rim renewed", replaced="0.1"),
       change("events", vehicle_id="L1", date="1931", kind="overhaul", title="Overhaul"))  # fmt: skip
    told = of(report(), "Larkspur")
    assert [line[2] for line in lines(told, "treated")] == [("new top", "50\u00a0% of its material replaced")]
    found = {line[1]: (line[0], line[2]) for line in lines(told, "found")}
    assert found["first chimney"] == ("1 June 2026", ("treated: 1931; rim renewed; 10\u00a0% of its material replaced",))
    assert found["Overhaul"] == ("1 June 2026", ("event: 1931", "overhaul"))
    assert lines(told, "events") == []


def test_an_assessment_that_changed_a_status_says_from_what_to_what(two, django_user_model):
    officer = django_user_model.objects.create_user("mt", last_name="M. Thorley")
    on("2026-06-02", change("assessments", part_id="P1", assessed_on="2026-06-01", status="restored", fraction="0.7", reason="the rim is new", assessor="A. Bell"), user=officer)
    found = {line[1]: line[2] for line in lines(of(report(), "Larkspur"), "found")}
    assert found["dome"] == ("was held to be original, is held to be a replica; assessed on 1 May 2021, evidence none yet",)
    assert found["first chimney"] == (
        "was held to be original, is held to be restored; assessed on 1 June 2026 by A. Bell, original fabric left in it 70\u00a0%, evidence none yet",
        "the rim is new",
        "entered by M. Thorley",
    )


def test_a_first_assessment_a_mass_and_a_mark_are_found_out_too():
    on("2025-06-01", *changes_of(tiny()))
    on("2026-02-02", change("assessments", part_id="P2", assessed_on="2026-02-01", status="original"), change("parts", part_id="P2", name="dome", mass="38-44 kg", marks="H 6"))
    assert lines(of(report(), "Larkspur"), "found")[0][2] == (
        "was not assessed, is held to be original; assessed on 1 February 2026, evidence none yet", "mass 41 kg (38 to 44 kg), before 40 kg", "marks: H 6",
    )  # fmt: skip


def test_a_corrected_date_and_what_is_no_longer_on_record_are_told():
    on("2025-06-01", *changes_of(tiny(treatments=[{"part_id": "P1", "date": "1960", "work": "patched"}], events=[{"vehicle_id": "L1", "date": "1950", "kind": "livery", "title": "Green"}])))
    from register.models import Event, Treatment

    on("2026-02-02", Change("treatments", change("treatments", part_id="P1", date="1961", work="patched").values, row_id=Treatment.objects.get().key))
    on("2026-02-03", Change("events", {}, row_id=Event.objects.get().key, action="strike"))
    found = {line[1]: line[2] for line in lines(of(report(), "Larkspur"), "found")}
    assert found["first chimney"] == ("treated: 1961 (recorded before as 1960); patched",)
    assert found["Green"] == ("no longer on record: event, 1950",)


def test_parts_that_came_and_went_are_told_once(two):
    on("2026-02-02", change("parts", part_id="P20", name="handrail"), change("assessments", part_id="P20", assessed_on="2026-02-01", status="replica"))
    on("2026-02-03", Change("parts", {}, row_id="p3", action="strike"), reason="never was")
    found = {line[1]: line[2] for line in lines(of(report(), "Parts that belong to no vehicle"), "found")}
    assert found == {"handrail": ("new to the register; held to be a replica",), "spare chimney": ("struck out of the register: never was",)}


def test_a_merged_part_is_one_find_and_its_rows_are_none(two):
    from register.services.structure_merge import merge_parts

    on("2025-07-01", change("parts", part_id="P2B", name="dome", mass="40 kg"), change("treatments", part_id="P2B", date="1950", work="dented"))
    merge_parts(duplicate_id="P2B", into_id="P2", user=None, reason="the same dome")
    told = report(last="2026-11-28")
    found = {line[1]: line[2] for line in lines(of(told, "Parts that belong to no vehicle"), "found")}
    assert found == {"dome": ("found to be the same as P2, with which it is one record now: the same dome",)}


def test_what_was_merged_into_a_restricted_part_is_told_only_to_who_may_read_of_that(two):
    from register.services.structure_merge import merge_parts

    on("2025-07-01", change("parts", part_id="P2B", name="dome", mass="40 kg"), change("parts", part_id="P2", access="restricted"))
    merge_parts(duplicate_id="P2B", into_id="P2", user=None, reason="the same dome")
    assert "P2" in repr(report(last="2026-11-28", sight=EVERYTHING)) and "the same dome" not in repr(report(last="2026-11-28", sight=Sight()))


# --- the register itself ---------------------------------------------------------------------------------------------------


def test_a_vehicle_that_is_new_to_the_register_is_said_to_be_and_all_that_is_not_found_out():
    """What was known before cannot be told, so knowledge is not; work is, by what is known in the end."""
    on("2026-02-01", *changes_of(tiny(assessments=[{"part_id": "P2", "assessed_on": "2020-05-01", "status": "original"}])))
    on("2026-03-02", change("treatments", part_id="P1", date="1 March 2026", work="new top", replaced="0.5"))
    told = of(report(), "Larkspur")
    assert told.lead[0].replace("\u00a0", " ") == "It is new to the register, entered on 1 February 2026, with 2 parts, 2 of them assessed."
    assert "found" not in told.counts and told.counts["treated"] == 1
    assert (told.figures.split[0].total, told.figures.split[0].work, told.figures.split[0].knowledge) == ("–", "−30.0", "–")
    assert "did not know this vehicle" in told.figures.sentences[0]


def test_before_anything_was_entered_the_report_says_so():
    on("2026-07-01", *changes_of(tiny()))
    told = report()
    assert told.vehicles == () and told.notes == ("The register held no vehicle yet on the last day whose entries are read.",)


def test_a_vehicle_that_left_the_register_is_told_of_and_cannot_be_asked_for():
    on("2025-06-01", *changes_of(tiny()))
    on("2026-02-01", Change("positions", {}, row_id="g1", action="strike"), Change("vehicles", {}, row_id="l2", action="strike"), reason="sold long ago")
    told = of(report(), "Lapwing")
    assert told.lead == ("It left the register on 1 February 2026: sold long ago.",) and told.figures is None
    with pytest.raises(Refused) as refused:
        report(vehicles=("L2", "L9"))
    assert [fault.message for fault in refused.value.faults] == [
        "L2 was struck out of the register on 1 February 2026 (sold long ago). Leave it out.",
        "There is no vehicle L9 in this register. Choose one of the list.",
    ]


def test_what_was_entered_late_is_counted_and_taken_in_where_that_is_asked_for():
    on("2025-06-01", *changes_of(tiny()))
    on("2026-07-03", change("treatments", part_id="P1", date="29 June 2026", work="patched"))
    early = report()
    assert early.vehicles == () and early.beside[0].startswith("1 thing of this period was entered after 30 June 2026")
    late = report(known="2026-07-05")
    assert lines(of(late, "Larkspur"), "treated")[0][3] == ("entered on 3 July 2026, after the period",)
    assert late.beside == ()
    following = report("2026-07-01", "2026-09-30")
    assert lines(of(following, "Larkspur"), "found")[0][2] == ("treated: 29 June 2026; patched",)


def test_a_change_of_what_it_is_measured_against_is_said_to_be_part_of_the_change():
    on("2025-06-01", *changes_of(tiny(reference_periods=[{"vehicle_id": "L1", "label": "as built", "date": "1894"}])))
    on("2026-02-01", change("reference_periods", vehicle_id="L1", label="as built", date="1895"))
    assert "was as built (1894), and is as built (1895)" in of(report(), "Larkspur").figures.sentences[0]


@pytest.mark.parametrize(
    ("first", "last", "known", "column", "said"),
    [
        ("2026-06-30", "2026-01-01", None, "first", "30 June 2026 is after 1 January 2026: give the earlier day first."),
        ("2026-01-01", "2027-01-01", None, "last", "1 January 2027 is still to come"),
        ("1926-01-01", "2026-01-01", None, "first", "is longer than 25 years"),
        ("2026-01-01", "2026-06-30", "2027-01-01", "known", "nothing has been entered by then"),
        ("2026-01-01", "2026-06-30", "2026-05-01", "known", "is before the last day"),
    ],
)
def test_days_that_cannot_be_are_refused_with_a_sentence(first, last, known, column, said):
    with pytest.raises(Refused) as refused:
        report(first, last, known=known)
    assert [(fault.column, said in fault.message) for fault in refused.value.faults if fault.column == column] == [(column, True)]


def test_the_number_of_queries_is_the_same_for_ten_times_the_vehicles():
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            report()
        return len(queries)

    on("2025-06-01", *changes_of(tiny()))
    on("2026-02-01", change("treatments", part_id="P1", date="1 February 2026", work="patched"))
    few = asked()
    rows: dict[str, list[dict[str, str]]] = {"vehicles": [], "positions": [], "parts": [], "installations": [], "treatments": []}
    for number in range(20):
        rows["vehicles"].append({"vehicle_id": f"V{number}", "name": f"Van {number}", "kind": "wagon", "built": "1900"})
        for part in range(10):
            code = f"V{number}-{part}"
            rows["positions"].append({"position_id": code, "vehicle_id": f"V{number}", "name": "plank", "visibility": "in view"})
            rows["parts"].append({"part_id": code, "name": "plank", "mass": "5 kg"})
            rows["installations"].append({"position_id": code, "part_id": code, "fitted": "as built"})
            rows["treatments"].append({"part_id": code, "date": "2 February 2026", "work": "oiled"})
    on("2025-06-02", *changes_of({name: listed for name, listed in rows.items() if name != "treatments"}))
    on("2026-02-03", *changes_of({"treatments": rows["treatments"]}))
    assert asked() == few
    assert apply([], kind="none")[0] is None
