"""The register as it was known on a day is what it then was, whatever has been corrected, struck out or added since."""

from __future__ import annotations

from datetime import UTC, date, datetime
from random import Random

import pytest
from builders import change, changes_of, planted, tiny
from django.db import connection
from django.test.utils import CaptureQueriesContext

from register.exchange.records import Change
from register.services.change_sets import apply
from register.services.known import as_known, last_change_by
from register.services.loading import load_register
from register.services.structure_merge import merge_parts

pytestmark = pytest.mark.django_db


def tables():
    return {name: dict(rows) for name, rows in load_register().tables.items()}


def test_after_every_act_of_a_long_day_the_register_is_what_it_then_was():
    """Rows made, changed, cleared, struck out; each state was kept as it was read then."""
    kept = {0: tables()}

    def do(*changes: Change) -> None:
        act, _ = apply(list(changes), kind="test")
        kept[act.change_no] = tables()

    do(*changes_of(planted()))
    do(change("parts", part_id="P1", name="first chimney", mass="61 kg", remarks=""))
    do(change("treatments", part_id="P1", date="1931", work="patched again", replaced="0.5"))
    do(change("assessments", part_id="P1", assessed_on="2024-05-01", status="replica"), change("places", place_id="ST", name="other store"))
    rows = load_register().tables["treatments"]
    first = next(key for key, row in rows.items() if row["date"].text == "1960")
    do(Change("treatments", {}, row_id=first, action="strike"))
    do(change("vehicles", vehicle_id="L1", published="no", built="1895"))
    do(change("installations", position_id="Q1", part_id="P3", fitted="2025-01-01"), Change("installations", {"removed": change("installations", position_id="Q1", part_id="P1", fitted="as built", removed="2024-12-31").values["removed"], "position_id": "Q1", "part_id": "P1", "fitted": change("installations", position_id="Q1", part_id="P1", fitted="as built").values["fitted"]}))
    now = load_register()
    assert len(kept) == 8
    for change_no, then in kept.items():
        assert as_known(now, change_no).tables == then, change_no
    assert as_known(as_known(now, 4), 2).tables == kept[2]  # from an earlier state as from the latest


def test_a_merged_part_is_apart_again():
    apply(changes_of(tiny(parts=[{"part_id": "P9", "name": "chimney again"}])), kind="test")
    before = tables()
    merge_parts(duplicate_id="P9", into_id="P3", choices={"parts.name": "keep"}, user=None, reason="the same")
    assert "p9" not in load_register().tables["parts"]
    assert as_known(load_register(), 1).tables == before


def test_a_day_ends_at_midnight_on_the_railways_clocks(settings):
    """Greenwich is an hour behind British Summer Time (IANA time zone database, Europe/London)."""
    settings.TIME_ZONE = "Europe/London"
    apply(changes_of(tiny()), kind="test", at=datetime(2026, 6, 30, 22, 59, tzinfo=UTC))
    apply([change("parts", part_id="P1", name="chimney")], kind="test", at=datetime(2026, 6, 30, 23, 0, tzinfo=UTC))
    assert last_change_by(date(2026, 6, 29)) == 0
    assert last_change_by(date(2026, 6, 30)) == 1
    assert last_change_by(date(2026, 7, 1)) == 2


def test_it_takes_a_query_a_table_however_much_was_touched():
    def asked() -> int:
        now = load_register()
        with CaptureQueriesContext(connection) as queries:
            as_known(now, 1)
        return len(queries)

    apply(changes_of(tiny()), kind="test")
    few = asked()
    dice = Random(1)
    more = [{"part_id": f"X{number}", "name": "bolt", "mass": f"{dice.randint(1, 9)} kg"} for number in range(300)]
    apply(changes_of({"parts": more}), kind="test")
    apply(changes_of({"parts": [one | {"mass": "10 kg"} for one in more]}), kind="test")
    assert asked() == few == 14
