"""`stopgap palette`."""

from pathlib import Path

import click

from stopgap import defaults
from stopgap.cli.options.common import WorkingCommand, library_options, output_options, stated
from stopgap.cli.options.paper import on_option
from stopgap.cli.options.selection import Chosen, selection_options
from stopgap.cli.session import session
from stopgap.errors import UsageError


@click.command(cls=WorkingCommand)
@click.argument("image", metavar="IMAGE", type=click.Path(path_type=Path))
@click.argument("out", metavar="OUT", type=click.Path(path_type=Path))
@click.option(
    "--colours",
    type=click.IntRange(1, 256),
    default=defaults.MAIN_COLOURS,
    show_default=True,
    help="How many colours at most.",
)
@click.option("--pencils", type=click.IntRange(1, 256), help="Choose so many pencils instead.")
@click.option(
    "--picture",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Also draw the image beside its colours (.png, .svg, .pdf).",
)
@click.option("--overwrite", is_flag=True, help="Replace OUT and the picture if they exist.")
@selection_options()
@on_option
@output_options
@library_options
def palette(
    image: Path,
    out: Path,
    colours: int,
    pencils: int | None,
    picture: Path | None,
    overwrite: bool,
    chosen: Chosen,
    on: str | None,
) -> None:
    """Write the main colours of a photograph or sketch as a list.

    IMAGE is a JPEG, PNG or TIFF. OUT is a CSV with colour, label and weight (the share of the
    area), as translate, shop and the like read it. Colours far from all that are listed are named
    as lost. --pencils chooses that many pencils of the library directly, those with the least mean
    difference over the whole image.

    \b
    Examples:
      stopgap palette photo.jpg main-colours.csv
      stopgap palette photo.jpg nine.csv --pencils 9 --owned --picture nine.png
    """
    from stopgap.cli.pages.drawings import PICTURES, ready_to_draw, write_drawing
    from stopgap.library import check_free, list_text, write_whole
    from stopgap.planner import Ground, free_colours, ground_of, pack_kit
    from stopgap.reports.answers import palette_report, palette_rows
    from stopgap.scanning import colours_of_pencils, find_main_colours, read_histogram

    if pencils is not None and stated("colours"):
        raise UsageError("--colours and --pencils: choose one of them.")
    if pencils is None and stated("on"):
        raise UsageError("--on goes with --pencils; the colours of an image are what they are.")
    if out.suffix.lower() != ".csv":
        raise UsageError(f"{out}: the name must end in .csv.")
    check_free(out, overwrite=overwrite)
    if picture is not None:
        ready_to_draw(picture, PICTURES, overwrite=overwrite)
    current = session()
    current.progress("Looking at the image")
    histogram = read_histogram(image)
    ground: Ground | None = None
    if pencils is None:
        found = find_main_colours(histogram, colours)
    else:
        with current.open(read_only=True) as library:
            ground = ground_of(library, on)
            selection = chosen.selection(library)
        kit = pack_kit(
            free_colours(*histogram.coarse),
            selection.of(ground.answering.swatches),
            pencils,
            time_limit=0.0,  # unproved: a picture does not wait for it
        )
        found = colours_of_pencils(histogram, kit.pencils, pencils)
    write_whole(out, list_text(palette_rows(found)), overwrite=overwrite)
    current.answer(palette_report(found), on=ground)
    if picture is not None:
        from stopgap.reports.drawing.main_colours import palette_picture

        drawing = palette_picture(histogram.thumbnail, found)
        current.quiet = current.quiet or current.form != "terminal"
        write_drawing(current, drawing, picture, overwrite=overwrite)
