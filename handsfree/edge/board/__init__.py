"""The board: a second window on the conversation, as a page on this machine.

`hub` holds what every window shows, `guard` says who may look and who may type, `server` serves
the page and the stream. The page itself stands in `data/board/`.
"""
