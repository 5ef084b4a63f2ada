"""Which swatches may be offered: owned, from some ranges, of a finish, still made, lightfast.

And what speaks against one that is: every answer marks it with the same words.
"""

from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import replace
from itertools import compress
from typing import Any, NamedTuple

from stopgap.errors import Note
from stopgap.swatches.fields import Finish, Stock
from stopgap.swatches.lightfastness import Lightfastness, LightfastnessScale, meets
from stopgap.swatches.swatch import FreeColour, Swatch, Target

_MOST_KEPT = 12


class Swatches(tuple[Swatch, ...]):
    """Swatches of which much is asked: what is reckoned of all of them is reckoned once.

    Threads may ask at once; what two reckon then is the same. `before` are the same pencils as they
    were before some were owned, or no longer were.
    """

    before: "Swatches | None" = None
    _changed: Sequence[int] = ()  # places in which these differ from `before`
    _admitted: Sequence[bool] = ()  # of those these were chosen from, which these are

    def once(
        self, what: Hashable, reckon: Callable[[], Any], *, however_owned: bool = False
    ) -> Any:
        """What `reckon` gives, which nobody changes; the latest few are kept by `what` they are.

        What is the same `however_owned` they are is taken over from `before`.
        """
        kept: dict[Hashable, Any] = self.__dict__.setdefault("kept", {})
        found = kept.get(what)
        if found is None:
            for old in [*kept][: 1 - _MOST_KEPT]:
                kept.pop(old, None)
            before = self.before  # which another thread may take away
            known = None if before is None else before.__dict__.get("kept", {}).get(what)
            found = known if however_owned and known is not None else reckon()
            if isinstance(found, Swatches) and isinstance(known, Swatches):
                found.follow(known)
            kept[what] = found
        return found

    def follow(self, before: Sequence[Swatch]) -> None:
        """Take over what is the same from others, where these differ in being owned alone."""
        if not isinstance(before, Swatches) or len(self) != len(before):
            return
        changed = [at for at, (one, its) in enumerate(zip(self, before)) if one is not its]
        if all(_same_but_owned(self[at], before[at]) for at in changed):
            self._changed = changed
            self.before, before.before = before, None

    def admitted(self, selection: "Selection") -> "Swatches":
        """Those that may be offered; of what is the same as `before` nothing is asked again."""
        before = self.before
        known = None if before is None else before.__dict__.get("kept", {}).get(selection)
        which = [*known._admitted] if known else [*map(selection.admits, self)]
        for at in self._changed if known else ():
            which[at] = selection.admits(self[at])
        found = Swatches(compress(self, which))
        found._admitted = which
        return found


def _same_but_owned(one: Swatch, other: Swatch) -> bool:
    return replace(one, owned=other.owned, stock=other.stock) == other


class Selection(NamedTuple):
    """What a candidate must be. By default: any range, plain, and current or owned.

    Owned are pencils of which something is left. A discontinued shade that is owned can be laid, so
    it is always a candidate. `lightfast` is the least rating on each scale; a swatch that is not
    rated, or on another scale, cannot be shown to reach it and is left out. `among` are the
    addresses of all that may be offered at all, where given. `for_laydown` leaves out what lays
    badly, and asks that what lays badly is replaced by what is known to lay better.
    """

    owned: bool = False
    ranges: tuple[str, ...] = ()
    finishes: tuple[Finish, ...] = (Finish.PLAIN,)
    include_discontinued: bool = False
    lightfast: tuple[Lightfastness, ...] = ()
    among: frozenset[str] | None = None
    for_laydown: bool = False

    def admits(self, swatch: Swatch) -> bool:
        """Whether a swatch may be offered."""
        if self.owned and not swatch.at_hand:
            return False
        if self.for_laydown and swatch.lays_badly:
            return False
        if self.among is not None and swatch.address not in self.among:
            return False
        if self.ranges and swatch.range.casefold() not in map(str.casefold, self.ranges):
            return False
        if swatch.finish not in self.finishes:
            return False
        if swatch.discontinued and not (swatch.at_hand or self.include_discontinued):
            return False
        return not self.lightfast or meets(swatch.lightfastness, self.lightfast)

    def of(self, swatches: Sequence[Swatch]) -> tuple[Swatch, ...]:
        """The swatches that may be offered, in their order."""
        if isinstance(swatches, Swatches):
            found: Swatches = swatches.once(self, lambda: swatches.admitted(self))
            return found
        return tuple(filter(self.admits, swatches))

    def at_hand(self, swatches: Sequence[Swatch]) -> tuple[tuple[Swatch, ...], tuple[Note, ...]]:
        """As `of`, but that everything counts as owned where nothing at all is marked so yet.

        The note says so.
        """
        if not self.owned or any(swatch.owned for swatch in swatches):
            return self.of(swatches), ()
        note = Note("Nothing is marked as owned yet, so every pencil counts as yours.")
        return self._replace(owned=False).of(swatches), (note,)

    @property
    def at_home(self) -> "Selection":
        """What is owned, as lightfast and laying as well as is asked here."""
        return Selection(owned=True, lightfast=self.lightfast, for_laydown=self.for_laydown)

    def rule_notes(self, swatches: Iterable[Swatch]) -> tuple[Note, ...]:
        """What the rule of lightfastness leaves out of those that could be used; none without it.

        A swatch is left out as it is rated too low, or as it is not rated on these scales.
        """
        if not self.lightfast:
            return ()
        every = self._replace(lightfast=())
        out = [one for one in swatches if every.admits(one) and not self.admits(one)]
        scales = {least.scale for least in self.lightfast}
        ratings = [one.lightfastness for one in out if one.lightfastness is not None]
        low = sum(rating.scale in scales for rating in ratings)
        are = "is" if low == 1 else "are"
        return (
            Note(
                f"Only pencils rated {' or '.join(map(str, self.lightfast))} at least: {low} {are} "
                f"rated lower, {len(out) - low} not on that scale or not at all. A rating is the "
                "maker's or the standard's, no promise for sold work: read the label, and test "
                "your own."
            ),
        )


_MOST_NAMED = 5


def marks_of(swatch: Swatch) -> tuple[str, ...]:
    """What speaks against a pencil that is offered, in a few words each; nothing of most.

    That the user avoids it, that it lays badly, that it is weak on its scale of lightfastness, and
    that little or nothing is left of it.
    """
    return tuple(
        mark
        for mark in (
            f"avoided: {swatch.avoid}".removesuffix(": yes") if swatch.avoid else "",
            f"lays badly: {swatch.laydown} of 5" if swatch.lays_badly else "",
            "fades soon" if swatch.fades_soon else "",
            "a stub" if swatch.stock is Stock.STUB else "",
            "empty" if swatch.stock is Stock.EMPTY else "",
        )
        if mark
    )


def mark_sentences(used: Iterable[Swatch]) -> list[str]:
    """The same of pencils that something leans on, a sentence for each kind of mark."""
    pencils = {swatch.address: swatch for swatch in used}.values()
    found = []
    for has, one, several in (
        (lambda each: each.avoid, "is to be avoided", "are to be avoided"),
        (lambda each: each.lays_badly, "lays badly", "lay badly"),
        (lambda each: each.fades_soon, "fades soon", "fade soon"),
        (lambda each: each.stock is Stock.STUB, "is a stub", "are stubs"),
        (lambda each: each.stock is Stock.EMPTY, "is empty", "are empty"),
    ):
        marked = [swatch for swatch in pencils if has(swatch)]
        if marked:
            found.append(f"{_named(marked)} {one if len(marked) == 1 else several}.")
    return found


def mark_notes(used: Iterable[Swatch]) -> tuple[Note, ...]:
    """The same as remarks below an answer."""
    return tuple(map(Note, mark_sentences(used)))


def rated_or_colour(target: Target, rule: Sequence[Lightfastness]) -> Target:
    """A target as it is, but of a pencil that is not rated as the rule asks the colour alone."""
    if not isinstance(target, Swatch) or meets(target.lightfastness, rule):
        return target
    return FreeColour(target.address, target.lab)


def unrated_notes(targets: Iterable[Target], rule: Sequence[Lightfastness]) -> tuple[Note, ...]:
    """Of which targets only the colour counts by the rule."""
    out = [one for one in targets if rated_or_colour(one, rule) is not one]
    named = ", ".join(one.address for one in out if isinstance(one, Swatch))
    return (Note(f"Only the colour of {named} counts: it is not rated as asked."),) if out else ()


def fades_sooner(target: Target | None, swatch: Swatch) -> str:
    """That a swatch is rated lower than the pencil it stands for, on the same scale; else empty."""
    if not isinstance(target, Swatch) or target.address == swatch.address:
        return ""
    if as_lightfast(swatch, target) is not False:
        return ""
    return f"less lightfast: {swatch.lightfastness}, {target.address} {target.lightfastness}"


def as_lightfast(swatch: Swatch, other: Swatch) -> bool | None:
    """Whether a swatch is rated as high as another; None where nobody can say.

    Marks of a maker's own are compared within one range.
    """
    wanted, has = other.lightfastness, swatch.lightfastness
    if wanted is None or has is None:
        return None
    if has.scale is LightfastnessScale.OWN and other.range != swatch.range:
        return None
    return has.is_at_least(wanted)


def makes_needless(owned: Swatch, other: Swatch) -> bool:
    """Whether an owned pencil does all that another of its colour would.

    It has the same core and was swatched in the same state, is shown to be as lightfast, and
    nothing, such as that it is a stub, speaks against it alone. What is not known of the other one
    is no reason to have it.
    """
    return (
        other.core in (None, owned.core)
        and owned.state is other.state
        and (other.lightfastness is None or as_lightfast(owned, other) is True)
        and set(marks_of(owned)) <= set(marks_of(other))
    )


def used_up_notes(swatches: Iterable[Swatch]) -> tuple[Note, ...]:
    """Which owned pencils an answer does without, since nothing is left of them."""
    gone = [swatch for swatch in swatches if swatch.owned and not swatch.at_hand]
    return (Note(f"Used up, so not counted as yours: {_named(gone)}."),) if gone else ()


def avoided_notes(swatches: Iterable[Swatch]) -> tuple[Note, ...]:
    """Which pencils that run out are not bought again, since the user avoids them."""
    avoided = [swatch for swatch in swatches if swatch.avoid]
    return (Note(f"Avoided, so not bought again: {_named(avoided)}."),) if avoided else ()


def _named(swatches: Sequence[Swatch]) -> str:
    """Their addresses; of many the first few and how many more."""
    named = [swatch.address for swatch in swatches[:_MOST_NAMED]]
    if len(swatches) > _MOST_NAMED:
        return f"{', '.join(named)} and {len(swatches) - _MOST_NAMED} more"
    *first, last = named
    return f"{', '.join(first)} and {last}" if first else last
