"""Analysis on columns of one's own: the few functions that answer most questions, at one address.

::

    from neonatal_stats import analysis, read_season

    season = read_season("births.csv")
    analysis.survival(season, "birth_type")                     # share alive against age
    analysis.incidence(season)                                  # lost to each cause, the others competing
    analysis.rates(season, ["sex", "birth_type"], outcome="7 d")
    analysis.contrasts(season, "born_by", versus="born vaginally")
    analysis.standardised(season, "season", mix="birth_type")   # on one common mix of births
    analysis.landmark(season, "fed_after_h", mark_h=4)          # what happened until a mark, and who died afterwards

Each takes a season and a column, or several: a factor of the vocabulary, any other column of births with few values, a
column of the births' files that means nothing to the review, under its own heading (``season.beside``), or one added
with ``season.with_column("shift", values)``. Newborns of one litter are not independent, so
intervals allow for litters (``cluster="dam"``, ``"farm"`` or a column of one's own for others). What would be wrong is
refused in one sentence.

Every result shows itself in a notebook and has ``to_frame()`` (raw numbers), ``table()``, ``figure()`` (in the style of
the review), ``draw(ax=...)`` (on Axes of one's own), ``save(path)`` (.csv, .svg, .png) and ``notes``; curves are read
at stated ages by ``at_ages([24, 168])``.

These functions stand at one address of their own because chapters of the review bear some of the same names, and
because the same estimates on bare arrays are in `neonatal_stats.estimates`.
"""

from neonatal_stats.analysis.from_a_mark import Landmark, landmark
from neonatal_stats.analysis.held_against import Contrasts, contrasts
from neonatal_stats.analysis.over_age import Incidence, Survival, incidence, survival
from neonatal_stats.analysis.shares import Rates, Standardised, rates, standardised

__all__ = [
    "Contrasts",
    "Incidence",
    "Landmark",
    "Rates",
    "Standardised",
    "Survival",
    "contrasts",
    "incidence",
    "landmark",
    "rates",
    "standardised",
    "survival",
]


def __dir__() -> list[str]:
    return __all__
