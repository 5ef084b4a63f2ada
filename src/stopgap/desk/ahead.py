"""Looking ahead while nobody asks: what the next questions need is worked out, and kept.

Families are ordered, what one's own pencils lay is found, and after a longer rest it is written
where recipes are kept, so that a command, or the desk another day, finds it.
"""

import math
import time
from contextlib import suppress
from threading import Lock, Thread, Timer

from stopgap.desk.asking import EVERY, Desk
from stopgap.desk.forms import Sent
from stopgap.errors import StopgapError, TooLargeError
from stopgap.library import find_asked
from stopgap.planner import (
    Lately,
    Layering,
    keep_lately,
    match_target,
    recipes_beside_lately,
    recipes_under,
    user_filing,
)

_REST, _LONGEST = 0.3, 5.0
"""For how long nobody asks before the desk looks ahead, and how long it waits for that [s]."""
_LONG_REST = 3.0
"""For how long nobody asks before what was found is written [s]."""


class Ahead:
    """What is looked at ahead; nothing is, until it has begun."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.asked = -math.inf
        self._looking, self._following = Lock(), Lock()
        self._begun = self._wanted = False
        self._timer: Timer | None = None

    def begin(self) -> None:
        """Look ahead now, and after each change."""
        self._begun = True
        self._look()

    def somebody_asks(self) -> None:
        """Who asks goes first."""
        self.asked = time.monotonic()

    def changed(self) -> None:
        """Look ahead anew beside the pages; what is asked first, at once."""
        if self._begun:
            Thread(target=self._follow, daemon=True).start()

    def _follow(self) -> None:
        with self._following, suppress(StopgapError):
            make_ready(self.desk)
        self._look()

    def _look(self) -> None:
        """Once at a time; who wants it meanwhile has it looked at again."""
        self._wanted = True
        while self._wanted and self._looking.acquire(blocking=False):
            try:
                self._rest()
                self._wanted = False
                with suppress(StopgapError):
                    prepare(self.desk)
            finally:
                self._looking.release()
            self._keep_later()

    def _rest(self) -> None:
        """Wait until nobody has asked for a while, or for so long that it is to be done anyway."""
        begun = time.monotonic()
        while (now := time.monotonic()) - self.asked < _REST and now - begun < _LONGEST:
            time.sleep(_REST / 4)

    def _keep_later(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
        self._timer = Timer(_LONG_REST, self._keep)
        self._timer.daemon = True
        self._timer.start()

    def _keep(self) -> None:
        if time.monotonic() - self.asked < _LONG_REST:
            self._keep_later()
        else:
            with suppress(StopgapError):
                keep_lately(self.desk.cache)


def make_ready(desk: Desk) -> None:
    """Lay a pencil that has just become one's own with all others, on the usual paper."""
    with desk.reading() as library:
        ground = desk.ground(library, Sent())
        own = desk.selection(library, Sent(), owned=desk.usual.layer_owned)
    if laid := own.of(ground.swatches):
        recipes_beside_lately(ground.conditions, laid, desk.cache)


def prepare(desk: Desk) -> None:
    """Order families, find what can be laid with one's own pencils on the usual paper, and what
    every question of a pencil needs, to be kept for who asks: a pencil that is owned since has
    recipes of its own.
    """
    cache = desk.cache
    lately = cache.lately or Lately()
    with desk.reading() as library:
        ground = desk.ground(library, Sent())
        own = desk.selection(library, Sent(), owned=desk.usual.layer_owned)
        every = desk.selection(library, Sent(), owned=False)
        filing = user_filing(library)
    if laid := own.of(ground.swatches):
        with suppress(TooLargeError):
            with lately.making:  # what is made ready is what was asked here, and nobody since
                index = recipes_under(ground.conditions, laid, cache=cache).index
                lately.make_ready(ground.conditions)
            index.prepare(compiled=False)  # its tree falls where much was added to it
    desk.families(ground, EVERY, filing)
    for one in ground.swatches[:1]:
        layering = Layering(desk.usual.layer_owned, cache=cache)
        find_asked(one.address, ground.known)
        match_target(one, ground, every, layering=layering)
