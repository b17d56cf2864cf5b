"""One way to write: change sets, acts and history."""

from __future__ import annotations

import pytest
from builders import DEMO, change, changes_of, tiny
from django.db import DatabaseError, IntegrityError, connection, transaction

from register.exchange.faults import Refused
from register.models import Act, Installation, Part, RetiredId, Vehicle
from register.models.triggers import append_only_tables, make_triggers, missing_triggers
from register.services.change_sets import Conflicted, apply, preview
from register.services.inputs import inputs_from, inputs_of
from register.services.loading import load_register
from register.services.records import history_of, strike_out
from register.services.tables import MODELS

pytestmark = pytest.mark.django_db


@pytest.fixture
def small():
    act, _ = apply(changes_of(tiny()), kind="import", whole=True)
    return act


def test_every_history_row_points_to_the_act_that_wrote_it(small):
    act, _ = apply([change("parts", part_id="P1", material="cast iron")], kind="change part", reason="read the pattern number")
    found = Part.history.filter(key="p1").order_by("act_id")
    assert [row.act_id for row in found] == [small.pk, act.pk]
    assert act.change_no == small.change_no + 1 and act.reason == "read the pattern number"


def test_every_tracked_table_writes_history_when_a_row_is_made():
    from register.services.import_register import import_register

    import_register(DEMO)
    for name, model in MODELS.items():
        assert model.history.count() == model._default_manager.count(), name


def test_an_unchanged_record_writes_no_act(small):
    act, result = apply([change("parts", part_id="P1", name="first chimney")], kind="change part")
    assert act is None and result.unchanged["parts"] == 1 and Act.objects.count() == 1


def test_the_same_token_twice_makes_one_record(small):
    first, _ = apply([change("parts", part_id="P7", name="x")], kind="new part", token="t1")
    second, _ = apply([change("parts", part_id="P7", name="x")], kind="new part", token="t1")
    assert first == second and Part.history.filter(key="p7").count() == 1


def test_a_stale_form_is_a_conflict_and_both_values_are_told(small):
    apply([change("parts", part_id="P1", material="cast iron")], kind="change part")
    with pytest.raises(Conflicted) as found:
        apply([change("parts", part_id="P1", material="steel")], kind="change part", base_no=small.change_no)
    assert "cast iron" in str(found.value) and "steel" in str(found.value)
    assert Part.objects.get(key="p1").material == "cast iron"


def test_a_preview_is_what_is_written_to_the_digit(small):
    """The figures' inputs from the overlay equal those read back from the database."""
    changes = [change("assessments", part_id="P2", assessed_on="2021-05-05", status="restored", fraction_low="0.4", fraction="60%", fraction_high="0.7"),
               change("parts", part_id="P2", mass="40 kg ±10%"), change("treatments", part_id="P1", date="1950s", work="patched", replaced="0.1")]
    before = inputs_from(preview(changes).register, "l1")
    apply(changes, kind="test")
    assert inputs_of("l1") == before == inputs_from(load_register(), "l1")


def test_a_refused_change_set_changes_nothing(small):
    with pytest.raises(Refused):
        apply([change("parts", part_id="P9", name="good"), change("installations", position_id="Q1", part_id="P3", fitted="1900")], kind="test")
    assert not Part.objects.filter(key="p9").exists() and Act.objects.count() == 1


def test_a_struck_out_record_leaves_the_tables_and_its_history_stays(small, django_user_model):
    user = django_user_model.objects.create(username="o")
    strike_out("parts", "p3", user=user, reason="counted twice")
    assert not Part.objects.filter(key="p3").exists()
    assert [entry["kind"] for entry in history_of("parts", "p3")] == ["struck out", "recorded"]
    assert RetiredId.objects.get(table="parts", key="p3").reason == "counted twice"
    with pytest.raises(Refused, match="counted twice"):
        apply([change("parts", part_id="P3", name="again")], kind="test")


def test_what_is_referred_to_cannot_be_struck_out(small, django_user_model):
    user = django_user_model.objects.create(username="o")
    for name, key in (("parts", "p1"), ("positions", "q1"), ("vehicles", "l1")):
        with pytest.raises(Refused, match="refers to it"):
            strike_out(name, key, user=user, reason="no longer wanted")
    assert Vehicle.objects.count() == 2


def test_a_strike_needs_its_reason(small, django_user_model):
    with pytest.raises(Refused, match="say why"):
        strike_out("parts", "p3", user=django_user_model.objects.create(username="o"), reason="  ")


@pytest.mark.parametrize("what", ["update", "delete", "bulk_update"])
def test_the_database_refuses_to_change_or_delete_acts_and_history(small, what):
    """By triggers, not by signals: update() and bulk calls send none."""
    for model in (Act, Part.history.model):
        with pytest.raises((IntegrityError, DatabaseError)), transaction.atomic():
            if what == "update":
                model.objects.update(**({"reason": "x"} if model is Act else {"name": "x"}))
            elif what == "delete":
                model.objects.all().delete()
            else:
                row = model.objects.first()
                model.objects.bulk_update([row], ["reason" if model is Act else "name"])


def drop_a_trigger():
    with connection.cursor() as cursor:
        on = "" if connection.vendor == "sqlite" else ' ON "register_act"'
        cursor.execute(f'DROP TRIGGER "keep_register_act_update"{on}')


def test_triggers_are_on_every_append_only_table_and_a_missing_one_is_found(small):
    assert missing_triggers() == []
    assert {f"register_historical{name.__name__.lower()}" for name in MODELS.values()} | {"register_act", "register_statement", "register_entry", "register_proposalact"} <= set(append_only_tables())
    drop_a_trigger()
    assert missing_triggers() == ["register_act"]
    make_triggers()
    assert missing_triggers() == []


def test_missing_triggers_stop_the_site_but_not_the_migration_that_makes_them(small, monkeypatch):
    """``migrate`` runs the checks before it migrates: an error there would keep a table that becomes append-only from ever
    getting its triggers."""
    from django.db.migrations.executor import MigrationExecutor

    from register.checks import history_is_append_only

    assert history_is_append_only(databases=["default"]) == []
    drop_a_trigger()
    found = history_is_append_only(databases=["default"])
    assert found and {(one.id, "--skip-checks" in (one.hint or "")) for one in found} == {("register.E001", True)}
    monkeypatch.setattr(MigrationExecutor, "migration_plan", lambda *_: ["one to run"])
    assert {one.id for one in history_is_append_only(databases=["default"])} == {"register.W001"}
    make_triggers()


def test_a_correction_of_the_built_date_is_checked_against_everything_that_depends_on_it(small):
    apply([change("installations", position_id="G1", part_id="P3", seen_on="1895-01-01")], kind="test")
    with pytest.raises(Refused, match="before the vehicle was built"):
        apply([change("vehicles", vehicle_id="L2", built="1899")], kind="test")


def test_two_changes_of_one_scope_see_each_other(small):
    """Swap two parts in one change set: each leaves as the other arrives."""
    rows = {row.part_id: row for row in Installation.objects.all()}
    apply([change("installations", row_id=rows["p1"].code, removed="1950-01-01"), change("installations", row_id=rows["p2"].code, removed="1950-01-01"),
           change("installations", position_id="Q2", part_id="P1", fitted="1950-01-01"), change("installations", position_id="Q1", part_id="P2", fitted="1950-01-01")], kind="test")
    assert Installation.objects.count() == 4


def test_a_part_is_never_certainly_in_two_places(small):
    with pytest.raises(Refused, match="two positions"):
        apply([change("installations", position_id="G1", part_id="P1", fitted="1950")], kind="test")


def test_clearing_a_removal_cannot_put_two_parts_in_one_position(small):
    """The change names the installation by its row alone; what else is in the position is looked at all the same."""
    first = Installation.objects.get(part="p1")
    apply([change("installations", row_id=first.code, removed="1950")], kind="test")
    apply([change("installations", position_id="Q1", part_id="P3", fitted="1960")], kind="test")
    with pytest.raises(Refused, match="same day"):
        apply([change("installations", row_id=first.code, removed="")], kind="test")
