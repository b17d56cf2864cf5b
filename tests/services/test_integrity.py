"""What is kept stays as it was: no way of Django's or of the database's own writes over a row that only grows, and what was
issued is worked out again to the digit, whatever has been corrected since."""

from __future__ import annotations

import json
from datetime import date

import pytest
from builders import change
from django.apps import apps
from django.core import serializers
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction

from register.exchange.frozen import canonical
from register.models import Statement, StatementFile, User
from register.models.triggers import append_only_tables
from register.services.change_sets import apply
from register.services.findings import check_vehicle, say_of
from register.services.issuing import Asked, prepare
from register.services.known import as_known
from register.services.loading import load_register
from register.services.statement_figures import statement_figures
from register.services.verifying import faults
from register.services.verifying_seals import seal_faults
from tests.injected import is_sqlite
from tests.services.issued import AT, DAY, accept_all, issue, plant

pytestmark = pytest.mark.django_db


@pytest.fixture
def used(tmp_path):
    """A register with a row in most of the tables that only grow."""
    plant(tmp_path)
    user = User.objects.create(username="one")
    apply([change("parts", part_id="P1", name="first chimney", mass="61 kg")], kind="test", user=user)
    finding = check_vehicle("L1", day=DAY).open[0]
    say_of(finding, verb="explained", reason="seen by two of us", user=user, at=AT)
    issue()
    return user


def grown():
    """The models of every table that only grows and has a row."""
    models = {model._meta.db_table: model for model in apps.get_app_config("register").get_models(include_auto_created=True)}
    return [models[table] for table in append_only_tables() if models[table]._base_manager.exists()]


def text_field(model):
    """A column of text of its own, to be written over."""
    return next(one for one in model._meta.concrete_fields if one.get_internal_type() in ("TextField", "CharField") and not one.primary_key)


def by_update(model, row, field):
    model._base_manager.update(**{field.attname: "x"})


def by_save(model, row, field):
    setattr(row, field.attname, "x")
    row.save(force_update=True)


def by_bulk_update(model, row, field):
    setattr(row, field.attname, "x")
    model._base_manager.bulk_update([row], [field.name])


def by_writing_over(model, row, field):
    setattr(row, field.attname, "x")
    model._base_manager.bulk_create([row], update_conflicts=True, update_fields=[field.name], unique_fields=[model._meta.pk.name])


def by_a_fixture(model, row, field):
    """As ``loaddata`` does."""
    setattr(row, field.attname, "x")
    for one in serializers.deserialize("json", serializers.serialize("json", [row])):
        one.save()


def by_replacing(model, row, field):
    """SQLite takes the old row away for a new one without asking the triggers, unless it is told to ask them."""
    if not is_sqlite():
        raise DatabaseError("PostgreSQL has no such word")
    columns = [one.column for one in model._meta.concrete_fields]
    values = [("x" if one is field else getattr(row, one.attname)) for one in model._meta.concrete_fields]
    values = [value.isoformat() if hasattr(value, "isoformat") else json.dumps(value) if isinstance(value, list | dict) else value for value in values]
    with connection.cursor() as cursor:
        cursor.execute(f"REPLACE INTO {model._meta.db_table} ({', '.join(map(connection.ops.quote_name, columns))}) VALUES ({', '.join(['%s'] * len(columns))})", values)


def by_raw_delete(model, row, field):
    model._base_manager.filter(pk=row.pk)._raw_delete("default")


def by_sql(model, row, field):
    with connection.cursor() as cursor:
        cursor.execute(f"DELETE FROM {model._meta.db_table}")


ATTACKS = [by_update, by_save, by_bulk_update, by_writing_over, by_a_fixture, by_replacing, by_raw_delete, by_sql]


@pytest.mark.parametrize("attack", ATTACKS)
def test_no_way_writes_over_or_deletes_a_row_that_only_grows(attack, used):
    models = grown()
    assert len(models) > 10 and {"Act", "Seal", "Entry", "Statement", "StatementFile", "FindingNote", "HistoricalPart"} <= {model.__name__ for model in models}
    for model in models:
        row = model._base_manager.order_by("pk").first()
        before = model._base_manager.filter(pk=row.pk).values().get()
        with pytest.raises(DatabaseError) as refused, transaction.atomic():
            attack(model, row, text_field(model))
        assert attack is by_replacing or "never changed or deleted" in str(refused.value), (model, refused.value)
        assert model._base_manager.filter(pk=row.pk).values().get() == before
    assert list(seal_faults()) == [] and list(faults()) == []


def test_what_was_issued_is_worked_out_again_to_the_digit_after_a_hundred_corrections(tmp_path):
    plant(tmp_path)
    statement = issue()
    before = {file.name: bytes(file.data) for file in StatementFile.objects.filter(statement=statement)}
    for number in range(100):
        apply([change("parts", part_id="P1", name="first chimney", mass=f"{60 + number} kg")], kind="test")
    assert {file.name: bytes(file.data) for file in StatementFile.objects.filter(statement=statement)} == before
    assert list(faults(recompute=True)) == []
    told = json.loads(statement.entry.content)
    issued = json.loads(before["figures.json"])
    then, now = (statement_figures(one, "l1", DAY, told["reference"]) for one in (as_known(load_register(), told["change_no"]), load_register()))
    assert {"fabric", "survival", "timeline"} <= then.keys()
    for key, figures in then.items():
        assert canonical(figures) == canonical(issued[key]), key
    assert canonical(now["fabric"]) != canonical(issued["fabric"])


def test_the_same_inputs_give_the_same_papers_to_the_byte(tmp_path):
    plant(tmp_path)
    asked = Asked("L1", date(2024, 6, 1), reasons=accept_all(Asked("L1", date(2024, 6, 1))))
    first, second = (prepare(asked, at=AT).checked().papers() for _ in range(2))
    assert first == second and {"internal.pdf", "assessor.pdf", "public.pdf", "figures.json", "inputs.json"} <= first.keys()
    assert not Statement.objects.exists()


def test_the_commands_that_load_and_dump_write_nothing_over(used, tmp_path):
    call_command("dumpdata", "register.act", "register.entry", output=str(tmp_path / "dump.json"), verbosity=0)
    told = json.loads((tmp_path / "dump.json").read_text())
    for row in told:
        if row["model"] == "register.act":
            row["fields"]["reason"] = "another"
    (tmp_path / "dump.json").write_text(json.dumps(told))
    with pytest.raises(DatabaseError, match="never changed or deleted"), transaction.atomic():
        call_command("loaddata", str(tmp_path / "dump.json"), verbosity=0)
