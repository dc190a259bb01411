"""Parquet files."""

from __future__ import annotations

import io

from neonatal_stats.season.grid import Grid, check_size
from neonatal_stats.season.trouble import CannotRead


def read_parquet(name: str, data: bytes, sha256: str) -> Grid:
    """A Parquet file as a grid; its own column names are the headings."""
    import pyarrow.parquet
    from pyarrow import ArrowException

    try:
        file = pyarrow.parquet.ParquetFile(io.BytesIO(data))
        check_size(name, file.metadata.num_rows, len(file.schema_arrow.names))
        table = file.read()
    except (ArrowException, OSError, ValueError):
        raise CannotRead(
            f"{name}: it is named or begins as Parquet but cannot be read as that; write it anew."
        ) from None
    columns = [[None, *_cells(column)] for column in table.to_pandas(timestamp_as_object=False).items()]
    return Grid(name, "", columns, sha256, headings=tuple(map(str, table.column_names)), headed=True)


def _cells(named: tuple[object, object]) -> list[object]:
    import pandas as pd

    series = named[1]
    assert isinstance(series, pd.Series)
    values = series.astype(object)
    return values.where(series.notna(), None).tolist()
