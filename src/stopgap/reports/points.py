"""The colours of a blend, in JSON, in words and in strips."""

from collections.abc import Sequence

from stopgap.blends import Blend, Point
from stopgap.reports.blocks import Chip, Strip
from stopgap.reports.stacks import stack_data, stack_labels, stack_words


def blend_strip(found: Blend) -> Strip:
    """A blend as a strip."""
    return Strip(
        [
            Chip((point.lab,), label)
            for point, label in zip(found.points, point_labels(found.points), strict=True)
        ],
        found.steps,
        found.limit,
    )


def point_data(point: Point) -> dict[str, object]:
    """A point of a blend in JSON: a swatch, a recipe, or label and Lab of a bare colour."""
    if point.laid is not None:
        return stack_data(point.laid)
    return {"label": point_label(point), "lab": list(point.lab)}


def point_words(point: Point) -> str:
    """A point of a blend in one line."""
    return point_label(point) if point.laid is None else stack_words(point.laid)


def point_label(point: Point) -> str:
    """A point of a blend in one word: its code, or the notation of a bare colour."""
    if point.laid is not None:
        (label,) = stack_labels([point.laid])
        return label
    L, a, b = point.lab
    return f"lab({L:.0f} {a:.0f} {b:.0f})"


def point_labels(points: Sequence[Point]) -> list[str]:
    """The points of one blend each in one word, with pressures where codes would be the same."""
    laid = iter(stack_labels([point.laid for point in points if point.laid is not None]))
    return [point_label(point) if point.laid is None else next(laid) for point in points]
