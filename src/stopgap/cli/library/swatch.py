"""`stopgap swatch`: add, edit, remove."""

from collections.abc import Callable, Sequence
from functools import wraps
from typing import TYPE_CHECKING, Any

import click

from stopgap.cli.options.common import WorkingCommand, library_options
from stopgap.cli.options.kinds import LightfastnessText, RangeName, SwatchCode, words
from stopgap.cli.program import LazyGroup
from stopgap.cli.session import session
from stopgap.errors import UsageError
from stopgap.swatches import FIELDS, FieldKind, Number, OneOf, Rating, Sets, WholeNumber, laid_words

if TYPE_CHECKING:
    from stopgap.library import Library
    from stopgap.swatches import Swatch

_HERE = "library.swatch"
SWATCH_COMMANDS = {
    "add": (f"{_HERE}:add", "Add a pencil to a range by hand."),
    "edit": (f"{_HERE}:edit", "Set what you know better about a pencil."),
    "remove": (f"{_HERE}:remove", "Take a pencil out of a range."),
}


@click.group("swatch", cls=LazyGroup, table=SWATCH_COMMANDS, no_args_is_help=True)
@library_options
def swatch_group() -> None:
    """Add, edit and remove single swatches.

    \b
    Example:
      stopgap swatch edit Fennmoor FM017 --price 3.20 --note 'crumbles'
    """


def _stating(function: Callable[..., Any]) -> Callable[..., Any]:
    """Options for everything that can be said about a pencil; what they state is `stated`."""

    @wraps(function)
    def collected(
        *arguments: Any,
        lab: tuple[float, float, float] | None,
        hex_text: str | None,
        **rest: Any,
    ) -> Any:
        from stopgap.library import stated_lab

        values = {"lab": stated_lab(lab, hex_text)}
        values |= {name: _value(FIELDS[name].kind, rest.pop(name)) for name in _SAID}
        stated = {name: value for name, value in values.items() if value is not None}
        return function(*arguments, stated=stated, **rest)

    for row in reversed([FIELDS[name] for name in _SAID]):
        flag = f"--{row.name.replace('_', '-')}"
        option = click.option(flag, type=_type(row.kind), help=row.about)
        collected = option(collected)
    collected = click.option("--hex", "hex_text", metavar="#rrggbb", help="sRGB instead of Lab.")(
        collected
    )
    about = FIELDS["lab"].about
    return click.option("--lab", nargs=3, type=float, metavar="L a b", help=about)(collected)


# the colour has options of its own
_SAID = tuple(name for name, row in FIELDS.items() if row.about and name != "lab")


def _type(kind: FieldKind) -> Any:
    """How the option of such a field is read."""
    match kind:
        case WholeNumber():
            return click.IntRange(_whole(kind.low), _whole(kind.high))
        case Number():
            return click.FloatRange(kind.low, kind.high)
        case OneOf():
            return words(kind.choices)
        case Rating():
            return LightfastnessText()
    return None


def _value(kind: FieldKind, stated: Any) -> Any:
    if isinstance(kind, Sets) and stated is not None:
        try:
            return kind.read(stated) if stated.strip() else ()
        except ValueError:
            raise UsageError(
                f"--sets {stated!r}: expected sets with their prices, such as 'Shore = 18.50'."
            ) from None
    return kind.read(stated) if isinstance(kind, OneOf) and stated is not None else stated


def _whole(limit: float | None) -> int | None:
    return None if limit is None else int(limit)


@click.command(cls=WorkingCommand)
@click.argument("range_name", metavar="RANGE", type=RangeName())
@click.argument("code")
@_stating
@click.option("--owned", is_flag=True, default=None, help="The pencil is yours.")
@click.option("--new-range", is_flag=True, help="Start the range if there is none of that name.")
@library_options
def add(
    range_name: str,
    code: str,
    new_range: bool,
    stated: dict[str, Any],
    owned: bool | None,
) -> None:
    """Add a pencil with CODE to RANGE, its colour by --lab or --hex if it is known.

    Without a colour the pencil waits for one: it can be owned, filed and printed on a chart. A
    colour typed in has an uncertainty of 5 unless you say its source. A pencil that is there gets
    it as another swatch, if it was laid otherwise: harder, wetted, on another paper …

    \b
    Examples:
      stopgap swatch add Singles S1 --hex '#a5603c' --owned --new-range
      stopgap swatch add Singles S1 --hex '#c08058' --pressure light --paper Tan
      stopgap swatch add Singles S2 --name 'Kelp brown' --owned
    """
    from stopgap.library import (
        Entry,
        EntryKind,
        as_in_drawer,
        check_range_name,
        stored_papers,
        with_stated,
    )
    from stopgap.swatches import NO_COLOUR, Swatch

    check_range_name(range_name)
    if not code.strip():
        raise UsageError("CODE: expected a code that no other pencil of the range has.")
    lab = stated.get("lab", NO_COLOUR)
    hex_text = click.get_current_context().params["hex_text"]
    swatch = with_stated(Swatch(range_name, code, lab, owned=bool(owned)), stated)
    if lab is NO_COLOUR:
        entry = Entry(EntryKind.NOTHING)
    elif hex_text is None:
        entry = Entry(EntryKind.LAB, lab)
    else:
        entry = Entry(EntryKind.HEX, text=hex_text, white="D65")
    current = session()
    with current.open() as library:
        _refuse_of_the_pencil(library, swatch, [*stated, *(["owned"] if owned else [])])
        swatch = as_in_drawer(swatch, stored_papers(library))
        library.add_swatch(swatch, entry, new_range=new_range, what=f"adding {swatch.address}")
    laid = laid_words(swatch) if swatch.coloured else "without a colour"
    current.say(f"Added {swatch.address}{f' ({laid})' if laid else ''}.")


def _refuse_of_the_pencil(library: "Library", swatch: "Swatch", stated: Sequence[str]) -> None:
    """Refuse what is said of a pencil that is there beside another swatch of it."""
    there = {pencil.first.address.casefold() for pencil in library.pencils()}
    of_pencil = [name for name in stated if name == "owned" or not FIELDS[name].of_swatch]
    if swatch.address.casefold() in there and of_pencil:
        raise UsageError(
            f"{swatch.address} is there already; 'stopgap swatch edit' sets its "
            f"{' and '.join(of_pencil)}."
        )


@click.command(cls=WorkingCommand)
@click.argument("range_name", metavar="RANGE", type=RangeName())
@click.argument("code", type=SwatchCode())
@_stating
@click.option("--as-imported", is_flag=True, help="Forget what you set; take the file's word.")
@library_options
def edit(range_name: str, code: str, as_imported: bool, stated: dict[str, Any]) -> None:
    """Set what you know better about the pencil CODE of RANGE.

    What you set is kept apart from the range's file and outlives a new import.

    \b
    Example:
      stopgap swatch edit Fennmoor FM017 --price 3.20 --note 'crumbles'
    """
    from stopgap.library import edit_swatch

    current = session()
    with current.open() as library:
        swatch = find_swatch_in(library, range_name, code)
        changed = edit_swatch(library, swatch, stated, as_imported=as_imported)
    if changed:
        current.say(f"Changed {swatch.address}.")
    else:
        current.say(f"{swatch.address} is so already; nothing was changed.")


@click.command(cls=WorkingCommand)
@click.argument("range_name", metavar="RANGE", type=RangeName())
@click.argument("code", type=SwatchCode())
@click.option(
    "--further",
    type=click.IntRange(1),
    metavar="N",
    help="Only the Nth swatch below the pencil in 'range show'.",
)
@library_options
def remove(range_name: str, code: str, further: int | None) -> None:
    """Take the pencil CODE out of RANGE; 'stopgap undo' brings it back.

    \b
    Example:
      stopgap swatch remove Fennmoor FM120
    """
    from stopgap.library import remove_further

    current = session()
    with current.open() as library:
        swatch = find_swatch_in(library, range_name, code)
        if further is None:
            library.remove_swatch(swatch, f"removal of {swatch.address}")
            what = swatch.address
        else:
            gone = remove_further(library, swatch, further)
            what = f"the swatch of {swatch.address} ({laid_words(gone) or 'laid heavy'})"
    current.say(f"Removed {what}. 'stopgap undo' brings it back.")


def find_swatch_in(library: "Library", range_name: str, code: str) -> "Swatch":
    """The first swatch of the pencil with that code or name in that range."""
    from stopgap.library import find_swatch

    known = library.known_range(range_name)
    return find_swatch(f"{known}:{code}", [pencil.first for pencil in library.pencils()])
