"""A list into the register: proposed, previewed, accepted in one act, corrected, and taken away as a workbook."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date

import pytest
from builders import change, changes_of, read_folder, tiny
from django.contrib.auth.models import Group
from list_import.lists import CARRIAGE, DAY, ENGINE, MESSY, WAGON, write_workbook

from register.exchange.faults import Refused
from register.models import (
    Act,
    Assessment,
    ChangeSet,
    Installation,
    ListMapping,
    Part,
    Person,
    Position,
    Vehicle,
)
from register.services.change_sets import Conflicted, apply
from register.services.export_register import export_register
from register.services.figures import figures_of
from register.services.from_list import (
    accept,
    as_workbook,
    choices_for,
    choose,
    meaning_choices,
    open_list,
    open_questions,
    preview,
    propose,
    role_choices,
)
from register.services.import_register import import_register
from register.services.records import put_record, strike_out

pytestmark = pytest.mark.django_db


def proposal(sheet=None, vehicle_id="W31", vehicle=WAGON, day=DAY, **more):
    listed = sheet or open_list(MESSY)
    return propose(listed, choices_for(listed, vehicle_id)[0], vehicle_id=vehicle_id, vehicle=vehicle, day=day, **more)


def corrected(*pairs: tuple[str, str]):
    """The messy list with some of its text put right."""
    text = MESSY.read_text()
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    return open_list(text.encode(), name=MESSY.name)


def counts() -> dict[str, int]:
    return {"parts": Part.objects.count(), "positions": Position.objects.count(), "installations": Installation.objects.count(),
            "assessments": Assessment.objects.count(), "drafts": ChangeSet.objects.count(), "acts": Act.objects.count()}  # fmt: skip


@pytest.fixture
def accepted():
    return accept(proposal())


@pytest.fixture
def officer(django_user_model):
    """With the role: what anybody else puts right waits for review."""
    user = django_user_model.objects.create(username="officer")
    user.groups.add(Group.objects.get_or_create(name="officer")[0])
    return user


# --- accepted in one act --------------------------------------------------------------------------------------


def test_nothing_is_stored_before_somebody_accepts():
    found = proposal()
    result = preview(found)
    assert not result.faults and len(result.created["parts"]) == 49 and len(result.new_drafts) == 24
    assert not Part.objects.exists() and not Act.objects.exists() and not ListMapping.objects.exists()


def test_a_preview_is_what_is_accepted(officer):
    found = proposal()
    foreseen = preview(found)
    act, result = accept(found, user=officer)
    assert Counter({name: len(keys) for name, keys in result.created.items()}) == Counter({name: len(keys) for name, keys in foreseen.created.items()})
    assert counts() == {"parts": 49, "positions": 50, "installations": 45, "assessments": 0, "drafts": 24, "acts": 1}
    assert (act.kind, act.user) == ("import list", officer) and "messy_list.csv" in act.reason


def test_no_assessment_of_a_list_counts_in_any_figure(accepted):
    for basis, found in figures_of("W31", day=date(2020, 1, 1), bases=("mass", "count")).items():
        assert found.whole.best is None and found.whole.assessed_share == 0 and found.whole.items > 0, basis


def test_the_remark_of_every_part_is_in_the_register_word_for_word(accepted):
    assert "31 cut in outside face + W31 inside. New end let in, 4ft about, 2011 Ted" in Part.objects.get(key="w31-01").remarks
    assert all("From the list: " in part.remarks for part in Part.objects.all())


def test_people_are_named_in_the_table_of_people_only(accepted):
    assert {person.name for person in Person.objects.all()} == {"Ted", "volunteers"}


def test_the_counts_say_how_the_lines_went():
    found = proposal().counts
    assert found["lines"]["part"] == 40 and found["rows"]["parts"] == 49 and found["drafts"]["original"] == 13


def test_a_double_tap_makes_one_act():
    found = proposal()
    first, _ = accept(found, token="t")
    second, _ = accept(found, token="t")
    assert first == second and counts()["acts"] == 1


# --- the same list again --------------------------------------------------------------------------------------


def test_the_same_list_again_changes_nothing(accepted):
    before = counts()
    found = proposal()
    assert not found.changes and not found.notes
    act, _ = accept(found)
    assert act is None and counts() == before


def test_the_same_list_changes_nothing_even_where_it_is_not_remembered(accepted):
    ListMapping.objects.all().delete()
    act, result = accept(proposal())
    assert act is None and not any(result.updated.values()) and counts()["drafts"] == 24


def test_a_corrected_list_changes_what_it_corrects_and_nothing_else(accepted):
    found = proposal(corrected(("Mar-11", "March 2011"), ("1.2T", "1.2 t"), ("lots", "96")))
    result = preview(found)
    assert not result.faults and {name: len(keys) for name, keys in result.created.items() if keys} == {"treatments": 1}, "what Ted did has a date now"
    assert {name: sorted(keys) for name, keys in result.updated.items()}["parts"] == ["w31-04", "w31-06", "w31-09"]
    accept(found)
    stay = Installation.objects.get(part="w31-04")
    assert (stay.fitted, stay.fitted_edtf, stay.seen_on) == ("March 2011", "2011-03", "")
    assert Part.objects.get(key="w31-06").mass == 2_400_000 and Part.objects.get(key="w31-09").quantity == 96
    assert not proposal(corrected(("Mar-11", "March 2011"), ("1.2T", "1.2 t"), ("lots", "96"))).changes


def test_what_an_officer_put_right_stays_while_the_list_says_what_it_said(accepted, officer):
    put_record("parts", {"mass": "240 kg"}, key="w31-06", user=officer)
    put_record("parts", {"material": "bog oak"}, key="w31-01", user=officer)
    assert not proposal().changes
    accept(proposal(corrected(("Mar-11", "March 2011"))))
    assert Part.objects.get(key="w31-06").mass == 240_000 and Part.objects.get(key="w31-01").material == "bog oak"


def test_what_both_changed_is_a_conflict_that_is_shown(accepted, officer):
    put_record("parts", {"mass": "240 kg"}, key="w31-06", user=officer)
    found = proposal(corrected(("1.2T", "1.2 t")))
    assert [str(conflict) for conflict in preview(found).conflicts]
    with pytest.raises(Conflicted, match="240 kg"):
        accept(found)
    assert Part.objects.get(key="w31-06").mass == 240_000
    assert [conflict.field for conflict in preview(found).conflicts] == ["parts:w31-06"]
    assert preview(found, keep={"parts:w31-06": "file"}).register.tables["parts"]["w31-06"]["mass"] == 2_400_000
    accept(found, keep={"parts:w31-06": "register"})
    assert Part.objects.get(key="w31-06").mass == 240_000
    assert not proposal(corrected(("1.2T", "1.2 t"))).changes, "it was decided"


def test_a_date_put_right_in_the_register_is_found_again_by_its_part(accepted, officer):
    stay = Installation.objects.get(part="w31-04")
    put_record("installations", {"fitted": "11 March 2011", "seen_on": ""}, key=stay.key, user=officer)
    found = proposal(corrected(("Mar-11", "April 2011")))
    assert preview(found).conflicts and not preview(found, keep="file").created.get("installations")


def test_a_record_that_was_struck_out_is_not_brought_back(accepted, officer):
    for row in Installation.objects.filter(part="w31-49"):
        strike_out("installations", row.key, user=officer, reason="counted twice")
    strike_out("parts", "w31-49", user=officer, reason="counted twice")
    assert not proposal().changes
    found = proposal(corrected(("Label clips,Y,2", "Label clips,Y,3")))
    assert "counted twice" in " ".join(found.notes) and not preview(found).faults
    ListMapping.objects.all().delete()
    assert not preview(proposal()).faults


def test_what_the_list_no_longer_has_stays_and_is_said(accepted):
    found = proposal(corrected(("49,Label clips,Y,2,,,,,\n", "")))
    assert not found.changes and any("no longer has 49" in note for note in found.notes)
    accept(found)
    assert Part.objects.filter(key="w31-49").exists()


def test_a_draft_that_was_decided_is_not_drafted_again(accepted):
    waiting = ChangeSet.objects.get(part="w31-05")
    apply([change("assessments", row_id=waiting.row_id, part_id="W31-05", assessed_on="2019-09-30", state="accepted", status="original")], kind="review")
    assert not proposal().changes
    found = proposal(corrected(("5,Middle bearers,Y", "5,Middle bearers,restored")))
    assert any("decided already" in note for note in found.notes)
    accept(found)
    assert Assessment.objects.get(part="w31-05").status == "original" and not ChangeSet.objects.filter(part="w31-05", state="waiting").exists()


def test_a_draft_that_waits_is_changed_and_not_doubled(accepted):
    accept(proposal(corrected(("5,Middle bearers,Y", "5,Middle bearers,restored"))))
    assert [row.changes[0]["values"]["status"] for row in ChangeSet.objects.filter(part="w31-05")] == ["restored"]


# --- parts of a list, other vehicles --------------------------------------------------------------------------


def test_lines_are_accepted_one_by_one():
    sheet = open_list(MESSY)
    lines = [line.line for line in proposal(sheet).lines]
    first = proposal(sheet, leave_out=[number for number in lines if number != 6])
    assert {row.table for row in first.rows} == {"vehicles", "sources", "positions", "parts", "installations", "assessments", "treatments"}
    accept(first)
    assert counts()["parts"] == 1 and counts()["positions"] == 2, "the thing and its assembly"
    rest = proposal(sheet)
    assert len(preview(rest).created["parts"]) == 48
    accept(rest)
    assert counts()["parts"] == 49


def test_the_questions_are_kept_for_the_vehicle(accepted):
    kept = open_questions("w31")
    assert len(kept) >= 14 and {"W31-04 fitted", "W31-46 never had"} <= {question.key for question in kept}
    assert "photo 1909 doesn't" in next(question.said for question in kept if question.about == "never had")


def test_the_vehicle_must_be_known_or_described():
    for vehicle, told in (({}, "give her name"), ({"name": "x", "kind": "boat", "built": "1903"}, "Write one of"), ({**WAGON, "built": "190?"}, "digit missing")):
        with pytest.raises(Refused, match=told):
            proposal(vehicle=vehicle)
    with pytest.raises(Refused, match="Say which vehicle"):
        proposal(vehicle_id=" ")


def test_a_vehicle_that_is_there_is_left_as_she_is():
    apply(changes_of(tiny(vehicles=[{"vehicle_id": "W31", "name": "Old wagon", "kind": "wagon", "built": "1904", "heritage_from": "1985"}])), kind="test", whole=True)
    found = proposal()
    assert not any(row.table == "vehicles" for row in found.rows) and not any(one.about == "heritage from" for one in found.questions)
    accept(found)
    assert Vehicle.objects.get(key="w31").name == "Old wagon"


def test_the_choices_are_remembered_by_the_headings_for_this_vehicle_first(tmp_path):
    sheet = open_list(ENGINE.encode(), name="engine.csv")
    choices, remembered = choices_for(sheet, "E2")
    assert not remembered and choices.words["a"] == "ask"
    mine = replace(choices, words={**choices.words, "a": "original"})
    engine = {"name": "Two", "kind": "locomotive", "built": "1951"}
    accept(propose(sheet, mine, vehicle_id="E2", vehicle=engine, day=DAY))
    accept(propose(sheet, replace(choices, words={**choices.words, "a": "restored"}), vehicle_id="E3", vehicle=engine, day=DAY))
    assert choices_for(sheet, "e2")[0].words["a"] == "original"
    assert choices_for(sheet, "E9") == (choices_for(sheet, "E3")[0], True), "the latest, where there is none of hers"
    longer = open_list(("Bits of the shunter\n" + ENGINE).encode(), name="engine.csv")
    assert choices_for(longer, "E2")[0].first == 2


def test_a_workbook_list_goes_the_same_way(tmp_path):
    sheet = open_list(write_workbook(tmp_path / "carriage.xlsx", CARRIAGE))
    act, _ = accept(proposal(sheet, "K4", {"name": "Four", "kind": "carriage", "built": "1898"}))
    assert act and Part.objects.get(key="k4-c6").mass == 1814 and not proposal(sheet, "K4").changes  # 4 lb


def test_choices_as_a_form_posts_them():
    sheet = open_list(ENGINE.encode(), name="engine.csv")
    names = [name for name, _ in role_choices()]
    roles = ["section", "item", "status", "quantity", "mass total", "fitted", "done by", "ignore", "remarks"]
    assert set(roles) <= set(names) and ("ask", "it says too little: asked") in meaning_choices()
    chosen = choose(sheet, first=1, last=1, roles=roles, words={"a": "original"}, visibility="hidden")
    assert chosen.words == {"a": "original", "b": "ask", "c": "ask"} and chosen.visibility == "hidden"
    for wrong, told in (({"roles": roles[:-1]}, "Choose again"), ({"roles": ["splendid", *roles[1:]]}, "can be"), ({"first": 70, "last": 71}, "no lines 70 to 71")):
        with pytest.raises(Refused, match=told):
            choose(sheet, **{"first": 1, "last": 1, "roles": roles} | wrong)


def test_a_list_whose_headings_nobody_could_know_can_be_told_which_line_it_is():
    sheet = open_list(b"Teil,Zahl\nLampe,2\n", name="german.csv")
    with pytest.raises(Refused, match="names the columns"):
        choices_for(sheet)
    chosen = choose(sheet, first=1, last=1, roles=["item", "quantity"])
    accept(propose(sheet, chosen, vehicle_id="K4", vehicle=WAGON, day=DAY))
    assert Part.objects.get(key="k4-01").quantity == 2 and choices_for(sheet)[1]


# --- refused --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("data", "name", "told"), [(b"", "a.csv", "empty"), (b"x", "a.doc", "CSV file"), (b"x", "", "names the columns"), (b"x", "../../a.xlsx", "no workbook")])
def test_what_is_no_list_is_refused_and_nothing_is_stored(data, name, told):
    with pytest.raises(Refused, match=told):
        choices_for(open_list(data, name=name))
    assert not ListMapping.objects.exists()


def test_a_list_that_breaks_a_rule_of_the_register_is_refused_whole():
    """Its ids are taken by other things here, one of them certainly in place."""
    there = tiny(vehicles=[{"vehicle_id": "W31", **WAGON}], positions=[{"position_id": "W31-P49", "vehicle_id": "W31", "name": "buffer", "visibility": "in view"}],
                 parts=[{"part_id": "X9", "name": "buffer"}], installations=[{"position_id": "W31-P49", "part_id": "X9", "fitted": "as built"}])  # fmt: skip
    apply(changes_of(there), kind="test", whole=True)
    before, found = counts(), proposal()
    assert any("W31-P49" in note and "In the register already" in note for note in found.notes)
    with pytest.raises(Refused, match="certainly in this position"):
        accept(found)
    assert counts() == before and not ListMapping.objects.exists() and Position.objects.get(key="w31-p49").name == "buffer"
    assert not preview(proposal(prefix="W31L")).faults
    accept(proposal(prefix="W31L"))
    assert not proposal().changes, "the prefix is remembered"


def test_a_cell_too_long_for_the_register_is_asked_and_the_rest_stays():
    text = "No,Item,Made of,Remarks\n1,Lamp," + "x" * 19_990 + "," + "y" * 19_990 + "\n"
    found = proposal(open_list(text.encode(), name="long.csv"))
    assert any(question.about == "remarks" and "characters" in question.text for question in found.questions)
    assert not preview(found).faults


# --- as a workbook --------------------------------------------------------------------------------------------


def test_the_workbook_marks_the_doubtful_cells_and_lists_the_questions(tmp_path):
    from openpyxl import load_workbook

    as_workbook(proposal(), tmp_path / "w31.xlsx")
    book = load_workbook(tmp_path / "w31.xlsx")
    sheet = book["installations"]
    header = [cell.value for cell in sheet[1]]
    row = next(cells for cells in sheet.iter_rows(min_row=2) if cells[header.index("part_id")].value == "W31-04")
    cell = row[header.index("fitted")]
    assert cell.value is None and "Mar-11" in cell.comment.text and cell.fill.fgColor.rgb.endswith("FFE699")
    marked = {(name, cells[0].row) for name in book.sheetnames for cells in book[name].iter_rows() for cell in cells if cell.comment}
    doubtful = [row for row in proposal().rows if row.doubts]
    assert len(marked) == len(doubtful) > 40
    told = [str(cell.value) for cells in book["about"].iter_rows() for cell in cells]
    assert all(question.text in told for question in proposal().questions)


def test_the_workbook_imports_to_what_accepting_makes(tmp_path):
    from builders import empty_the_register

    as_workbook(proposal(), tmp_path / "w31.xlsx")
    accept(proposal())
    export_register(tmp_path / "accepted")
    ListMapping.objects.all().delete()
    empty_the_register()
    import_register(tmp_path / "w31.xlsx")
    export_register(tmp_path / "imported")
    assert without_tags(read_folder(tmp_path / "imported")) == without_tags(read_folder(tmp_path / "accepted"))
    assert not any(preview(proposal()).created.values()) and not any(preview(proposal()).updated.values())


def test_a_workbook_taken_after_accepting_changes_nothing(accepted, tmp_path):
    as_workbook(proposal(), tmp_path / "w31.xlsx")
    assert import_register(tmp_path / "w31.xlsx").act is None


def test_a_workbook_does_not_write_over_a_file(tmp_path):
    (tmp_path / "w31.xlsx").write_text("mine")
    with pytest.raises(OSError, match="is there already"):
        as_workbook(proposal(), tmp_path / "w31.xlsx")


def without_tags(tables):
    """Tags are made at random."""
    return {name: [{column: text for column, text in row.items() if column != "tag"} for row in rows] for name, rows in tables.items()}


# --- growth ---------------------------------------------------------------------------------------------------


def test_ten_times_the_lines_ask_the_database_no_more():
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    def queries(lines: int) -> int:
        text = "Item,Orig,Qty,Year,Notes\n" + "".join(f"Bolt {number},Y,1,1903,stamped {number}\n" for number in range(lines))
        sheet = open_list(text.encode(), name="bolts.csv")
        with CaptureQueriesContext(connection) as caught:
            preview(propose(sheet, choices_for(sheet)[0], vehicle_id="B1", vehicle=WAGON, day=DAY))
        return len(caught)

    queries(1)  # the register gives itself an id
    assert queries(200) == queries(20)


def test_another_day_of_the_list_moves_what_was_seen_and_drafted_then(accepted):
    accept(proposal(day=date(2019, 10, 1)))
    assert counts()["installations"] == 45 and ChangeSet.objects.filter(day="2019-10-01").count() == counts()["drafts"] == 24
    assert not Installation.objects.filter(seen_on_edtf="2019-09-30").exists()
