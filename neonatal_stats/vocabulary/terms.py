"""The trade's terms, each list in the order in which it is printed."""

from neonatal_stats.vocabulary import species

SPECIES = tuple(one.name for one in species.SPECIES)

BIRTH_TYPES = ("single", "twin", "triplet", "four or more")

DELIVERIES = (
    "unassisted",
    "easy assist",
    "hard assist",
    "malpresentation corrected",
    "caesarean",
    "embryotomy",
)
DIFFICULT_DELIVERIES = ("hard assist", "malpresentation corrected", "caesarean", "embryotomy")
BORN_BY = {"caesarean": "born by surgery", "embryotomy": "born by embryotomy"}
"""How a newborn was born, by delivery; every other delivery is "born vaginally", hard pulls
and turned newborns too, which stand apart by their delivery. By embryotomy all are lost."""

SEXES = ("female", "male", "castrated male", "unknown")
PARITY_CLASSES = ("first litter", "second or third", "fourth or later")
WEIGHT_CLASSES = ("lowest fifth", "middle", "highest fifth")
BIRTH_PLACES = ("indoors", "outdoors")
RESUSCITATIONS = ("none", "airway cleared", "stimulated", "breath given", "oxygen", "drug")
ANYTHING_DONE = "anything done"
SUCK_REFLEXES = ("strong", "weak", "absent", "not checked")
MOTHERED_UP = ("yes", "no", "not judged")
REARINGS = ("dam", "fostered", "artificial")
LEFT_REASONS = ("sold", "moved", "lent", "other")
FEED_SOURCES = ("dam", "tubed from dam", "stored", "another dam", "powder")
CAUSE_BASES = ("post-mortem", "vet's opinion", "keeper's opinion", "none")

STILLBIRTH = "stillbirth"  # stands among the causes, though it is a time
CAUSES = (
    STILLBIRTH,
    "birth injury or difficult birth",
    "premature or weak",
    "starvation-mismothering-exposure",
    "infection",
    "congenital",
    "predation",
    "accident",
    "other",
    "unknown",
)
TURBIDITIES = ("adequate", "partial", "failed")
"""How laboratories class a turbidity test of serum (zinc sulphate, sodium sulphite)."""
FAT_RESERVES = ("whole", "partly used", "used up")
CORD_STATES = ("normal", "abnormal", "not seen")
LABORATORY = ("agent found", "nothing found", "awaited", "not sent")
MILKED = ("within 2 h", "2 to 6 h", "6 to 12 h", "over 12 h")
"""Hours from birth to milking in classes (common practice): the sooner, the more IgG."""
TREATMENTS = (
    "navel care",
    "antibiotic",
    "energy",
    "warmed",
    "tubed",
    "vaccine of the dam",
    "other",
)
TREATMENT_NOT_SAID = "treatment not said"
"""Stands for the treatment of a row that names none, or a product of which no word says which it is."""
YES_NO = ("yes", "no")
LEFT = "left"
"""What a map may call a word for a newborn that left alive, beside yes (dead) and no."""
SEASON_NOT_RECORDED = "season not recorded"
"""The season of records that have neither a date nor a written season."""
