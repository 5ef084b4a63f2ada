"""`stopgap desk`."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from stopgap.cli.options.common import WorkingCommand, library_options, overwrite_option
from stopgap.cli.session import Session, session
from stopgap.errors import UsageError

if TYPE_CHECKING:
    from stopgap.desk import Usual


@click.command(cls=WorkingCommand)
@click.option("--no-browser", is_flag=True, help="Print the address instead of opening a browser.")
@click.option(
    "--icon",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write a launcher for the desktop (.desktop, macOS .command, Windows .cmd), and open "
    "nothing.",
)
@overwrite_option
@library_options
def desk(no_browser: bool, icon: Path | None, overwrite: bool) -> None:
    """Open the desk: pages in your browser on which the whole job is done.

    The pages come from this machine and go nowhere else; only the browser window that is opened
    gets in. A second start goes to the desk that is open. Close on the page, Ctrl-C here, or eight
    hours without anybody at it end it. It needs the extra stopgap[desk].

    \b
    Example:
      stopgap desk --icon stopgap.desktop
    """
    current = session()
    if icon is not None:
        from stopgap.desk import icon_text
        from stopgap.library import write_whole

        current.out = icon
        text = icon_text(_command(), icon.suffix.lower())
        write_whole(icon, text.encode("utf-8"), overwrite=overwrite)
        icon.chmod(icon.stat().st_mode | 0o111)  # who made it may start it
        current.say(f"Wrote {current.out_name}.")
        return
    from stopgap.desk import open_desk

    try:
        import uvicorn  # noqa: F401 (looked for before anything is opened)
    except ImportError as error:
        raise UsageError("The desk is not installed: pip install 'stopgap[desk]'.") from error
    current.rest()
    open_desk(current.library_path, _usual(current), current.say, browser=not no_browser)


def _command() -> str:
    """The program that this is, by its whole path where it is known."""
    import shutil

    return shutil.which("stopgap") or "stopgap"


def _usual(current: Session) -> "Usual":
    """What is kept for good, checked, as the desk takes it."""
    from stopgap.cli.options.kinds import StepText
    from stopgap.cli.options.selection import kept_rule
    from stopgap.cli.settings import checked_settings
    from stopgap.desk import Usual

    kept: dict[str, Any] = checked_settings(current)
    found: dict[str, Any] = {
        "on": kept.get("paper"),
        "lamps": tuple(kept.get("lamps", ())),
        "layer_owned": kept.get("layer-with", "owned") == "owned",
        "lightfast": kept_rule(),
        "currency": kept.get("currency", ""),
    }
    if "step" in kept:
        found["step"] = StepText().read(str(kept["step"]))
    return Usual(**found)
