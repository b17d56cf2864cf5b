"""One cell: text to value, and back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.exchange.schema import MAX_TEXT, TABLES, Column
from register.exchange.values import MassText, key_of, missing_required, parse_texts, read_value, write_value
from register.fabric.dates import HistoricDate
from register.fabric.interval import Interval

PARTS, VEHICLES = TABLES["parts"].by_name, TABLES["vehicles"].by_name
POSITIONS, ASSESSMENTS = TABLES["positions"].by_name, TABLES["assessments"].by_name
PHOTOGRAPHS, INSTALLATIONS = TABLES["photographs"].by_name, TABLES["installations"].by_name
EVERY_COLUMN = [column for table in TABLES.values() for column in table.columns]

READ = [
    (PARTS["part_id"], " P-0041 ", "P-0041", "P-0041"),
    (PARTS["name"], "  Chimney, cast iron \n", "Chimney, cast iron", "Chimney, cast iron"),
    (PARTS["remarks"], "one\r\ntwo\rthree", "one\ntwo\nthree", "one\ntwo\nthree"),
    (PARTS["remarks"], "⚙ Gŵr Łódź ‏עברית e\u0301 ½", "⚙ Gŵr Łódź ‏עברית e\u0301 ½", "⚙ Gŵr Łódź ‏עברית e\u0301 ½"),
    (PARTS["owner"], " A. Bell ", "A. Bell", "A. Bell"),
    (PARTS["quantity"], "14", 14, "14"),
    # 2 ton 3 cwt 1 qr = 2·2240 + 3·112 + 28 = 4,844 lb of 0.45359237 kg exactly (yard and pound agreement, 1959)
    (PARTS["mass"], "2 ton 3 cwt 1 qr", Interval.exactly(2_197_201), "2197.201 kg"),
    (PARTS["mass"], "1640", Interval.exactly(1_640_000), "1640 kg"),
    (PARTS["mass"], "10-12 kg", Interval(10_000, 11_000, 12_000), "10-12 kg"),
    (PARTS["gross_mass"], " 12 kg ±10% ", MassText("12 kg ±10%", Interval(10_800, 12_000, 13_200)), "12 kg ±10%"),
    (PARTS["hazards"], "Lead  Paint; asbestos;lead paint", "asbestos;lead paint", "asbestos;lead paint"),
    (PARTS["disposal"], " Scrapped ", "scrapped", "scrapped"),
    (PARTS["tag"], "abcd2345", "ABCD2345", "ABCD2345"),
    (PARTS["made"], "c. 1894", HistoricDate("c. 1894", "1894~"), "c. 1894"),
    (VEHICLES["former_numbers"], " 3 ;; B 112;", "3;B 112", "3;B 112"),
    (VEHICLES["published"], "TRUE", True, "yes"),
    (VEHICLES["published"], "No", False, "no"),
    (POSITIONS["visibility"], "close  Inspection", "close inspection", "close inspection"),
    (ASSESSMENTS["fraction"], "60%", Interval.exactly(600_000), "0.6"),
    (ASSESSMENTS["assessed_on"], "2 May 2026", HistoricDate("2 May 2026", "2026-05-02"), "2 May 2026"),
    (INSTALLATIONS["fitted"], "as built", HistoricDate("as built", "as built"), "as built"),
    (PHOTOGRAPHS["file"], "photographs/chimney 1.jpg", "photographs/chimney 1.jpg", "photographs/chimney 1.jpg"),
    (PHOTOGRAPHS["sha256"], "A" * 64, "a" * 64, "a" * 64),
]


@pytest.mark.parametrize(("column", "text", "value", "written"), READ, ids=[f"{column.name} {text.strip()[:20]}" for column, text, *_ in READ])
def test_a_cell_is_read_and_written(column, text, value, written):
    assert read_value(column, text) == value
    assert write_value(column, value) == written
    assert write_value(column, read_value(column, written)) == written


REFUSED = [
    (PARTS["part_id"], "P 0041", "a space"),
    (PARTS["part_id"], "\u0420-1", "U+0420"),  # a Cyrillic letter that looks like P
    (PARTS["part_id"], "P\u200b1", "U+200B"),
    (PARTS["part_id"], "１２", "U+FF11"),
    (PARTS["part_id"], "P" * 41, "40"),
    (INSTALLATIONS["part_id"], "a/b", "“/”"),
    (PARTS["name"], "a\0b", "U+0000"),
    (PARTS["name"], "a\x07b", "U+0007"),
    (PARTS["name"], "\x85x", "U+0085"),
    (PARTS["name"], "a\ufffeb", "U+FFFE"),
    (PARTS["remarks"], "a" * (MAX_TEXT + 1), "20,001"),
    (PARTS["owner"], "A. Bell\nB. Cole", "one line"),
    (PARTS["owner"], "a" * 201, "200"),
    (PARTS["quantity"], "lots", "whole number"),
    (PARTS["quantity"], "0", "whole number"),
    (PARTS["quantity"], "1000000000", "whole number"),
    (PARTS["mass"], "12 T", "ton"),
    (PARTS["mass"], "-1", "negative"),
    (PARTS["mass"], "1,5", "comma"),
    (PARTS["mass"], "１２ kg", "digits"),
    (PARTS["mass"], "1e1000000", "exponent"),
    (PARTS["mass"], "9" * 5000, "5000"),
    (PARTS["hazards"], "asbestos;dust", "dust"),
    (PARTS["disposal"], "sold", "none, scrapped, destroyed, lost, transferred"),
    (PARTS["tag"], "ABCD1234", "eight"),
    (PARTS["made"], "31 February 1900", "31"),
    (PARTS["made"], "as built", "As built"),
    (VEHICLES["published"], "perhaps", "yes or no"),
    (VEHICLES["published"], "1", "yes or no"),
    (ASSESSMENTS["fraction"], "1.2", "more than the whole"),
    (ASSESSMENTS["fraction"], "-0.1", "negative"),
    (ASSESSMENTS["assessed_on"], "May 2026", "plain day"),
    (PHOTOGRAPHS["file"], "../x.jpg", "“..”"),
    (PHOTOGRAPHS["file"], "a/../../x.jpg", "“..”"),
    (PHOTOGRAPHS["file"], "/etc/passwd", "no “/”"),
    (PHOTOGRAPHS["file"], "C:x.jpg", "drive"),
    (PHOTOGRAPHS["file"], "a\\x.jpg", "“\\”"),
    (PHOTOGRAPHS["file"], "a" * 201, "200"),
    (PHOTOGRAPHS["sha256"], "a" * 63, "64"),
]


@pytest.mark.parametrize(("column", "text", "told"), REFUSED, ids=[f"{column.name} {number}" for number, (column, *_) in enumerate(REFUSED)])
def test_a_bad_cell_gets_a_sentence(column, text, told):
    with pytest.raises(ValueError) as refusal:
        read_value(column, text)
    sentence = str(refusal.value)
    assert told in sentence, sentence
    assert sentence.endswith(".") and len(sentence) < 400, sentence


@pytest.mark.parametrize("column", EVERY_COLUMN, ids=lambda column: column.name)
def test_an_empty_cell_is_not_known_and_written_empty(column):
    assert read_value(column, "") is None and read_value(column, " \t\n") is None
    assert write_value(column, None) == ""


@given(text=st.text(max_size=60), column=st.sampled_from(EVERY_COLUMN))
def test_whatever_is_typed_is_a_value_that_is_written_and_read_again_or_a_sentence(text: str, column: Column):
    try:
        value = read_value(column, text)
    except ValueError as sentence:
        assert str(sentence).endswith(".")
        return
    written = write_value(column, value)
    assert read_value(column, written) == value
    assert write_value(column, read_value(column, written)) == written


def test_masses_and_fractions_are_written_as_they_are_stored_too():
    assert write_value(PARTS["mass"], 1_640_000) == "1640 kg" and write_value(ASSESSMENTS["fraction"], 630_000) == "0.63"
    assert write_value(PARTS["mass"], 0) == "0 kg" and write_value(ASSESSMENTS["fraction"], 0) == "0"


def test_ids_are_compared_without_case():
    assert key_of("P-0041a") == key_of("p-0041A") == "p-0041a"


def test_a_new_record_needs_its_required_columns():
    assert missing_required(TABLES["parts"], {"part_id": "P1"}) == ["name"]
    assert missing_required(TABLES["parts"], {"part_id": "P1", "name": None}) == ["name"]
    assert missing_required(TABLES["parts"], {"part_id": "P1", "name": "Plate"}) == []


def test_a_form_gets_its_values_and_every_fault():
    values, faults = parse_texts(TABLES["parts"], {"part_id": "P1", "name": "", "mass": "12 T", "made": "190?", "colour": "red"})
    assert values == {"part_id": "P1", "name": None}
    assert [(fault.column, fault.row) for fault in faults] == [("mass", None), ("made", None), ("colour", None)]
    assert str(faults[0]).startswith('parts, mass "12 T": “12 T” may be tons or tonnes')
