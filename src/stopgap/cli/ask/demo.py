"""`stopgap demo`."""

import shlex
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stopgap.cli.options.common import WorkingCommand, library_options
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session
from stopgap.library import DEMO_RANGES, datasets, fill, keep_demo

if TYPE_CHECKING:
    from stopgap.library import Library
    from stopgap.reports import Report
    from stopgap.reports.blocks import Block
    from stopgap.swatches import Swatch

_COLOURED = "Quillet"  # the range of which a page is coloured in
_SHOWN = 3  # pencils a question; the screen is to hold an answer


@click.command(cls=WorkingCommand)
@click.option(
    "--keep",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Write the library, its ranges and its lists into a new folder.",
)
@library_options
def demo(keep: Path | None) -> None:
    """Show the main job on three invented ranges, in a throw-away library.

    --keep DIR keeps it, with the files that the examples of every help and of the guide name: go
    there, and they all run.

    \b
    Examples:
      stopgap demo
      stopgap demo --keep try-out
    """
    from stopgap.library import open_library

    if keep is not None:
        path = keep_demo(keep)
        _colour_in(path, keep / "page.png", keep / "patches.csv")
    else:
        path = Path(tempfile.mkdtemp(prefix="stopgap-demo-")) / "library.sqlite"
    with open_library(path, read_only=keep is not None) as library:
        if keep is None:
            fill(library)
        session().answer(_report(library, path, kept=keep is not None))


def _report(library: "Library", path: Path, *, kept: bool) -> "Report":
    from stopgap.library import find_target
    from stopgap.planner import LayerQuestion, estimated_conditions, find_stand_ins
    from stopgap.reports import Report
    from stopgap.reports.answers import stand_ins_report
    from stopgap.reports.blocks import Command, Heading, Paragraph
    from stopgap.swatches import Selection

    swatches = library.swatches()
    gone = [listed for listed in _called_for(swatches) if listed.discontinued]
    own = Selection(owned=True)
    questions = [
        ("A lesson calls for a shade that is no longer made.", gone[0].address, Selection()),
        (
            "For another of them no pencil comes near, but two over each other.",
            gone[2].address,
            own,
        ),
        ("A colour picked from a photograph, with what is in the box.", "#7f9a8c", own),
    ]
    start = "stopgap" if kept else f"stopgap --library {shlex.quote(str(path))}"
    lists = Path() if kept else datasets()
    # kept where those of its own library would be, so that what it suggests finds them
    cache = session().recipe_cache
    layering = LayerQuestion.among(swatches, own, estimated_conditions(), below=_SHOWN, cache=cache)
    layering = replace(layering, made=layering.index())  # once for all questions
    until = "" if kept else "; throw it away when you are done"
    blocks: list[Block] = [
        Heading("stopgap on invented ranges: an illustrator draws tide-pool plates"),
        Paragraph(
            f"{len(swatches)} swatches in {len(DEMO_RANGES)} ranges, "
            f"{sum(swatch.owned for swatch in swatches)} of them owned. Ranges, names, codes and "
            f"prices are invented. The library is {path}{until}."
        ),
        *(_going_there(path.parent) if kept else ()),
    ]
    for text, target, selection in questions:
        answer = find_stand_ins(
            find_target(target, swatches),
            swatches,
            selection=selection,
            limit=_SHOWN,
            layering=layering,
        )
        owned = " --owned" if selection.owned else ""
        command = f"{start} match {shlex.quote(target)}{owned}"
        blocks += [
            Paragraph(""),
            Paragraph(text, mark=">"),
            Command(f"{command} --limit {_SHOWN}"),
            Paragraph(""),
            *stand_ins_report(answer, note_words).blocks,
        ]
    blocks += [
        Paragraph(""),
        Heading("More to ask of it"),
        Command(f"{start} family"),
        Command(f"{start} gaps {shlex.quote(str(lists / 'blends.csv'))}"),
        Command(f"{start} translate {shlex.quote(str(lists / 'lesson.csv'))}"),
        Command(f"{start} shop --blends {shlex.quote(str(lists / 'blends.csv'))}"),
        Paragraph(""),
        Heading("Now your own pencils"),
        Paragraph(
            "Write a spreadsheet with the columns code, name and L, a, b (or hex), one row a "
            "pencil, and ask about one of them:"
        ),
        Command("stopgap range import my-pencils.csv --name 'My pencils'"),
        Command("stopgap match 'My pencils:CODE'"),
        Paragraph("A screen is not a colour reference: judge on your own paper.", mark="!"),
    ]
    return Report("stopgap.demo/1", {}, blocks)


def _colour_in(path: Path, page: Path, patches: Path) -> None:
    """A chart of ten pencils in the library, and its page as if they had been laid on it.

    Into `patches` go the first four boxes, as if they had been measured.
    """
    from stopgap.library import open_library
    from stopgap.reports.drawing.coloured import coloured_page

    with open_library(path) as library:
        some = [swatch for swatch in library.swatches() if swatch.range == _COLOURED][:10]
        page.write_bytes(coloured_page(library, some))
    rows = ["row,column,L,a,b"]
    for column, swatch in enumerate(some[:4], 1):
        rows.append("1,{},{:.2f},{:.2f},{:.2f}".format(column, *swatch.lab))
    patches.write_text("\n".join(rows) + "\n", encoding="utf-8")


def _going_there(folder: Path) -> "list[Block]":
    """How what follows, and every example of the help texts, is run on the demo that was kept."""
    from stopgap.reports.blocks import Command, Paragraph

    return [
        Paragraph(
            "In that folder, and with its library, every example of the guide and of --help runs:"
        ),
        Command(f"cd {shlex.quote(str(folder))}"),
        Command("export STOPGAP_LIBRARY=library.sqlite"),
    ]


def _called_for(swatches: "tuple[Swatch, ...]") -> "list[Swatch]":
    """The lesson's colours that are swatches of the library."""
    from stopgap.library import find_target, read_list
    from stopgap.swatches import Swatch

    found = []
    for listed in read_list(datasets() / "lesson.csv"):
        target = find_target(listed.colour, swatches)
        if isinstance(target, Swatch):
            found.append(target)
    return found
