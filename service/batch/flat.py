"""Flat columns of a catalogue to the JSON text of setups, row by row."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import orjson

from service.errors import NotComputable
from service.schemas.columns import FLAG, TEXT, header_faults
from service.schemas.csv_text import Table, check_names
from service.schemas.import_columns import DEVICES, SETUP_COLUMNS

_FLAGS = {"true": True, "false": False}


class Former:
    """Makes the document of a row, as a catalogue that is kept is made.

    A cell that is not what its column holds goes in as it is, so that the check of the document tells it.
    """

    def __init__(self, names: Sequence[str]) -> None:
        table = Table(list(names))
        check_names(table.columns)
        wrong = header_faults(table, SETUP_COLUMNS, tuple(SETUP_COLUMNS))
        if wrong:
            raise NotComputable(wrong)
        self.columns = [SETUP_COLUMNS[name] for name in names]

    def document(self, cells: Sequence[str | None]) -> bytes:
        """The JSON text of a row; empty where no cell has anything in it."""
        found: dict[str, Any] = {}
        for one, cell in zip(self.columns, cells, strict=True):
            bare = cell.strip() if cell else ""
            if not cell or not bare:
                continue
            value: Any = cell if one.kind == TEXT else bare
            if one.kind == FLAG:
                value = _FLAGS.get(bare.lower(), bare)
            node = found
            for key in one.path[:-1]:
                node = node.setdefault(key, {})
            node[one.path[-1]] = {"amount": value, "unit": one.unit} if one.unit else value
        if not found:
            return b""
        if "devices" in found:
            found["devices"] = [{"ref": ref, **DEVICES[ref], **of} for ref, of in found["devices"].items()]
        return orjson.dumps(found)
