"""Twelve births counted by hand: small enough to check every figure of every chapter on one sheet of paper.

Seven ewes, twelve lambs. Litters A to G; ages in hours; "end" is the end of follow-up at 42 days (1008 h).

    lamb litter type    dam      born         sex     kg   delivery     outcome
      1  A      single  first    Mon  2  6 h  female  4.0  unassisted   alive at the end
      2  B      twin    first    Mon  2  6 h  male    3.0  hard assist  died at 6 h, birth injury
      3  B      twin    first    Mon  2  6 h  female  3.2  unassisted   alive at the end
      4  C      twin    second   Mon  2 14 h  male    2.8  hard assist  stillborn
      5  C      twin    second   Mon  2 14 h  female  2.9  unassisted   died at 30 h, starvation
      6  D      single  second   Mon  2 14 h  male    4.6  caesarean    died at 6 h, birth injury
      7  E      twin    third    Mon  9  6 h  female  3.4  unassisted   alive at the end
      8  E      twin    third    Mon  9  6 h  male    3.6  unassisted   sold alive at 100 h
      9  F      triplet fourth   Mon  9  6 h  female  2.2  unassisted   died at 2 h, premature or weak
     10  F      triplet fourth   Mon  9  6 h  male    2.4  unassisted   died at 200 h, infection
     11  F      triplet fourth   Mon  9  6 h  female  2.6  easy assist  alive at the end
     12  G      single  fifth    Mon  9 14 h  female  4.2  unassisted   alive at the end

Lost: 4 (at birth), 9 (2 h), 2 and 6 (6 h), 5 (30 h), 10 (200 h): 6 of 12.
By 24 h: 4 of 12 (4, 9, 2, 6).  By 7 d: 5 of 11 (and 5; 8 left before, and is not counted).  While watched, to
the end: 6 of 12 (and 10; 8 is counted as not lost).  Born alive: 11.  By 24 h 3 of 11, by 7 d 4 of 10, to the
end 5 of 11.

Survival of those born alive (Kaplan-Meier, deaths before leaving):
    2 h    11 at risk, 1 lost   10/11
    6 h    10 at risk, 2 lost   10/11 x 8/10 = 8/11
    30 h    8 at risk, 1 lost   8/11 x 7/8   = 7/11
    200 h   6 at risk, 1 lost   7/11 x 5/6   = 35/66     (7 less the one sold)
Cumulative incidence of all twelve (Aalen-Johansen): stillbirth 1/12 at 0 h; premature or weak 1/12 at 2 h;
birth injury 2/12 at 6 h; starvation 1/12 at 30 h; infection 7/12 x 1/6 = 7/72 at 200 h; alive 35/72. Together
6/72 + 6/72 + 12/72 + 6/72 + 7/72 + 35/72 = 1.

First hours, feeds and blood samples stand in `BIRTHS`, `CARE`, `FEEDS` and `SAMPLES`; an empty cell was not
recorded.
"""

from __future__ import annotations

import csv
from functools import cache
from io import StringIO

from neonatal_stats.season.model import Season
from tests.chapters.build import Row, season

BIRTHS = """
dam_id|dam_parity|litter_size|born_at         |birth_place|group|sex   |birth_weight_kg|delivery   |born_alive
A     |1         |1          |2026-03-02 06:00|indoors    |barn |female|4.0            |unassisted |yes
B     |1         |2          |2026-03-02 06:00|indoors    |barn |male  |3.0            |hard assist|yes
B     |1         |2          |2026-03-02 06:00|indoors    |barn |female|3.2            |unassisted |yes
C     |2         |2          |2026-03-02 14:30|indoors    |barn |male  |2.8            |hard assist|no
C     |2         |2          |2026-03-02 14:30|indoors    |barn |female|2.9            |unassisted |yes
D     |2         |1          |2026-03-02 14:30|indoors    |barn |male  |4.6            |caesarean  |yes
E     |3         |2          |2026-03-09 06:00|outdoors   |field|female|3.4            |unassisted |yes
E     |3         |2          |2026-03-09 06:00|outdoors   |field|male  |3.6            |unassisted |yes
F     |4         |3          |2026-03-09 06:00|outdoors   |field|female|2.2            |unassisted |yes
F     |4         |3          |2026-03-09 06:00|outdoors   |field|male  |2.4            |unassisted |yes
F     |4         |3          |2026-03-09 06:00|outdoors   |field|female|2.6            |easy assist|yes
G     |5         |1          |2026-03-09 14:30|outdoors   |field|female|4.2            |unassisted |yes
"""

OUTCOMES = """
died|died_after_h|left_after_h|left_reason|cause                            |cause_basis
no  |            |            |           |                                 |
yes |6           |            |           |birth injury or difficult birth  |post-mortem
no  |            |            |           |                                 |
yes |            |            |           |stillbirth                       |keeper's opinion
yes |30          |            |           |starvation-mismothering-exposure |vet's opinion
yes |6           |            |           |birth injury or difficult birth  |post-mortem
no  |            |            |           |                                 |
no  |            |100         |sold       |                                 |
yes |2           |            |           |premature or weak                |keeper's opinion
yes |200         |            |           |infection                        |keeper's opinion
no  |            |            |           |                                 |
no  |            |            |           |                                 |
"""

CARE = """
breathing_after_s|suck_reflex|stood_after_min|fed_after_min|meconium_after_min|mothered_up|handled|rectal_temperature_c
20               |strong     |15             |60           |120               |yes        |no     |39.0
60               |weak       |90             |240          |                  |no         |yes    |37.0
25               |strong     |20             |90           |150               |yes        |no     |38.8
                 |           |               |             |                  |           |       |
30               |strong     |70             |540          |400               |no         |no     |37.5
90               |absent     |               |             |                  |not judged |yes    |36.5
20               |strong     |25             |80           |100               |yes        |no     |39.1
20               |strong     |30             |110          |170               |yes        |no     |39.0
40               |absent     |               |             |                  |not judged |no     |35.0
30               |weak       |100            |300          |200               |yes        |yes    |38.0
30               |strong     |50             |180          |160               |yes        |no     |38.5
20               |strong     |10             |45           |110               |yes        |no     |39.2
"""

FEEDS = """
newborn_id|fed_after_h|volume_ml|source
1         |1          |200      |dam
1         |5          |250      |dam
2         |4          |80       |tubed from dam
5         |9          |120      |stored
10        |5          |150      |stored
10        |9.5        |100      |powder
11        |3          |260      |dam
"""

SAMPLES = """
newborn_id|sampled_after_h|igg_g_per_l
1         |30             |28
3         |36             |19
7         |40             |12
10        |40             |6
11        |300            |15
"""


def rows(text: str) -> list[Row]:
    """A table drawn with bars as rows; numbers as numbers, empty cells left out, identities as text."""
    heading, *lines = csv.reader(StringIO(text.strip()), delimiter="|")
    names = [name.strip() for name in heading]
    cells = [dict(zip(names, (cell.strip() for cell in line), strict=True)) for line in lines]
    return [{name: _read(name, cell) for name, cell in row.items() if cell} for row in cells]


def _read(name: str, cell: str) -> str | float:
    if name.endswith("_id") or not cell.replace(".", "", 1).isdigit():
        return cell
    return float(cell)


ROWS = [
    birth | outcome | care for birth, outcome, care in zip(*map(rows, (BIRTHS, OUTCOMES, CARE)), strict=True)
]


@cache
def twelve() -> Season:
    """The twelve births as a season, with the default settings."""
    return season(ROWS, feeds=rows(FEEDS), samples=rows(SAMPLES))
