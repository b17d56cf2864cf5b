"""The data hash: the same for the same inputs in whatever order they were read, another one for any other inputs."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from dataclasses import replace

import pytest
from hypothesis import given, settings

from register.fabric.dates import BEGINNING, END, Span
from register.fabric.inputs import (
    GRADES,
    Assessment,
    Installation,
    Part,
    Position,
    Reference,
    Treatment,
    Vehicle,
)
from register.fabric.inputs_json import data_hash, inputs_bytes
from register.fabric.interval import Interval
from tests.fabric.random_registers import dice, registers
from tests.fabric.worked_example_inputs import worked_example

ONE_MORE = Interval(1_234_567, 1_234_568, 1_234_569)
LATER = Span(800_001, 800_001, 800_002)


@given(registers, dice)
@settings(max_examples=60, deadline=None)
def test_the_order_in_which_rows_were_read_does_not_alter_the_hash(inputs, dice):
    def mixed(values):
        return dice.sample(list(values), len(values))

    again = replace(
        inputs,
        references=tuple(mixed(inputs.references)),
        positions=dict(mixed(inputs.positions.items())),
        parts=dict(mixed(inputs.parts.items())),
        installations=tuple(mixed(inputs.installations)),
        assessments=dict(mixed(inputs.assessments.items())),
        treatments={key: tuple(mixed(found)) for key, found in mixed(inputs.treatments.items())},
    )
    assert inputs_bytes(again) == inputs_bytes(inputs)
    assert data_hash(again) == data_hash(inputs)


def other(value, name):
    """A value of the same kind that is not this one."""
    if name == "vehicle" or name in ("key", "part", "position"):
        return value
    if isinstance(value, bool):
        return not value
    if isinstance(value, Interval) or (value is None and name in ("empty_mass", "design_mass", "mass", "fraction", "replaced")):
        return ONE_MORE
    if isinstance(value, Span) or (value is None and name in ("built", "span", "disposed", "fitted", "removed", "original_since")):
        return LATER
    if name == "grade":
        return next(grade for grade in GRADES.values() if grade != value)
    return value + 1 if isinstance(value, int) else f"{value}x"


def variants():
    """Every input of the worked example with one field of one record changed."""
    inputs = worked_example("BRIN")
    key = sorted(inputs.parts)[1]
    holders = {
        Vehicle: lambda one: replace(inputs, vehicle=one),
        Reference: lambda one: replace(inputs, references=(one, *inputs.references[1:])),
        Position: lambda one: replace(inputs, positions={**inputs.positions, one.key: one}),
        Part: lambda one: replace(inputs, parts={**inputs.parts, one.key: one}),
        Installation: lambda one: replace(inputs, installations=(one, *inputs.installations[1:])),
        Assessment: lambda one: replace(inputs, assessments={**inputs.assessments, one.part: one}),
        Treatment: lambda one: replace(inputs, treatments={**inputs.treatments, one.part: (one,)}),
    }
    treated = next(some[0] for some in inputs.treatments.values() if len(some) == 1)
    samples = (
        inputs.vehicle, inputs.references[0], next(iter(inputs.positions.values())), inputs.parts[key],
        inputs.installations[0], next(iter(inputs.assessments.values())), treated,
    )  # fmt: skip
    assert {type(one) for one in samples} == set(holders)
    for sample in samples:
        for field in dataclasses.fields(sample):
            was = getattr(sample, field.name)
            now = other(was, field.name)
            if now != was:
                yield f"{type(sample).__name__}.{field.name}", holders[type(sample)](replace(sample, **{field.name: now}))


VARIANTS = dict(variants())


@pytest.mark.parametrize("field", VARIANTS)
def test_any_other_value_of_an_input_gives_another_hash(field):
    assert data_hash(VARIANTS[field]) != data_hash(worked_example("BRIN"))


def test_no_field_of_an_input_is_left_out():
    fields = {f"{kind.__name__}.{one.name}" for kind in (Vehicle, Reference, Position, Part, Installation, Assessment, Treatment) for one in dataclasses.fields(kind)}
    names = {"Vehicle.key", "Position.key", "Position.vehicle", "Part.key", "Installation.position", "Installation.part", "Installation.vehicle", "Assessment.part", "Treatment.part"}
    assert fields - set(VARIANTS) == names, "names of records; a record under another name is another record"


def test_a_record_more_or_less_gives_another_hash():
    inputs = worked_example("BRIN")
    found = {data_hash(inputs)}
    found |= {data_hash(replace(inputs, installations=inputs.installations[:number])) for number in range(len(inputs.installations))}
    assert len(found) == len(inputs.installations) + 1


@pytest.mark.outside
def test_the_hash_is_the_sha256_of_plain_json():
    """hashlib and json of the standard library. Masses in grams, days as ISO 8601, read off the tables by hand."""
    data = inputs_bytes(worked_example("BRIN"))
    assert data_hash(worked_example("BRIN")) == hashlib.sha256(data).hexdigest()
    found = json.loads(data)
    parts = {one["part_id"]: one["mass"] for one in found["parts"]}
    assert parts["p3"] == [50_802, 50_802, 50_802] and parts["p2"] == [270_000, 300_000, 330_000]
    assert found["vehicle"]["empty_mass"] == [1_200_000] * 3 and found["vehicle"]["built"] == ["1894-01-01", "1894-07-02", "1894-12-31"]
    assert json.dumps(found, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode() == data


def test_open_ends_and_parts_of_others_are_told_apart_from_days():
    inputs = worked_example("BRIN")
    open_end = Span(BEGINNING, 700_000, 700_000), Span(700_000, 700_000, END)
    first = inputs.installations[0]
    told = [json.loads(inputs_bytes(replace(inputs, installations=(replace(first, fitted=span),))))["installations"][0]["fitted"] for span in open_end]
    assert told[0][0] is None and told[0][2] and told[1][2] is None
    rival = replace(first, part="somebody-elses", vehicle="other")
    assert data_hash(replace(inputs, installations=(*inputs.installations, rival))) == data_hash(inputs)
