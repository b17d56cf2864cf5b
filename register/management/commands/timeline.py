"""The retained original fabric of a vehicle since it was built, as a step function."""

from __future__ import annotations

import json
from typing import Any

from django.core.management.base import CommandParser

from register.fabric.figures_json import as_json, iso
from register.fabric.rounding import shown, shown_high, shown_low
from register.fabric.timeline import timeline
from register.management.commands._sentences import SayingCommand, add_question
from register.services.figures import inputs_and_reference, typed_ids


class Command(SayingCommand):
    help = "The retained original fabric of a vehicle since it was built, step by step."

    def add_arguments(self, parser: CommandParser) -> None:
        add_question(parser)

    def run(
        self, *, vehicle_id: str, reference: str | None, basis: str, include_wear: bool, **options: Any
    ) -> None:
        inputs, period = inputs_and_reference(vehicle_id, reference)
        answer = timeline(inputs, reference=period, basis=basis, include_wear=include_wear)
        if options["json"]:
            self.stdout.write(json.dumps(as_json(answer, typed_ids(inputs)), ensure_ascii=False, indent=1))
            return
        self.stdout.write(
            f"{typed_ids(inputs).vehicle} by {basis}, against {period.label} ({period.edtf}). A step marked * was found out, not done."
        )
        for step in answer.steps:
            level = step.level
            self.stdout.write(
                f"{iso(step.start)}{'*' if step.recorded else ' '} {shown_low(level.low):>6} to {shown_high(level.high):>6} %, "
                f"best {shown(level.best):>6}, assessed {shown(level.assessed_share):>6}"
            )
