"""The options that say which pencils a command may use."""

from collections.abc import Callable, Sequence
from functools import wraps
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from stopgap import defaults
from stopgap.cli.options.kinds import LightfastnessText, RangeName, words
from stopgap.cli.session import session
from stopgap.errors import InputError, UsageError
from stopgap.swatches import Finish, Selection, least_ratings, rule_of

if TYPE_CHECKING:
    from stopgap.library import Library
    from stopgap.swatches import Lightfastness

_OPTIONS = (
    click.option(
        "--range",
        "ranges",
        multiple=True,
        type=RangeName(),
        metavar="NAME",
        help="Only this range; may be repeated.",
    ),
    click.option(
        "--finish",
        "finishes",
        multiple=True,
        type=words(Finish),
        help="This finish instead of plain pencils; may be repeated.",
    ),
    click.option(
        "--include-discontinued", is_flag=True, help="Also discontinued shades you do not own."
    ),
)


_LIGHTFAST = (
    click.option(
        "--for-sale/--not-for-sale",
        "for_sale",
        default=None,
        help=f"Only pencils rated {' or '.join(defaults.FOR_SALE)} at least, owned, bought or "
        "layered, and nothing unrated; stopgap settings for-sale keeps it, or ratings of your own.",
    ),
    click.option(
        "--min-lightfastness",
        "ratings",
        multiple=True,
        type=LightfastnessText(),
        help="The same with a rating of your own, such as 'ASTM I' or 'BWS 7'; repeat it for "
        "another scale.",
    ),
)


def lightfast_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add `--for-sale` and `--min-lightfastness`, which reach the command as `lightfast`."""

    @wraps(function)
    def ruled(
        *arguments: Any, for_sale: bool | None, ratings: "tuple[Lightfastness, ...]", **rest: Any
    ) -> Any:
        return function(*arguments, lightfast=_rule(for_sale, ratings), **rest)

    for option in reversed(_LIGHTFAST):
        ruled = option(ruled)
    return ruled


def for_sale_ratings(words: Sequence[str]) -> tuple[str, ...]:
    """The least ratings of the words of a setting: ratings, or yes for those of everybody, or no.

    Raises
    ------
    InputError
        As `swatches.rule_of` does.
    """
    word = " ".join(words).strip().casefold()
    if word in ("yes", "no"):
        return defaults.FOR_SALE if word == "yes" else ()
    return tuple(map(str, rule_of(*words)))


def _rule(
    for_sale: bool | None, ratings: "tuple[Lightfastness, ...]"
) -> "tuple[Lightfastness, ...]":
    """What is asked of every pencil: ratings on the line before those of the setting."""
    usual = for_sale_ratings(_kept_words())
    if for_sale is False:
        usual = ()
    elif for_sale and not usual:
        usual = defaults.FOR_SALE
    try:
        return least_ratings(usual, rule_of(*map(str, ratings)))
    except InputError as error:
        raise UsageError(f"--min-lightfastness: {error.sentence}") from error


def kept_rule() -> "tuple[Lightfastness, ...]":
    """What the setting asks of every pencil, where nothing is said."""
    return rule_of(*for_sale_ratings(_kept_words()))


def _kept_words() -> Sequence[str]:
    kept = session().settings.get("for-sale")
    return [kept] if isinstance(kept, str) else kept or ["no"]


for_laydown_option = click.option(
    "--for-laydown",
    is_flag=True,
    help="Without pencils that lay badly (1 or 2 of 5): what is asked for and does so is replaced "
    "by what is known to lay better, of the same core first.",
)


class Chosen(NamedTuple):
    """What the options say, before the names of ranges are looked up.

    `owned` is None where they do not say, and the command does not either.
    """

    owned: bool | None
    ranges: tuple[str, ...]
    lightfast: "tuple[Lightfastness, ...]"
    finishes: tuple[str, ...]
    include_discontinued: bool

    def selection(self, library: "Library") -> Selection:
        """The selection, its ranges spelt as the library has them."""
        return Selection(
            owned=bool(self.owned),
            ranges=tuple(library.known_range(name) for name in self.ranges),
            finishes=tuple(map(Finish, self.finishes)) or (Finish.PLAIN,),
            include_discontinued=self.include_discontinued,
            lightfast=self.lightfast,
        )

    def wide_selection(self, library: "Library") -> Selection:
        """The same where nothing is offered or bought: every finish, discontinued shades too."""
        return self.selection(library)._replace(
            finishes=tuple(map(Finish, self.finishes)) or tuple(Finish),
            include_discontinued=True,
        )


def selection_options(
    *, owned: bool | None = False
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Add the options, which reach the command together as `chosen`.

    With `owned`, only owned pencils are meant unless `--any` is given; with None the command
    decides where neither `--owned` nor `--any` is.
    """

    def decorate(function: Callable[..., Any]) -> Callable[..., Any]:
        @wraps(function)
        def collected(
            *arguments: Any,
            owned: bool | None,
            ranges: tuple[str, ...],
            lightfast: "tuple[Lightfastness, ...]",
            finishes: tuple[str, ...],
            include_discontinued: bool,
            **rest: Any,
        ) -> Any:
            chosen = Chosen(owned, ranges, lightfast, finishes, include_discontinued)
            return function(*arguments, chosen=chosen, **rest)

        if owned:
            first = click.option(
                "--owned/--any",
                "owned",
                default=True,
                help="Only pencils that you own (default), or any.",
            )
        elif owned is None:
            first = click.option(
                "--owned/--any",
                "owned",
                default=None,
                help="Only pencils that you own, as blends are by default, or any.",
            )
        else:
            first = click.option("--owned", is_flag=True, help="Only pencils that you own.")
        for option in reversed((first, *_OPTIONS)):
            collected = option(collected)
        return lightfast_options(collected)

    return decorate
