"""The terminal: what is said, shown and warned of. Colour only where the terminal wants it."""

from __future__ import annotations

import sys
from typing import IO, Protocol

from handsfree.dialogue.effects import View
from handsfree.dialogue.state import State
from handsfree.record.text import printable


class Screen(Protocol):
    """Where sentences are shown."""

    def stands(self, state: State) -> None:
        """Take in where the conversation stands, before what came of it is shown."""

    def show(self, view: View) -> None:
        """Show where we are."""

    def say(self, text: str) -> None:
        """Show a sentence that is being said."""

    def heard(self, text: str) -> None:
        """Show what was heard."""

    def typed(self, text: str, *, elsewhere: bool) -> None:
        """Show what was typed; `elsewhere` tells that it was on another window than this one."""

    def warn(self, text: str) -> None:
        """Show that something outside the conversation went wrong."""


class Terminal:
    """A conversation on a terminal: our sentences stand after a mark, warnings on stderr."""

    def __init__(self, out: IO[str] | None = None) -> None:
        from rich.console import Console  # noqa: PLC0415 - a tenth of a second that --help saves

        self._console = Console(file=out or sys.stdout, highlight=False, soft_wrap=True)
        self._errors = Console(file=sys.stderr, highlight=False, soft_wrap=True)
        self._place = ""
        self._drawing = ""

    def stands(self, state: State) -> None:
        """Take nothing: the view holds what a terminal shows."""

    def show(self, view: View) -> None:
        """Show the place, and the drawing, when they change."""
        if view.place and view.place != self._place:
            self._console.print(f"[dim]-- {_safe(view.place)}[/dim]")
        self._place = view.place
        if view.drawing and view.drawing != self._drawing:
            for line in view.drawing.splitlines():
                self._console.print(f"   {_safe(line)}")
            self._drawing = view.drawing

    def say(self, text: str) -> None:
        """Show a sentence."""
        self._console.print(f"   {_safe(text)}")

    def heard(self, text: str) -> None:
        """Show what was heard."""
        self._console.print(f"[bold]> {_safe(text)}[/bold]")

    def tell(self, text: str) -> None:
        """Show something beside the conversation, after an empty line."""
        self._console.print()
        self._console.print(f"[italic]{_safe(text)}[/italic]")

    def typed(self, text: str, *, elsewhere: bool) -> None:
        """Show what was typed on another window; what was typed here stands here already."""
        if elsewhere:
            self.heard(text)

    def warn(self, text: str) -> None:
        """Tell a fault on standard error."""
        for line in text.split("\n"):
            self._errors.print(_safe(line), style="yellow")


def _safe(text: str) -> str:
    """Return text that can neither drive the terminal nor be taken for markup."""
    from rich.markup import escape  # noqa: PLC0415 - as above

    return escape(printable(text))
