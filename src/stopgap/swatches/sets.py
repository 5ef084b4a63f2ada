"""Sets that pencils are sold in together, at one price for all."""

import json
import re
from typing import Any, NamedTuple

from stopgap.swatches.kinds import FieldKind, Number

_PRICED = re.compile(r"(.*\S)\s*=\s*(\d+\.?\d*|\.\d+)", re.ASCII)


class SoldSet(NamedTuple):
    """A set that a pencil is sold in, and what all of it costs, None where its row does not say."""

    name: str
    price: float | None = None

    def __str__(self) -> str:
        return self.name if self.price is None else f"{self.name} = {self.price:g}"


class Sets(FieldKind):
    """The sets that a pencil is sold in, each with its price beside it or in its own column."""

    expected = "names of sets with ; between them, and in set_price as many prices"
    as_stored = False

    def titles(self, name: str) -> tuple[str, ...]:
        """The names, and beside them the prices."""
        del name
        return ("set", "set_price")

    def columns(self, name: str) -> tuple[str, ...]:
        """One column, since `set` is a word of SQL."""
        return (name,)

    def read(self, *cells: str) -> Any:
        """The sets in their order, such as `Shore = 18.50; Large tin`, none of them twice."""
        parts = [part.strip() for part in cells[0].split(";")]
        beside = [part.strip() for part in cells[1].split(";")] if any(cells[1:]) else []
        priced = [_PRICED.fullmatch(part) for part in parts]
        each = [told.groups() if told else (part, "") for told, part in zip(priced, parts)]
        names, prices = zip(*each)
        if beside and (any(prices) or len(beside) != len(names)):
            raise ValueError(cells[0])
        if not all(names) or len(set(map(str.casefold, names))) < len(names):
            raise ValueError(cells[0])
        return tuple(map(SoldSet, names, map(self._cost, beside or prices)))

    def _cost(self, price: str) -> float | None:
        return float(Number(0.0, None, self.expected).read(price)) if price else None

    def written(self, value: Any) -> tuple[str, ...]:
        """The names, and the prices where there is any."""
        prices = ["" if one.price is None else repr(one.price) for one in value]
        return ("; ".join(one.name for one in value), "; ".join(prices) if any(prices) else "")

    def stored(self, value: Any) -> tuple[Any, ...]:
        """As JSON, empty for none."""
        return (json.dumps(value, ensure_ascii=False) if value else "",)

    def restored(self, *stored: Any) -> Any:
        """The sets."""
        found = [SoldSet(name, price) for name, price in json.loads(stored[0] or "[]")]
        return self.read(*self.written(found)) if found else ()

    def told(self, value: Any) -> Any:
        """Names and prices in one text."""
        return "; ".join(map(str, value))
