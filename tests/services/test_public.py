"""Nothing private reaches the public: a marker is planted in every private column and looked for in all that is public."""

from __future__ import annotations

import datetime

import pytest
from builders import empty_the_register, planted, write_folder

from register.exchange.schema import ORDER, TABLES
from register.policy import PUBLIC_COLUMNS
from register.services.export_register import export_register
from register.services.import_register import import_register
from register.services.inputs import inputs_from
from register.services.loading import load_register
from register.services.public import public_register

pytestmark = pytest.mark.django_db


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
