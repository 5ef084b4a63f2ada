"""`stopgap guide`."""

import sys
from pathlib import Path

import click

from stopgap.cli.options.common import WorkingCommand, library_options, overwrite_option
from stopgap.cli.remedies import WORDS
from stopgap.cli.session import session


@click.command(cls=WorkingCommand)
@click.argument("topic", required=False)
@click.option(
    "--html",
    "html",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write the guide as one page instead.",
)
@overwrite_option
@library_options
def guide(topic: str | None, html: Path | None, overwrite: bool) -> None:
    """Read the manual, one TOPIC at a time; without one, see what there is.

    Every topic has examples, which run in the folder that 'stopgap demo --keep' makes.

    \b
    Examples:
      stopgap guide
      stopgap guide layering
      stopgap guide --html manual.html
    """
    from stopgap.reports.manual import contents, find_topic, manual
    from stopgap.reports.render.manual import render_manual, render_topics

    current = session()
    if html is not None:
        from stopgap.library import check_free, write_whole

        topics = manual(WORDS) if topic is None else (find_topic(topic, WORDS),)
        check_free(html, overwrite=overwrite)
        write_whole(html, render_manual(topics), overwrite=overwrite)
        current.say(f"Wrote {html}.")
    elif topic is None:
        current.answer(contents("stopgap guide"))
    else:
        from stopgap.reports.render.console import make_console

        sys.stdout.write(render_topics((find_topic(topic, WORDS),), make_console(sys.stdout)))


@click.command(cls=WorkingCommand)
@click.argument("name", required=False)
def schema(name: str | None) -> None:
    """Print the JSON Schema of the answer NAME, such as match; without one, list their names.

    An answer says in its field 'schema' which it keeps to: stopgap.match/1 to that of match.

    \b
    Examples:
      stopgap schema
      stopgap schema match
    """
    from stopgap.reports.schemas import answer_names, answer_schema

    if name is None:
        click.echo("\n".join(answer_names()))
        return
    import json

    from stopgap.library import STANDARD, write_whole

    write_whole(STANDARD, f"{json.dumps(answer_schema(name), ensure_ascii=False, indent=2)}\n")
