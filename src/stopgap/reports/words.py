"""A swatch or a target in one line."""

from collections.abc import Sequence

from stopgap.naming import iscc_nbs
from stopgap.swatches import Finish, Swatch, Target


def target_words(target: Target) -> str:
    """A target in one line: what it is called, its Lab, and its name by ISCC-NBS."""
    L, a, b = target.lab
    lab = f"lab({L:.1f} {a:.1f} {b:.1f})"
    called = swatch_words(target) if isinstance(target, Swatch) else target.label
    parts = [*([] if called.startswith("lab(") else [called]), lab, str(iscc_nbs(target.lab))]
    return ", ".join(parts)


def swatch_words(swatch: Swatch) -> str:
    """A swatch in one line: address, name, and whether it is owned, discontinued or special."""
    named = " ".join(part for part in (swatch.address, swatch.name) if part)
    marks = swatch_marks(swatch)
    return f"{named} ({marks})" if marks else named


def swatch_marks(swatch: Swatch) -> str:
    """What must be seen of a swatch at a glance, parted by commas."""
    marks = [
        *(["owned"] if swatch.owned else []),
        *(["discontinued"] if swatch.discontinued else []),
        *([str(swatch.finish)] if swatch.finish is not Finish.PLAIN else []),
    ]
    return ", ".join(marks)


def triple_words(values: Sequence[float], sign: str = "+") -> str:
    """Three numbers, parted by commas."""
    return ", ".join(f"{value:{sign}.2f}" for value in values)
