"""What must be said beside a stand-in before somebody relies on it."""

from stopgap.swatches import Finish, Swatch, Target


def lightfastness_caution(target: Target, swatch: Swatch) -> str:
    """Why the stand-in may fade sooner than the target, empty where it is known not to."""
    if swatch.finish is Finish.FLUORESCENT:
        return "fluorescent colours fade"
    if swatch.lightfastness is None:
        return "lightfastness unknown"
    wanted = target.lightfastness if isinstance(target, Swatch) else None
    if wanted is None:
        return ""
    enough = swatch.lightfastness.is_at_least(wanted)
    if enough is None:
        return f"lightfastness {swatch.lightfastness}, not comparable with {wanted}"
    return "" if enough else f"less lightfast: {swatch.lightfastness}, the target {wanted}"
