"""How farms write headings and words in English: what a drafted map is matched against."""

from __future__ import annotations

from neonatal_stats.vocabulary.columns import TABLES
from neonatal_stats.vocabulary.headings import heading_of

HEADINGS: dict[str, tuple[str, ...]] = {
    "farm": ("flock", "herd", "holding", "farm name", "site", "property"),
    "season": ("year", "lambing year", "kidding year", "calving year", "crop"),
    "species": ("kind", "animal type", "kind of animal"),
    "newborn_id": ("tag", "ear tag", "eid", "lamb id", "kid id", "calf id", "lamb tag", "kid tag", "calf tag", "tag number", "animal id", "lamb no", "calf no", "kid no"),
    "dam_id": ("dam", "mother", "ewe", "doe", "nanny", "cow", "ewe tag", "ewe id", "dam tag", "cow tag", "mother id", "ewe no", "dam no"),
    "sire_id": ("sire", "father", "ram", "buck", "bull", "tup"),
    "born_at": ("born", "date of birth", "dob", "birth date", "birth time", "date and time of birth", "lambed", "kidded", "calved", "lambing date", "calving date", "kidding date", "time of birth"),
    "born_on": ("birth day", "day of birth", "day born"),
    "litter_size": ("litter", "number born", "born in litter", "lambs born", "kids born", "type of birth", "birth type"),
    "birth_order": ("order", "birth rank", "born as number"),
    "sex": ("gender", "m f", "ram or ewe"),
    "birth_weight_kg": ("weight", "birth weight", "bw", "bwt", "weight at birth", "weight kg", "birth wt"),
    "gestation_d": ("gestation", "gestation length", "days carried"),
    "delivery": ("birth", "assistance", "assisted", "ease", "lambing ease", "calving ease", "birth ease", "help", "type of delivery"),
    "dam_parity": ("parity", "litters", "lambings", "lactation", "lambing number", "calving number", "dam parity number"),
    "dam_age_y": ("dam age", "ewe age", "cow age", "age of dam"),
    "dam_condition": ("bcs", "condition", "body condition", "condition score", "ewe condition"),
    "birth_place": ("place", "where", "location", "indoors or outdoors", "in out"),
    "group": ("pen", "mob", "paddock", "field", "batch"),
    "born_alive": ("alive", "alive at birth", "live birth", "status at birth"),
    "breathing_after_s": ("breathing", "time to breathing", "breathed after"),
    "resuscitation": ("revived", "help to breathe", "resuscitated"),
    "suck_reflex": ("suck", "sucking reflex", "suckling reflex"),
    "stood_after_min": ("stood", "standing", "time to stand", "up after"),
    "fed_after_min": ("fed", "first feed", "colostrum", "time to first feed", "suckled after", "first suck"),
    "meconium_after_min": ("meconium", "meconium passed"),
    "handled": ("touched", "handled before bonding"),
    "mothered_up": ("mothering", "accepted", "accepted by dam", "bonded", "taken by ewe"),
    "rearing": ("reared by", "rearing type", "reared as", "fostered"),
    "rectal_temperature_c": ("temperature", "temp", "rectal temp", "body temperature"),
    "warmed": ("warmed up", "warming", "heat box"),
    "died": ("dead", "lost", "death", "died y n"),
    "died_at": ("date of death", "death date", "dod", "time of death", "died on", "date died"),
    "last_alive_at": ("last seen alive", "last alive"),
    "found_dead_at": ("found dead", "found dead on"),
    "cause": ("cause of death", "cause of loss", "reason", "reason for death", "why died"),
    "cause_basis": ("diagnosis by", "basis of cause", "who said"),
    "left_at": ("date sold", "sold on", "left on", "moved on", "date left"),
    "left_reason": ("reason left", "sold or moved"),
    "last_seen_at": ("last seen", "last check", "weaned on", "weaning date", "turnout date"),
    "fed_at": ("time fed", "feed time", "date fed", "fed on"),
    "volume_ml": ("volume", "amount", "ml", "amount fed", "quantity"),
    "source": ("colostrum source", "type of colostrum", "fed with"),
    "brix_pct": ("brix",),
    "igg_g_per_l": ("igg",),
    "total_protein_g_per_dl": ("total protein", "tp", "serum protein"),
    "person": ("fed by", "who", "staff", "keeper"),
    "sampled_at": ("sample date", "date sampled", "blood sample"),
    "at": ("date", "day", "time"),
    "temperature_c": ("air temperature", "temp", "temperature"),
    "wind_m_per_s": ("wind", "wind speed"),
    "rain_mm": ("rain", "rainfall", "precipitation"),
}  # fmt: skip

WORDS: dict[str, dict[str, tuple[str, ...]]] = {
    "species": {"sheep": ("lamb", "ewe", "ovine"), "goat": ("kid", "caprine"), "cattle": ("cow", "calf", "bovine")},
    "sex": {"female": ("ewe lamb", "ewe", "doe", "doeling", "heifer", "girl", "she"), "male": ("ram lamb", "ram", "tup", "buck", "bull", "boy", "he"), "castrated male": ("wether", "steer")},
    "delivery": {"unassisted": ("none", "no help", "natural", "normal", "alone", "unaided"), "easy assist": ("slight help", "easy pull", "some help", "assisted"), "hard assist": ("hard pull", "pulled", "difficult", "much help"), "malpresentation corrected": ("malpresented", "breech", "turned", "leg back", "head back"), "caesarean": ("section", "c section", "caesar")},
    "birth_place": {"indoors": ("shed", "in", "inside", "barn", "housed"), "outdoors": ("field", "out", "outside", "hill", "pasture")},
    "suck_reflex": {"strong": ("good", "vigorous"), "weak": ("poor", "slow"), "absent": ("none", "no"), "not checked": ("not tested",)},
    "mothered_up": {"yes": ("accepted", "good mother", "mothered"), "no": ("rejected", "abandoned", "mismothered", "refused"), "not judged": ("not seen",)},
    "rearing": {"dam": ("ewe", "mother", "own mother", "natural"), "fostered": ("foster", "adopted", "set on"), "artificial": ("bottle", "cade", "pet", "hand reared", "orphan", "bucket")},
    "cause": {"stillbirth": ("stillborn", "born dead"), "birth injury or difficult birth": ("difficult birth", "dystocia", "hard birth", "birth injury"), "premature or weak": ("weak", "premature", "early"), "starvation-mismothering-exposure": ("starvation", "starved", "exposure", "hypothermia", "cold", "mismothered", "hunger"), "infection": ("scours", "joint ill", "pneumonia", "sepsis", "watery mouth", "navel ill", "disease"), "congenital": ("deformed", "deformity", "birth defect"), "predation": ("fox", "crow", "dog", "predator", "eagle"), "accident": ("laid on", "crushed", "drowned", "injury"), "unknown": ("not known", "found dead", "don't know")},
    "left_reason": {"sold": ("sale",), "moved": ("transferred",), "lent": ("loan",)},
    "source": {"dam": ("suckled", "from dam"), "tubed from dam": ("tube", "tubed"), "stored": ("frozen", "fridge", "bank"), "another dam": ("other ewe", "other cow"), "powder": ("powdered", "replacer", "sachet")},
}  # fmt: skip


def headings_of(table: str) -> dict[str, str]:
    """Every spoken heading of a table, with the tidy column that it means."""
    spoken: dict[str, str] = {}
    for column in TABLES[table]:
        for heading in (heading_of(column), column.name.replace("_", " "), *HEADINGS.get(column.name, ())):
            spoken.setdefault(heading.casefold(), column.name)
    return spoken


def words_of(column: str, words: tuple[str, ...]) -> dict[str, str]:
    """Every spoken word of a column, with the column's own word that it means."""
    spoken = {word.casefold(): word for word in words}
    for word, several in WORDS.get(column, {}).items():
        if word in words:
            spoken.update({other: word for other in several if other not in spoken})
    return spoken
