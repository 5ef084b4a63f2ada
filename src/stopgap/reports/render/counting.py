"""How far a long task is, for who waits at a terminal."""

from typing import IO

from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

from stopgap.reports.render.console import as_text, make_console


class Counting:
    """A line that says how much of how much is done; it is gone once all is, or on `stop`."""

    def __init__(self, what: str, file: IO[str]) -> None:
        self._progress = Progress(
            BarColumn(),
            TextColumn("{task.completed:,} of {task.total:,} {task.description}", markup=False),
            TimeRemainingColumn(),
            console=make_console(file),
            auto_refresh=False,  # no thread beside one that computes
            transient=True,
        )
        self._task = self._progress.add_task(as_text(what, 200).plain, total=0)

    def show(self, done: int, total: int) -> None:
        """`done` of `total`."""
        self._progress.update(self._task, completed=done, total=total)
        self._progress.start()  # nothing where it has begun
        self._progress.refresh()
        if done >= total:
            self.stop()

    def stop(self) -> None:
        """Take the line away and give the cursor back."""
        self._progress.stop()
