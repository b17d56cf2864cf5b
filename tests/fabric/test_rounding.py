"""Printed figures: method, section 13."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.fabric.rounding import shown, shown_change, shown_high, shown_kg, shown_low, to_six

percentages = st.fractions(0, 100, max_denominator=10**12)


@pytest.mark.outside
@given(st.integers(0, 10**9), st.integers(1, 10**6))
def test_six_decimals_are_those_of_the_decimal_arithmetic_specification(part: int, whole: int) -> None:
    """Source: the General Decimal Arithmetic specification, round-half-up, as Python's decimal module has it. A quotient
    cut off at 60 digits is on the same side of every tie as the exact one."""
    exact = Decimal(part * 10**60 // whole).scaleb(-60)
    tie_or_not = exact.quantize(Decimal("0.000001"), ROUND_HALF_UP)
    assert to_six(Fraction(part, whole)) == float(tie_or_not)


def test_a_tie_goes_up() -> None:
    assert to_six(Fraction(5, 10**7)) == 0.000001
    assert shown(Fraction(1225, 100)) == "12.3"
    assert shown(Fraction(25, 2), 0) == "13"


def test_a_low_bound_goes_down_and_a_high_bound_up() -> None:
    assert shown_low(Fraction("52.078374")) == "52.0"
    assert shown_high(Fraction("74.884656")) == "74.9"
    assert shown_low(Fraction("52.978374"), 0) == "52"
    assert shown_high(Fraction("74.084656"), 0) == "75"


def test_a_bound_within_half_a_millionth_of_a_printed_value_stays_there() -> None:
    """Without the step at six decimals, 40.3000001 would be printed as 40.4 where it is a high bound."""
    assert shown_high(Fraction("40.3000001")) == "40.3"
    assert shown_low(Fraction("40.2999999")) == "40.3"
    assert shown_low(100 - Fraction(1, 10**12), 0) == "100"


@given(percentages, st.sampled_from([0, 1]))
def test_printed_bounds_take_the_figure_in(value: Fraction, decimals: int) -> None:
    low, nearest, high = (float(show(value, decimals)) for show in (shown_low, shown, shown_high))
    assert low <= nearest <= high <= low + 10**-decimals + 1e-9
    assert low - 1e-6 <= value <= high + 1e-6


def test_a_figure_that_does_not_exist_is_a_dash() -> None:
    assert shown(None) == shown_low(None) == shown_high(None) == shown_change(None) == shown_kg(None) == "–"


def test_a_change_bears_its_sign_and_is_rounded_alike_up_and_down() -> None:
    assert shown_change(Fraction("1.25")) == "+1.3"
    assert shown_change(Fraction("-1.25")) == "−1.3"
    assert shown_change(Fraction("-0.01")) == "0.0"
    assert shown_change(0) == "0.0"


def test_a_mass_is_printed_to_the_gram_without_idle_noughts() -> None:
    assert shown_kg(Fraction("1005.802")) == "1,005.802 kg"
    assert shown_kg(300) == "300 kg"
    assert shown_kg(Fraction("0.05")) == "0.05 kg"
