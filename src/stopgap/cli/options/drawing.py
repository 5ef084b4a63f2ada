"""Where drawings go: the form by the file's ending, whole or not at all, never over a file."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from stopgap.errors import UsageError

if TYPE_CHECKING:
    from stopgap.cli.session import Session
    from stopgap.reports.drawing.drawing import Drawing

Function = TypeVar("Function", bound=Callable[..., Any])


def drawing_options(function: Function) -> Function:
    """Add the argument OUT and `--overwrite`."""
    function = click.option("--overwrite", is_flag=True, help="Replace OUT if it exists.")(function)
    return click.argument("out", metavar="OUT", type=click.Path(path_type=Path))(function)


def check_form(out: Path, forms: Sequence[str], *, overwrite: bool) -> None:
    """Refuse a file's ending that is none of `forms`, and a file that is there already."""
    from stopgap.library import check_free

    if out.suffix.lower() not in forms:
        endings = " or ".join(forms)
        raise UsageError(f"{out}: the name must end in {endings}, which says what is drawn.")
    check_free(out, overwrite=overwrite)


def write_drawing(current: "Session", drawing: "Drawing", out: Path, *, overwrite: bool) -> None:
    """Write the drawing to `out`, or page by page to `out-1`, `out-2` and so on."""
    from stopgap.library import check_free, write_whole
    from stopgap.reports.drawing.drawing import FORMS

    contents = FORMS[out.suffix.lower()](drawing)
    targets = [out]
    if len(contents) > 1:
        targets = [
            out.with_name(f"{out.stem}-{page}{out.suffix}") for page in range(1, len(contents) + 1)
        ]
    for target in targets:
        check_free(target, overwrite=overwrite)
    for target, content in zip(targets, contents, strict=True):
        write_whole(target, content, overwrite=overwrite)
    pages = len(drawing.pages)
    where = str(out) if len(targets) == 1 else f"{targets[0]} to {targets[-1].name}"
    current.say(f"Drew {pages} page{'s' if pages != 1 else ''}: {where}.")
    if drawing.unshown:
        current.say(
            f"No font at hand has these characters, so boxes stand for them: {drawing.unshown}"
        )
