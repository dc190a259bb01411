"""Litters and the classes that newborns are grouped by, as expressions: `season.following.follow`, on an engine.

Levels are the vocabulary's own words, as text; their order stands in `vocabulary.factors`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import ibis

from neonatal_stats.vocabulary import terms

LITTER = ("farm", "season", "litter_of_dam", "litter_named")
"""The columns that tell litters apart, where ``litter_known``; where not, each newborn is a litter of its own."""
DAM = ("farm", "dam_named")
"""The same of dams over all seasons, where ``dam_named`` is not blank."""
LOWEST, HIGHEST = 0.2, 0.8


def column(births: ibis.Table, name: str, kind: str) -> ibis.Value:
    """A column, or one of that kind that is missing everywhere; to be compared with nothing, which would be asked
    whether it is missing."""
    return births[name] if name in births.columns else ibis.null(kind)


def with_classes(births: ibis.Table) -> ibis.Table:
    """Add the classes that a row's own columns tell, and who its litter and dam are."""
    made = {name: make(births) for name, (of, make) in OF_ROW.items() if of in births.columns}
    made |= {
        f"{stem}_{end}_h": column(births, f"{stem}_after_min{of}", "float64") / 60
        for stem in ("stood", "fed", "meconium")
        for end, of in (("after", ""), ("not_by", "_not_by"))
        if f"{stem}_after_min" in births.columns
    }
    dam, litter = (column(births, name, "string").fill_null("") for name in ("dam_id", "litter_id"))
    return births.mutate(
        **made,
        dam_named=dam,
        litter_of_dam=ibis.ifelse(litter == "", dam, ""),
        litter_named=litter,
        litter_known=(dam != "") | (litter != ""),
    )


def with_litters(births: ibis.Table) -> ibis.Table:
    """Add what littermates tell together: the litter size where none was written, birth type, sexes of the litter.

    Costs the engine a sort of all rows by litter.
    """
    mates = ibis.window(group_by=list(LITTER))
    if "litter_size" not in births.columns:
        births = births.mutate(litter_size=ibis.null("float64"))
    written, known = births.litter_size.cast("float64"), births.litter_known
    spoken = ibis.coalesce(written, ibis.ifelse(known, written.max().over(mates), None))
    counted = spoken.isnull() & known
    rows = births.count().over(mates).cast("float64")
    sexes = {"sex_mix": _sexes(births, mates)} if "sex" in births.columns else {}
    births = births.mutate(
        litter_size=ibis.ifelse(counted, rows, spoken), litter_size_counted=counted, **sexes
    )
    size = births.litter_size
    singles, twins, triplets, more = terms.BIRTH_TYPES
    return births.mutate(
        birth_type=ibis.cases(
            (size == 1, singles), (size == 2, twins), (size == 3, triplets), (size >= 4, more)
        )
    )


def _sexes(births: ibis.Table, mates: object) -> ibis.Value:
    """Missing where the sex of any of a litter is not known."""
    sex = births.sex
    female, male = (sex == "female").fill_null(False), sex.isin(["male", "castrated male"]).fill_null(False)

    def of_all(own: ibis.Value) -> ibis.Value:
        return ibis.ifelse(births.litter_known, own.all().over(mates), own)

    return ibis.cases(
        (~of_all(female | male), None),
        (of_all(female), "all female"),
        (of_all(male), "all male"),
        else_="mixed",
    )


def with_weight_class(births: ibis.Table) -> ibis.Table:
    """Add the classes of birth weight within each species; costs the engine one more pass, for their limits."""
    if "birth_weight_kg" not in births.columns:
        return births
    weight = births.birth_weight_kg
    limits = births.group_by(weighed="species").aggregate(
        low_kg=weight.quantile(LOWEST), high_kg=weight.quantile(HIGHEST)
    )
    births = births.left_join(limits, births.species == limits.weighed)
    weight = births.birth_weight_kg
    lowest, middle, highest = terms.WEIGHT_CLASSES
    classed = ibis.cases(
        (weight.isnull(), None),
        ((weight <= births.low_kg) & (weight < births.high_kg), lowest),
        (weight > births.high_kg, highest),
        else_=middle,
    )
    return births.mutate(weight_class=classed).drop("weighed", "low_kg", "high_kg")


def _born_by(births: ibis.Table) -> ibis.Value:
    named = [(births.delivery == one, by) for one, by in terms.BORN_BY.items()]
    return ibis.cases((births.delivery.isnull(), None), *named, else_="born vaginally")


def _difficulty(births: ibis.Table) -> ibis.Value:
    hard = births.delivery.isin(terms.DIFFICULT_DELIVERIES)
    return ibis.cases((births.delivery.isnull(), None), (hard, "difficult"), else_="easy")


def _parity(births: ibis.Table) -> ibis.Value:
    first, second, later = terms.PARITY_CLASSES
    parity = births.dam_parity
    return ibis.cases((parity == 1, first), (parity.between(2, 3), second), (parity >= 4, later))


def _suck(births: ibis.Table) -> ibis.Value:
    weak = births.suck_reflex.isin(["weak", "absent"])
    return ibis.cases((births.suck_reflex == "strong", "strong"), (weak, "weak or absent"))


def _failed(births: ibis.Table) -> ibis.Value:
    return ibis.cases((births.mothered_up == "no", True), (births.mothered_up == "yes", False))


OF_ROW: Mapping[str, tuple[str, Callable[[ibis.Table], ibis.Value]]] = {
    "born_by": ("delivery", _born_by),
    "difficulty": ("delivery", _difficulty),
    "parity_class": ("dam_parity", _parity),
    "suck_class": ("suck_reflex", _suck),
    "failed_mothering": ("mothered_up", _failed),
}
"""Columns that follow from one column of the same row, each with it."""
