"""How far something has come that takes more than a second: on standard error, on terminals only.

`NO_COLOR` and a terminal that cannot move its cursor are respected; into a file nothing is
written.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from types import TracebackType
from typing import Self


class Progress:
    """One line that tells what is being done, gone when it is done."""

    def __init__(self, total: int) -> None:
        from rich.console import Console  # noqa: PLC0415 - a tenth of a second that --help saves
        from rich.progress import (  # noqa: PLC0415 - as above
            BarColumn,
            MofNCompleteColumn,
            TextColumn,
            TimeElapsedColumn,
        )
        from rich.progress import Progress as Display  # noqa: PLC0415 - as above

        console = Console(file=sys.stderr)
        self._display = Display(
            TextColumn("{task.description}"),
            BarColumn(bar_width=20),
            MofNCompleteColumn(),
            TimeElapsedColumn(),
            console=console,
            transient=True,
            redirect_stdout=False,
            redirect_stderr=False,
            disable=not console.is_terminal or console.is_dumb_terminal,
        )
        self._task = self._display.add_task("", total=total)

    def __enter__(self) -> Self:
        """Begin to show."""
        self._display.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        """Take the line away."""
        self._display.stop()

    def at(self, part: str) -> None:
        """Tell what is being done now."""
        self._display.update(self._task, description=part)

    @contextmanager
    def aside(self) -> Iterator[None]:
        """Take the line away for as long as something is printed, and count one part as done."""
        self._display.stop()
        yield
        self._display.advance(self._task)
        self._display.start()
