"""What takes longer than a page may wait for: it is worked out beside, and the page laid anew.

Threads do it that end with the program, whatever they are at.
"""

from collections.abc import Callable, Hashable, Sequence
from concurrent.futures import Future
from dataclasses import replace
from operator import attrgetter
from threading import Condition, Lock, Thread
from typing import Any

from stopgap.blends import Family, Order, by_lightness, order_once
from stopgap.swatches import Swatch

PATIENCE = 1.0
"""How long a page waits for its answer [s]; then it is shown without, and laid anew."""
_KEPT = 48
"""How many answers are kept."""
_AT_ONCE = 12
"""So many colours are ordered while a page waits."""
_LINES = 256
"""Of how many families it is known that their order is searched."""
_SWATCH = attrgetter("swatch")
Line = tuple[tuple[float, float, float], ...]


class Work:
    """Answers, each worked out once for the same key, the latest kept."""

    def __init__(self, patience: float = PATIENCE) -> None:
        self.patience = patience
        self._kept: dict[Hashable, Future[Any]] = {}
        self._lock = Lock()

    def answer(self, key: Hashable, make: Callable[[], Any]) -> Any:
        """What `make` gives, or raises; None where it takes longer than a page may wait."""
        with self._lock:
            found = self._kept.get(key)
            if found is None:
                found = self._kept[key] = Future()
                for old in [one for one, its in self._kept.items() if its.done()][:-_KEPT]:
                    del self._kept[old]
                Thread(target=_carry_out, args=(found, make), daemon=True).start()
        try:
            return found.result(self.patience)
        except TimeoutError:
            if not found.done():
                return None
            self.forget(key)
            raise
        except BaseException:  # it may go well another time
            self.forget(key)
            raise

    def forget(self, key: Hashable) -> None:
        """Have it worked out anew when it is asked for again."""
        with self._lock:
            self._kept.pop(key, None)


def _carry_out(told: "Future[Any]", make: Callable[[], Any]) -> None:
    try:
        told.set_result(make())
    except BaseException as error:  # noqa: BLE001 (who asks is told)
        told.set_exception(error)


class Orders:
    """Families from light to dark: as they were searched, else by lightness until they are."""

    def __init__(self, patience: float = PATIENCE / 2) -> None:
        self.patience = patience
        self._known: dict[tuple[Line, float], None] = {}
        self._wanted: list[tuple[Line, float]] = []
        self._found = Condition()
        self._searching = False

    def ordering(self, missed: list[tuple[Line, float]]) -> Callable[[Line, float], Order]:
        """How families are ordered now; those that are not searched yet go into `missed`."""

        def ordered(labs: Line, tolerance: float) -> Order:
            if len(labs) <= _AT_ONCE or (labs, tolerance) in self._known:
                return order_once(labs, tolerance)
            missed.append((labs, tolerance))
            return by_lightness(labs)

        return ordered

    def search(self, missed: Sequence[tuple[Line, float]]) -> bool:
        """Have them searched; whether they all are before a page has waited too long."""
        with self._found:
            self._wanted += [one for one in missed if one not in self._wanted]
            if not self._searching:
                self._searching = True
                Thread(target=self._search, daemon=True).start()
            known = self._known
            return self._found.wait_for(lambda: all(map(known.__contains__, missed)), self.patience)

    def _search(self) -> None:
        while True:
            with self._found:
                if not self._wanted:
                    self._searching = False
                    return
                labs, tolerance = self._wanted[0]
            order_once(labs, tolerance)
            with self._found:
                self._wanted.remove((labs, tolerance))
                self._known[labs, tolerance] = None
                for old in list(self._known)[:-_LINES]:
                    del self._known[old]
                self._found.notify_all()


def families_showing(
    found: tuple[Family, ...], were: Sequence[Swatch], now: Sequence[Swatch]
) -> tuple[Family, ...] | None:
    """The families that were `found` of pencils with these as they are now, such as owned; None
    where filing them anew might come to something else.
    """
    if len(were) != len(now):
        return None
    changed: dict[int, Swatch] = {}  # by the very swatch that was filed
    for one, other in zip(were, now):
        if one is not other:
            if _filed_by(one) != _filed_by(other):
                return None
            changed[id(one)] = other
    if not changed:
        return found
    filed = [{*map(id, map(_SWATCH, each.filed))} for each in found]
    if not changed.keys() <= set().union(*filed):
        return None

    def shown(family: Family) -> Family:
        filed = (
            replace(each, swatch=changed.get(id(each.swatch), each.swatch)) for each in family.filed
        )
        guests = (changed.get(id(each), each) for each in family.guests)
        return replace(family, filed=tuple(filed), guests=tuple(guests))

    return tuple(
        each
        if changed.keys().isdisjoint(those) and changed.keys().isdisjoint(map(id, each.guests))
        else shown(each)
        for each, those in zip(found, filed, strict=True)
    )


def _filed_by(swatch: Swatch) -> tuple[object, ...]:
    """What decides where a pencil is filed."""
    return swatch.address, swatch.name, swatch.lab, swatch.finish
