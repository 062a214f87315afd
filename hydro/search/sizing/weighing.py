"""Designs against each other: which none beats in everything (Pareto), and a short list that shows the spread of them."""

from __future__ import annotations

from collections.abc import Sequence

Costs = tuple[float, ...]
EVEN = "even in everything"


def tidy(costs: Sequence[float]) -> Costs:
    """Return costs to six figures: closer than that they are one, whichever way they were worked out."""
    return tuple(float(f"{cost:.6g}") for cost in costs)


def beats(one: Costs, other: Costs) -> bool:
    """Whether one is nowhere worse and somewhere better, less being better."""
    return one != other and all(a <= b for a, b in zip(one, other, strict=True))


def front(costs: Sequence[Costs], ties: Sequence[int]) -> list[int]:
    """Return the places of those that no other beats, in order; of equal ones that with the least in `ties`, else the first."""
    kept: list[int] = []
    for n in sorted(range(len(costs)), key=lambda k: (costs[k], ties[k], k)):
        # Whatever may beat it has been looked at: it comes no later in the order of costs.
        if not any(costs[k] == costs[n] or beats(costs[k], costs[n]) for k in kept):
            kept.append(n)
    return sorted(kept)


def normalized(costs: Sequence[Costs]) -> list[Costs]:
    """Return costs brought to 0 (best of all) .. 1 (worst); a figure in which all are equal is 0."""
    lows = [min(column) for column in zip(*costs, strict=True)]
    highs = [max(column) for column in zip(*costs, strict=True)]
    return [tuple((c - low) / (high - low) if high > low else 0.0 for c, low, high in zip(one, lows, highs, strict=True))
            for one in costs]


def short_list(costs: Sequence[Costs], most: int) -> list[tuple[int, str]]:
    """Return at most so many places: the even one, which is named so, the best by each figure, then the farthest off."""
    if not costs:
        return []
    scaled = normalized(costs)
    order = sorted(range(len(costs)), key=lambda k: (sum(scaled[k]), k))
    chosen = {order[0]: EVEN}
    for column in range(len(costs[0])):
        if min(one[column] for one in costs) < max(one[column] for one in costs):
            chosen.setdefault(min(order, key=lambda k: (costs[k][column], sum(scaled[k]), k)), "")
    while len(chosen) < min(most, len(costs)):
        left = [k for k in order if k not in chosen]
        chosen[max(left, key=lambda k: (min(_apart(scaled[k], scaled[other]) for other in chosen), -sum(scaled[k]), -k))] = ""
    return list(chosen.items())[:most]


def _apart(one: Costs, other: Costs) -> float:
    return sum((a - b) ** 2 for a, b in zip(one, other, strict=True))
