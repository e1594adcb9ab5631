"""Labels that must not lie over each other: moved as little as can be, or left out where there is no room."""

from collections.abc import Sequence


def spread(centres: Sequence[float], sizes: Sequence[float], low: float, high: float, gap: float = 0.0) -> list[float]:
    """Centres of labels along one line, in the order given, each as near to its wish as the others allow.

    centres : wishes, not decreasing
    sizes : how much room each takes
    low, high : the line's ends; where all together do not fit, they begin at ``low`` and run over

    Labels that touch are moved as one to the mean of their wishes (pool adjacent violators).
    """
    offsets, reach = [], 0.0
    for size in sizes:
        offsets.append(reach + size / 2)
        reach += size + gap
    room = max(high - low - (reach - gap), 0.0) if sizes else 0.0
    pools: list[tuple[float, int]] = []
    for centre, offset in zip(centres, offsets, strict=True):
        mean, count = centre - offset, 1
        while pools and pools[-1][0] > mean:
            before, many = pools.pop()
            mean, count = (mean * count + before * many) / (count + many), count + many
        pools.append((mean, count))
    found = [min(max(mean, low), low + room) for mean, count in pools for _ in range(count)]
    return [base + offset for base, offset in zip(found, offsets, strict=True)]


def free_place(low: float, high: float, size: float, taken: Sequence[tuple[float, float]]) -> float | None:
    """Centre of the largest free part of a stretch, or None if no part holds a label of this size."""
    cuts = [low]
    for begin, end in sorted(taken):
        cuts += [min(max(begin, low), high), min(max(end, low), high)]
    cuts.append(high)
    parts = [(b - a, (a + b) / 2) for a, b in zip(cuts[::2], cuts[1::2], strict=True)]
    room, centre = max(parts)
    return centre if room >= size else None
