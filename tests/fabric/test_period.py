"""A period of two days, both included, and what an uncertain date means to it."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.fabric.dates import span_of
from register.fabric.period import Period, is_too_long, offered

YEAR = Period(date(2026, 1, 1).toordinal(), date(2026, 12, 31).toordinal())


@pytest.mark.parametrize("edtf", ["2026-01-01", "2026-12-31", "2026", "2026-22"])
def test_what_certainly_lies_in_it_is_of_it_without_a_doubt(edtf):
    assert YEAR.is_of(span_of(edtf)) and YEAR.doubt(span_of(edtf)) == ""


@pytest.mark.parametrize("edtf", ["2025-12-31", "2027-01-01", "1931"])
def test_what_certainly_lies_outside_is_not_of_it_and_no_doubt_is_said(edtf):
    assert not YEAR.is_of(span_of(edtf)) and not YEAR.may_be_of(span_of(edtf)) and YEAR.doubt(span_of(edtf)) == ""


@pytest.mark.parametrize(
    ("edtf", "doubt"),
    [
        ("2026-01~", "may have been before 1 January 2026"),
        ("2026-12?", "may have been after 31 December 2026"),
        ("2026~", "may have been before 1 January 2026, or after 31 December 2026"),
        ("[2025,2026]", "taken as before the period, and may have been in it"),
        ("[2026..]", "may have been after 31 December 2026"),
        ("[..2026]", "may have been before 1 January 2026"),
        ("2027~", "taken as after the period, and may have been in it"),
        ("[2024..2026-06]", "taken as before the period, and may have been in it"),
    ],
)
def test_a_date_that_straddles_an_edge_is_said_to(edtf, doubt):
    """The middle of 2025 to 2026 is 31 December 2025 (method, section 2: the middle of the span, rounded down)."""
    assert YEAR.doubt(span_of(edtf)) == doubt
    assert YEAR.is_of(span_of(edtf)) == doubt.startswith("may have been")


days = st.dates(date(1900, 1, 1), date(2100, 12, 31))


@given(days, days, days)
def test_of_two_periods_that_follow_each_other_a_day_is_of_one_alone(one, other, day):
    first, last = sorted((one.toordinal(), other.toordinal()))
    this, following = Period(first, last), Period(last + 1, last + 400)
    assert following.eve == last
    assert this.has(day.toordinal()) + following.has(day.toordinal()) == (first <= day.toordinal() <= last + 400)


def test_it_does_not_run_backwards():
    with pytest.raises(ValueError, match="backwards"):
        Period(YEAR.last, YEAR.first)


@pytest.mark.parametrize(
    ("today", "expected"),
    [
        (date(2026, 11, 28), [(date(2025, 11, 29), date(2026, 11, 28)), (date(2026, 7, 1), date(2026, 9, 30)), (date(2025, 1, 1), date(2025, 12, 31)), (date(2026, 1, 1), date(2026, 11, 28))]),
        (date(2028, 2, 29), [(date(2027, 3, 1), date(2028, 2, 29)), (date(2027, 10, 1), date(2027, 12, 31)), (date(2027, 1, 1), date(2027, 12, 31)), (date(2028, 1, 1), date(2028, 2, 29))]),
        (date(2026, 1, 1), [(date(2025, 1, 2), date(2026, 1, 1)), (date(2025, 10, 1), date(2025, 12, 31)), (date(2025, 1, 1), date(2025, 12, 31)), (date(2026, 1, 1), date(2026, 1, 1))]),
    ],
)  # fmt: skip
def test_the_periods_that_are_offered_are_whole_and_end_by_today(today, expected):
    assert [(first, last) for _, first, last in offered(today)] == expected


def test_twenty_five_years_are_the_most():
    assert not is_too_long(date(2001, 1, 1), date(2026, 1, 1))
    assert is_too_long(date(2001, 1, 1), date(2026, 1, 2))
    assert not is_too_long(date(2000, 2, 29), date(2025, 2, 28)) and is_too_long(date(1926, 1, 1), date(2026, 1, 1))
