"""`stopgap sheet`."""

from pathlib import Path

import click

from stopgap.cli.options.common import library_options
from stopgap.cli.pages.asking import AskingCommand, answers_to
from stopgap.cli.session import session

SUBJECTS = {
    "match": "match",
    "layer": "layer",
    "list": "translate",
    "table": "table",
    "family": "family show",
    "blend": "blend",
    "blends": "gaps",
    "shop": "shop",
    "range": "range show",
}
"""What may be asked for, and the command that answers."""

_TITLES = {
    "list": "A list of colours, and what to use",
    "table": "Range beside range",
    "family": "Families, light to dark",
    "blend": "A blend",
    "blends": "Blends and their gaps",
    "shop": "Shopping list",
}


@click.command(cls=AskingCommand)
@click.argument("out", metavar="OUT.html", type=click.Path(path_type=Path))
@click.option("--title", help="What stands at the top.")
@click.option("--overwrite", is_flag=True, help="Replace the file if it exists.")
@click.option(
    "--for",
    "question",
    multiple=True,
    metavar="WHAT ...",
    type=click.UNPROCESSED,
    help="What to show, with its own arguments and options, after all others: match TARGET, "
    "layer FIRST SECOND, list FILE, table, family [NAME], blend FROM TO, blends FILE, shop, "
    "range NAME. "
    "Every family where not given.",
)
@library_options
def sheet(out: Path, title: str | None, overwrite: bool, question: tuple[str, ...]) -> None:
    """Write one page with chips, to look at beside the paper or to print.

    The page is one file that loads nothing and holds no script. What follows --for is the command
    of that name ('list' is 'translate', 'blends' is 'gaps'), and takes its options.

    \b
    Examples:
      stopgap sheet stand-in.html --for match Fennmoor:FM017 --owned
      stopgap sheet roses.html --title Roses --for family 'muted roses'
    """
    from stopgap.library import check_free, write_whole
    from stopgap.reports.render.html import render_html

    check_free(out, overwrite=overwrite)
    asked = question or ("family",)
    answered, status = answers_to(asked, SUBJECTS)
    for one in answered:
        page = render_html(one.report, title or _TITLES.get(asked[0], ""))
        write_whole(out, page, overwrite=overwrite)
        session().say(f"Wrote {out}.")
    click.get_current_context().exit(status)
