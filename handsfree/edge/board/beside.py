"""A terminal with a board beside it: both show one conversation."""

from __future__ import annotations

from handsfree.dialogue.effects import View
from handsfree.dialogue.state import State
from handsfree.edge.board.hub import Hub
from handsfree.edge.terminal import Screen


class Beside:
    """A screen that shows on a terminal and on every open board."""

    def __init__(self, terminal: Screen, hub: Hub) -> None:
        self._terminal = terminal
        self._hub = hub

    def stands(self, state: State) -> None:
        """Show where the conversation stands, on the boards."""
        self._hub.show(state)

    def show(self, view: View) -> None:
        """Show where we are, on the terminal."""
        self._terminal.show(view)

    def say(self, text: str) -> None:
        """Show a sentence that is being said."""
        self._terminal.say(text)
        self._hub.tell("said", text)

    def heard(self, text: str) -> None:
        """Show what was heard."""
        self._terminal.heard(text)
        self._hub.tell("heard", text)

    def typed(self, text: str, *, elsewhere: bool) -> None:
        """Show what was typed, on every window but the one it was typed in."""
        self._terminal.typed(text, elsewhere=elsewhere)
        self._hub.tell("typed", text)

    def warn(self, text: str) -> None:
        """Show that something outside the conversation went wrong."""
        self._terminal.warn(text)
        self._hub.tell("warned", text)
