"""The pages about time: they say what the commands say, the table what the chart shows, and nobody reads too much."""

from __future__ import annotations

import json
import re
from datetime import date

import pytest
from benchmarks.generate import register as generated
from builders import empty_the_register, tiny, write_folder
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from register.documents.step_band import step_band
from register.documents.timeline_view import thinned
from register.fabric.rounding import shown, shown_change, shown_high, shown_low
from register.services.import_register import import_register
from tests.demo_register import plant_demo_register

pytestmark = pytest.mark.django_db

PAGES = ["/vehicles/v0/timeline/", "/vehicles/v0/survival/", "/vehicles/v0/find-out/", "/vehicles/v0/compare/", "/side-by-side/?v=v0&v=v1"]


def said(answer):
    return answer.content.decode().replace("&nbsp;", " ").replace("\xa0", " ")


def asked(capsys, *arguments):
    call_command(*arguments, "--json")
    return json.loads(capsys.readouterr().out)


@pytest.fixture
def brindlewick(tmp_path):
    from builders import WORKED

    import_register(WORKED)


# The timeline


def test_the_steps_on_the_page_are_those_of_the_command(brindlewick, officer, capsys):
    page = officer.get("/vehicles/brin/timeline/?as_at=2026-11-25")
    rows = page.context["told"].rows
    steps = asked(capsys, "timeline", "BRIN")["steps"]
    assert len(steps) > 8
    assert [row.iso for row in rows] == [step["from"] for step in steps]
    for row, step in zip(rows, steps, strict=True):
        assert row.recorded == step["recorded"]
        assert row.bounds == ("–" if step["low"] is None else f"{shown_low(step['low'])}–{shown_high(step['high'])}")
        assert row.best == ("–" if step["low"] is None else shown(step["best"]) if (step["assessed_share"] or 0) >= 50 else "not enough assessed")


def test_the_chart_shows_what_the_table_says_to_the_digit(brindlewick, officer):
    """The heights of the lines in the picture, measured back to percentages, round to the figures in the table."""
    told = officer.get("/vehicles/brin/timeline/?as_at=2026-11-25").context["told"]
    high = 10_000  # so tall that a tenth of a point is several px
    sheet = step_band(told.drawn, told.until, height=high)
    foot, top = high - 26, 12
    bands = [(foot - one.y - one.height, foot - one.y) for one in sheet.segments]
    measured = [f"{100 * low / (foot - top):.2f} {100 * up / (foot - top):.2f}" for low, up in bands]
    told_low_high = [row for row in told.rows if row.step.low is not None]
    assert len(measured) == len(told_low_high) > 5
    for text, row in zip(measured, told_low_high, strict=True):
        low, up = (float(one) for one in text.split())
        printed_low, printed_high = (float(one) for one in row.bounds.split("–"))
        assert printed_low - 0.01 <= low < printed_low + 0.11 and printed_high - 0.11 < up <= printed_high + 0.01, (text, row.bounds)


def test_each_step_leads_to_the_vehicle_as_at_that_day_with_the_same_bounds(brindlewick, officer):
    page = officer.get("/vehicles/brin/timeline/?basis=significance&reference=as+rebuilt")
    links = re.findall(r'<th scope="row"><a href="(/vehicles/brin/\?[^"]+)">', page.content.decode())
    assert len(links) == len(page.context["told"].rows)
    for link, row in list(zip(links, page.context["told"].rows, strict=True))[::3]:
        there = officer.get(link.replace("&amp;", "&")).context["view"]
        assert "by significance, against as rebuilt" in there.asked
        assert (there.own.short if there.own else "–") == row.bounds


def test_a_step_that_was_only_found_out_says_so_and_is_dotted(tmp_path, officer):
    import_register(write_folder(tmp_path / "one", tiny()))
    page = officer.get("/vehicles/l1/timeline/?as_at=2026-11-25")
    assert [row.recorded for row in page.context["told"].rows if row.iso == "2020-05-01"] == []  # nothing moved: original, the whole time
    assert "happened" in said(page)
    dated = tiny(assessments=[{"part_id": "P2", "assessed_on": "2021-05-01", "status": "restored", "fraction": "0.5"}])
    empty_the_register()
    import_register(write_folder(tmp_path / "two", dated))
    page = officer.get("/vehicles/l1/timeline/?as_at=2026-11-25")
    assert [row.recorded for row in page.context["told"].rows if row.iso == "2021-05-01"] == [True]
    assert "found out" in said(page) and 'stroke-dasharray="1.5 3"' in said(page)


def test_very_many_steps_are_thinned_for_drawing_and_lose_no_bound():
    from fractions import Fraction

    from register.documents.step_band import Step

    steps = tuple(Step(day, Fraction(day % 40), Fraction(60 + day % 37), Fraction(50), False) for day in range(700_000, 704_000))
    drawn = thinned(steps, 704_000)
    assert len(drawn) <= 361 and drawn[0].day == steps[0].day
    for number, one in enumerate(drawn):
        end = drawn[number + 1].day if number + 1 < len(drawn) else 704_000
        covered = [step for step in steps if one.day <= step.day < end]
        assert one.low == min(step.low for step in covered) and one.high == max(step.high for step in covered)
    assert thinned(steps[:100], 704_000) == steps[:100]


# Survival


def test_what_became_of_the_original_is_what_the_command_says_and_adds_up(brindlewick, officer, capsys):
    page = officer.get("/vehicles/brin/survival/?as_at=2024-06-30")
    found = asked(capsys, "survival", "BRIN", "--as-at", "2024-06-30")
    told = page.context["told"]
    assert {lot.share: round(float(lot.percent), 6) for lot in told.lots} == pytest.approx(found["shares"], abs=1e-6)
    assert sum(lot.percent for lot in told.lots) == 100
    assert told.bounds.words.replace("\xa0", " ") in said(page)
    assert f"{told.answer.inventory} in the inventory" in said(page)


def test_a_day_before_the_reference_is_refused_with_a_sentence(brindlewick, officer):
    page = officer.get("/vehicles/brin/survival/?as_at=1850-01-01")
    assert page.status_code == 200 and "Survival is counted from the end of the reference date" in said(page)


# What to find out next


def test_what_to_find_out_is_in_the_order_of_the_command_with_the_form_that_settles_it(brindlewick, officer, capsys):
    page = officer.get("/vehicles/brin/find-out/?as_at=2024-06-30")
    parts = [one for one in asked(capsys, "survey_next", "BRIN", "--as-at", "2024-06-30")["parts"] if one["why"] != "known already"]
    items = page.context["items"]
    assert [item.why for item in items] == [one["why"] for one in parts]
    assert [item.gain for item in items] == ["" if one["gain"] is None else shown(one["gain"]) for one in parts]
    for item in items:
        for words, address in item.links:
            assert officer.get(address).status_code == 200, (words, address)
    assert any(item.links for item in items)


def test_who_may_not_change_the_register_gets_no_form(brindlewick, sign_in):
    page = sign_in("recorder").get("/vehicles/brin/find-out/?as_at=2024-06-30")
    assert page.status_code == 200 and "/new/assessments/" not in said(page) and not any(item.links for item in page.context["items"])


# Side by side


def test_two_days_are_compared_before_rounding(brindlewick, officer, capsys):
    page = officer.get("/vehicles/brin/compare/?as_at=1950-03-01&as_at_2=2024-06-30")
    first, second = (asked(capsys, "fabric", "BRIN", "--as-at", day) for day in ("1950-03-01", "2024-06-30"))
    lines = {line.name: line for line in page.context["lines"]}
    assert lines["Low bound"].change == shown_change(second["low"] - first["low"])
    assert lines["Best"].change == shown_change(second["best"] - first["best"])
    assert (lines["Items"].first, lines["Items"].second) == (str(first["items"]), str(second["items"]))
    assert "Changes are worked out before rounding" in said(page)


def test_two_reference_periods_stand_side_by_side(brindlewick, officer):
    page = officer.get("/vehicles/brin/compare/?as_at=2024-06-30&as_at_2=2024-06-30&reference=as+built&reference_2=as+rebuilt")
    assert [view.answer.reference.label for view in page.context["views"]] == ["as built", "as rebuilt"]
    assert officer.get("/vehicles/brin/compare/?reference_2=as+dreamt&as_at_2=2020").status_code == 200


def test_vehicles_stand_side_by_side_and_never_on_count(brindlewick, officer):
    page = officer.get("/side-by-side/?v=BRIN&v=grum&basis=count&as_at=2024-06-30")
    assert "never compared by count" in said(page)
    assert {view.answer.basis for _, view in page.context["columns"]} == {"mass"}
    assert [vehicle.code for vehicle, _ in page.context["columns"]] == ["BRIN", "GRUM"]
    assert "Choose two or more" in said(officer.get("/side-by-side/"))


# All of them


@pytest.mark.parametrize("address", ["/vehicles/har/timeline/", "/vehicles/har/survival/", "/vehicles/har/find-out/", "/vehicles/har/compare/", "/side-by-side/"])
def test_nonsense_in_the_address_never_breaks_a_page(address, officer):
    plant_demo_register()
    for query in ("as_at=1900-02-30", "as_at=" + "9" * 300, "basis=cost", "page=99999", "page=%00", "as_at_2=winter+1894", "v=%00&v=" + "x" * 400, "reference_2=%3Cb%3E", "as_at=1500-01-01", "as_at=2200-12-31"):
        answer = officer.get(f"{address}?{query}")
        assert answer.status_code == 200, (address, query)
        if "1900-02-30" in query or ("winter" in query and "compare" in address):
            assert b"Error:" in answer.content
    assert officer.get(address.replace("har", "nobody")).status_code in (200 if "side" in address else 404,)


@pytest.mark.parametrize("address", PAGES)
def test_the_number_of_queries_is_the_same_at_200_and_2_000_parts_and_at_most_12(address, tmp_path, officer):
    counts = []
    for positions in (200, 2000):
        empty_the_register()
        import_register(write_folder(tmp_path / str(positions), generated(positions, vehicles=2)))
        officer.get(address)
        with CaptureQueriesContext(connection) as queries:
            assert officer.get(address).status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 12, counts


def test_a_restricted_part_is_counted_and_not_named(tmp_path, sign_in):
    tables = tiny(parts=[{"part_id": "P8", "name": "CANARY-PART", "mass": "10-90 kg", "access": "restricted"}],
                  positions=[{"position_id": "Q8", "vehicle_id": "L1", "name": "box", "visibility": "hidden"}],
                  installations=[{"position_id": "Q8", "part_id": "P8", "fitted": "as built"}],
                  events=[{"vehicle_id": "L1", "date": "1950", "kind": "other", "title": "CANARY-EVENT", "access": "restricted"}])
    import_register(write_folder(tmp_path / "planted", tables))
    for address in ("/vehicles/l1/timeline/", "/vehicles/l1/survival/", "/vehicles/l1/find-out/", "/vehicles/l1/compare/?as_at=1890&as_at_2=2020-01-01"):
        assert "CANARY" not in said(sign_in("recorder").get(address)) and "P8" not in said(sign_in("recorder").get(address)), address
    text = said(sign_in("officer").get("/vehicles/l1/survival/"))
    assert "CANARY-PART" in text and "CANARY-EVENT" in said(sign_in("officer").get("/vehicles/l1/timeline/"))


def test_the_vehicle_page_leads_to_all_of_them(brindlewick, officer):
    text = said(officer.get("/vehicles/brin/?as_at=2024-06-30"))
    for address in ("timeline", "survival", "find-out", "compare"):
        assert f"/vehicles/brin/{address}/?as_at=2024-06-30" in text
    assert "/side-by-side/?v=brin" in text and date(2024, 6, 30).isoformat() in text
