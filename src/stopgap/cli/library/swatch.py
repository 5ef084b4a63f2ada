"""`stopgap swatch`: add, edit, remove."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from stopgap.cli.lazy import LazyGroup
from stopgap.cli.options.kinds import LightfastnessText, RangeName, SwatchCode, words
from stopgap.cli.session import library_options, session
from stopgap.errors import UsageError
from stopgap.swatches import Core, Finish, Source, Status

if TYPE_CHECKING:
    from stopgap.library import Facts, Library
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


def _facts(function: Callable[..., Any]) -> Callable[..., Any]:
    """Options for everything that can be said about a pencil."""
    options = (
        click.option("--lab", nargs=3, type=float, metavar="L a b", help="CIE Lab, D50, 2 degree."),
        click.option("--hex", "hex_text", metavar="#rrggbb", help="sRGB instead of Lab."),
        click.option("--name", help="What the pencil is called."),
        click.option("--status", type=words(Status), help="Whether it is still made."),
        click.option("--finish", type=words(Finish), help="Plain or a special finish."),
        click.option("--core", type=words(Core), help="What binds the pigment."),
        click.option("--lightfastness", type=LightfastnessText(), help="'ASTM II' or 'BWS 6'."),
        click.option("--price", type=click.FloatRange(min=0.0), help="Price, in your own unit."),
        click.option("--laydown", type=click.IntRange(1, 5), help="How well it lays, 1 to 5."),
        click.option(
            "--uncertainty",
            type=click.FloatRange(0.0, 100.0),
            help="Standard uncertainty of the colour in ΔE00.",
        ),
        click.option("--source", type=words(Source), help="How the colour was had."),
        click.option("--paper", help="Paper of the swatch."),
        click.option("--note", help="A note of your own."),
    )
    for option in reversed(options):
        function = option(function)
    return function


@click.command()
@click.argument("range_name", metavar="RANGE", type=RangeName())
@click.argument("code")
@_facts
@click.option("--owned", is_flag=True, default=None, help="The pencil is yours.")
@click.option("--new-range", is_flag=True, help="Start the range if there is none of that name.")
@library_options
def add(range_name: str, code: str, new_range: bool, **stated: Any) -> None:
    """Add a pencil with CODE to RANGE, its colour by --lab or --hex.

    A colour typed in has an uncertainty of 5 unless you say its source.

    \b
    Example:
      stopgap swatch add Singles S1 --hex '#a5603c' --owned --new-range
    """
    from stopgap.library import Entry, EntryKind, check_range_name
    from stopgap.swatches import Swatch

    check_range_name(range_name)
    if not code.strip():
        raise UsageError("CODE: expected a code that no other pencil of the range has.")
    hex_text = stated["hex_text"]
    facts = _stated_facts(stated)
    if facts.lab is None:
        raise UsageError("The colour is missing: give it by --lab L a b or --hex '#rrggbb'.")
    swatch = facts.over(Swatch(range_name, code, facts.lab))
    if hex_text is None:
        entry = Entry(EntryKind.LAB, facts.lab)
    else:
        entry = Entry(EntryKind.HEX, text=hex_text, white="D65")
    current = session()
    with current.open() as library:
        library.add_swatch(swatch, entry, new_range=new_range, what=f"adding {swatch.address}")
    current.say(f"Added {swatch.address}.")


@click.command()
@click.argument("range_name", metavar="RANGE", type=RangeName())
@click.argument("code", type=SwatchCode())
@_facts
@click.option("--as-imported", is_flag=True, help="Forget what you set; take the file's word.")
@library_options
def edit(range_name: str, code: str, as_imported: bool, **stated: Any) -> None:
    """Set what you know better about the pencil CODE of RANGE.

    What you set is kept apart from the range's file and outlives a new import.

    \b
    Example:
      stopgap swatch edit Fennmoor FM017 --price 3.20 --note 'crumbles'
    """
    from stopgap.library import edit_swatch

    facts = _stated_facts(stated)
    current = session()
    with current.open() as library:
        swatch = find_swatch_in(library, range_name, code)
        changed = edit_swatch(library, swatch, facts, as_imported=as_imported)
    if changed:
        current.say(f"Changed {swatch.address}.")
    else:
        current.say(f"{swatch.address} is so already; nothing was changed.")


@click.command()
@click.argument("range_name", metavar="RANGE", type=RangeName())
@click.argument("code", type=SwatchCode())
@library_options
def remove(range_name: str, code: str) -> None:
    """Take the pencil CODE out of RANGE; 'stopgap undo' brings it back.

    \b
    Example:
      stopgap swatch remove Fennmoor FM017
    """
    current = session()
    with current.open() as library:
        swatch = find_swatch_in(library, range_name, code)
        library.remove_swatch(swatch, f"removal of {swatch.address}")
    current.say(f"Removed {swatch.address}. 'stopgap undo' brings it back.")


def find_swatch_in(library: "Library", range_name: str, code: str) -> "Swatch":
    """The swatch with that code or name in that range."""
    from stopgap.library import find_swatch

    known = library.known_range(range_name)
    return find_swatch(f"{known}:{code}", library.swatches())


def _stated_facts(stated: dict[str, Any]) -> "Facts":
    """Options to facts; an option that Facts does not know is a TypeError, never lost."""
    from stopgap.library import Facts, stated_lab

    lab = stated_lab(stated.pop("lab"), stated.pop("hex_text"))
    for name, kind in (("status", Status), ("finish", Finish), ("core", Core), ("source", Source)):
        if stated[name] is not None:
            stated[name] = kind(stated[name].lower())
    return Facts(lab=lab, **stated)
