"""Four times the parts take four times the work, not sixteen: counted in lines of our own code run, so that the answer is
the same on every machine. What is quick for the forty parts of a test is then quick for the thousands of a locomotive."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path

import pytest
from benchmarks.generate import register as generated
from builders import changes_of, empty_the_register

import register
from register.models import Vehicle
from register.services.change_sets import apply
from register.services.findings import check_vehicle
from register.services.inputs import inputs_of
from register.services.next_entries import next_entries_of
from register.services.statements import statement_content
from register.services.vehicle_page import Question, account_of, survey_of, timeline_of, tree_of

DAY = date(2026, 11, 25)
OURS = str(Path(register.__file__).parent)
FEW, MANY = 60, 240
pytestmark = pytest.mark.django_db

WORK = {
    "inputs": lambda: inputs_of("v0"),
    "the tree of an account": lambda: tree_of(account_of("v0", Question(DAY))),
    "timeline": lambda: timeline_of(account_of("v0", Question(DAY))),
    "what to find out next": lambda: survey_of(account_of("v0", Question(DAY))),
    "the next entries": lambda: next_entries_of("v0", day=DAY),
    "findings": lambda: check_vehicle("v0", day=DAY),
    "the content of a statement": lambda: statement_content("v0", day=DAY),
}


def lines_of(work) -> int:
    """Lines of the project run by the work; a loop within a line counts once each time round."""
    count = 0

    def line(frame, event, _):
        nonlocal count
        count += event == "line"
        return line

    def call(frame, event, _):
        return line if frame.f_code.co_filename.startswith(OURS) else None

    before = sys.gettrace()
    sys.settrace(call)
    try:
        work()
    finally:
        sys.settrace(before)
    return count


def test_the_work_grows_as_the_parts_do():
    counts: dict[str, list[int]] = {name: [] for name in WORK}
    for parts in (FEW, MANY):
        empty_the_register()
        apply(changes_of(generated(parts)), kind="import", whole=True)
        assert Vehicle.objects.count() == 1
        for name, work in WORK.items():
            counts[name].append(lines_of(work))
    grew = {name: many / few for name, (few, many) in counts.items()}
    assert all(1 < ratio < 1.25 * MANY / FEW for ratio in grew.values()), grew
