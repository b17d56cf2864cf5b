"""The timeline, what to find out next, and the whole fleet: G3, G4, G6, G7."""

from __future__ import annotations

import math

from tests.benchmarks.kit import DAY, Result, best_of, exponent, fetchall, first_and_again, use


def inputs(positions: int):
    from register.services.inputs import inputs_of

    use(f"v{positions}", positions)
    return inputs_of("v0")


def g3() -> Result:
    from register.fabric.figures import figures
    from register.fabric.timeline import timeline

    sizes, seconds = (1000, 4000, 16000), []
    ratio = 0.0
    for positions in sizes:
        found = inputs(positions)
        reference = found.references[0]
        seconds.append(best_of(lambda found=found, reference=reference: timeline(found, reference=reference, basis="mass"), 4))
        if positions == 4000:
            once = best_of(lambda found=found, reference=reference: figures(found, day=DAY.toordinal(), reference=reference, basis="mass"), 3)
            events = sum(2 if one.removed else 1 for one in found.installations) / len(found.positions)
            ratio = seconds[-1] / once / events
    slope = exponent(sizes, seconds)
    return Result("G3", "timeline with bounds, rows in memory", f"{ratio:.1f} × (E/n) × one as-at at 4,000; exponent {slope:.2f}", "≤ 6 ×; exponent ≤ 1.15", ratio <= 6 and slope <= 1.15)


def g4() -> Result:
    from register.services.vehicle_page import Question, account_of, timeline_of

    use("v4000", 4000)
    first, again = first_and_again(lambda: timeline_of(account_of("v0", Question(DAY))))
    bare = best_of(fetchall("v0"), 9)
    return Result("G4", "timeline from the database, with the figures of the day", f"{again / bare:.1f} × fetching every installation; {first / bare:.1f} × right after a change of her records",
                  "≤ 8 ×", again <= 8 * bare)  # fmt: skip


def g6() -> Result:
    from register.fabric.figures import figures
    from register.fabric.survey import survey

    sizes, seconds, ratio = (1000, 4000, 16000), [], 0.0
    for positions in sizes:
        found = inputs(positions)
        answer = figures(found, day=DAY.toordinal(), reference=found.references[0], basis="mass")
        seconds.append(best_of(lambda answer=answer: survey(answer), 2))
        if positions == 4000:
            once = best_of(lambda found=found: figures(found, day=DAY.toordinal(), reference=found.references[0], basis="mass"), 3)
            ratio = seconds[-1] / once
    slope = exponent(sizes, seconds)
    return Result("G6", "what to find out next, all items, 4,000 positions", f"{ratio:.1f} × one as-at; exponent {slope:.2f}", "≤ 10 ×; exponent ≤ 1.2", ratio <= 10 and slope <= 1.2)


def g7() -> Result:
    from register.models import Vehicle
    from register.services.vehicle_page import fleet_views
    from register.services.vehicle_versions import with_version

    use("fleet", 1000, vehicles=20)

    def views(number: int) -> None:
        for vehicle in with_version(Vehicle.objects.order_by("key"))[:number]:
            fleet_views([vehicle], DAY)

    few, _ = first_and_again(lambda: views(5))
    first, again = first_and_again(lambda: views(20))
    bare = best_of(fetchall("%"), 3)
    slope = math.log(first / few) / math.log(20 / 5)
    return Result("G7", "every vehicle of 20 × 1,000 positions as at one day", f"{again / bare:.1f} × fetchall; {first / bare:.1f} × where every record changed; exponent {slope:.2f} in vehicles",
                  "≤ 2.5 ×; linear", again <= 2.5 * bare and slope <= 1.1)  # fmt: skip


GOALS = (g3, g4, g6, g7)
