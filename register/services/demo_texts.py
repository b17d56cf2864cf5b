"""The demo's policies, and what its vehicles are worth in words."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

from register.exchange.values import key_of
from register.models import SignificanceText, User, Vehicle, VehiclePolicy
from register.services.significance_texts import WHOLE, put_significance
from register.services.vehicle_policies import put_policy


def load_texts(path: Path, *, officer: User, at: datetime | None = None) -> int:
    """Write what the file holds, unless there is any of it already; how many texts there were. Raises Refused."""
    if VehiclePolicy.objects.exists() or SignificanceText.objects.exists():
        return 0
    told = json.loads(path.read_text(encoding="utf-8"))
    vehicles = {one.code: one for one in Vehicle.objects.all()}
    for one in told["policies"]:
        put_policy(vehicles[one["vehicle"]], one, user=officer, at=at)
    for one in told["significance"]:
        position = key_of(one["position"]) if "position" in one else WHOLE
        put_significance(vehicles[one["vehicle"]], position, one, user=officer, at=at)
    return len(told["policies"]) + len(told["significance"])
