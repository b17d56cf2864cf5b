"""Lists of any make: read, their headings found, their columns and words guessed, and two small ones drafted."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date, datetime

import pytest
from list_import.lists import (
    CARRIAGE,
    ENGINE,
    asked,
    drafted,
    outcome,
    rows,
    values,
    write_workbook,
)

from register.exchange.faults import Refused
from register.exchange.flat_list.amounts import read_quantity, read_weight, read_when
from register.exchange.flat_list.answers import ListAnswers
from register.exchange.flat_list.cues import cues_of
from register.exchange.flat_list.drafting import draft
from register.exchange.flat_list.facts import date_of_loss, hazards_of, marks_disagree, marks_of
from register.exchange.flat_list.facts import testimonies_of as who_says_what
from register.exchange.flat_list.headings import find_heading, joined
from register.exchange.flat_list.mapping import ListChoices, fingerprint, guess, placed
from register.exchange.flat_list.roles import KEEP, ROLES, role_of_heading
from register.exchange.flat_list.sheet import Sheet, SheetLine, read_sheet
from register.exchange.flat_list.splitting import portions_of
from register.exchange.flat_list.status_words import MEANINGS, meaning_of
from register.exchange.flat_list.things import with_ids


def csv_list(folder, text: str, name: str = "list.csv", encoding: str = "utf-8") -> Sheet:
    path = folder / name
    path.write_bytes(text.encode(encoding))
    return read_sheet(path)


@pytest.fixture
def carriage(tmp_path):
    return read_sheet(write_workbook(tmp_path / "carriage.xlsx", CARRIAGE))


@pytest.fixture
def engine(tmp_path):
    return csv_list(tmp_path, ENGINE)


# --- reading --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_a_csv_file_may_have_commas_semicolons_or_tabs(separator, tmp_path):
    sheet = csv_list(tmp_path, separator.join(["No", "Item", "Remarks"]) + "\n" + separator.join(["1", "Lamp", '"a, b; c"']))
    assert sheet.width == 3 and sheet.lines[1].cells == ("1", "Lamp", "a, b; c")


@pytest.mark.parametrize(("encoding", "told"), [("utf-8-sig", 0), ("utf-16", 0), ("cp1252", 1)])
def test_what_is_not_utf_8_is_read_and_said(encoding, told, tmp_path):
    sheet = csv_list(tmp_path, "No,Item\n1,½ in café bolt £\n", encoding=encoding)
    assert sheet.lines[1].cells[1] == "½ in café bolt £" and len(sheet.notes) == told


def test_a_workbook_cell_is_what_a_person_sees(tmp_path):
    path = write_workbook(tmp_path / "a.xlsx", [["No", "Item", "When", "Orig"], [1, "Lamp", datetime(2011, 3, 1), True], [2.0, 0.1 + 0.2, date(2011, 3, 11), None]])
    from openpyxl import load_workbook

    book = load_workbook(path)
    book.active["C2"].number_format = "mmm-yy"
    book.active["C3"].number_format = "dd/mm/yyyy"
    book.active["D3"] = "=1+1"
    book.save(path)
    sheet = read_sheet(path)
    assert sheet.lines[1].cells == ("1", "Lamp", "March 2011", "yes")
    assert sheet.lines[2].cells == ("2", "0.3", "11 March 2011", "")
    assert any("date cells" in note for note in sheet.notes) and any("formulas" in note for note in sheet.notes)


def test_a_list_in_the_second_sheet_is_found_by_name_and_the_first_empty_one_passed_over(tmp_path):
    from openpyxl import Workbook

    book = Workbook()
    book.create_sheet("bits").append(["Item", "Qty"])
    book["bits"].append(["Lamp", 2])
    book.create_sheet("other").append(["nothing"])
    book.save(tmp_path / "a.xlsx")
    sheet = read_sheet(tmp_path / "a.xlsx")
    assert "bits" in sheet.name and sheet.sheets == ("Sheet", "bits", "other")
    with pytest.raises(Refused, match="no sheet “bolts”"):
        read_sheet(tmp_path / "a.xlsx", sheet="bolts")


@pytest.mark.parametrize(("name", "data", "told"), [
    ("a.csv", b"", "empty"), ("a.csv", b"\n\n , ,\n", "empty"), ("a.csv", b"PK\x03\x04....", "workbook with the name"), ("a.csv", b"\x00\x01\x02", "no CSV file"),
    ("a.csv", b"No,Item\n1,\x81\x8d\n", "cannot be read"), ("a.csv", b'No,Item\n1,"open\n', "quote"), ("a.pdf", b"%PDF", "CSV file (.csv) or a workbook"),
    ("a.xls", b"\xd0\xcf\x11\xe0", "old workbook"), ("a.xlsx", b"not a zip", "no workbook"), ("a.ods", b"x", "OpenDocument"),
    ("a.csv", b"Item\n" + b"x\n" * 5001, "at most 5,000 lines"), ("a.csv", b"Item" + b",x" * 300, "columns"), ("a.csv", b"Item\n" + b"y" * 20001, "characters"),
])  # fmt: skip
def test_a_file_that_is_no_list_is_refused_with_a_sentence(name, data, told, tmp_path):
    (tmp_path / name).write_bytes(data)
    with pytest.raises(Refused) as refusal:
        read_sheet(tmp_path / name)
    assert told in str(refusal.value) and str(refusal.value).endswith("nothing was imported.")


def test_a_file_that_is_not_there_is_said(tmp_path):
    with pytest.raises(Refused, match="no such file"):
        read_sheet(tmp_path / "a.csv")


# --- headings, columns and words ------------------------------------------------------------------------------


def test_a_group_reaches_over_blank_cells_as_far_as_it_helps():
    assert joined([("", "Fitted", ""), ("Item", "when", "by")]) == ("Item", "Fitted when", "Fitted by")
    assert joined([("", "WEIGHT", "", ""), ("Item", "each", "total", "Qty")]) == ("Item", "Weight each", "Weight total", "Qty")


def test_units_under_a_heading_belong_to_it(tmp_path):
    sheet = csv_list(tmp_path, "Things in the van\nItem,Weight,,Notes\n,each,total,\nBolt,1,4,\n")
    assert find_heading(sheet).names == ("Item", "Weight each", "Weight total", "Notes")
    assert find_heading(sheet).title == ("Things in the van",)


def test_a_list_without_a_heading_is_refused(tmp_path):
    with pytest.raises(Refused, match="names the columns"):
        guess(csv_list(tmp_path, "1,Solebar,oak\n2,Headstock,oak\n"))


@pytest.mark.parametrize(("heading", "role"), [
    ("No.", "number"), ("Item no", "number"), ("Description", "item"), ("ORIG?", "status"), ("Number off", "quantity"), ("Weight each (kg)", "mass each"),
    ("Total wt", "mass total"), ("Mass", "mass"), ("Date fitted", "fitted"), ("Removed", "removed"), ("Fitted by", "done by"), ("Comments", "remarks"),
    ("Made of", "material"), ("Stampings", "marks"), ("Visible?", "visibility"), ("Assembly", "section"), ("Kept at", "place"), ("Shelf mark", ""),
])  # fmt: skip
def test_a_column_is_guessed_by_what_stands_over_it(heading, role):
    assert role_of_heading(heading) == role


@pytest.mark.parametrize(("word", "meaning"), [
    ("Y", "original"), ("ORIG", "original"), ("y?", "not assessed"), ("prob", "not assessed"), ("", "not assessed"), ("N", "ask"), ("copy", "ask"), ("part", "ask"),
    ("wear", "wear part"), ("gone", "gone"), ("never had", "never had"), ("replica", "replica"), ("no idea what", "ask"), ("swapped?", "not assessed"),
])  # fmt: skip
def test_a_word_means_at_most_what_somebody_wrote_down(word, meaning):
    assert meaning_of(word) == meaning


def test_every_role_and_meaning_has_a_word_for_the_form():
    assert all(role.about for role in ROLES.values()) and all(meaning.about for meaning in MEANINGS.values())


def test_choices_survive_being_stored_and_are_known_again_by_their_headings(carriage, tmp_path):
    choices = guess(carriage)
    again = ListChoices.from_json(choices.as_json())
    assert again == choices and fingerprint(again) == fingerprint(choices)
    longer = read_sheet(write_workbook(tmp_path / "b.xlsx", [["Carriage K4", *[""] * 8], *CARRIAGE]))
    moved = placed(longer, replace(choices, words={"dunno": "not assessed"}))
    assert moved and (moved.first, moved.last) == (2, 2) and moved.words["dunno"] == "not assessed"
    other = csv_list(tmp_path, "Item,Qty\nLamp,1\n")
    assert placed(other, choices) is None and fingerprint(guess(other)) != fingerprint(choices)


@pytest.mark.parametrize(("changed", "told"), [
    ({"role": (1, KEEP)}, "No column is chosen for the item"), ({"role": (0, "item")}, "2 columns are chosen as “item”"),
    ({"role": (0, "colour")}, "nothing that a column can be"), ({"words": {"yes": "splendid"}}, "no meaning"),
    ({"visibility": "murky"}, "no visibility"), ({"first": 90, "last": 99}, "nothing below"),
])  # fmt: skip
def test_choices_that_cannot_be_used_are_refused_with_a_sentence(changed, told, carriage):
    choices = guess(carriage)
    if "role" in changed:
        choices = choices.with_role(*changed.pop("role"))
    with pytest.raises(Refused, match=told):
        drafted(carriage, replace(choices, **changed), vehicle="K4")


# --- small readings -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("each", "total", "either", "count", "stored"), [
    ("2 kg", "", "", 3, "6 kg"), ("", "6", "", 3, "6 kg"), ("", "", "6 kg", 1, "6 kg"), ("", "", "6 kg", 3, ""), ("2", "7", "", 3, ""), ("1 lb", "", "", 3, "1.361 kg"),
    ("5t", "", "", 1, "5t"), ("5T", "", "", 1, ""), ("10-12", "", "", 2, "20-24 kg"), ("?", "", "", 1, ""), ("heavy", "", "", 1, ""), ("2 kg", "", "", None, ""),
])  # fmt: skip
def test_a_weight_is_of_the_whole_line_or_asked(each, total, either, count, stored):
    found = read_weight(each, total, either, count, counted=True)
    assert found.text == stored and bool(found.asked) == (not stored and each != "?")


def test_a_bare_number_takes_the_unit_of_its_heading():
    assert read_weight("56", "", "", 1, counted=True, units=("lb", "", "")).text == "56 lb"
    assert read_weight("56 kg", "", "", 1, counted=True, units=("lb", "", "")).text == "56 kg"


@pytest.mark.parametrize(("cell", "count"), [("4", 4), ("4.0", 4), ("4 off", 4), ("", None), ("lots", None), ("0", None), ("-1", None)])
def test_a_number_of_pieces_is_a_number_or_asked(cell, count):
    found, reading = read_quantity(cell)
    assert found == count and bool(reading.asked) == (count is None and bool(cell))


@pytest.mark.parametrize(("cell", "text", "asks"), [
    ("as blt", "as built", False), ("c1920s", "c1920s", False), ("?", "", False), ("Mar-11", "", True), ("as blt / 2011", "as built", True), ("1894-97", "", True),
    ("12/05/1894", "12/05/1894", False), ("last summer", "", True),
])  # fmt: skip
def test_a_date_is_read_or_asked(cell, text, asks):
    reading = read_when(cell).reading
    assert reading.text == text and bool(reading.asked) == asks


@pytest.mark.parametrize(("remark", "marks"), [
    ("stamped 31 one end, 27 t'other", ["31", "27"]), ("cast W31 1903", ["W31 1903"]), ("painted red", []), ("painted 2012", []), ("cut 4 ft off the end", []),
    ("stamped in 1903", []), ("B. 27 on the web", ["27"]), ("new casting, 12 kg", []), ("60% cut away", []),
])  # fmt: skip
def test_marks_are_taken_where_they_are_plain(remark, marks):
    assert marks_of(remark) == marks


def test_marks_agree_where_they_name_one_number():
    assert not marks_disagree(["31", "W31", "1903"]) and marks_disagree(["31", "27"])


@pytest.mark.parametrize(("remark", "hazards"), [
    ("lead paint!", ["lead paint"]), ("no lead paint", []), ("asbestos free", ["asbestos"]), ("no asbestos now, lagging was asbestos", ["asbestos"]), ("leaded light", []),
    ("luminous dial", ["radioactive paint"]),
])  # fmt: skip
def test_hazards_are_recognised_and_denials_are_none(remark, hazards):
    assert hazards_of(remark) == hazards


@pytest.mark.parametrize(("remark", "loose"), [
    ("spare, in van", True), ("in the old loft", True), ("kept at Ann's house", True), ("old top plank kept in loft", False), ("on wagon", False), ("spare wheel carrier", False),
    ("end let in", False),
])  # fmt: skip
def test_a_part_is_loose_where_the_remark_begins_a_clause_with_its_place(remark, loose):
    assert cues_of(remark).is_loose == loose


@pytest.mark.parametrize(("remark", "count", "labels"), [
    ("planks 1+2 orig, 3 4 5 pitch pine", 5, ["1 and 2", "3, 4 and 5"]), ("1-3 old; 4 new", 4, ["1, 2 and 3", "4"]), ("1+2 orig", 5, []), ("planks 1+2 orig, 3 new", 5, []),
    ("A end good, B end new", 10, ["A end", "B end"]), ("A end good", 10, []), ("6 old 8 new", 14, []), ("left side old, right side new", 2, ["left side", "right side"]),
])  # fmt: skip
def test_a_line_is_split_only_where_the_remark_divides_it_without_a_remainder(remark, count, labels):
    assert [portion.label for portion in portions_of(remark, count)] == labels


def test_who_says_what_is_kept_with_which_way_it_speaks():
    said = who_says_what("Ann Lee says it was never changed; Bob thinks it is new. Cy remembers a red one")
    assert [(one.who, one.supports) for one in said] == [("Ann Lee", True), ("Bob", False), ("Cy", None)]


def test_a_loss_is_dated_by_the_remark():
    assert [date_of_loss(text) for text in ("lost by 1962", "scrapped 1931", "gone in 1950", "no idea")] == ["by 1962", "1931", "1950", ""]


# --- two other lists ------------------------------------------------------------------------------------------


def k4(sheet: Sheet, **words: str):
    choices = guess(sheet)
    return drafted(sheet, replace(choices, words={**choices.words, **words}), vehicle="K4", built="1898")


def test_the_carriage_list_has_other_columns_and_they_are_found(carriage):
    assert [column.role for column in guess(carriage).columns] == [
        "number", "item", "status", "quantity", "mass", "material", "fitted", "visibility", "remarks",
    ]  # fmt: skip
    assert guess(carriage).columns[4].unit == "lb"


def test_the_carriage_list_is_drafted_line_by_line(carriage):
    found = k4(carriage)
    door, lock, strap, board = (outcome(found, number) for number in ("C1", "C2", "C3", "C4"))
    assert values(door, "parts")["part_id"] == "K4-C1" and values(door, "installations")["fitted"] == "as built"
    assert "=SUM is not a formula here" in values(door, "parts")["remarks"]
    assert values(door, "positions")["visibility"] == "in view" and values(door, "assessments")["status"] == "original"
    assert "weight" in asked(door) and "mass" not in values(door, "parts"), "56 lb of one door or of both?"
    assert values(lock, "installations")["seen_on"] == "2019-09-30"
    assert values(strap, "assessments") | {"reason": ""} == {
        "part_id": "K4-C3", "assessed_on": "2019-09-30", "state": "draft", "status": "replica", "pattern_basis": "drawing", "reason": "",
    }  # fmt: skip
    assert {"status", "visibility"} <= asked(board) and not rows(board, "assessments")


def test_what_can_be_seen_is_asked_once_where_the_list_has_no_column_for_it(carriage, engine):
    assert not any(question.about == "visibility" for question in k4(carriage).questions)
    assert [question.about for question in drafted(engine).questions].count("visibility") == 1


def test_a_word_that_only_its_writer_knows_is_given_its_meaning(carriage):
    board = outcome(k4(carriage, dunno="not assessed"), "C4")
    assert "status" not in asked(board) and not rows(board, "assessments")


def test_the_carriage_list_ends_in_a_loss_a_late_original_a_loose_lamp_and_a_note(carriage):
    found = k4(carriage)
    pipe, rail, lamp = (outcome(found, number) for number in ("C5", "C6", "C7"))
    assert values(pipe, "parts")["disposal"] == "scrapped" and values(pipe, "installations")["removed"] == "1931"
    assert "status" in asked(rail) and not rows(rail, "assessments"), "fitted in 1962, sixty years after she was built"
    assert lamp.kind == "loose part" and "weight" in asked(lamp) and values(lamp, "assessments")["original_to"] == "K4"
    note = next(line for line in found.lines if line.kind == "unclear")
    assert "all weights are from the kitchen scales" in note.questions[0].said and not note.rows


def test_the_engine_list_numbers_nothing_and_names_its_assemblies_in_each_line(engine):
    choices = guess(engine)
    assert [column.role for column in choices.columns] == ["section", "item", "status", "quantity", "mass total", "fitted", "done by", KEEP, "remarks"]
    found = drafted(engine, replace(choices, words={"a": "original", "b": "modern substitute", "c": "ask"}), vehicle="E2", built="1951")
    ids = [row.values["part_id"] for line in found.lines for row in rows(line, "parts")]
    assert ids == ["E2-01", "E2-02", "E2-03", "E2-04"]
    assert [row.values["name"] for row in found.shared if row.table == "positions"] == ["Cab", "Engine"]
    handle, new, donor, injector = found.lines
    assert values(handle, "assessments")["status"] == "original"
    assert values(new, "assessments")["status"] == "modern substitute" and values(new, "treatments")["done_by"] == "P. Oak"
    assert "Shelf mark: R2" in values(new, "parts")["remarks"], "a column the register has no place for"
    assert not rows(donor, "assessments") and "status" in asked(donor)
    assert values(injector, "parts")["hazards"] == "asbestos" and "hazard" in asked(injector)
    names = [values(line, "parts")["name"] for line in (new, donor)]
    assert names == ["Gauge lamp (No 02)", "Gauge lamp (No 03)"]


def test_an_unnumbered_line_keeps_its_id_when_others_are_put_before_it(engine):
    first = drafted(engine, vehicle="E2", built="1951")
    extra = SheetLine(99, ("Cab", "Clock", "A", "1", "", "", "", "", ""))
    longer = Sheet(engine.name, (engine.lines[0], extra, *engine.lines[1:]), engine.width)
    again = draft(longer, guess(longer), ListAnswers("E2", built="1951"), first.ids)
    parts = {row.values["name"]: row.values["part_id"] for line in again.lines for row in rows(line, "parts")}
    assert parts["Regulator handle"] == "E2-01" and parts["Injector, left"] == "E2-04" and parts["Clock"] == "E2-05"


def test_the_same_number_twice_makes_two_ids():
    lines = [SheetLine(number, cells) for number, cells in enumerate([("No", "Item"), ("7", "Lamp"), ("7", "Lamp"), ("12a/b", "Bolt")], 1)]
    found = drafted(Sheet("a.csv", tuple(lines), 2))
    assert [row.values["part_id"] for line in found.lines for row in rows(line, "parts")] == ["W31-07", "W31-07-2", "W31-12a-b"]


def test_a_line_left_out_takes_its_assembly_and_its_place_with_it(engine):
    found = drafted(engine, vehicle="E2", built="1951")
    last = next(line.line for line in found.lines if line.item.startswith("Injector"))
    kept = found.rows(without=[last])
    assert {row.values["name"] for row in kept if row.table == "positions"} == {"Cab", "Regulator handle", "Gauge lamp (No 02)", "Gauge lamp (No 03)"}
    assert Counter(row.table for row in found.rows())["positions"] == 6


def test_dates_that_cannot_all_be_true_are_asked_and_left_out(tmp_path):
    sheet = csv_list(tmp_path, "Item,Fitted,Removed,Notes\nLamp,1950,1940,\n")
    lamp = drafted(sheet).lines[0]
    assert "dates" in asked(lamp) and values(lamp, "installations") | {"seen_on": ""} == {"position_id": "W31-P01", "part_id": "W31-01", "seen_on": ""}


@pytest.mark.parametrize(("vehicle", "day", "told"), [
    ("W 31", date(2019, 1, 1), "a space"), ("A" * 19, date(2019, 1, 1), "too long"), ("W31", date(1890, 1, 1), "before she was built"),
])  # fmt: skip
def test_answers_that_cannot_be_used_are_refused_with_a_sentence(vehicle, day, told, carriage):
    with pytest.raises(Refused, match=told):
        drafted(carriage, vehicle=vehicle, day=day)


def test_names_that_make_the_same_id_are_kept_apart():
    lines = [SheetLine(number, cells) for number, cells in enumerate([("Section", "Item"), ("A/B", "x"), ("A-B", "y"), ("Ω", "z")], 1)]
    found = drafted(Sheet("a.csv", tuple(lines), 2))
    sections = [row.values["position_id"] for row in found.shared if row.table == "positions"]
    assert len(set(sections)) == 3 and sections[:2] == ["W31-A-B", "W31-A-B-2"]


def test_ids_are_given_in_order_and_never_twice():
    from register.exchange.flat_list.things import Thing

    things = [Thing(number, "thing", {"item": f"x{number}"}) for number in range(3)]
    _, ids = with_ids(things, {"/gone": "02"})
    assert sorted(ids.values()) == ["01", "02", "03", "04"]


def test_a_loss_before_the_fitting_is_asked_and_the_import_is_not_stopped_by_it(tmp_path):
    sheet = csv_list(tmp_path, "Item,Orig,Fitted,Removed,Notes\nBar,gone,1970,as built,lost by 1962\nRod,gone,,,no idea when\n")
    bar, rod = drafted(sheet).lines
    assert "dates" in asked(bar) and values(bar, "installations")["fitted"] == "by 31 December 1962"
    assert values(rod, "parts")["disposal_date"] == "by 30 September 2019" and "lost" in asked(rod)
    bare = drafted(sheet, day=None).lines[1]
    assert not rows(bare, "parts") and "no idea when" in bare.questions[0].said, "no date, no loss; the words are kept"


def test_a_year_beside_a_word_of_loss_is_the_date_of_loss():
    assert date_of_loss("made 1931, lost by 1962") == "by 1962" and date_of_loss("made 1931, mended 1950") == ""


def test_a_remark_too_long_to_be_read_by_its_words_stops_a_draft_and_is_kept(tmp_path):
    long = "x " * 800 + "end"
    lamp = drafted(csv_list(tmp_path, f"Item,Orig,Notes\nLamp,Y,{long}\n")).lines[0]
    assert not rows(lamp, "assessments") and "too long" in lamp.questions[0].text and long in values(lamp, "parts")["remarks"]


@pytest.mark.parametrize("remark", ["1 " * 10_000, "a" * 20_000, "stamped " + "1" * 15_000, "A end x, " * 2_000, "in the " * 2_800, "Ann Lee " * 2_000, "(" * 20_000])
def test_a_hostile_remark_takes_no_longer_than_another(remark, tmp_path):
    from time import perf_counter

    sheet = csv_list(tmp_path, f'Item,Orig,Qty,Notes\nLamp,Y,9,"{remark}"\n')
    start = perf_counter()
    drafted(sheet)
    assert perf_counter() - start < 2


def one_line(tmp_path, orig: str, when: str, remark: str, **more: str):
    cells = {"Item": "Lamp", "Orig": orig, "Year": when, "Notes": remark, **more}
    sheet = csv_list(tmp_path, ",".join(cells) + "\n" + ",".join(f'"{text}"' for text in cells.values()) + "\n")
    return drafted(sheet).lines[0]


@pytest.mark.parametrize(("orig", "when", "remark", "status"), [
    ("Y", "", "", "original"), ("Y", "", "never replaced", "original"), ("Y", "", "replaced at some time", ""), ("Y", "", "ex Harrenby van", ""),
    ("Y", "", "ex works drawing", "original"), ("Y", "", "from a sister engine", ""), ("Y", "1920s", "", ""), ("Y", "1903", "", "original"),
    ("Y", "", "copy of the old one", ""), ("Y", "", "patched", "restored"), ("Y", "", "is it?", ""), ("y?", "", "", ""), ("N", "1987", "", ""),
    ("N", "1987", "copied from the other", "replica"), ("N", "1923", "copied from the other", ""), ("N", "1987", "oak", "replica"), ("N", "1923", "oak", ""),
    ("N", "2011", "metric", "modern substitute"), ("copy", "2011", "", "replica"), ("replica", "2011", "", "replica"), ("replica", "1923", "", ""),
    ("part", "", "new end", "restored"), ("part", "", "", ""), ("restored", "", "", "restored"), ("modern", "2011", "", "modern substitute"),
])  # fmt: skip
def test_a_status_is_drafted_only_as_far_as_the_line_goes(orig, when, remark, status, tmp_path):
    line = one_line(tmp_path, orig, when, remark)
    found = values(line, "assessments").get("status", "")
    assert found == status
    plain = (orig, status) in {("Y", "original"), ("y?", ""), ("replica", "replica"), ("modern", "modern substitute")}
    assert plain or "status" in asked(line), "whatever is not plain is asked"


def test_a_part_that_is_off_for_work_is_still_its_position_s(tmp_path):
    away = one_line(tmp_path, "Y", "as built", "in the workshop for repair")
    assert values(away, "positions") and values(away, "installations") and values(away, "movements")["place_id"] == "W31-AT-WORKSHOP"


def test_several_names_are_asked_and_a_word_after_a_year_is_no_name(tmp_path):
    both = one_line(tmp_path, "N", "2011", "", By="Ted & Ron")
    assert "done by" in asked(both) and not rows(both, "treatments")
    oak = one_line(tmp_path, "Y", "as built", "new end, 1987 Oak")
    assert values(oak, "treatments")["date"] == "1987" and "done_by" not in values(oak, "treatments")
    ann = one_line(tmp_path, "Y", "as built", "new end, 1987 Ann", By="Ann")
    assert values(ann, "treatments")["done_by"] == "Ann"


def test_the_heading_again_in_the_middle_of_a_list_is_no_thing(tmp_path):
    found = drafted(csv_list(tmp_path, "No,Item\n1,Lamp\nNo,Item\n2,Bolt\n"))
    assert [line.kind for line in found.lines] == ["part", "heading", "part"]
