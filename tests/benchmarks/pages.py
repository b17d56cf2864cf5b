"""Pages, their queries, and the memory of what they are made of: G1, G2, G12."""

from __future__ import annotations

from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.benchmarks.kit import DAY, Result, best_of, fetchall, first_and_again, forget, signed_in, use


def g1() -> Result:
    use("v4000", 4000)
    client = signed_in()
    client.get("/vehicles/v0/")
    first, again = first_and_again(lambda: client.get("/vehicles/v0/"), 5)
    bare = best_of(fetchall("v0"), 9)
    return Result("G1", "as-at page of a 4,000-position vehicle, request to last byte",
                  f"{again / bare:.1f} × fetchall ({again * 1000:.0f} ms, {bare * 1000:.0f} ms); {first / bare:.1f} × right after a change of her records",
                  "≤ 3 × fetchall + 10 ms", again <= 3 * bare + 0.010)  # fmt: skip


def g2() -> Result:
    counts = {}
    for positions in (250, 4000):
        use(f"v{positions}", positions)
        client = signed_in()
        for address in ("/", "/vehicles/v0/", "/vehicles/v0/figures/", "/parts/"):
            client.get(address)
            with CaptureQueriesContext(connection) as queries:
                client.get(address)
            counts.setdefault(address, []).append(len(queries))
    same = all(few == many for few, many in counts.values())
    most = max(max(pair) for pair in counts.values())
    return Result("G2", "SQL queries of the fleet, a vehicle, its computation and the parts", f"at most {most}, {'the same' if same else 'not the same'} at 250 and 4,000 positions",
                  "the same, ≤ 12", same and most <= 12)


def g12() -> Result:
    import tracemalloc

    from register.services.vehicle_page import Question, account_of

    use("v4000", 4000)
    account_of("v0", Question(DAY))
    forget()
    tracemalloc.start()
    account = account_of("v0", Question(DAY))
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    rows = len(account.inputs.installations)
    return Result("G12", "memory of an as-at evaluation on three bases", f"{peak / rows / 1000:.1f} kB a row in force at its peak", "≤ 2 kB", peak / rows <= 2000)


GOALS = (g1, g2, g12)
