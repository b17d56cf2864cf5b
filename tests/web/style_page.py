"""Every piece of the kit on one page, built from an invented engine; only tests render it."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

from django.template import Context, Template

from register.documents.figure_view import figure_view
from register.documents.step_band import Event, Step, step_band
from register.documents.svg import svg
from register.fabric.figures import figures_on
from register.fabric.inputs import VehicleInputs
from register.templatetags.form_fields import FieldView
from tests.fabric.builders import TODAY, Engine, day

PAGE = Path(__file__).with_name("style_page.html")


def engine(*, all_weighed: bool = True) -> VehicleInputs:
    """Something of each category, wear parts, a stand-in and, if not ``all_weighed``, parts without a
    mass."""
    made = Engine("no-6", built="1894", empty_kg=(29500, 30000, 30500))
    made.item("frames", (7200, 7359, 7500), "restored", (0.82, 0.88, 0.93), grade=4, strength=3)
    made.item("wheels", 4782, "original", visibility="close inspection", grade=3, strength=2)
    made.item(
        "cylinders", (4000, 4046, 4100), "original", visibility="hidden", since="1912", grade=3, strength=3
    )
    made.item("boiler", 4400, "original", visibility="hidden", grade=4, strength=3)
    made.item("firebox", 1015, "modern substitute", visibility="hidden", fitted="1998", grade=0)
    made.item("smokebox", 1500, "replica", fitted="1987", grade=1)
    made.item("tanks", 2977, "replica", fitted="1987", grade=2)
    made.item("whistle", 6, "original", original_to="no-3", grade=2)
    made.item("cab", 1600, "original", grade=2)
    made.item("injector", 1317, "modern substitute", visibility="close inspection", fitted="2009", grade=1)
    made.item("running-plate", (1500, 1610, 1700), grade=2)
    made.item("blocks", 120, "replica", wear=True)
    made.part("borrowed").fit("borrowed", "injector", "2023", temporary=True)
    if not all_weighed:
        made.item("gauges", None, "restored", (0.5, 0.7, 0.9), grade=2)
    return made.inputs()


def views(inputs: VehicleInputs, **options: bool) -> dict[str, Any]:
    """A view of each basis."""
    found = figures_on(inputs, day=TODAY, reference=inputs.references[0])
    return {basis: figure_view(answer, inputs, **options) for basis, answer in found.items()}


def timeline() -> str:
    years = [("1894-03-01", 92.3, 100, 100), ("1912-07-01", 66, 84.4, 81.6), ("1931-07-01", 62, 80.5, 76.8),
             ("1987-07-01", 55.7, 73.7, 68.4), ("1998-07-01", 48.2, 65.6, 59.7), ("2009-07-01", 43.9, 60.8, 54.1),
             ("2022-06-01", 43.9, 59.1, 51.5)]  # fmt: skip
    steps = [Step(day(when), low, high, best, when.startswith("2022")) for when, low, high, best in years]
    events = [Event(str(number), day(when)) for number, (when, *_) in enumerate(years[1:], 1)]
    return svg(step_band(steps, TODAY, events, title="Since No. 6 was built"), prefix="timeline")


FIELDS = [
    {"name": "name", "label": "Name", "kind": "text", "value": "", "required": True, "hint": "As the workshop says it.",
     "example": "Left-hand leading sandbox", "error": "The name is missing: write what the part is called."},
    {"name": "made", "label": "Made", "kind": "text", "value": "1903 to 1907", "hint": "A year is enough.",
     "example": "May 1894, c. 1894, between 1903 and 1907", "read_as": "between 1903 and 1907"},
    {"name": "status", "label": "Status", "kind": "select", "value": "", "options": [("", "Not known"), ("o", "Original")]},
    {"name": "seen", "label": "How clear is it?", "kind": "radio", "value": "some",
     "options": [("all", "All of it is clear"), ("some", "Some letters are worn"), ("unknown", "Not known")]},
    {"name": "hazards", "label": "Hazards", "kind": "checks", "value": "", "chosen": {"lead paint"},
     "options": [("asbestos", "Asbestos"), ("lead paint", "Lead paint")],
     "hint": "Stop work where asbestos may be present, and ask a competent person."},
    {"name": "photos", "label": "Photographs", "kind": "file", "value": "", "accept": "image/*", "several": True},
    {"name": "remarks", "label": "Remarks", "kind": "area", "value": ""},
]  # fmt: skip


def context() -> dict[str, Any]:
    inputs, unweighed = engine(), engine(all_weighed=False)
    whole, partly = views(inputs), views(unweighed)
    few = (
        Engine("van", built="1911").item("body", None, "original").item("doors", None, "replica").item("roof")
    )
    controls = SimpleNamespace(
        day_text="30 June 2024", error="", bases=("mass", "count", "significance"),
        floors=((0, "Any assessment"), (3, "Documented only")),
        question=SimpleNamespace(basis="mass", evidence_floor=0, include_wear=False),
    )  # fmt: skip
    return {
        "nav": [("Vehicles", "/vehicles/", True), ("Parts", "/parts/", False), ("Sources", "/sources/", False),
                ("Places", "/places/", False), ("Import", "/import/", False)],
        "search_url": "/search/",
        "user": SimpleNamespace(is_authenticated=True, get_full_name="Heritage officer", get_username="officer"),
        "crumbs": [("Vehicles", "/vehicles/"), ("No. 6 Harrenby", "")],
        "messages": ["Recorded."],
        "controls": controls, "references": inputs.references, "reference": inputs.references[0],
        "view": whole["mass"], "views": whole, "partly": partly["mass"], "public": views(inputs, public=True)["mass"],
        "withheld": views(unweighed, guarded=True)["mass"], "nothing": views(few.inputs())["mass"],
        "timeline": timeline(), "fields": [FieldView(**one) for one in FIELDS],
        "general_errors": ["Somebody else changed this part while you were writing: compare, and choose."],
        "finding": {"number": 1, "what": "Right-hand frame plate is doubtful.", "url": "#finding-1",
                    "sentence": "A 1931 ledger entry may mean the left.", "action": "Weigh the evidence"},
        "second_finding": {"number": 2, "what": "Whistle is disputed.", "sentence": "One source for, one against.",
                           "url": "#finding-2", "action": "See both sources"},
        "tree": [("Main frame plate, left-hand", "FR-001", "restored", False, False, "82–93 %", 1640, "close", "documented"),
                 ("Main frame plate, right-hand", "FR-002", "restored", True, False, "82–93 %", 1640, "close", "documented"),
                 ("Buffer beam, leading", "FR-011", "original", False, False, "100 %", 310, "in view", "documented"),
                 ("Buffer beam, trailing", "FR-012", "replica", False, False, "0 %", 305, "in view", "documented"),
                 ("Inner firebox", "BO-140", "modern substitute", False, False, "0 %", 1015, "hidden", "documented"),
                 ("Whistle", "BO-180", "original", False, True, "elsewhere", 6, "in view", "attributed"),
                 ("Running plate", "FR-031", "", False, False, "not known", None, "in view", "none yet")],
    }  # fmt: skip


def page(**changes: Any) -> str:
    """The page as HTML."""
    return Template(PAGE.read_text()).render(Context(context() | changes))
