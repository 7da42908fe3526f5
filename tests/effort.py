"""How much the tests at random try: so many examples, times LITREWISE_TEST_EFFORT, which is 1."""

from __future__ import annotations

import os

EFFORT = float(os.environ.get("LITREWISE_TEST_EFFORT", "1"))


def examples(usual: int) -> int:
    """So many examples; other ones each run, so little effort often finds what much effort once does."""
    return max(1, round(usual * EFFORT))
