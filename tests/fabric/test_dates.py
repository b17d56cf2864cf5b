"""Historic dates: what is read, what is stored, which days it covers, and what is refused with which advice."""

from __future__ import annotations

import re
from datetime import date
from math import inf

import edtf as oracle
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from register.fabric.dates import (
    AS_BUILT,
    BEGINNING,
    END,
    DateError,
    Span,
    day_in_words,
    in_words,
    read_date,
    read_day,
    span_of,
)


def day(number: int) -> str:
    return {BEGINNING: "beginning", END: "end"}.get(number) or date.fromordinal(number).isoformat()


def ends(edtf: str) -> str:
    span = span_of(edtf)
    return f"{day(span.earliest)} .. {day(span.latest)}"


# --- the table of method.md, section 2 (the contract of this register; EDTF forms: Library of Congress, 2019) ---

TABLE = [
    ("1894", "1894", "1894-01-01 .. 1894-12-31"),
    ("May 1894", "1894-05", "1894-05-01 .. 1894-05-31"),
    ("12 May 1894", "1894-05-12", "1894-05-12 .. 1894-05-12"),
    ("12/05/1894", "1894-05-12", "1894-05-12 .. 1894-05-12"),
    ("1890s", "189X", "1890-01-01 .. 1899-12-31"),
    ("c. 1894", "1894~", "1889-01-01 .. 1899-12-31"),
    ("circa 1894", "1894~", "1889-01-01 .. 1899-12-31"),
    ("about 1894", "1894~", "1889-01-01 .. 1899-12-31"),
    ("approx. 1894", "1894~", "1889-01-01 .. 1899-12-31"),
    ("1894?", "1894?", "1889-01-01 .. 1899-12-31"),
    ("possibly 1894", "1894?", "1889-01-01 .. 1899-12-31"),
    ("probably 1894", "1894?", "1889-01-01 .. 1899-12-31"),
    ("between 1903 and 1907", "[1903..1907]", "1903-01-01 .. 1907-12-31"),
    ("1903 to 1907", "[1903..1907]", "1903-01-01 .. 1907-12-31"),
    ("before 1907", "[..1906]", "beginning .. 1906-12-31"),
    ("by 1907", "[..1907]", "beginning .. 1907-12-31"),
    ("not after 1907", "[..1907]", "beginning .. 1907-12-31"),
    ("after 1903", "[1904..]", "1904-01-01 .. end"),
    ("from 1903", "[1903..]", "1903-01-01 .. end"),
    ("not before 1903", "[1903..]", "1903-01-01 .. end"),
    ("1903 or 1904", "[1903,1904]", "1903-01-01 .. 1904-12-31"),
    ("spring 1894", "1894-21", "1894-03-01 .. 1894-05-31"),
    ("summer 1894", "1894-22", "1894-06-01 .. 1894-08-31"),
    ("autumn 1894", "1894-23", "1894-09-01 .. 1894-11-30"),
    ("early 1890s", "[1890..1893]", "1890-01-01 .. 1893-12-31"),
    ("mid 1890s", "[1893..1897]", "1893-01-01 .. 1897-12-31"),
    ("late 1890s", "[1896..1899]", "1896-01-01 .. 1899-12-31"),
]


@pytest.mark.parametrize(("typed", "stored", "days"), TABLE)
@pytest.mark.parametrize("written", [str, str.upper, str.title, lambda text: f"  {text} "])
def test_every_form_of_the_table_is_read_in_capitals_or_not(typed, stored, days, written):
    found = read_date(written(typed))
    assert found == (written(typed).strip(), stored)
    assert ends(found.edtf) == days


@pytest.mark.parametrize(
    ("typed", "stored", "days"),
    [
        ("12th May 1894", "1894-05-12", "1894-05-12 .. 1894-05-12"),
        ("1st of Sept. 1894", "1894-09-01", "1894-09-01 .. 1894-09-01"),
        ("3 Jan 1894", "1894-01-03", "1894-01-03 .. 1894-01-03"),
        ("1/2/1931", "1931-02-01", "1931-02-01 .. 1931-02-01"),
        ("29 February 1904", "1904-02-29", "1904-02-29 .. 1904-02-29"),
        ("mid-1890s", "[1893..1897]", "1893-01-01 .. 1897-12-31"),
        ("by October 1987", "[..1987-10]", "beginning .. 1987-10-31"),
        ("between December 1903 and 1904", "[1903-12..1904]", "1903-12-01 .. 1904-12-31"),
        ("between 1903 and May 1903", "[1903..1903-05]", "1903-01-01 .. 1903-05-31"),
        ("before 12 May 1907", "[..1907-05-11]", "beginning .. 1907-05-11"),
        ("before January 1907", "[..1906-12]", "beginning .. 1906-12-31"),
        ("before 1 March 1904", "[..1904-02-29]", "beginning .. 1904-02-29"),
        ("after May 1903", "[1903-06..]", "1903-06-01 .. end"),
        ("after 31 December 1903", "[1904-01-01..]", "1904-01-01 .. end"),
        ("from 12/05/1903", "[1903-05-12..]", "1903-05-12 .. end"),
        ("before spring 1904", "[..1904-02]", "beginning .. 1904-02-29"),
        ("after the 1890s", "[1900..]", "1900-01-01 .. end"),
        ("by the 1930s", "[..1939]", "beginning .. 1939-12-31"),
        ("1903, 1904 or 1906", "[1903,1904,1906]", "1903-01-01 .. 1906-12-31"),
        ("c1920s", "192X~", "1915-01-01 .. 1934-12-31"),
        ("c.May 1894", "1894-05~", "1894-04-01 .. 1894-06-30"),
        ("possibly about 1894", "1894%", "1889-01-01 .. 1899-12-31"),
        ("c. 1894?", "1894%", "1889-01-01 .. 1899-12-31"),
        ("1890s?", "189X?", "1885-01-01 .. 1904-12-31"),
        ("190X", "190X", "1900-01-01 .. 1909-12-31"),
        ("189x", "189X", "1890-01-01 .. 1899-12-31"),
        ("[1903 .. 1907]", "[1903..1907]", "1903-01-01 .. 1907-12-31"),
        ("[..1986]", "[..1986]", "beginning .. 1986-12-31"),
        ("1894-21", "1894-21", "1894-03-01 .. 1894-05-31"),
        ("1500", "1500", "1500-01-01 .. 1500-12-31"),
        ("2200", "2200", "2200-01-01 .. 2200-12-31"),
    ],
)
def test_words_go_with_months_days_seasons_and_decades_as_well(typed, stored, days):
    assert read_date(typed).edtf == stored
    assert ends(stored) == days


@pytest.mark.parametrize(
    ("typed", "stored", "days"),
    [  # texts that the demo register of the invented Selmouth & Harrenby Railway is written with
        ("1998-06-14?", "1998-06-14?", "1998-06-13 .. 1998-06-15"),
        ("1887%", "1887%", "1882-01-01 .. 1892-12-31"),
        ("1931-05~", "1931-05~", "1931-04-01 .. 1931-06-30"),
        ("2013-11~", "2013-11~", "2013-10-01 .. 2013-12-31"),
        ("[1887-04..1887-06]", "[1887-04..1887-06]", "1887-04-01 .. 1887-06-30"),
        ("between April 1887 and June 1887", "[1887-04..1887-06]", "1887-04-01 .. 1887-06-30"),
        ("between October 1997 and March 1998", "[1997-10..1998-03]", "1997-10-01 .. 1998-03-31"),
        ("December 1903 to 1904", "[1903-12..1904]", "1903-12-01 .. 1904-12-31"),
        ("[..1971-06]", "[..1971-06]", "beginning .. 1971-06-30"),
        ("[1921..]", "[1921..]", "1921-01-01 .. end"),
        ("[1952,1953]", "[1952,1953]", "1952-01-01 .. 1953-12-31"),
        ("1893 to 1921", "[1893..1921]", "1893-01-01 .. 1921-12-31"),
        ("197X", "197X", "1970-01-01 .. 1979-12-31"),
        ("early 2010s", "[2010..2013]", "2010-01-01 .. 2013-12-31"),
        ("summer 1998", "1998-22", "1998-06-01 .. 1998-08-31"),
    ],
)
def test_the_demo_registers_dates_are_read(typed, stored, days):
    assert read_date(typed).edtf == stored
    assert ends(stored) == days


def test_an_unbreakable_hyphen_is_a_hyphen():
    assert read_date("1894\u201105\u201112").edtf == "1894-05-12"


def test_the_text_is_kept_as_it_was_typed():
    assert read_date(" Between 1903  and 1907 ").text == "Between 1903  and 1907"


# --- days, best days, widening ---


@pytest.mark.outside
@pytest.mark.parametrize(
    ("typed", "earliest", "best", "latest"),
    [  # worked example Brindlewick, section 1, worked out by hand on a calendar
        ("1894", "1894-01-01", "1894-07-02", "1894-12-31"),
        ("1950", "1950-01-01", "1950-07-02", "1950-12-31"),
        ("May 1912", "1912-05-01", "1912-05-16", "1912-05-31"),
        ("1912", "1912-01-01", "1912-07-01", "1912-12-31"),
        ("12/09/2016", "2016-09-12", "2016-09-12", "2016-09-12"),
        ("12 April 2019", "2019-04-12", "2019-04-12", "2019-04-12"),
    ],
)
def test_the_best_day_is_the_middle_rounded_down(typed, earliest, best, latest):
    assert tuple(day(number) for number in span_of(read_date(typed).edtf)) == (earliest, best, latest)


def test_the_best_day_of_a_span_open_at_one_end_is_the_closed_end():
    assert day(span_of("[..1906]").best) == "1906-12-31"
    assert day(span_of("[1904..]").best) == "1904-01-01"


@pytest.mark.parametrize(
    ("stored", "days"),
    [  # five years, one month to its calendar ends, one day: common practice, no source
        ("1903~", "1898-01-01 .. 1908-12-31"),
        ("189X%", "1885-01-01 .. 1904-12-31"),
        ("1894-01?", "1893-12-01 .. 1894-02-28"),
        ("1904-01~", "1903-12-01 .. 1904-02-29"),
        ("1894-12%", "1894-11-01 .. 1895-01-31"),
        ("1894-05-01~", "1894-04-30 .. 1894-05-02"),
        ("1899-12-31?", "1899-12-30 .. 1900-01-01"),
        ("1500~", "1495-01-01 .. 1505-12-31"),
        ("2200-12-31?", "2200-12-30 .. 2201-01-01"),
    ],
)
def test_an_uncertain_date_is_widened_by_its_own_precision(stored, days):
    assert ends(stored) == days


def test_a_span_can_be_tightened_and_finds_a_new_best_day():
    open_start = span_of("[..1950]")
    assert open_start.tightened(earliest=span_of("1894").earliest) == Span.between(
        date(1894, 1, 1).toordinal(), date(1950, 12, 31).toordinal()
    )
    assert day(span_of("1894").tightened(latest=date(1894, 1, 4).toordinal()).best) == "1894-01-02"
    assert span_of("1894").tightened(earliest=BEGINNING, latest=END) == span_of("1894")


def test_nothing_is_left_of_a_span_tightened_past_its_end():
    with pytest.raises(ValueError, match="empty"):
        span_of("1894").tightened(earliest=date(1895, 1, 1).toordinal())
    with pytest.raises(ValueError, match="open at both ends"):
        Span.between(BEGINNING, END)


# --- against the EDTF specification and another library ---


@pytest.mark.outside
@pytest.mark.parametrize(
    ("stored", "days"),
    [
        # Library of Congress, Extended Date/Time Format specification, 4 February 2019. Examples of levels 0 and 1
        # from memory; those of sets as public test suites quote them, with the specification's own explanations.
        ("1985-04-12", "1985-04-12 .. 1985-04-12"),
        ("1985-04", "1985-04-01 .. 1985-04-30"),
        ("1985", "1985-01-01 .. 1985-12-31"),
        ("201X", "2010-01-01 .. 2019-12-31"),
        ("[..1760-12-03]", "beginning .. 1760-12-03"),  # "December 3, 1760 or some earlier date"
        ("[1760-12..]", "1760-12-01 .. end"),  # "December 1760 or some later month"
        ("[1667,1760-12]", "1667-01-01 .. 1760-12-31"),  # "Either the year 1667 or the month December of 1760"
    ],
)
def test_examples_of_the_edtf_specification_cover_the_days_it_says(stored, days):
    assert read_date(stored).edtf == stored
    assert ends(stored) == days


@pytest.mark.outside
@pytest.mark.parametrize(("stored", "words"), [("2001-21", "spring 2001"), ("1984?", "possibly 1984"), ("2004-06~", "about June 2004"), ("2004-06-11%", "possibly about 11 June 2004")])
def test_examples_of_the_edtf_specification_mean_what_it_says(stored, words):
    # the same specification, level 1, from memory: 21 spring; ? uncertain, ~ approximate, % both
    assert read_date(stored).edtf == stored
    assert in_words(stored) == words


@pytest.mark.outside
@pytest.mark.parametrize(
    "stored",
    [  # the same specification, from memory: forms that are EDTF and that method.md, section 2 leaves out
        "1964/2008", "2004-06/2006-08", "2004-02-01/2005-02", "1985-04-12/..", "../1985-04-12", "1985/", "/1985",
        "1984~/2004-06", "20XX", "2004-XX", "1985-04-XX", "1985-XX-XX", "Y170000002", "-1985", "1985-04-12T23:20:30",
        "2001-24", "2001-34", "1950S2", "2004-06~-11", "?2004-06-~11", "156X-12-25", "1XXX-12",
        "[1667,1668,1670..1672]", "[1760-01,1760-02,1760-12..]", "{1667,1668}", "{1960,1961-12}",
    ],
)
def test_edtf_outside_the_table_is_refused(stored):
    with pytest.raises(DateError):
        read_date(stored)


plain_days = st.dates(date(1500, 1, 1), date(2200, 12, 31))
precisions = st.sampled_from([4, 7, 10])
strict_dates = st.builds(lambda moment, precision: moment.isoformat()[:precision], plain_days, precisions)
decades = st.integers(150, 219).map(lambda tens: f"{tens}X")
seasons = st.builds(lambda year, season: f"{year}-{season}", st.integers(1500, 2200), st.sampled_from([21, 22, 23]))
marked = st.builds(str.__add__, strict_dates | decades, st.sampled_from("~?%"))
pairs = st.tuples(strict_dates, strict_dates).map(sorted)
sets = (
    pairs.map("..".join).map("[{}]".format)
    | pairs.map(",".join).map("[{}]".format)
    | strict_dates.map("[..{}]".format)
    | strict_dates.map("[{}..]".format)
)
stored_dates = strict_dates | decades | seasons | sets | marked


# what the other library can read: it knows no range from a year to a month
known_elsewhere = strict_dates | decades | seasons | sets.filter(
    lambda stored: ".." not in stored or len({len(end) for end in stored[1:-1].split("..") if end}) == 1
)


def oracle_day(moment: object) -> int:
    if moment == -inf:
        return BEGINNING
    return END if moment == inf else date(*moment[:3]).toordinal()


@pytest.mark.outside
@settings(max_examples=40)
@given(known_elsewhere)
def test_the_strict_days_are_those_of_another_edtf_library(stored):
    # python-edtf 5.0.2, strict bounds; its padding of marked dates is its own, and it accepts days that do not exist
    other = oracle.parse_edtf(stored)
    span = span_of(stored)
    assert (span.earliest, span.latest) == (oracle_day(other.lower_strict()), oracle_day(other.upper_strict()))


@settings(max_examples=200)
@given(stored_dates)
@example("[1904-02-29..]")
@example("1899-12-31?")
def test_a_stored_date_is_read_as_itself_and_its_best_day_lies_in_its_span(stored):
    span = span_of(stored)
    assert read_date(stored) == (stored, stored)
    assert span.earliest <= span.best <= span.latest


@settings(max_examples=200)
@given(strict_dates | decades, st.sampled_from("~?%"))
def test_doubt_widens_on_both_sides(stored, mark):
    strict, wide = span_of(stored), span_of(stored + mark)
    assert wide.earliest < strict.earliest <= strict.latest < wide.latest


@settings(max_examples=200)
@given(stored_dates)
def test_what_is_printed_reads_back_as_the_same_days(stored):
    assume(stored[2:4] != "0X" or len(stored) == 4)  # a marked decade such as 190X~ has no words of its own
    assert span_of(read_date(in_words(stored)).edtf) == span_of(stored)


@settings(max_examples=100)
@given(plain_days)
def test_a_day_is_the_same_in_every_way_of_writing_it(moment):
    for text in (moment.isoformat(), day_in_words(moment), f"{moment.day}/{moment.month}/{moment.year}", f"{moment:%d/%m/%Y}"):
        assert read_day(text) == moment
        assert span_of(read_date(text).edtf) == (moment.toordinal(),) * 3


@settings(max_examples=100)
@given(strict_dates)
def test_before_and_from_leave_no_gap_and_do_not_overlap(stored):
    assume(stored[:4] not in ("1500", "2200"))  # their neighbours are outside the years that can be written
    words = in_words(stored)
    before, since = span_of(read_date(f"before {words}").edtf), span_of(read_date(f"from {words}").edtf)
    by, after = span_of(read_date(f"by {words}").edtf), span_of(read_date(f"after {words}").edtf)
    assert before.latest + 1 == since.earliest == span_of(stored).earliest
    assert by.latest + 1 == after.earliest == span_of(stored).latest + 1


@settings(max_examples=300)
@given(st.text(max_size=40) | st.text(alphabet="0123456789-–/.[]{},~?%Xx cbetwnormay'", max_size=30))
@example("between and")
@example("[]")
@example("[,]")
@example("~")
@example("\ud800")
def test_any_text_is_read_or_refused_with_a_sentence(text):
    try:
        found = read_date(text, as_built=True)
    except DateError as error:
        assert str(error).endswith(".")
    else:
        assert found.edtf == AS_BUILT or span_of(found.edtf)


# --- refusals ---

ADVICE = re.compile(r"\b(?:write|type|check|leave|move)\b")


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "no date"),
        ("   ", "no date"),
        ("1904/1909", "between 1904 and 1909"),
        ("1904-05/1909", "between 1904-05 and 1909"),
        ("1903/..", "write from 1903"),
        ("1903/", "write from 1903"),
        ("../1907", "write by 1907"),
        ("94", "two digits"),
        ("12/05/94", "two digits"),
        ("May 94", "two digits"),
        ("c. 94", "two digits"),
        ("summer 09", "two digits"),
        ("Mar-11", "two digits"),
        ("90s", "two digits"),
        ("before '94", "two digits"),
        ("1900s", "decade or a century"),
        ("1800s", "between 1800 and 1809, or between 1800 and 1899"),
        ("early 1900s", "decade or a century"),
        ("before the 1900s", "decade or a century"),
        ("winter 1894", "between December 1893 and February 1894, or between December 1894 and February 1895"),
        ("1894-24", "winter"),
        ("1894-97", "1894 to 1897"),
        ("c. 1894-97", "1894 to 1897"),
        ("1865–70", "1865 to 1870"),
        ("1898–02", "February 1898, or 1898 to 1902"),
        ("1903-1907", "dash"),
        ("1903 – 1907", "dash"),
        ("1894–05–12", "write 1894-05-12"),
        ("1894/95", "1894 or 1895"),
        ("1900-02-30", "no 30 February 1900"),
        ("29 Feb 1900", "no 29 February 1900"),
        ("between 30 Feb 1900 and 1901", "no 30 February 1900"),
        ("32 January 1894", "31 days"),
        ("0/5/1894", "no 0 May 1894"),
        ("1894-13-01", "month 13"),
        ("1894-5-2", "one digit"),
        ("between 1907 and 1903", "backwards"),
        ("[1907..1903]", "backwards"),
        ("1904 or 1903", "backwards"),
        ("between June 1903 and May 1903", "backwards"),
        ("1499", "1500 to 2200"),
        ("2201", "1500 to 2200"),
        ("220X", "1500 to 2200"),
        ("0000", "1500 to 2200"),
        ("before 1500", "1500 to 2200"),
        ("after 2200", "1500 to 2200"),
        ("[1903~..1907]", "inside a set"),
        ("[1903..1907]?", "not a one-of set"),
        ("between c. 1903 and 1907", "uncertain"),
        ("between 1903 and 1907?", "uncertain"),
        ("before about 1907", "uncertain"),
        ("spring 1894?", "season"),
        ("1894-21~", "season"),
        ("about summer 1894", "season"),
        ("late 1890s?", "part of a decade"),
        ("[189X..1903]", "inside a set"),
        ("[1894-21..1903]", "inside a set"),
        ("[..]", "set"),
        ("[1903]", "one member"),
        ("18XX", "between 1800 and 1899"),
        ("1894-XX", "write 1894."),
        ("1894-05-XX", "write 1894-05."),
        ("190?", "1900 to 1909"),
        ("18９4", "digits"),
        ("١٨٩٤", "digits"),
        ("pre war", "which year"),
        ("pre-1914", "which year"),
        ("13/25/1894", "day first"),
        ("05/13/1894", "write 13/05/1894"),
        ("May 12, 1894", "day first"),
        ("05/1894", "May 1894"),
        ("5.1894", "May 1894"),
        ("12.05.1894", "write 12/05/1894"),
        ("1894/05/12", "write 12/05/1894"),
        ("12 May", "no year"),
        ("mid 1894", "decade"),
        ("late 19th century", "century"),
        ("unknown", "leave it empty"),
        ("?", "leave it empty"),
        ("from 1904 to 1909", "between 1904 and 1909"),
        ("1890s or 1905", "beside"),
        ("as blt", "cannot be read"),
        ("12\u200bMay 1894", "cannot be printed"),
        ("12\x00May 1894", "cannot be printed"),
        ("between 1903 and" + " " * 81 + "1907", "101 characters"),
        ("9" * 5000, "5000 characters"),
    ],
)
def test_what_could_be_misread_is_refused_with_advice(typed, said):
    with pytest.raises(DateError) as refusal:
        read_date(typed, as_built=True)
    sentence = str(refusal.value)
    assert said in sentence
    assert ADVICE.search(sentence)
    assert sentence.endswith(".")
    assert len(sentence) < 400


@pytest.mark.parametrize("typed", ["1903/1907", "1900s", "winter 1894", "1894-97", "1894/95", "18XX", "05/1894", "05/13/1894", "12.05.1894", "1894-XX", "1894–05–12", "1898–02"])
def test_the_date_that_is_advised_can_be_read(typed):
    with pytest.raises(DateError) as refusal:
        read_date(typed)
    advised = re.search(r"write (.+?)(?:, or |, day first| or | for a range| for the month| if it |\.$)", str(refusal.value))
    assert advised
    assert span_of(read_date(advised[1]).edtf)


def test_a_date_as_long_as_is_allowed_is_read():
    text = "between 1903 and" + " " * 80 + "1907"
    assert len(text) == 100
    assert read_date(text).edtf == "[1903..1907]"


def test_as_built_is_said_only_where_it_may_be():
    assert read_date("As built", as_built=True) == ("As built", AS_BUILT)
    with pytest.raises(DateError, match="cannot be said here"):
        read_date("as built")
    with pytest.raises(DateError):
        span_of(AS_BUILT)
    assert in_words(AS_BUILT) == "as built"


@pytest.mark.parametrize("typed", ["", "1894", "May 1894", "12 May 1894?", "[1894-05-12,1894-05-13]", "as built", "by 12 May 1894", "31/02/1894"])
def test_a_plain_day_is_no_less_than_a_day_and_not_in_doubt(typed):
    with pytest.raises(DateError):
        read_day(typed)


@pytest.mark.parametrize("stored", ["", "May 1894", "189x", "1894-05-12 ", "1894\n", "[1903 ..1907]", "１８９４"])
def test_only_the_stored_forms_have_days(stored):
    with pytest.raises(DateError):
        span_of(stored)
    with pytest.raises(DateError):
        in_words(stored)


@pytest.mark.parametrize(
    ("stored", "words"),
    [
        ("1894", "1894"),
        ("1894-05", "May 1894"),
        ("1894-05-12", "12 May 1894"),
        ("189X", "1890s"),
        ("190X", "1900 to 1909"),
        ("189X~", "about the 1890s"),
        ("1894~", "about 1894"),
        ("1894?", "possibly 1894"),
        ("1894%", "possibly about 1894"),
        ("1894-21", "spring 1894"),
        ("[1903..1907]", "between 1903 and 1907"),
        ("[1903-12..1904]", "between December 1903 and 1904"),
        ("[..1907]", "by 1907"),
        ("[1904..]", "from 1904"),
        ("[1903,1904]", "1903 or 1904"),
        ("[1903,1904-05,1906]", "1903, May 1904 or 1906"),
    ],
)
def test_a_stored_date_is_printed_in_words(stored, words):
    assert in_words(stored) == words


def test_a_text_is_read_once():
    assert read_date("between 1911 and 1913") is read_date("between 1911 and 1913")
