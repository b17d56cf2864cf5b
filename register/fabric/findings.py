"""What does not agree in the records of a vehicle: each finding says what is wrong, what to do, and which form does it.

A further finding is a function over the facts, and a row of ``CHECKS`` in ``findings_vehicle`` or ``findings_part``.
"""

from __future__ import annotations

from register.fabric import findings_part, findings_vehicle
from register.fabric.finding_facts import Finding, VehicleFacts

CHECKS = (*findings_vehicle.CHECKS, *findings_part.CHECKS)


def findings(facts: VehicleFacts, day: int) -> list[Finding]:
    """In the order of the checks, and of the ids within one."""
    found: list[Finding] = []
    for check in CHECKS:
        found += sorted(check(facts, day), key=lambda one: (one.code, one.key, one.message))
    return found
