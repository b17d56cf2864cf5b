"""A mass shared out in whole grams: the shares add up exactly to the whole, low, best and high each.

Where all shares have the same status, the fabric figures by mass are then the same before and after: best and
composition are sums of w_best·f_best, and the bounds move every weight of one f together.
"""

from __future__ import annotations

from collections.abc import Sequence

from register.fabric.interval import Interval


def shared(whole: int, weights: Sequence[int]) -> list[int]:
    """``whole`` in proportion to ``weights``, in whole numbers by the largest remainder, earlier ones first
    where remainders are equal. Equal parts where the weights are all 0. ValueError for no weights."""
    if not weights:
        raise ValueError("nothing to share among")
    total = sum(weights)
    if not total:
        weights, total = [1] * len(weights), len(weights)
    found = [whole * weight // total for weight in weights]
    remainders = [whole * weight % total for weight in weights]
    order = sorted(range(len(weights)), key=lambda at: (-remainders[at], at))
    for at in order[: whole - sum(found)]:
        found[at] += 1
    return found


def mass_shares(whole: Interval, bests: Sequence[int]) -> list[Interval]:
    """The masses with these best values, which add up to the best of the whole; its low and its high go in
    proportion. ValueError where they do not add up.

    Each share is in order: a low share is at most its best rounded up, which is its best, and a high share at
    least its best, since low ≤ best ≤ high holds for the whole.
    """
    if whole.best is None or sum(bests) != whole.best:
        raise ValueError(f"{sum(bests)} g are shared out of {whole.best} g")
    lows, highs = shared(whole.low, bests), shared(whole.high, bests)
    return [Interval(*three) for three in zip(lows, bests, highs, strict=True)]
