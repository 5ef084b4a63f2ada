"""Commands that put the answer of another command on a page: `… --for match TARGET --owned`."""

from collections.abc import Mapping

import click

from stopgap.cli.lazy import LazyGroup
from stopgap.cli.session import Answered, session
from stopgap.errors import UsageError

_OWN_FLAGS = ("--overwrite",)  # may stand after the other command too


class AskingCommand(click.Command):
    """A command whose `--for` takes all that follows: another command with its arguments."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Give every word after `--for` to it, one by one."""
        if "--for" in args:
            place = args.index("--for")
            words = [word for word in args[place + 1 :] if word not in _OWN_FLAGS]
            flags = [word for word in args[place + 1 :] if word in _OWN_FLAGS]
            if not words:
                raise UsageError("--for: name what to show, for instance --for match TARGET.")
            args = [*args[:place], *flags, *(f"--for={word}" for word in words)]
        return super().parse_args(ctx, args)


def answers_to(
    question: tuple[str, ...], subjects: Mapping[str, str]
) -> tuple[list[Answered], int]:
    """What the command in `question` answers, and its exit status.

    `subjects` says which command stands behind each word that may be asked for.

    Raises
    ------
    UsageError
        If the word is not among the subjects, or the command was told to print data.
    """
    context = click.get_current_context()
    word, *arguments = question
    known = {name: command for name, command in subjects.items() if _find(context, command)}
    if word not in known:
        raise UsageError(f"--for {word}: expected one of {', '.join(known)}.")
    command = _find(context, known[word])
    current = session()
    answered: list[Answered] = []
    current.page = answered
    status = 0
    if command is not None:
        with command.make_context(f"--for {word}", list(arguments), parent=context) as inner:
            try:
                command.invoke(inner)
            except click.exceptions.Exit as ended:
                status = ended.exit_code
    if current.form != "terminal":
        raise UsageError(f"--{current.form}: a page is HTML; ask the command itself for data.")
    return answered, status


def _find(context: click.Context, name: str) -> click.Command | None:
    """A command of the program by its name, parted by a space where it is one of a group."""
    command: click.Command | None = context.find_root().command
    for part in name.split():
        if not isinstance(command, LazyGroup):
            return None
        command = command.get_command(context, part)
    return command
