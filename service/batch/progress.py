"""A bar on a terminal: how much of the input is done, rows a second, time left."""

from __future__ import annotations

import time
from types import TracebackType

_WITH_TOTAL = "{percentage:3.0f} % |{bar}|{postfix}, {remaining} left"
_WITHOUT = "{elapsed}{postfix}"


class Progress:
    """Shown by bytes of the input, since how many rows a file has is not known before its end."""

    def __init__(self, total: int, shown: bool, goes_on: bool = False) -> None:
        self.begin, self.rows, self.bar = time.monotonic(), 0, None
        self.goes_on = goes_on
        if shown:
            from tqdm import tqdm

            form = _WITH_TOTAL if total else _WITHOUT
            self.bar = tqdm(total=total or None, bar_format=form, postfix="0 lines", leave=False)

    def __enter__(self) -> Progress:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.bar is not None:
            self.bar.close()

    def done(self, rows: int, read: int) -> None:
        """So many more rows; the input is read up to there."""
        self.rows += rows
        if self.bar is not None:
            seconds = time.monotonic() - self.begin
            self.bar.set_postfix_str(f"{self.rows} lines, {self.rows / seconds:.0f} a second", refresh=False)
            if self.goes_on:
                # What an earlier run did has no part in the rate, nor in the time left.
                self.bar.initial = self.bar.n = read
                self.goes_on = False
            self.bar.update(read - self.bar.n)
