"""What was done to start newborns breathing, to how many, and how many of them were lost: description
only.
"""

from __future__ import annotations

from typing import Any

import pandas as pd

from neonatal_stats.measures.occurrence import rates
from neonatal_stats.vocabulary.terms import RESUSCITATIONS
from neonatal_stats.words.labels import ANYTHING_DONE


def resuscitated(alive: pd.DataFrame, lost: str, level: float) -> pd.DataFrame:
    """Newborns by what was done (one newborn may stand in several rows), and the share lost in the window.

    Returns
    -------
    action, done (born alive with that written), difficult (of these after a difficult birth), events, n,
    share, low, high (lost of those followed); the last row is "anything done". Empty where nothing was
    recorded.
    """
    columns = ["action", "done", "difficult", "events", "n", "share", "low", "high"]
    if "resuscitation" not in alive or not alive["resuscitation"].notna().any():
        return pd.DataFrame(columns=columns)
    written = alive[alive["resuscitation"].notna()]
    said = written["resuscitation"].astype(str).str.split("; ")
    members = {term: said.map(lambda terms, term=term: term in terms) for term in RESUSCITATIONS}
    members[ANYTHING_DONE] = ~members["none"]
    rows = [_row(action, written[who], lost, level) for action, who in members.items() if who.any()]
    return pd.DataFrame(rows, columns=columns)


def _row(action: str, group: pd.DataFrame, lost: str, level: float) -> dict[str, object]:
    hard = int((group["difficulty"] == "difficult").sum()) if "difficulty" in group else 0
    known = group[group[lost].notna()]
    share: dict[Any, Any] = {"events": 0, "n": 0}
    if len(known):
        share = rates(known, (), lost, level=level).iloc[0].to_dict()
    return {"action": action, "done": len(group), "difficult": hard, **share}
