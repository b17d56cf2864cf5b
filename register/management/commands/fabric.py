"""The retained original fabric of a vehicle: bounds first, and how it is made up."""

from __future__ import annotations

import json
from typing import Any

from django.core.management.base import CommandParser

from register.fabric.figures import VehicleFigures, figures
from register.fabric.figures_json import as_json
from register.management.commands._sentences import SayingCommand, add_figure_options, day_from
from register.services.figures import inputs_and_reference, typed_ids


class Command(SayingCommand):
    help = "The retained original fabric of a vehicle, with bounds."

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
        day = day_from(as_at)
        inputs, period = inputs_and_reference(vehicle_id, reference)
        answer = figures(
            inputs,
            day=day.toordinal(),
            reference=period,
            basis=basis,
            evidence_floor=evidence_floor,
            include_wear=include_wear,
            visibility=visibility,
        )
        if options["json"]:
            self.stdout.write(json.dumps(as_json(answer, typed_ids(inputs)), ensure_ascii=False, indent=1))
        else:
            for line in in_words(answer, typed_ids(inputs).vehicle):
                self.stdout.write(line)


def in_words(answer: VehicleFigures, vehicle: str) -> list[str]:
    """The answer for a terminal."""
    from register.documents.figure_view import command_lines

    return command_lines(answer, vehicle)
