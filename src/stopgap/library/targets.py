"""Text to target: `RANGE:CODE`, `RANGE:NAME`, a bare code or name, `#rrggbb`, `lab(52 40 30)`."""

from collections.abc import Iterable, Sequence

from stopgap.errors import InputError, Remedy, UnknownSwatchError, nearest_spellings
from stopgap.swatches import FreeColour, Swatch, Target

_MOST_LISTED = 6


def find_target(text: str, swatches: Sequence[Swatch], wet: Sequence[Swatch] = ()) -> Target:
    """The colour that `text` asks for: a colour notation, else one of `swatches`.

    `wet` are pencils that were never swatched dry and so have no colour, to be told from unknown.

    Raises
    ------
    InputError
        If it is a malformed colour, or a name that several swatches bear.
    UnknownSwatchError
        If nothing bears the name, whose nearest spellings are named, or only a pencil of `wet`.
    """
    if "#" in text or "(" in text:  # in each notation of a colour there is one of them
        from stopgap.colorimetry import parse_colour

        lab = parse_colour(text.strip())
        if lab is not None:
            L, a, b = (float(value) for value in lab)
            return FreeColour(text.strip(), (L, a, b))
    return find_swatch(text, swatches, wet)


def find_swatch(text: str, swatches: Sequence[Swatch], wet: Sequence[Swatch] = ()) -> Swatch:
    """The one swatch that `text` names; raises as `find_target` does."""
    wanted = text.strip()
    if not wanted:
        raise InputError("target: expected RANGE:CODE, a name, #rrggbb or lab(L a b).")
    exact = _bearing(wanted, swatches, fold=False)
    found = exact or _bearing(wanted, swatches, fold=True)
    if len(found) == 1:
        return found[0]
    if found:
        listed = ", ".join(_shown(swatch) for swatch in found[:_MOST_LISTED])
        more = f" and {len(found) - _MOST_LISTED} more" if len(found) > _MOST_LISTED else ""
        raise InputError(
            f"{wanted!r} is the name of several: {listed}{more}. Say which, RANGE:CODE."
        )
    undried = _bearing(wanted, wet, fold=True)
    if undried:
        first = undried[0]
        raise UnknownSwatchError(
            f"{_shown(first)} was never swatched dry, and a wetted swatch tells nothing of dry "
            "colour.",
            remedy=Remedy.SWATCH_DRY,
            pencil=f"{first.range} {first.code}",
        )
    known = [
        text
        for swatch in swatches
        for text in (swatch.address, f"{swatch.range}:{swatch.name}", swatch.code, swatch.name)
    ]
    raise UnknownSwatchError(
        f"No swatch is called {wanted!r}.{nearest_spellings(wanted, known)} A colour of its own is "
        "written #rrggbb or lab(52 40 30)."
    )


def _bearing(wanted: str, swatches: Iterable[Swatch], *, fold: bool) -> list[Swatch]:
    """Swatches called so: by address first, and by a code before a name."""

    def same(one: str) -> bool:
        return one.casefold() == wanted.casefold() if fold else one == wanted

    by_address, by_code, by_name = [], [], []
    for swatch in swatches:
        if same(swatch.address) or same(f"{swatch.range}:{swatch.name}"):
            by_address.append(swatch)
        elif same(swatch.code):
            by_code.append(swatch)
        elif swatch.name and same(swatch.name):
            by_name.append(swatch)
    return by_address or by_code or by_name


def _shown(swatch: Swatch) -> str:
    return f"{swatch.address} ({swatch.name})" if swatch.name else swatch.address
