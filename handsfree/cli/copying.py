"""The second copy beside a talk: made after each stage, where a folder for it was chosen."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from contextlib import ExitStack

    from handsfree.app import Conversation
    from handsfree.edge.journal import Journal


def copy_beside(stack: ExitStack, conversation: Conversation, journal: Journal) -> None:
    """Have the record copied after each stage, where a folder for that was chosen.

    What is still to be told of a copy when the talk ends is told then.
    """
    from handsfree.edge.second_copy import SecondCopy, chosen_folder

    folder = chosen_folder()
    if folder is None:
        return
    second = SecondCopy(journal.path, folder)
    conversation.second_copy = second

    def end() -> None:
        second.close()
        for line in second.told():
            conversation.screen.warn(line)

    stack.callback(end)
