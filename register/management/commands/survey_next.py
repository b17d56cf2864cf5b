"""What to find out next: which unknown narrows the bounds most."""

from __future__ import annotations

import json
from typing import Any

from django.core.management.base import CommandParser

from register.fabric.figures import figures
from register.fabric.figures_json import as_json
from register.fabric.rounding import shown
from register.fabric.survey import survey
from register.management.commands._sentences import SayingCommand, add_figure_options, day_from
from register.services.figures import inputs_and_reference, typed_ids

FIRST = 20


class Command(SayingCommand):
    help = "What to find out next: by how much knowing each part would narrow the bounds."

    def add_arguments(self, parser: CommandParser) -> None:
        add_figure_options(parser)

    def run(
        self,
        *,
        vehicle_id: str,
        as_at: str | None,
        reference: str | None,
        basis: str,
        evidence_floor: int,
        visibility: str | None,
        include_wear: bool,
        **options: Any,
    ) -> None:
        day = day_from(as_at).toordinal()
        inputs, period = inputs_and_reference(vehicle_id, reference)
        answer = survey(
            figures(
                inputs,
                day=day,
                reference=period,
                basis=basis,
                evidence_floor=evidence_floor,
                include_wear=include_wear,
                visibility=visibility,
            )
        )
        ids = typed_ids(inputs)
        if options["json"]:
            self.stdout.write(json.dumps(as_json(answer, ids), ensure_ascii=False, indent=1))
            return
        self.stdout.write(
            f"The bounds of {ids.vehicle} by {basis} are {shown(answer.width)} points wide. Knowing these would narrow them:"
        )
        for one in answer.parts[:FIRST]:
            gain = f"{shown(one.gain)} points" if one.gain is not None else "no gain"
            self.stdout.write(
                f"  {ids.positions[one.position]}, {ids.parts[one.part] if one.part else 'not known'}: {gain} ({one.why})"
            )
        if len(answer.parts) > FIRST:
            self.stdout.write(f"  and {len(answer.parts) - FIRST} more; --json lists all.")
