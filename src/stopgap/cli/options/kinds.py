"""Kinds of arguments and options: how each is completed by the shell, read, and told in help."""

from collections.abc import Callable, Iterable, Sequence
from enum import StrEnum
from typing import TYPE_CHECKING, Any, TypeVar

import click

from stopgap import defaults
from stopgap.cli.session import Session
from stopgap.errors import InputError, StopgapError

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

    from stopgap.library import Library
    from stopgap.swatches import Lightfastness, Swatch

T = TypeVar("T")


class Kind(click.ParamType):
    """A kind of argument: the shell completes what is `known`, `read` makes the value of a text."""

    def known(self, ctx: click.Context) -> Iterable[tuple[str, str]]:
        """What may be meant, and a word about each."""
        del ctx
        return ()

    def read(self, text: str) -> Any:
        """The value; raises InputError where there is none."""
        return text

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The value of a text. A default is one already: checking it may import much."""
        if not isinstance(value, str) or (param is not None and value == param.default):
            return value
        try:
            return self.read(value)
        except InputError as error:
            self.fail(error.sentence, param, ctx)

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> "list[CompletionItem]":
        """Those that begin so."""
        del param
        return [_item(*one) for one in self.known(ctx) if _begins(one[0], incomplete)]


class RangeName(Kind):
    """The name of a range, completed from the library."""

    name = "range"

    def known(self, ctx: click.Context) -> Iterable[tuple[str, str]]:
        """Every range."""
        return ((name, "") for name in dict.fromkeys(swatch.range for swatch in _swatches(ctx)))


class SwatchCode(Kind):
    """A code in the range that was named before it."""

    name = "code"

    def known(self, ctx: click.Context) -> Iterable[tuple[str, str]]:
        """Codes, with the pencils' names."""
        wanted = str(ctx.params.get("range_name") or "").casefold()
        return (
            (swatch.code, swatch.name)
            for swatch in _swatches(ctx)
            if swatch.range.casefold() == wanted
        )


class TargetText(Kind):
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


class StepText(Kind):
    """A largest step [ΔE00]: a number, or a word of STEPS."""

    name = "step"

    def known(self, ctx: click.Context) -> Iterable[tuple[str, str]]:
        """The words."""
        del ctx
        return ((word, f"{step:g}") for word, step in defaults.STEPS.items())

    def read(self, text: str) -> float:
        """The number."""
        word = text.strip().casefold()
        if word in defaults.STEPS:
            return defaults.STEPS[word]
        try:
            return float(word)
        except ValueError as error:
            raise InputError(
                f"expected {', '.join(defaults.STEPS)} or a number, found {text!r}."
            ) from error


class MetricName(Kind):
    """A colour difference of METRICS."""

    name = "metric"

    def known(self, ctx: click.Context) -> Iterable[tuple[str, str]]:
        """Every row of METRICS."""
        del ctx
        from stopgap.difference import METRICS

        return ((name, metric.about) for name, metric in METRICS.items())

    def read(self, text: str) -> str:
        """The name as METRICS has it."""
        from stopgap.difference import metric_name

        return metric_name(text)


class IlluminantName(Kind):
    """A CIE illuminant, by its name."""

    name = "illuminant"

    def known(self, ctx: click.Context) -> Iterable[tuple[str, str]]:
        """Lamps in words, and every row of WHITES."""
        del ctx
        from stopgap.colorimetry import LAMPS_IN_WORDS, WHITES

        return ((name, "") for name in (*LAMPS_IN_WORDS, *WHITES))

    def read(self, text: str) -> str:
        """The name as the CIE writes it."""
        from stopgap.colorimetry import illuminant_name

        return illuminant_name(text)


class LightfastnessText(Kind):
    """A rating with its scale, such as `ASTM II` or `BWS 6`."""

    name = "rating"

    def read(self, text: str) -> "Lightfastness":
        """The rating."""
        from stopgap.swatches import Lightfastness

        return Lightfastness.parse(text)


def words(choices: type[StrEnum]) -> "click.Choice[str]":
    """The values of an enumeration as a choice."""
    return click.Choice([str(choice) for choice in choices], case_sensitive=False)


def _item(value: str, about: str = "") -> "CompletionItem":
    """A completion without the control characters that a stranger's file may hold."""
    from click.shell_completion import CompletionItem

    from stopgap.reports.text import harmless

    return CompletionItem(harmless(value, 200), help=harmless(about))


def _begins(text: str, incomplete: str) -> bool:
    return text.casefold().startswith(incomplete.casefold())


def in_library(ctx: click.Context, read: "Callable[[Library], T]") -> T | None:
    """What is read of the library for completion, None where it cannot be."""
    try:
        with ctx.ensure_object(Session).open(read_only=True) as library:
            return read(library)
    except StopgapError:
        return None


def _swatches(ctx: click.Context) -> "tuple[Swatch, ...]":
    return in_library(ctx, lambda library: library.swatches()) or ()


class Kept(click.Option):
    """An option whose default may be kept for good, by the name of a `setting`."""

    def __init__(self, declarations: Sequence[str], setting: str = "", **attributes: Any) -> None:
        super().__init__(declarations, **attributes)
        self.setting = setting

    def get_default(self, ctx: click.Context, call: bool = True) -> Any:
        """What is kept, else what everybody has; raises InputError where that cannot be meant."""
        current = ctx.ensure_object(Session)
        kept = current.settings.get(self.setting)
        if kept is None:
            return super().get_default(ctx, call=call)
        try:
            self.type_cast_value(ctx, kept)
        except (click.BadParameter, TypeError) as error:
            told = error.message if isinstance(error, click.BadParameter) else str(error)
            raise InputError(f"{current.settings_path}: {self.setting}: {told}") from error
        return kept


class Step(Kept):
    """The largest step that melts: on the line, else kept with the arrangement, else a setting."""

    def get_default(self, ctx: click.Context, call: bool = True) -> Any:
        """What the arrangement that is named or in use keeps, else as any setting."""
        if not ctx.resilient_parsing:
            from stopgap.library import step_kept

            named = ctx.params.get("arrangement")
            kept = in_library(ctx, lambda library: step_kept(library, named))
            if kept is not None:
                return kept
        return super().get_default(ctx, call=call)


class Renamed(Kept):
    """An option of `declarations` that is also read as `earlier`."""

    def __init__(self, declarations: Sequence[str], earlier: str = "", **attributes: Any) -> None:
        super().__init__([*declarations, earlier], **attributes)
        self.earlier = earlier

    def get_help_record(self, ctx: click.Context) -> tuple[str, str] | None:
        """As of the option without its earlier name."""
        every, self.opts = self.opts, [name for name in self.opts if name != self.earlier]
        try:
            return super().get_help_record(ctx)
        finally:
            self.opts = every

    def get_error_hint(self, ctx: click.Context | None) -> str:
        """The name it has now."""
        del ctx
        return f"'{self.opts[0]}'"


class ArrangementName(Kind):
    """An arrangement of the library, or the tool's proposal."""

    name = "arrangement"

    def known(self, ctx: click.Context) -> Iterable[tuple[str, str]]:
        """Every arrangement; only the proposal where the library cannot be read."""
        from stopgap.library import stored_arrangements
        from stopgap.swatches import PROPOSAL

        stored = in_library(ctx, stored_arrangements) or ()
        own = (PROPOSAL, "the tool's own families")
        return [own, *((one.arrangement.name, "") for one in stored)]


class FamilyName(Kind):
    """A family of the arrangement in use, completed by its name."""

    name = "family"

    def known(self, ctx: click.Context) -> Iterable[tuple[str, str]]:
        """Every family; the tool's own where no arrangement can be read."""
        from stopgap.blends import FAMILIES, FAMILY_WORDS
        from stopgap.library import arrangement_in_use

        found = in_library(ctx, arrangement_in_use)
        names = FAMILIES if found is None else [family.name for family in found.families]
        words = ((word, ", ".join(meant)) for word, meant in FAMILY_WORDS.items())
        return (*((name, "") for name in names), *words)
