"""Many rows of a plan at once: forms, blocks and columns, for results that tell totals.

What is learned of a plan (outlines, forms, blocks) only spares work; no figure depends on it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import Any, NamedTuple

from service.batch.book import Block, Book, block_of
from service.batch.cases import case_of
from service.batch.figures import Columns, Taken, columns_of, taken
from service.batch.forms import Form, devices_whole, form_of
from service.batch.one import RowFaults, read_row
from service.batch.outline import Outline, cut, outline_of
from service.batch.plan import PROBE, Plan, plan_of_text
from service.batch.rows import Row
from service.batch.rules import Rules, rules_of
from service.batch.telling import Teller
from service.engine.costing import work_out
from service.engine.tariff import Shape
from service.errors import NotComputable
from service.quoting.devices import EVEN
from service.quoting.reader import Reader
from service.quoting.request import Reading
from service.quoting.routine import read_routine
from service.quoting.routines import COMMON
from service.schemas import limits, patterns
from service.schemas.body import read_json

# Above these everything learned is forgotten, so that memory stays bounded.
MOST_FORMS, MOST_BLOCKS = 3000, 6000
# The sku and the ref of a row, and its results as JSON.
Told = tuple[str | None, str, bytes]
_REF, _NAMED = re.compile(patterns.REF), re.compile(patterns.NAMED)
_LONGEST = {"ref": 64, "sku": 64, "name": limits.TEXT_CHARS}


class Wrong(NamedTuple):
    """What is wrong with a row."""

    errors: list[dict[str, str]]


class Quick:
    """Costs rows of one plan in columns."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.probes = [plan.read(view, PROBE) for view in plan.views]
        self.first = self.probes[0].case.period.start
        self.shapes: list[Shape] = [EVEN]
        self.forget()

    def forget(self) -> None:
        """Let go of all that was learned."""
        # By what is outside of strings, by which strings may differ, by all other strings.
        self.outlines: dict[str, dict[tuple[int, ...], tuple[Outline, dict[Any, Form | None]]]] = {}
        self.learned = 0
        self.blocks: dict[tuple[int, bytes], list[Block] | None] = {}
        self.books = [Book() for _ in self.plan.views]
        self.routines: list[Rules] = [rules_of(self.plan.routine)]
        self.routine_at: dict[str, int] = {}

    def cost(self, rows: Sequence[Row]) -> list[Told | Wrong | None]:
        """What is told of each row, or its faults; None for one that is to be costed by itself."""
        found: list[Told | Wrong | None] = [None] * len(rows)
        # Rows that were read for their form, in the first view, since one of them may begin a block too.
        self.fresh: dict[int, Reading] = {}
        if self.learned > MOST_FORMS or len(self.blocks) > MOST_BLOCKS:
            self.forget()
        at: list[int] = []
        forms: list[Form] = []
        slots: list[list[str]] = []
        names: list[dict[str, str]] = []
        for i, row in enumerate(rows):
            one = self._form(row)
            if isinstance(one, Wrong):
                found[i] = one
            elif one is not None:
                at.append(i)
                forms.append(one[0])
                slots.append(one[1])
                names.append(one[2])
        if not forms:
            return found
        read = taken(forms, slots)
        if not read.whole.all():
            sound = read.whole.nonzero()[0].tolist()
            read, at, names = read.only(sound), [at[k] for k in sound], [names[k] for k in sound]
        if not at:
            return found
        columns = columns_of(read)
        blocks = self._blocks(rows, at, read, columns)
        keep = [k for k, block in enumerate(blocks) if block is not None]
        if not keep:
            return found
        texts = self._results(read, columns, blocks, keep)
        for k, text in zip(keep, texts, strict=True):
            row = rows[at[k]]
            found[at[k]] = (names[k].get("sku"), names[k].get("ref", f"line-{row.line}"), text)
        return found

    def _form(self, row: Row) -> tuple[Form, list[str], dict[str, str]] | Wrong | None:
        if len(row.raw) > limits.BATCH_ROW_BYTES:
            return None
        try:
            parts = cut(row.raw.decode())
        except UnicodeDecodeError:
            return None
        if parts is None:
            return None
        outside, strings = parts
        form = None
        for outline, table in self.outlines.get(outside, {}).values():
            try:
                same = outline.same(strings)
            except IndexError:
                continue
            if same in table:
                form = table[same]
                break
        else:
            try:
                form = self._learn(row, outside, strings)
            except RowFaults as faults:
                # Not the exception itself: it holds on to the whole chunk.
                return Wrong(faults.errors)
        if form is None:
            return None
        names = {}
        for place, key in form.outline.named:
            name = strings[place]
            pattern = _REF if key == "ref" else _NAMED
            if len(name) > _LONGEST[key] or not pattern.fullmatch(name):
                return None
            names[key] = name
        return form, strings, names

    def _learn(self, row: Row, outside: str, strings: list[str]) -> Form | None:
        """The form of a row, read by itself; None where it has none. RowFaults for one that is not sound."""
        setup = read_row(row)
        document: Any = read_json(row.raw)
        outline = outline_of(document, strings)
        if outline is None:
            return None
        layouts = self.outlines.setdefault(outside, {})
        _, table = layouts.setdefault(outline.open, (outline, {}))
        self.learned += 1
        form = table[outline.same(strings)] = self._read(row, setup, outline)
        return form

    def _read(self, row: Row, setup: dict[str, Any], outline: Outline) -> Form | None:
        try:
            reading = self.fresh[row.line] = self.plan.read(self.plan.views[0], setup)
        except NotComputable:
            return None
        routine = self._routine(setup)
        if not devices_whole(setup, reading) or self.routines[routine].alone:
            return None
        return form_of(self.learned, outline, setup, reading, routine)

    def _routine(self, setup: dict[str, Any]) -> int:
        """The number of the routine of a row: the settings' own is 0."""
        if "routine" not in setup:
            return 0
        text = repr(setup["routine"])
        if text not in self.routine_at:
            self.routine_at[text] = len(self.routines)
            self.routines.append(rules_of(read_routine(Reader(), setup["routine"], COMMON, self.first)))
        return self.routine_at[text]

    def _blocks(
        self, rows: Sequence[Row], at: list[int], read: Taken, columns: Columns
    ) -> list[list[Block] | None]:
        """The block of each row in each view; None for a row that is to be costed by itself."""
        found: list[list[Block] | None] = [None] * len(at)
        by_routine: dict[int, list[int]] = {}
        for k, form in enumerate(read.forms):
            if read.whole[k]:
                by_routine.setdefault(form.routine, []).append(k)
        for routine, members in by_routine.items():
            fired = self.routines[routine].fired(read.forms, columns, members)
            for k, bits in zip(members, fired, strict=True):
                key = (read.forms[k].number, bits)
                if key not in self.blocks:
                    self.blocks[key] = self._block(rows[at[k]])
                found[k] = self.blocks[key]
        return found

    def _block(self, row: Row) -> list[Block] | None:
        """A block by its first row; None where that has a fault, which is told row by row."""
        setup = read_row(row)
        blocks = []
        try:
            for number, (view, book) in enumerate(zip(self.plan.views, self.books, strict=True)):
                known = self.fresh.get(row.line) if number == 0 else None
                block = block_of(book, known or self.plan.read(view, setup))
                if block is None:
                    return None
                blocks.append(block)
        except NotComputable:
            return None
        return blocks

    def _results(
        self, read: Taken, columns: Columns, blocks: list[list[Block] | None], keep: list[int]
    ) -> list[bytes]:
        """The results of rows, all views of each."""
        texts: list[list[str]] = [[] for _ in keep]
        for number, (view, probe) in enumerate(zip(self.plan.views, self.probes, strict=True)):
            of_view = [found[number] for k in keep if (found := blocks[k]) is not None]
            case, category = case_of(read, columns, of_view, keep, self.books[number], probe, self.shapes)
            teller = Teller(view, probe, work_out(case), case, category)
            for row, text in enumerate(teller.texts(of_view, columns, keep)):
                texts[row].append(text)
        return [f"[{','.join(of_row)}]".encode() for of_row in texts]


@lru_cache(maxsize=8)
def quick_of(text: str) -> Quick:
    """What a process has learned of a plan, by the plan's text."""
    return Quick(plan_of_text(text))
