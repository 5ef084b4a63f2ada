"""Kinds of arguments: how they are completed by the shell and turned into values."""

from collections.abc import Iterable
from enum import StrEnum
from typing import TYPE_CHECKING, Any

import click

from stopgap.cli.session import Session
from stopgap.errors import InputError, StopgapError

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

    from stopgap.swatches import Swatch


class RangeName(click.ParamType):
    """The name of a range, completed from the library."""

    name = "range"

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> "list[CompletionItem]":
        """Names that begin so."""
        del param
        names = dict.fromkeys(swatch.range for swatch in _swatches(ctx))
        return completed(names, incomplete)


class SwatchCode(click.ParamType):
    """A code in the range that was named before it."""

    name = "code"

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> "list[CompletionItem]":
        """Codes that begin so, with the pencils' names."""
        del param
        wanted = str(ctx.params.get("range_name") or "").casefold()
        return [
            _item(swatch.code, swatch.name)
            for swatch in _swatches(ctx)
            if swatch.range.casefold() == wanted and _begins(swatch.code, incomplete)
        ]


class TargetText(click.ParamType):
    """A target; the range is completed first, then the codes in it."""

    name = "target"

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> "list[CompletionItem]":
        """Ranges while several begin so, then addresses in the one that is left."""
        del param
        swatches = [swatch for swatch in _swatches(ctx) if _begins(swatch.address, incomplete)]
        ranges = dict.fromkeys(swatch.range for swatch in swatches)
        if len(ranges) > 1:
            return [_item(f"{name}:") for name in ranges]
        return [_item(swatch.address, swatch.name) for swatch in swatches]


class MetricName(click.ParamType):
    """A colour difference of METRICS."""

    name = "metric"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """The name as METRICS has it."""
        if param is not None and value == param.default:
            return str(value)
        from stopgap.difference import metric_name

        try:
            return metric_name(str(value))
        except InputError as error:
            self.fail(str(error), param, ctx)

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> "list[CompletionItem]":
        """Metrics that begin so."""
        del ctx, param
        from stopgap.difference import METRICS

        return [
            _item(name, metric.about)
            for name, metric in METRICS.items()
            if _begins(name, incomplete)
        ]


class IlluminantName(click.ParamType):
    """A CIE illuminant, by its name."""

    name = "illuminant"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """The name as the CIE writes it."""
        from stopgap.colorimetry import illuminant_name

        try:
            return illuminant_name(str(value))
        except InputError as error:
            self.fail(str(error), param, ctx)

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> "list[CompletionItem]":
        """Illuminants that begin so."""
        del ctx, param
        from stopgap.colorimetry import WHITES

        return completed(WHITES, incomplete)


class LightfastnessText(click.ParamType):
    """A rating with its scale, such as `ASTM II` or `BWS 6`."""

    name = "rating"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The rating."""
        from stopgap.swatches import Lightfastness

        try:
            return value if isinstance(value, Lightfastness) else Lightfastness.parse(str(value))
        except InputError as error:
            self.fail(str(error), param, ctx)


def words(choices: type[StrEnum]) -> "click.Choice[str]":
    """The values of an enumeration as a choice."""
    return click.Choice([str(choice) for choice in choices], case_sensitive=False)


def completed(names: Iterable[str], incomplete: str) -> "list[CompletionItem]":
    """Those of some names that begin so."""
    return [_item(name) for name in names if _begins(name, incomplete)]


def _item(value: str, about: str = "") -> "CompletionItem":
    """A completion without the control characters that a stranger's file may hold."""
    from click.shell_completion import CompletionItem

    from stopgap.reports.text import harmless

    return CompletionItem(harmless(value, 200), help=harmless(about))


def _begins(text: str, incomplete: str) -> bool:
    return text.casefold().startswith(incomplete.casefold())


def _swatches(ctx: click.Context) -> "tuple[Swatch, ...]":
    """Swatches of the library for completion; none where it cannot be read."""
    try:
        with ctx.ensure_object(Session).open(read_only=True) as library:
            return library.swatches()
    except StopgapError:
        return ()
