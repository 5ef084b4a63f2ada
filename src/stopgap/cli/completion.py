"""Completion: the script that switches it on, and bash, which parts words at colons.

`RANGE:CODE` reaches click as three words there.
"""

import click
from click.shell_completion import (
    BashComplete,
    CompletionItem,
    add_completion_class,
    get_completion_class,
)

from stopgap.cli.options.common import WorkingCommand

_VARIABLE = "_STOPGAP_COMPLETE"


class ColonBashComplete(BashComplete):
    """Joins what bash parted, and hands back only what belongs after the last colon."""

    def get_completion_args(self) -> tuple[list[str], str]:
        """The words before the one to complete, and that word."""
        arguments, incomplete = super().get_completion_args()
        joined: list[str] = []
        for word in [*arguments, incomplete]:
            if joined and (word.startswith(":") or joined[-1].endswith(":")):
                joined[-1] += word
            else:
                joined.append(word)
        return joined[:-1], joined[-1]

    def get_completions(self, args: list[str], incomplete: str) -> list[CompletionItem]:
        """Completions of the joined word without the part that bash keeps in place."""
        before, colon, _ = incomplete.rpartition(":")
        items = super().get_completions(args, incomplete)
        for item in items:
            item.value = item.value.removeprefix(before + colon)
        return items


def prepare_completion() -> None:
    """Put our completion in the place of click's."""
    add_completion_class(ColonBashComplete, "bash")


@click.command(cls=WorkingCommand)
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
def completion(shell: str) -> None:
    """Print the script that switches on completion of commands, ranges and codes in SHELL.

    In your shell's start-up file: eval "$(stopgap completion bash)", and the same for zsh; for
    fish: stopgap completion fish | source.

    \b
    Example:
      stopgap completion bash
    """
    program = click.get_current_context().find_root().command
    kind = get_completion_class(shell)
    if kind is not None:
        click.echo(kind(program, {}, "stopgap", _VARIABLE).source())
