"""Bad text, dates and numbers: the open cases 57 to 67 of the list of bad input, each with the test that tries it.

A case without a test, or a test that is gone, fails. The cases on sheets (1 to 38) are listed beside their own tests.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

TESTS = Path(__file__).parent
CASES = {
    57: ("script and HTML in every field", "web/test_pages.py", "test_hostile_text_is_stored_as_typed_and_shown_escaped"),
    58: ("right-to-left marks, look-alike letters", "web/test_pages.py", "test_a_bad_value_in_a_form_gets_a_sentence_at_its_field"),
    59: ("NUL and control characters", "web/test_pages.py", "test_a_bad_value_in_a_form_gets_a_sentence_at_its_field"),
    60: ("a field of a megabyte", "web/test_pages.py", "test_a_bad_value_in_a_form_gets_a_sentence_at_its_field"),
    61: ("mark-up of the PDF library in every printed field", "documents/test_statement.py", "test_hostile_text_in_every_field_is_printed_as_it_was_typed"),
    62: ("days that never were", "web/test_pages.py", "test_a_bad_value_in_a_form_gets_a_sentence_at_its_field"),
    63: ("negative, endless and foreign numbers", "web/test_pages.py", "test_a_bad_value_in_a_form_gets_a_sentence_at_its_field"),
    64: ("2 ton 3 cwt 1 qr, to the pound", "fabric/test_quantities.py", "test_workshop_units_add_up_to_pounds"),
    65: ("5 qr, and tonne or ton", "fabric/test_quantities.py", "test_a_tonne_is_not_a_ton"),
    66: ("fractions outside 0 to 1", "services/test_import_register.py", "test_refused_whole"),
    67: ("a quantity of 0 and of a thousand million", "web/test_pages.py", "test_a_bad_value_in_a_form_gets_a_sentence_at_its_field"),
}


def test_every_case_from_57_to_67_is_there():
    assert list(CASES) == list(range(57, 68))


@pytest.mark.parametrize("number", CASES)
def test_the_test_of_a_case_exists(number):
    _, file, name = CASES[number]
    assert re.search(rf"^def {name}\(", (TESTS / file).read_text(), re.MULTILINE), (file, name)
