"""What became of the vehicle as it was at the reference date."""

from __future__ import annotations

import json
from typing import Any

from django.core.management.base import CommandParser

from register.fabric.figures_json import as_json
from register.fabric.rounding import shown, shown_high, shown_low
from register.fabric.survival import survival
from register.management.commands._sentences import SayingCommand, add_question, day_from
from register.services.figures import inputs_and_reference, typed_ids


class Command(SayingCommand):
    help = "What became of the vehicle as it was at the reference date."

    def add_arguments(self, parser: CommandParser) -> None:
        add_question(parser)
        parser.add_argument("--as-at", metavar="DAY", help="an ISO day; today if left out")

    def run(
        self,
        *,
        vehicle_id: str,
        as_at: str | None,
        reference: str | None,
        basis: str,
        include_wear: bool,
        **options: Any,
    ) -> None:
        day = day_from(as_at).toordinal()
        inputs, period = inputs_and_reference(vehicle_id, reference)
        try:
            answer = survival(inputs, day=day, reference=period, basis=basis, include_wear=include_wear)
        except ValueError as error:
            self.fail(str(error))
            return
        if options["json"]:
            self.stdout.write(json.dumps(as_json(answer, typed_ids(inputs)), ensure_ascii=False, indent=1))
            return
        self.stdout.write(
            f"Survival of {typed_ids(inputs).vehicle} {period.label} ({period.edtf}), by {basis}: with this vehicle "
            f"{shown_low(answer.low)} to {shown_high(answer.high)} %."
        )
        for share, value in answer.shares.items():
            self.stdout.write(f"  {share.replace('_', ' ')}: {shown(value)} %")
        self.stdout.write(f"{answer.inventory} parts in the inventory, {answer.unweighted} unweighted.")
