"""Faults on one line each, whatever is in them."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from register.exchange.faults import Fault, Refused, printable


def test_a_fault_says_table_row_column_value_and_what_to_do():
    assert str(Fault("parts", 17, "mass", "12 T", "Ton or tonne?")) == 'parts row 17, mass "12 T": Ton or tonne?'
    assert str(Fault("parts", 17, "name", "", "It is empty.")) == "parts row 17, name: It is empty."
    assert str(Fault("parts", None, "", "", "The file is empty.")) == "parts: The file is empty."
    assert str(Fault("", None, "wheels.csv", "", "No table.")) == "wheels.csv: No table."
    assert str(Fault("", None, "", "", "No table.")) == "No table."


def test_a_refusal_prints_every_fault_and_their_count():
    one = Fault("parts", 2, "mass", "x", "No.")
    assert str(Refused([one])).splitlines() == [str(one), "1 fault; nothing was imported."]
    assert str(Refused([one] * 1_200)).splitlines()[-1] == "1,200 faults; nothing was imported."
    assert Refused([one]).faults == [one]


def test_what_does_not_show_is_written_out():
    assert printable("a\r\nb\0\u200b\u202e") == "a\\r\\nb\\x00\\u200b\\u202e"
    assert printable("x" * 100) == "x" * 59 + "…"


@given(*[st.text(max_size=200)] * 4, st.one_of(st.none(), st.integers(1, 10**6)))
def test_a_fault_is_one_printable_line(table, column, value, message, row):
    line = str(Fault(table, row, column, value, message))
    assert line.isprintable() and len(line.splitlines()) <= 1
