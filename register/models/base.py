"""What every record of the register shares: a key, the act that last changed it, and a history."""

from __future__ import annotations

from typing import Any

from django.db import models
from simple_history.models import HistoricalRecords

MAX_ID = 40
MAX_KEY = 250


def history() -> HistoricalRecords:
    """A history table. Its rows hold ``act`` like the record, so each points to the act that wrote it."""
    return HistoricalRecords(
        inherit=False, history_change_reason_field=models.CharField(max_length=1, blank=True, default="")
    )


class Recorded(models.Model):
    """key: the id in lower case, by which records are compared and ordered; code: the id as typed."""

    key = models.CharField(max_length=MAX_KEY, primary_key=True, editable=False)
    code = models.CharField("id", max_length=MAX_KEY)
    act = models.ForeignKey("register.Act", on_delete=models.PROTECT, related_name="+")

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return self.code


def short(**options: Any) -> Any:
    return models.TextField(blank=True, default="", **options)


def text(**options: Any) -> Any:
    return models.TextField(blank=True, default="", **options)


def edtf() -> Any:
    """The EDTF of the date typed in the field of the same name; its earliest and latest days follow from it."""
    return models.CharField(max_length=120, blank=True, default="", editable=False)


def choice(values: tuple[str, ...], **options: Any) -> Any:
    return models.CharField(max_length=40, choices=[(value, value) for value in values], **options)


def optional_choice(values: tuple[str, ...]) -> Any:
    return choice(values, blank=True, default="")


def whole_number() -> Any:
    return models.BigIntegerField(null=True, blank=True)


def to(model: str, *, required: bool = False, name: str = "+") -> Any:
    if required:
        return models.ForeignKey(model, on_delete=models.PROTECT, related_name=name)
    return models.ForeignKey(model, on_delete=models.PROTECT, null=True, blank=True, related_name=name)


def one_of(field: str, values: tuple[str, ...], *, blank: bool = False) -> models.CheckConstraint:
    allowed = ("", *values) if blank else values
    return models.CheckConstraint(
        condition=models.Q(**{f"{field}__in": allowed}),
        name=f"%(class)s_{field}_known",
        violation_error_message=f"{field.replace('_', ' ')} is one of: {', '.join(values)}.",
    )


def in_order(low: str, best: str, high: str, *, ceiling: int | None = None) -> list[models.CheckConstraint]:
    """low ≤ best ≤ high, none negative, the ends only beside a best; for fractions not above one."""
    q = models.Q
    f = models.F
    rules = [
        models.CheckConstraint(
            condition=(q(**{f"{low}__isnull": True}) & q(**{f"{high}__isnull": True}))
            | (q(**{f"{low}__lte": f(best)}) & q(**{f"{high}__gte": f(best)})),
            name=f"%(class)s_{best}_in_order",
            violation_error_message=f"{best.replace('_', ' ')}: low, best and high must stand in order.",
        ),
        models.CheckConstraint(
            condition=(q(**{f"{low}__isnull": True}) | q(**{f"{low}__gte": 0}))
            & (q(**{f"{best}__isnull": True}) | q(**{f"{best}__gte": 0})),
            name=f"%(class)s_{best}_not_negative",
            violation_error_message=f"{best.replace('_', ' ')} cannot be negative.",
        ),
    ]
    if ceiling is not None:
        rules.append(
            models.CheckConstraint(
                condition=(q(**{f"{high}__isnull": True}) | q(**{f"{high}__lte": ceiling}))
                & (q(**{f"{best}__isnull": True}) | q(**{f"{best}__lte": ceiling})),
                name=f"%(class)s_{best}_at_most_one",
                violation_error_message=f"{best.replace('_', ' ')} is a share: not above 1.",
            )
        )
    return rules


def not_empty(*fields: str) -> list[models.CheckConstraint]:
    return [
        models.CheckConstraint(
            condition=~models.Q(**{field: ""}),
            name=f"%(class)s_{field}_given",
            violation_error_message=f"{field.replace('_', ' ')} is needed.",
        )
        for field in fields
    ]
