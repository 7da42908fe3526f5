"""A catalogue in Parquet: the flat columns of a catalogue in CSV, their values as texts."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

from service.batch.flat import Former
from service.errors import Fault, NotComputable, pointer

ROWS_AT_A_TIME = 2_000
_MISSING = (
    "Parquet is read with pyarrow, which is not installed; install it with "
    "`pip install 'litrewise[parquet]'`."
)
Texts = Callable[[Any], "list[str | None]"]


class ParquetFile:
    """A file whose columns are known to be right; NotComputable with every fault otherwise."""

    def __init__(self, path: Path) -> None:
        try:
            from pyarrow import ArrowException, parquet
        except ImportError:
            raise NotComputable([Fault("#", _MISSING)]) from None
        try:
            self.file = parquet.ParquetFile(path)
        except ArrowException:
            raise NotComputable([Fault("#", "The file is no Parquet; write it again.")]) from None
        schema = self.file.schema_arrow
        self.former = Former(schema.names)
        self.texts = [_texts_of(kind) for kind in schema.types]
        wrong = [
            Fault(
                pointer("columns", i),
                f"column '{name}' must hold texts, numbers or flags (got {schema.types[i]}).",
            )
            for i, name in enumerate(schema.names)
            if self.texts[i] is None
        ]
        if wrong:
            raise NotComputable(wrong)

    def rows(self) -> Iterator[bytes]:
        """The JSON text of each row, empty for one without values."""
        # The file is read a few rows at a time, and columns are not read ahead, so memory stays as it is.
        for batch in self.file.iter_batches(batch_size=ROWS_AT_A_TIME, use_threads=False):
            columns = [
                texts(column)
                for texts, column in zip(self.texts, batch.columns, strict=True)
                if texts is not None
            ]
            for cells in zip(*columns, strict=True):
                yield self.former.document(cells)

    @property
    def count(self) -> int:
        """How many rows it has."""
        return int(self.file.metadata.num_rows)


def _texts_of(kind: Any) -> Texts | None:
    """What makes texts of a column of a type; none where its values are no texts, numbers or flags."""
    from pyarrow import types

    if types.is_dictionary(kind):
        return _texts_of(kind.value_type)
    if types.is_boolean(kind):
        return lambda column: [None if v is None else str(v).lower() for v in column.to_pylist()]
    if types.is_decimal(kind):
        return lambda column: [None if v is None else _plain(v) for v in column.to_pylist()]
    if types.is_floating(kind):
        return _of_floats
    if types.is_integer(kind) or types.is_string(kind) or types.is_large_string(kind) or types.is_null(kind):
        return lambda column: [None if v is None else str(v) for v in column.to_pylist()]
    return None


def _plain(value: Decimal) -> str:
    """An exact number without zeros that say nothing, as a float that holds it is written."""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _of_floats(column: Any) -> list[str | None]:
    """The shortest texts that are read as the same number of the column's own width."""
    import numpy as np

    values = column.to_numpy(zero_copy_only=False)
    return [
        np.format_float_positional(value, trim="-") if valid else None
        for value, valid in zip(values, column.is_valid().to_pylist(), strict=True)
    ]
