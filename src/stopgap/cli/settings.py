"""`stopgap settings`: what one person always says, kept in a file; commands and pages obey it.

No function of Python does: only options and the session look here.
"""

import json
import os
import re
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from stopgap import defaults
from stopgap.cli.options.common import WorkingCommand, library_options, output_options
from stopgap.cli.options.kinds import IlluminantName, Kind, StepText
from stopgap.cli.options.selection import for_sale_ratings
from stopgap.cli.session import Session, session
from stopgap.errors import InputError, UsageError, nearest_spellings

if TYPE_CHECKING:
    from stopgap.reports.answers import SettingInForce
    from stopgap.swatches import Paper

_MOST_LETTERS = 8  # of a currency


class Setting(NamedTuple):
    """What may be kept: how its words are read, what it is without, and which variable says it.

    `read` takes the words as typed, or the value of the file as words, and raises InputError.
    """

    read: Callable[[Sequence[str]], Any]
    about: str
    without: str
    variable: str = ""


def _one(words: Sequence[str]) -> str:
    if len(words) != 1 or not words[0].strip():
        raise InputError(f"expected one value, found {' '.join(words)!r}.")
    return words[0].strip()


def _step(words: Sequence[str]) -> Any:
    word = _one(words).casefold()
    value = StepText().read(word)
    if not 0.0 < value < float("inf"):
        raise InputError(f"expected a step above 0, found {word!r}.")
    return value if word.replace(".", "").isdigit() else word


def _currency(words: Sequence[str]) -> str:
    word = _one(words)
    if len(word) > _MOST_LETTERS or any(letter.isdigit() for letter in word):
        raise InputError(f"expected a currency such as EUR, found {word!r}.")
    return word


def _lamps(words: Sequence[str]) -> list[str]:
    if not words:
        raise InputError("expected lamps such as bulb, LED, tube or daylight.")
    return [IlluminantName().read(word) for word in words]


def _layer_with(words: Sequence[str]) -> str:
    word = _one(words).casefold()
    if word not in ("owned", "any"):
        raise InputError(f"expected owned or any, found {word!r}.")
    return word


def _for_sale(words: Sequence[str]) -> Any:
    word = " ".join(words).strip().casefold()
    ratings = for_sale_ratings(words)
    return word if word in ("yes", "no") else list(ratings)


def _figures(words: Sequence[str]) -> bool:
    word = _one(words).casefold()
    if word not in ("yes", "no", "true", "false"):
        raise InputError(f"expected yes or no, found {word!r}.")
    return word in ("yes", "true")


def _library(words: Sequence[str]) -> str:
    return str(Path(_one(words)).expanduser().absolute())


SETTINGS: Mapping[str, Setting] = {
    "paper": Setting(_one, "The paper drawn on.", "the default of your papers"),
    "step": Setting(_step, "Largest step of a blend that still melts.", f"{defaults.STEP:g}"),
    "lamps": Setting(_lamps, "Lamps that stand-ins are looked at under.", "none"),
    "layer-with": Setting(_layer_with, "Pencils that recipes of match may use.", "owned"),
    "for-sale": Setting(_for_sale, "Pencils rated so at least: ratings, yes or no.", "no"),
    "currency": Setting(_currency, "What prices are in where nobody says.", "none"),
    "figures": Setting(_figures, "Figures for who measures: yes or no.", "no"),
    "library": Setting(_library, "The library to use.", "in your data folder", "STOPGAP_LIBRARY"),
}
"""What may be kept, by name."""


class SettingName(Kind):
    """The name of a setting."""

    name = "setting"

    def known(self, ctx: click.Context) -> Any:
        """Every row of SETTINGS."""
        del ctx
        return ((name, setting.about) for name, setting in SETTINGS.items())

    def read(self, text: str) -> str:
        """The name as SETTINGS has it."""
        name = text.strip().casefold()
        if name not in SETTINGS:
            hint = nearest_spellings(name, SETTINGS) or f" There are {', '.join(SETTINGS)}."
            raise InputError(f"there is no setting {text!r}.{hint}")
        return name


def checked_settings(current: Session) -> dict[str, Any]:
    """What is kept, all of it checked.

    Raises
    ------
    InputError
        Naming the file, the setting and what was expected.
    """
    try:
        return {name: _checked(name, value) for name, value in current.settings.items()}
    except InputError as error:
        raise InputError(f"{current.settings_path}: {error.sentence}") from error


def _checked(name: str, value: Any) -> Any:
    setting = SETTINGS[SettingName().read(name)]
    words = value if isinstance(value, list) else [value]
    if not all(isinstance(word, str | int | float) for word in words):
        raise InputError(f"{name}: expected a text or a number, found {value!r:.60}.")
    try:
        return setting.read([str(word) for word in words])
    except InputError as error:
        raise InputError(f"{name}: {error.sentence}") from error


def with_setting(text: str, name: str, value: Any) -> str:
    """The text of a settings file with a setting at another value, without it for None.

    What else stands in it stays, comments too.
    """
    lines = text.splitlines()
    kept = [line for line in lines if not re.match(rf'\s*"?{re.escape(name)}"?\s*=', line)]
    if value is not None:
        # a text of JSON is one of TOML too
        kept.append(f"{name} = {json.dumps(value, ensure_ascii=False)}")
    return "".join(f"{line}\n" for line in kept)


def keep_setting(current: Session, name: str, value: Any) -> None:
    """Keep a setting, or forget it for None; what is kept is checked first.

    Raises
    ------
    InputError
        As `checked_settings` does, and where the setting is written in a way of the user's own.
    """
    import tomllib

    from stopgap.library import write_whole

    path = current.settings_path
    wanted = {**checked_settings(current), name: value}
    before = path.read_text(encoding="utf-8") if path.is_file() else ""
    text = with_setting(before, name, value)
    try:
        told = {key: _checked(key, kept) for key, kept in tomllib.loads(text).items()}
    except tomllib.TOMLDecodeError:
        told = {}
    if told != {key: kept for key, kept in wanted.items() if kept is not None}:
        raise InputError(f"{path}: {name} is written over several lines; change it by hand.")
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, text, overwrite=True)


def settings_in_force(current: Session) -> "list[SettingInForce]":
    """Every setting as commands take it."""
    from stopgap.reports.answers import SettingInForce

    kept, shown = checked_settings(current), []
    for name, setting in SETTINGS.items():
        value, source = kept.get(name), "settings" if name in kept else "default"
        told = os.environ.get(setting.variable) if setting.variable else None
        if name == "library" and current.library:
            value, source = current.library, "--library"
        elif told:
            value, source = told, setting.variable
        shown.append(SettingInForce(name, value, source, setting.about, setting.without))
    return shown


@click.command(cls=WorkingCommand)
@click.argument("name", required=False, type=SettingName())
@click.argument("values", nargs=-1, metavar="[VALUE]...")
@click.option("--forget", is_flag=True, help="Forget this setting; the default counts again.")
@output_options
@library_options
def settings(name: str | None, values: tuple[str, ...], forget: bool) -> None:
    """Keep what you always say: your paper, the step, lamps, work for sale, which library.

    Commands and pages take what is kept as if you had typed it; an option on the line counts more.
    Without VALUE the settings are shown, and where each comes from. They are a file of your own,
    config.toml, or the one that the variable STOPGAP_CONFIG names.

    \b
    Examples:
      stopgap settings
      stopgap settings step soft
      stopgap settings lamps A LED-B3
      stopgap settings for-sale yes
      stopgap settings figures yes
      stopgap settings step --forget
    """
    from stopgap.reports.answers import settings_report

    current = session()
    path = current.settings_path
    if name is None or not (values or forget):
        if forget:
            raise UsageError("--forget: name the setting to forget.")
        shown = [one for one in settings_in_force(current) if name in (None, one.name)]
        current.answer(settings_report(shown, str(path)))
        return
    if values and forget:
        raise UsageError("--forget: leave out the value.")
    value = None if forget else _typed(current, name, values)
    keep_setting(current, name, value)
    if value is None:
        current.say(f"Forgot {name}: {SETTINGS[name].without} again.")
    else:
        current.say(f"Kept in {path}: {name} is {' '.join(values).strip()}.")


def _typed(current: Session, name: str, words: Sequence[str]) -> Any:
    """The value of words, a paper among those that are known now."""
    value = SETTINGS[name].read(words)
    if name == "paper":
        from stopgap.library import paper_asked, stored_papers

        papers: tuple[Paper, ...] = ()
        if current.library_path.is_file():
            with current.open(read_only=True) as library:
                papers = stored_papers(library)
        paper_asked(papers, value)
    return value
