"""The blood samples: serum IgG that is lower the later the first feed came, most drawn at 24 to 48 h."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.season.demo.clock import at_age
from neonatal_stats.season.demo.draws import Draws
from neonatal_stats.season.demo.scenario import Plan, scenario

OUT_OF_WINDOW_SHARE = 0.06


def written_samples(page: pd.DataFrame, births: pd.DataFrame, plan: Plan, draws: Draws) -> pd.DataFrame:
    """One row per sample, in order of time: newborn_id, sampled_at, and what this farm has measured."""
    n = len(page)
    out = draws.yes(OUT_OF_WINDOW_SHARE, n)
    age_h = np.where(out, np.where(draws.yes(0.5, n), 10.0, 240.0), 25 + 22 * draws.uniform(n))
    igg = _serum_igg(births, plan, draws)
    table = pd.DataFrame(
        {
            "newborn_id": page["newborn_id"],
            "sampled_at": at_age(page["born_at"], pd.Series(age_h)).dt.round("15min"),
            "igg_g_per_l": np.round(igg, 1),
            "total_protein_g_per_dl": np.round(4.4 + 0.072 * igg + 0.25 * draws.normal(n), 1),
            "brix_pct": np.round(7.25 + 0.087 * igg + 0.35 * draws.normal(n), 1),
        }
    )
    in_time = age_h + 0.25 < page["_alive_to_h"]
    can_be = in_time & page["newborn_id"].notna() & page["_fed_h"].notna()
    lottery = pd.Series(draws.uniform(n)).where(can_be).rank()
    chosen = table[lottery <= plan["samples"]].sort_values(["sampled_at", "newborn_id"], ignore_index=True)
    return pd.DataFrame(chosen[["newborn_id", "sampled_at", *plan["sampled"]]])


def _serum_igg(births: pd.DataFrame, plan: Plan, draws: Draws) -> np.ndarray:
    transfer = scenario()["passive_transfer"]
    at_birth = transfer["igg_g_per_l"][plan["species"]]
    by_delay = 0.5 ** (births["fed_h"].to_numpy() / transfer["half_h"])
    return np.asarray(at_birth * by_delay * np.exp(transfer["log_sd"] * draws.normal(len(births))))
