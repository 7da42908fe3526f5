"""How a process that costs rows all day holds its memory."""

from __future__ import annotations

import gc

# Rows make many short-lived objects and no cycles; looking for those after every few hundred takes a fifth
# of the time.
_OFTEN = (100_000, 50, 50)


def steady() -> None:
    """Look for cycles less often, and not in what was loaded before."""
    gc.freeze()
    gc.set_threshold(*_OFTEN)
