"""Nothing private reaches the public: a marker is planted in every private column and looked for in all that is public."""

from __future__ import annotations

import datetime

import pytest
from builders import tiny, write_folder

from register.exchange.schema import ORDER, TABLES
from register.policy import PUBLIC_COLUMNS
from register.services.export_register import export_register
from register.services.import_register import import_register
from register.services.inputs import inputs_from
from register.services.loading import load_register
from register.services.public import public_register

pytestmark = pytest.mark.django_db


def planted() -> dict[str, list[dict[str, str]]]:
    """A published engine that took parts from an unpublished one, with CANARY in all that the public may not see."""
    tables = tiny(
        people=[{"person_id": "SECRET-CANARY-1", "name": "CANARY-NAME", "role": "CANARY-ROLE", "consent": "CANARY-CONSENT"},
                {"person_id": "OK", "name": "CANARY-REAL-NAME", "role": "recorder", "public_as": "our recorder", "consent": "CANARY-CONSENT"}],
        places=[{"place_id": "ST", "name": "CANARY-STORE"}, {"place_id": "HALL", "name": "Booking hall", "access": "public"}],
        sources=[{"source_id": "S2", "kind": "testimony", "title": "CANARY-TITLE", "author": "CANARY-AUTHOR", "repository": "CANARY-REPOSITORY", "reference": "CANARY-REF", "access": "restricted"}],
        events=[{"vehicle_id": "L1", "date": "1950", "kind": "examination", "title": "CANARY-EVENT", "access": "restricted"},
                {"vehicle_id": "L1", "date": "1951", "kind": "overhaul", "title": "Overhaul", "holder": "CANARY-HOLDER", "source_id": "S2", "reference": "CANARY-EVENTREF"},
                {"vehicle_id": "L2", "date": "1951", "kind": "overhaul", "title": "CANARY-OTHER-EVENT"}],
        citations=[{"part_id": "P1", "source_id": "S1", "note": "CANARY-NOTE", "locator": "p 1"}, {"part_id": "P1", "source_id": "S2", "locator": "CANARY-LOCATOR"},
                   {"part_id": "P2", "source_id": "S1", "assessed_on": "2022-02-02", "locator": "CANARY-DRAFT-LOCATOR"}],
        movements=[{"part_id": "P1", "moved_on": "2001", "place_id": "ST", "reason": "CANARY-MOVE"}, {"part_id": "P1", "moved_on": "2002", "place_id": "HALL", "reason": "CANARY-MOVE-2"}],
        treatments=[{"part_id": "P1", "date": "1960", "work": "patched", "done_by": "CANARY-DONE-BY"}],
        assessments=[{"part_id": "P2", "assessed_on": "2022-02-02", "state": "draft", "status": "replica", "reason": "CANARY-DRAFT", "assessor": "CANARY-DRAFTER"},
                     {"part_id": "P4", "assessed_on": "2021-01-01", "status": "original", "original_to": "L2", "reason": "CANARY-REASON-2"}],
        parts=[{"part_id": "P4", "name": "dome from the other", "mass": "10", "public_note": "It came from another engine."},
               {"part_id": "P5", "name": "CANARY-HIDDEN-PART", "material": "CANARY-MATERIAL", "marks": "CANARY-MARKS", "access": "restricted", "public_note": "CANARY-PUBLIC-NOTE"}],
        positions=[{"position_id": "Q3", "vehicle_id": "L1", "name": "lamp", "visibility": "hidden"}, {"position_id": "Q4", "vehicle_id": "L1", "name": "gauge", "visibility": "hidden", "significance": "some", "significance_by": "CANARY-JUDGE"},
                   {"position_id": "G9", "vehicle_id": "L2", "name": "CANARY-POSITION", "visibility": "hidden", "significance_reason": "CANARY-WHY"}],
        installations=[{"position_id": "Q3", "part_id": "P4", "fitted": "1990", "reason": "CANARY-FITTED"}, {"position_id": "Q4", "part_id": "P5", "fitted": "1990"},
                       {"position_id": "G9", "part_id": "P4", "fitted": "1891", "removed": "1950", "reason": "CANARY-REMOVED"}],
        reference_periods=[{"vehicle_id": "L2", "label": "CANARY-PERIOD", "date": "1900"}],
    )
    tables["vehicles"][0] |= {"published": "yes", "owner": "CANARY-OWNER", "title_notes": "CANARY-TITLE-NOTES", "summary": "A small engine."}
    tables["vehicles"][1] |= {"name": "CANARY-VEHICLE", "summary": "CANARY-SUMMARY", "builder": "CANARY-BUILDER", "identity_basis": "CANARY-IDENTITY", "number": "CANARY-NO"}
    tables["parts"][0] |= {"owner": "CANARY-PART-OWNER", "remarks": "CANARY-REMARKS", "public_note": "The first chimney."}
    tables["assessments"][0] |= {"reason": "CANARY-REASON", "assessor": "OK"}
    return tables


@pytest.fixture
def planted_register(tmp_path):
    import_register(write_folder(tmp_path / "planted", planted()))


def test_no_private_marker_is_in_a_public_export(planted_register, tmp_path):
    export_register(tmp_path / "public", public=True)
    for path in (tmp_path / "public").rglob("*"):
        if path.is_file():
            assert b"CANARY" not in path.read_bytes(), f"{path.name}: " + path.read_text()


def test_a_public_workbook_holds_no_private_marker(planted_register, tmp_path):
    import zipfile

    export_register(tmp_path / "public.xlsx", public=True)
    with zipfile.ZipFile(tmp_path / "public.xlsx") as archive:
        for name in archive.namelist():
            assert b"CANARY" not in archive.read(name), name


def test_stubs_stand_where_a_figure_depends_on_what_is_private(planted_register):
    public = public_register(load_register())
    assert public.tables["vehicles"]["l2"]["name"] == "not published" and public.tables["vehicles"]["l2"]["kind"] == "locomotive"
    assert public.tables["parts"]["p5"]["name"] == "not published"
    assert public.tables["sources"]["s2"]["title"] == "not published" and public.tables["sources"]["s2"]["kind"] == "testimony"


def test_a_public_export_imports_and_gives_figures_that_do_not_say_more(planted_register):
    """A stranger recomputes from the public tables: what is kept back widens the bounds and never narrows them."""
    from register.fabric.figures import figures
    from register.services.inputs import reference_named

    def bounds(register):
        inputs = inputs_from(register, "l1")
        found = figures(inputs, day=datetime.date(2026, 1, 1).toordinal(), reference=reference_named(inputs, None), basis="count").whole
        return found.low, found.high

    everything, public = load_register(), public_register(load_register())
    assert bounds(public)[0] <= bounds(everything)[0] <= bounds(everything)[1] <= bounds(public)[1]


def test_a_public_export_goes_into_an_empty_register(planted_register, tmp_path):
    from test_import_register import empty_the_register

    export_register(tmp_path / "public", public=True)
    empty_the_register()
    import_register(tmp_path / "public")


def test_every_public_column_is_a_column_and_every_table_is_ruled_on():
    assert set(PUBLIC_COLUMNS) == set(ORDER)
    for name, columns in PUBLIC_COLUMNS.items():
        assert set(columns) <= set(TABLES[name].by_name), name


def test_the_columns_that_are_never_public_are_not_in_the_table():
    """The exchange format's own list ("Never public")."""
    for name, column in [("vehicles", "owner"), ("vehicles", "title_notes"), ("parts", "owner"), ("parts", "remarks"), ("installations", "reason"), ("assessments", "reason"),
                         ("treatments", "done_by"), ("citations", "note"), ("people", "consent")]:
        assert column not in PUBLIC_COLUMNS[name]
