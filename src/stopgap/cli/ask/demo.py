"""`stopgap demo`."""

import shlex
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stopgap.cli.options.common import library_options
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session
from stopgap.library import DEMO_RANGES, datasets, fill

if TYPE_CHECKING:
    from stopgap.library import Library
    from stopgap.reports import Report
    from stopgap.swatches import Swatch

_SHOWN = 3  # pencils a question; the screen is to hold an answer


@click.command()
@library_options
def demo() -> None:
    """Show the main job on three invented ranges, in a throw-away library.

    \b
    Example:
      stopgap demo
    """
    from stopgap.library import open_library

    folder = Path(tempfile.mkdtemp(prefix="stopgap-demo-"))
    path = folder / "library.sqlite"
    with open_library(path) as library:
        fill(library)
        session().answer(_report(library, path))


def _report(library: "Library", path: Path) -> "Report":
    from stopgap.library import find_target
    from stopgap.planner import LayerQuestion, estimated_conditions, find_stand_ins
    from stopgap.reports import Report
    from stopgap.reports.answers import stand_ins_report
    from stopgap.reports.blocks import Block, Command, Heading, Paragraph
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
    start = f"stopgap --library {shlex.quote(str(path))}"
    layering = LayerQuestion.among(swatches, own, estimated_conditions(), below=_SHOWN)
    blocks: list[Block] = [
        Heading("stopgap on invented ranges: an illustrator draws tide-pool plates"),
        Paragraph(
            f"{len(swatches)} swatches in {len(DEMO_RANGES)} ranges, "
            f"{sum(swatch.owned for swatch in swatches)} of them owned. Ranges, names, codes and "
            f"prices are invented. The library is {path}; throw it away when you are done."
        ),
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
        Command(f"{start} gaps {shlex.quote(str(datasets() / 'blends.csv'))}"),
        Command(f"{start} translate {shlex.quote(str(datasets() / 'lesson.csv'))}"),
        Command(f"{start} shop --blends {shlex.quote(str(datasets() / 'blends.csv'))}"),
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
