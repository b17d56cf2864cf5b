"""The mass of a part from its dimensions: choose a shape and a material, type what was measured, see the mass and use it."""

from __future__ import annotations

import secrets
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from register.exchange.faults import Refused
from register.fabric.densities import MATERIALS
from register.fabric.shapes import SHAPES
from register.models import Part
from register.policy import may
from register.services.change_sets import Conflicted
from register.services.loading import last_change_no
from register.services.part_mass import Calculation, calculate, use_mass
from register.web.asking import asking, number_of, token_of
from register.web.record_form import FormField
from register.web.records import what_was_done

NAMES = ("shape", "material", "quantity", "fill", *{one.name for shape in SHAPES.values() for one in shape.dimensions})
LONGEST = 200
SHAPE_HINT = "the fields below follow the shape: choose it, then press Work out"
MATERIAL_HINT = "each with the range of its density"
FILL_HINT = "how much of the shape is metal: less than 1 for what is pierced or hollow"


def part_mass(request: HttpRequest, key: str) -> HttpResponse:
    """A GET works it out, all of it in the address; a POST of the same texts puts it into the record."""
    part = Part.objects.filter(key=key.lower()).first()
    if part is None or (part.access == "restricted" and not may(request.user, "read what is restricted")):
        raise Http404
    if request.method not in ("GET", "HEAD", "OPTIONS") and not may(request.user, "record finds"):
        raise PermissionDenied("Recording a mass is for those who may record finds.")
    data = request.POST if request.method == "POST" else request.GET
    texts = {name: str(data[name])[:LONGEST] for name in NAMES if name in data}
    calculation = calculate({"quantity": str(part.quantity), **{name: text for name, text in texts.items() if text.strip()}})
    if request.method != "POST":
        return _page(request, part, calculation)
    base = request.POST.get("base_no", "")
    try:
        handed = use_mass(
            part.key,
            calculation,
            user=asking(request),
            token=token_of(request),
            base_no=number_of(base),
            keep="file" if request.POST.get("keep") == "mine" else "",
        )
    except Refused as refused:
        return _page(request, part, calculation, faults=[fault.message for fault in refused.faults])
    except Conflicted as conflicted:
        return _page(request, part, calculation, conflicts=conflicted.conflicts)
    messages.success(request, what_was_done(handed))
    return redirect("part", part.key)


def _page(
    request: HttpRequest, part: Part, calculation: Calculation, *, faults: Any = (), conflicts: Any = ()
) -> HttpResponse:
    fields = _fields(calculation)
    shown = {fault.column for fault in calculation.faults}
    general = [] if shown else list(faults)
    wrong = bool(calculation.faults or general)
    context = {
        "part": part,
        "calculation": calculation,
        "worked": calculation.worked,
        "fields": fields,
        "general_errors": general,
        "has_errors": wrong or bool(conflicts),
        "summary_head": "The mass could not be worked out",
        "conflicts": conflicts,
        "hidden": [(field.name, field.value) for field in fields],
        "token": secrets.token_urlsafe(24),
        "base_no": last_change_no(),
        "may_record": may(request.user, "record finds"),
        "heading": "Mass from dimensions",
        "under": f"Part {part.code}, {part.name}",
        "crumbs": [("Parts", reverse("parts")), (part.code, reverse("part", args=[part.key])), ("Mass from dimensions", "")],
    }
    return render(request, "parts/mass.html", context, status=409 if conflicts else 422 if wrong else 200)


def _fields(calculation: Calculation) -> list[FormField]:
    errors = {fault.column: fault.message for fault in calculation.faults}
    shapes = tuple((shape.key, shape.words) for shape in SHAPES.values())
    materials = tuple(
        (one.key, f"{one.words}, {one.density.low:,} to {one.density.high:,} kg/m³") for one in MATERIALS.values()
    )
    texts = calculation.texts

    def field(name: str, label: str, hint: str, example: str, *, required: bool = False) -> FormField:
        error = errors.get(name, "")
        return FormField(name, label, "text", texts[name], hint, example, required, error=error)

    return [
        FormField("shape", "Shape", "select", calculation.shape.key, SHAPE_HINT, "", False, shapes),
        FormField("material", "Material", "select", calculation.material.key, MATERIAL_HINT, "", False, materials),
        *(field(one.name, one.label, "", one.example, required=True) for one in calculation.shape.dimensions),
        field("quantity", "How many pieces", "a mass in the register is that of the whole set", "6"),
        field("fill", "Fill factor", FILL_HINT, "0.6, 60% or 0.55 to 0.65"),
    ]
