"""Side by side: two days or two reference periods of one vehicle, or several vehicles on one day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from register.documents.figure_view import FigureView, figure_view
from register.fabric.change import contributions
from register.fabric.dates import day_in_words
from register.fabric.figures import figures
from register.fabric.rounding import shown, shown_change
from register.models import Vehicle
from register.services.inputs import NoSuch, reference_named
from register.services.vehicle_page import Account, accounts_of
from register.web.asked import controls_account, crumbs_to
from register.web.controls import Controls, controls_of

MOST = 4
"""Vehicles that stand side by side."""
PARTS = 20
NO_CHANGE = shown_change(0)
BEFORE, FIRST_YEAR = 10, 1500
NOT_BY_COUNT = (
    "Vehicles are never compared by count: one register lists a boiler as one part, the next as two hundred. They are "
    "shown by mass here; by significance is possible too."
)


class Line(NamedTuple):
    """A figure on both days, and the change from the first to the second, worked out before rounding."""

    name: str
    first: str
    second: str
    change: str


class PartLine(NamedTuple):
    part_key: str
    part: str
    first: str
    second: str
    change: str


def days(request: HttpRequest, key: str) -> HttpResponse:
    """One vehicle, two questions: ``as_at`` and ``reference`` against ``as_at_2`` and ``reference_2``."""
    controls, account = controls_account(request, key, controls_of(_first(request), date.today()))
    second = _second(request, controls)
    unknown = ""
    try:
        reference = reference_named(account.inputs, second.question.reference)
    except NoSuch as sentence:
        reference, unknown = account.reference, str(sentence)
    asked = controls.question
    other = figures(
        account.inputs,
        day=second.question.day.toordinal(),
        reference=reference,
        basis=asked.basis,
        evidence_floor=asked.evidence_floor,
        include_wear=asked.include_wear,
    )
    views = figure_view(account.chosen, account.inputs), figure_view(other, account.inputs)
    context = {
        "vehicle": account.vehicle,
        "controls": controls,
        "second": second,
        "references": account.inputs.references,
        "reference": account.reference,
        "reference_2": reference,
        "unknown": unknown,
        "view": views[0],
        "views": views,
        "lines": _lines(*views),
        "parts": _parts(account, *views),
        "crumbs": crumbs_to(account, "Compare two days"),
    }
    return render(request, "vehicles/compare.html", context)


def _first(request: HttpRequest) -> dict[str, str]:
    """The parameters of the first column. Where no second day is named yet, the day asked for is the second, and the
    first lies ten years before it."""
    data = {name: str(request.GET[name]) for name in request.GET}
    if "as_at_2" not in data:
        asked = controls_of(data, date.today()).question.day
        data["as_at"] = date(max(asked.year - BEFORE, FIRST_YEAR), 1, 1).isoformat()
    return data


def _second(request: HttpRequest, controls: Controls) -> Controls:
    """The second column: a day and a reference of its own, the rest is the first one's."""
    asked = request.GET.get("as_at_2", request.GET.get("as_at", ""))
    reference = request.GET.get("reference_2") or controls.question.reference
    found = controls_of({"as_at": asked, "reference": reference or ""}, date.today())
    return replace(
        found, question=replace(controls.question, day=found.question.day, reference=found.question.reference)
    )


def _lines(first: FigureView, second: FigureView) -> list[Line]:
    one, two = first.figures, second.figures
    found = [
        Line("Low bound", _text(first, "low"), _text(second, "low"), _change(one.low, two.low)),
        Line("High bound", _text(first, "high"), _text(second, "high"), _change(one.high, two.high)),
        Line("Best", first.best_text, second.best_text, _best_change(first, second)),
        Line("Assessed share", first.assessed_text, second.assessed_text, _change(one.assessed_share, two.assessed_share)),
        Line("Items", str(one.items), str(two.items), shown_change(two.items - one.items, 0)),
        Line("Unweighted", first.unweighted, second.unweighted, shown_change(two.unweighted - one.unweighted, 0)),
        Line("Temporary stand-ins", str(one.temporary), str(two.temporary), shown_change(two.temporary - one.temporary, 0)),
    ]
    was, now = first.answer.whole_vehicle, second.answer.whole_vehicle
    if was and now and first.whole and second.whole:
        found += [
            Line("Whole vehicle, low", first.whole.low_text, second.whole.low_text, _change(was.low, now.low)),
            Line("Whole vehicle, high", first.whole.high_text, second.whole.high_text, _change(was.high, now.high)),
        ]
    return found


def _text(view: FigureView, end: str) -> str:
    return getattr(view.own, f"{end}_text") if view.own else "–"


def _change(was: Fraction | None, now: Fraction | None) -> str:
    return shown_change(None if was is None or now is None else now - was)


def _best_change(first: FigureView, second: FigureView) -> str:
    """Only where both may be shown."""
    was, now = first.own and first.own.best, second.own and second.own.best
    return _change(was, now) if isinstance(was, Fraction) and isinstance(now, Fraction) else "–"


def _parts(account: Account, first: FigureView, second: FigureView) -> list[PartLine]:
    """The parts whose contribution to the best figure differs most; none where either best figure is kept back."""
    if not (first.own and second.own) or first.own.best is None or second.own.best is None:
        return []
    was, now = contributions(first.answer), contributions(second.answer)
    nothing = Fraction(0)
    changes = sorted(
        ((now.get(part, nothing) - was.get(part, nothing), part) for part in {*was, *now}),
        key=lambda pair: (-abs(pair[0]), pair[1]),
    )
    found = []
    for change, part in changes[:PARTS]:
        if shown_change(change) == NO_CHANGE:
            break
        label = account.labels.parts[part]
        found.append(
            PartLine(
                part if label.code else "",
                f"{label.code} {label.name}".strip(),
                shown(was.get(part, nothing)),
                shown(now.get(part, nothing)),
                shown_change(change),
            )
        )
    return found


def vehicles(request: HttpRequest) -> HttpResponse:
    """Up to four vehicles, each against its own default reference, in the order of their ids and never on count."""
    data = {name: str(request.GET[name]) for name in ("as_at", "basis", "wear") if name in request.GET}
    by_count = data.get("basis") == "count"
    if by_count:
        data["basis"] = "mass"
    controls = controls_of(data, date.today())
    fleet = sorted(Vehicle.objects.all(), key=lambda one: one.key)
    named = {key.lower()[:250] for key in request.GET.getlist("v")}
    chosen = [one for one in fleet if one.key in named]
    accounts = accounts_of(chosen[:MOST], controls.question) if chosen else []
    context = {
        "controls": controls,
        "day": day_in_words(controls.question.day),
        "bases": ("mass", "significance"),
        "fleet": [(one, one in chosen[:MOST]) for one in fleet],
        "columns": [(one.vehicle, figure_view(one.chosen, one.inputs)) for one in accounts],
        "sentence": NOT_BY_COUNT if by_count else "",
        "too_many": len(chosen) > MOST,
        "most": MOST,
        "heading": "Vehicles side by side",
        "under": f"As at {day_in_words(controls.question.day)}, each against its own reference period",
    }
    return render(request, "vehicles/side_by_side.html", context)
