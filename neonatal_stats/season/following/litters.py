"""Who was born together: litters, dams, farms and the cluster on which intervals rest."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.season.settings import Settings

FARMS_TO_CLUSTER = 10


def codes(frame: pd.DataFrame, names: list[str], known: pd.Series) -> pd.Series:
    """Whole-number codes of groups in the order of the rows; where not known, each row is its own group."""
    group = np.zeros(len(frame), dtype=np.int64)
    for name in names:
        values = frame[name]
        if not isinstance(values.dtype, pd.CategoricalDtype):
            values = values.astype(object)
        of_name, distinct = pd.factorize(values)
        group, _ = pd.factorize(group * (len(distinct) + 1) + of_name + 1)
    group = np.where(known, group, len(frame) + np.arange(len(frame)))
    return pd.Series(pd.factorize(group)[0], index=frame.index)


def litter_codes(frame: pd.DataFrame) -> pd.Series:
    """Farm, season and dam make the litter, or the litter's own identity where one is given."""
    dam, litter = _text(frame, "dam_id"), _text(frame, "litter_id")
    named = frame.assign(_dam=dam.where(litter == "", ""), _litter=litter)
    return codes(named, ["farm", "season", "_dam", "_litter"], (dam != "") | (litter != ""))


def dam_codes(frame: pd.DataFrame) -> pd.Series:
    """Farm and dam; an unknown dam is one of its own."""
    dam = _text(frame, "dam_id")
    return codes(frame.assign(_dam=dam), ["farm", "_dam"], dam != "")


def cluster_name(frame: pd.DataFrame, settings: Settings) -> str:
    """What the intervals cluster on: as set, but the farm where the litter is set and ten or more farms stand there."""
    many = frame["farm"].nunique() >= FARMS_TO_CLUSTER
    return "farm" if settings.cluster == "litter" and many else settings.cluster


def litter_sizes(frame: pd.DataFrame, litter: pd.Series) -> tuple[pd.Series, pd.Series]:
    """Litter size as written (by any row of the litter), else counted from the rows; and which were counted.

    A litter whose dam is unknown and that has no identity cannot be counted and stays missing.
    """
    written = frame["litter_size"].astype(float) if "litter_size" in frame else pd.Series(np.nan, frame.index)
    known = (_text(frame, "dam_id") != "") | (_text(frame, "litter_id") != "")
    spoken = written.fillna(written.groupby(litter.to_numpy()).transform("max"))
    rows = litter.groupby(litter.to_numpy()).transform("size").astype(float)
    counted = spoken.isna() & known
    return spoken.where(~counted, rows), counted


def count_litters(frame: pd.DataFrame, counted_rows: np.ndarray) -> pd.DataFrame:
    """Fill the litter size from the rows that count, and mark where it was counted rather than written."""
    rows = frame[counted_rows]
    sizes, counted = litter_sizes(rows, litter_codes(rows))
    return frame.assign(
        litter_size=sizes.reindex(frame.index),
        litter_size_counted=counted.reindex(frame.index, fill_value=False),
    )


def _text(frame: pd.DataFrame, name: str) -> pd.Series:
    if name not in frame:
        return pd.Series("", index=frame.index, dtype=object)
    return frame[name].astype(object).where(frame[name].notna(), "")
