"""Timing several ways of doing the same thing side by side, in one process run."""

import os
import platform
import time
from collections.abc import Callable, Mapping

import numpy as np


def interleaved(
    ways: Mapping[str, Callable[[int], object]],
    rounds: Mapping[str, int],
    clock: Callable[[], float] = time.perf_counter,
):
    """Seconds of each call by a clock, way by way in turn: {name: array (rounds,)}.

    A way is called with the number of the round. Taking turns lets all ways suffer alike from
    whatever else the machine does; one call of each comes first and does not count.
    """
    seconds = {name: [] for name in ways}
    for round_number in range(-1, max(rounds.values())):
        for name, way in ways.items():
            if round_number >= rounds[name]:
                continue
            start = clock()
            way(max(round_number, 0))
            if round_number >= 0:
                seconds[name].append(clock() - start)
    return {name: np.array(values) for name, values in seconds.items()}


def machine() -> str:
    """What this was measured on."""
    load = ", ".join(f"{value:.1f}" for value in os.getloadavg())
    return (
        f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, "
        f"numpy {np.__version__}, load {load}, {time.strftime('%Y-%m-%d')}"
    )


def table(header: tuple[str, ...], rows: list[tuple[str, ...]]) -> str:
    """Columns as wide as their widest cell, the first to the left, the others to the right."""
    widths = [max(map(len, column)) for column in zip(header, *rows, strict=True)]

    def line(cells: tuple[str, ...]) -> str:
        first, *others = (
            f"{cell:{'<' if place == 0 else '>'}{width}}"
            for place, (cell, width) in enumerate(zip(cells, widths, strict=True))
        )
        return "  ".join([first, *others])

    return "\n".join([line(header), line(tuple("-" * width for width in widths)), *map(line, rows)])


def short(seconds: float) -> str:
    """A time to three figures, in a unit that fits."""
    for unit, size in (("s", 1.0), ("ms", 1e-3)):
        if seconds >= size:
            return f"{seconds / size:.3g} {unit}"
    return f"{seconds / 1e-6:.3g} us"
