"""Drawings in the form of their ending, whole or not at all; `stopgap plot`."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from stopgap import defaults
from stopgap.cli.options.common import (
    WorkingCommand,
    figures_option,
    library_options,
    overwrite_option,
    step_option,
)
from stopgap.cli.options.kinds import TargetText
from stopgap.cli.options.paper import on_option
from stopgap.cli.options.selection import Chosen, selection_options
from stopgap.cli.remedies import note_words
from stopgap.cli.session import Session, session
from stopgap.errors import NothingFoundError, UsageError

if TYPE_CHECKING:
    from stopgap.errors import Note, StopgapError
    from stopgap.library import ListedBlend
    from stopgap.planner import Ground
    from stopgap.planner.blending import Part
    from stopgap.reports.drawing.drawing import Drawing
    from stopgap.swatches import Selection

PICTURES = (".png", ".svg", ".pdf")
"""The endings of what fits on one page."""


def drawing_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the argument OUT and `--overwrite`."""
    out = click.argument("out", metavar="OUT", type=click.Path(path_type=Path))
    return out(overwrite_option(function))


def ready_to_draw(out: Path, forms: Sequence[str], *, overwrite: bool, axes: bool = True) -> None:
    """Load what draws, with `axes` or without, but no more of it than is needed, so before anything
    else imports it.

    A file's ending that is none of `forms`, and a file that is there already, are refused.
    """
    from stopgap.library import check_free
    from stopgap.reports.drawing.sparing import load_sparingly

    session().out = out
    if _form_of(out) not in forms:
        endings = " or ".join(forms)
        raise UsageError(f"{out}: the name must end in {endings}, which says what is drawn.")
    check_free(out, overwrite=overwrite)
    load_sparingly(_form_of(out), axes=axes)


def _form_of(out: Path) -> str:
    """The ending that says what is drawn; a stream, which has none, is a PDF."""
    return ".pdf" if str(out) == "-" else out.suffix.lower()


def write_drawing(current: Session, drawing: "Drawing", out: Path, *, overwrite: bool) -> None:
    """Write the drawing to `out`, or page by page to `out-1`, `out-2` and so on."""
    from stopgap.library import check_free, kind_of, write_whole
    from stopgap.reports.drawing.drawing import FORMS

    contents = FORMS[_form_of(out)](drawing)
    targets = [out]
    if len(contents) > 1:
        targets = [
            out.with_name(f"{out.stem}-{page}{out.suffix}") for page in range(1, len(contents) + 1)
        ]
    for target, content in zip(targets, contents, strict=True):
        check_free(target, overwrite=overwrite, kind=kind_of(content))
    for target, content in zip(targets, contents, strict=True):
        write_whole(target, content, overwrite=overwrite)
    pages = len(drawing.pages)
    where = current.out_name if len(targets) == 1 else f"{targets[0]} to {targets[-1].name}"
    current.say(f"Drew {pages} page{'s' if pages != 1 else ''}: {where}.")
    if drawing.unshown:
        current.say(
            f"No font at hand has these characters, so boxes stand for them: {drawing.unshown}"
        )


KINDS = ("ab", "lightness", "blend", "holes")


@click.command(cls=WorkingCommand)
@drawing_options
@click.option(
    "--kind",
    type=click.Choice(KINDS),
    default="ab",
    show_default=True,
    help="By hue and vividness (ab), by vividness and lightness, blends, or where what you own has "
    "holes.",
)
@click.option("--target", type=TargetText(), help="Mark this colour and its stand-ins.")
@click.option(
    "--limit",
    default=defaults.STAND_INS,
    show_default=True,
    type=click.IntRange(1, 9),
    help="How many stand-ins.",
)
@click.option("--from", "start", type=TargetText(), help="Where a blend begins.")
@click.option("--to", "end", type=TargetText(), help="Where it ends.")
@click.option("--blends", "file", type=click.Path(path_type=Path), help="Blends from a file.")
@step_option
@selection_options(owned=None)
@on_option
@figures_option
@library_options
def plot(
    out: Path,
    overwrite: bool,
    kind: str,
    target: str | None,
    limit: int,
    start: str | None,
    end: str | None,
    file: Path | None,
    step: float,
    chosen: Chosen,
    on: str | None,
) -> None:
    """Plot pencils by their colours, a target with its stand-ins, or blends with gaps.

    OUT ends in .png, .svg or .pdf. Marks differ in form, not in colour alone. With --target, a ring
    round it holds what is but a hair off. A blend needs --from and --to, or --blends FILE, and is
    made of the pencils you own, or of any with --any; a column paper in FILE says on which paper.
    Holes are those of 'stopgap holes'.

    \b
    Examples:
      stopgap plot anemone.png --target Fennmoor:FM079
      stopgap plot strips.pdf --kind blend --blends blends.csv
    """
    from stopgap.library import by_paper, read_blends
    from stopgap.planner import ground_of

    ready_to_draw(out, PICTURES, overwrite=overwrite, axes=kind != "holes")
    ends = (start, end)
    _check_what_goes_together(kind, target, ends, file)
    current = session()
    if chosen.owned is None:
        chosen = chosen._replace(owned=kind == "blend")
    papers = [(on, [])] if file is None else by_paper(read_blends(file), on)
    with current.open(read_only=True) as library:
        grounds = [ground_of(library, paper) for paper, _ in papers]
        selection = chosen.selection(library)
    notes: list[Note] = []
    unknown: list[StopgapError | None] = []
    if kind == "blend":
        from stopgap.planner import blends_on_papers, find_blend
        from stopgap.reports.drawing.blend_plots import blend_plot

        parts, unknown = _parts(grounds, [rows for _, rows in papers], selection)
        if not parts:
            current.end_with(*unknown)
        notes = [note for _, at_hand, _ in parts for note in at_hand.notes]
        if start is not None and end is not None:
            blends = [find_blend(parts[0][1], start, end, limit=step)]
        else:
            blends = [*blends_on_papers(parts, step=step)]
        drawing = blend_plot(blends, figures=current.figures)
    else:
        drawing = _drawn(kind, grounds[0], selection, target, limit)
    notes += [note for one in grounds for note in one.among(selection).remarks]
    for said in dict.fromkeys(map(note_words, notes)):
        current.say(said)
    write_drawing(current, drawing, out, overwrite=overwrite)
    current.end_with(*unknown)


def _drawn(
    kind: str, ground: "Ground", selection: "Selection", target: str | None, limit: int
) -> "Drawing":
    """The map of holes; or the pencils of a selection, and a target with its stand-ins."""
    if kind == "holes":
        return _draw_holes(ground, selection)
    from stopgap.library import find_target
    from stopgap.planner import find_stand_ins, recipes_under
    from stopgap.reports.drawing.planes import plane_plot

    known = ground.answering
    pencils = selection.of(known.swatches)
    if not pencils:
        raise NothingFoundError("There is no pencil to plot; ask for less.")
    answer = None
    if target is not None:
        found = find_target(target, known)
        answer = find_stand_ins(found, known.swatches, selection=selection, limit=limit)
    mine = [swatch for swatch in pencils if swatch.at_hand]
    made = None
    if len(mine) > 1:
        made = recipes_under(ground.conditions, mine, cache=session().recipe_cache).index.lab
    return plane_plot(pencils, kind, answer=answer, reach=made, figures=session().figures)


def _parts(
    grounds: "Sequence[Ground]", listed: "Sequence[list[ListedBlend]]", selection: "Selection"
) -> "tuple[list[Part], list[StopgapError | None]]":
    """The blends of a file by paper with what they are made of there, and what is not known of it;
    without a file what a blend is made of.
    """
    from stopgap.library import known_rows
    from stopgap.planner import look_at_hand

    parts: list[Part] = []
    unknown: list[StopgapError | None] = []
    for ground, rows in zip(grounds, listed, strict=True):
        known, left = known_rows(rows, ground.known)
        unknown.append(left)
        if known or not rows:
            parts.append((ground.on, look_at_hand(ground.known, selection), known))
    return parts, unknown


def _draw_holes(ground: "Ground", selection: "Selection") -> "Drawing":
    from stopgap.planner import find_holes
    from stopgap.reports.colour_map import pictured
    from stopgap.reports.drawing.touching import map_plot

    current = session()
    found = find_holes(
        ground.answering.swatches,
        selection._replace(owned=False),
        layers=ground.conditions,
        cache=current.recipe_cache,
        progress=current.counter("recipes"),
    )
    for note in found.notes:
        current.say(note_words(note))
    shown, lines = pictured(found, figures=current.figures)
    return map_plot(shown, f"What {found.owned} pencils reach", lines)


def _check_what_goes_together(
    kind: str, target: str | None, ends: tuple[str | None, str | None], file: Path | None
) -> None:
    asked = ends != (None, None) or file is not None
    if kind != "blend" and asked:
        raise UsageError("--from, --to and --blends go with --kind blend.")
    if kind == "blend":
        if target is not None:
            raise UsageError("--target goes with --kind ab or lightness; a blend has --from, --to.")
        if (None in ends) if file is None else (ends != (None, None)):
            raise UsageError("A blend needs --from and --to, or else --blends FILE.")
