"""A death after the watch for a milestone ended says nothing of whether it was met: it is not counted."""

from __future__ import annotations

import pytest

from neonatal_stats.chapters import first_hours
from tests.chapters.build import season

# worked by hand: of four fed lambs one each at 1, 2, 3 and 4 h; a fifth died unfed at 2 h. Of two more nothing of a
# feed is written: one died after 20 days, one lived. Five are followed, and of these four are fed and one died first
FED = [
    {"dam_id": f"fed {hour}", "born_alive": "yes", "fed_after_min": 60.0 * hour, "died": "no"}
    for hour in (1, 2, 3, 4)
]
DIED_FIRST = {"dam_id": "died", "born_alive": "yes", "died": "yes", "died_after_h": 2}
LATE = {"dam_id": "late", "born_alive": "yes", "died": "yes", "died_after_h": 480}
LIVED = {"dam_id": "lived", "born_alive": "yes", "died": "no", "seen_after_h": 1008}


@pytest.mark.parametrize("others", [[], [LIVED], [LATE], [LATE, LIVED]])
def test_a_late_death_of_which_nothing_was_seen_is_left_out(others: list[dict[str, object]]) -> None:
    curve = first_hours.answer(season([*FED, DIED_FIRST, *others])).curves["feeding"]
    assert curve["at_risk"].iloc[0] == 5
    assert curve["share"].iloc[-1] == pytest.approx(4 / 5)
    assert curve["died_first"].iloc[-1] == pytest.approx(1 / 5)
