"""What each newborn did in its first hours, or would have done had it lived: breathe, stand, feed, bond."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.season.demo.births import log_effects
from neonatal_stats.season.demo.draws import Draws
from neonatal_stats.season.demo.scenario import Plan, scenario

Array = np.ndarray


def with_first_hours(births: pd.DataFrame, plan: Plan, draws: Draws) -> pd.DataFrame:
    """The newborns with handled, not_mothered, breathing_s and stood_h, fed_h, meconium_h since birth."""
    n, effects = len(births), plan["effects"]
    assisted = births["delivery"] != "unassisted"
    frame = births.assign(handled=draws.yes(np.where(assisted, 0.75, 0.10), n))
    frame["not_mothered"] = _not_mothered(frame, effects, draws)
    slower = np.exp(log_effects(frame, effects["slower"]))
    vigour = {word: ratio for word, ratio in effects["slower"].items() if word != "not_mothered"}
    slow = np.exp(log_effects(frame, vigour))
    stood = effects["stood_median_min"] * slow * np.exp(0.55 * draws.normal(n)) / 60
    lag = effects["fed_lag_median_min"] * slower * np.exp(0.6 * draws.normal(n)) / 60
    overlooked = (
        draws.yes(effects["overlooked_share"], n) * effects["overlooked_mean_h"] * draws.exponential(n)
    )
    frame["stood_h"] = stood
    frame["fed_h"] = np.minimum(stood + lag + overlooked, _latest_feed_h(draws, n))
    frame["meconium_h"] = 1.1 * np.sqrt(slow) * np.exp(0.5 * draws.normal(n))
    frame["breathing_s"] = np.maximum(4, 14 * slow * np.exp(0.5 * draws.normal(n)))
    frame["temperature_c"] = 39.2 - 0.9 * (slow > 1) - 0.12 * frame["fed_h"] + 0.5 * draws.normal(n)
    return frame


def _not_mothered(frame: pd.DataFrame, effects: Plan, draws: Draws) -> Array:
    share, n = effects["not_mothered_share"], len(frame)
    if share == 0:
        return np.zeros(n, dtype=bool)
    log_odds = np.log(share / (1 - share)) + log_effects(frame, effects["not_mothered_odds"])
    return np.asarray(draws.yes(1 / (1 + np.exp(-log_odds)), n))


def _latest_feed_h(draws: Draws, n: int) -> Array:
    latest = scenario()["ages"]["fed_at_latest_h"]
    return np.asarray(latest - 4 * draws.uniform(n))
