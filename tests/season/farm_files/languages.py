"""Books in twelve languages, and the old encodings that their words were kept in."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from tests.season.farm_files.case import Made, add
from tests.season.farm_files.truth import Newborn, season_of
from tests.season.farm_files.writing import columns, grid, table


@dataclass(frozen=True)
class Tongue:
    """Headings for tag, dam, born, litter size, sex, died, day of death, cause; words; names of dams."""

    heads: tuple[str, ...]
    yes: str
    no: str
    female: str
    male: str
    stillborn: str
    names: tuple[str, ...]


TONGUES = {
    "English": Tongue(
        ("Lamb no.", "Ewe", "Lambed on", "Litter size", "Sex",
         "Dead", "Date of death", "Reason"),
        "yes", "no", "ewe lamb", "ram lamb", "stillborn", ("Zoë", "Maud", "Café"),
    ),
    "German": Tongue(
        ("Lamm-Nr.", "Mutterschaf", "Geburtsdatum", "Wurfgröße", "Geschlecht",
         "Gestorben", "Todesdatum", "Todesursache"),
        "ja", "nein", "weiblich", "männlich", "Totgeburt", ("Brünhild", "Käthe", "Gretl"),
    ),
    "French": Tongue(
        ("N° agneau", "Mère", "Date de naissance", "Taille de portée", "Sexe",
         "Mort", "Date de décès", "Cause de décès"),
        "oui", "non", "femelle", "mâle", "mort-né", ("Bérénice", "Éloïse", "Noisette"),
    ),
    "Spanish": Tongue(
        ("Nº de cordero", "Madre", "Fecha de nacimiento", "Tamaño de camada", "Sexo",
         "Muerto", "Fecha de muerte", "Causa de muerte"),
        "sí", "no", "hembra", "macho", "nacido muerto", ("Niña", "Lucía", "Peña"),
    ),
    "Dutch": Tongue(
        ("Lamnummer", "Ooi", "Geboortedatum", "Worpgrootte", "Geslacht",
         "Gestorven", "Sterfdatum", "Doodsoorzaak"),
        "ja", "nee", "vrouwelijk", "mannelijk", "doodgeboren", ("Reünie", "Bep", "Zoë"),
    ),
    "Norwegian": Tongue(
        ("Lam nr", "Søye", "Fødselsdato", "Kullstørrelse", "Kjønn",
         "Død", "Dødsdato", "Dødsårsak"),
        "ja", "nei", "hunn", "hann", "dødfødt", ("Gråstein", "Bjørk", "Lø"),
    ),
    "Swedish": Tongue(
        ("Lamm nr", "Tacka", "Födelsedatum", "Kullstorlek", "Kön",
         "Död", "Dödsdatum", "Dödsorsak"),
        "ja", "nej", "hona", "hane", "dödfödd", ("Märta", "Åsa", "Gull"),
    ),
    "Danish": Tongue(
        ("Lam nr.", "Moderdyr", "Fødselsdato", "Kuldstørrelse", "Køn",
         "Død", "Dødsdato", "Dødsårsag"),
        "ja", "nej", "hun", "han", "dødfødt", ("Grå", "Sørine", "Bæk"),
    ),
    "Polish": Tongue(
        ("Nr jagnięcia", "Matka", "Data urodzenia", "Wielkość miotu", "Płeć",
         "Padło", "Data padnięcia", "Przyczyna padnięcia"),
        "tak", "nie", "samica", "samiec", "martwo urodzone", ("Żabka", "Łatka", "Śnieżka"),
    ),
    "Welsh": Tongue(
        ("Rhif oen", "Mam", "Dyddiad geni", "Maint y dorraid", "Rhyw",
         "Wedi marw", "Dyddiad marw", "Achos"),
        "ydy", "na", "benyw", "gwryw", "marw-anedig", ("Siân", "Tŷ Gwyn", "Nel"),
    ),
    "Portuguese": Tongue(
        ("Nº do borrego", "Mãe", "Data de nascimento", "Tamanho da ninhada", "Sexo",
         "Morto", "Data da morte", "Causa da morte"),
        "sim", "não", "fêmea", "macho", "nado-morto", ("Conceição", "Luzia", "Pombinha"),
    ),
    "Italian": Tongue(
        ("N. agnello", "Madre", "Data di nascita", "Dimensione parto", "Sesso",
         "Morto", "Data di morte", "Causa di morte"),
        "sì", "no", "femmina", "maschio", "nato morto", ("Beltà", "Rosina", "Libertà"),
    ),
}  # fmt: skip


def truth_of(tongue: Tongue, seed: int) -> list[Newborn]:
    names = tongue.names
    truth = season_of(seed, litters=18 + seed % 12)
    return [n.but(dam=f"{names[int(n.dam) % len(names)]} {int(n.dam)}") for n in truth]


def says(tongue: Tongue, *, ended: str) -> dict[str, object]:
    tag, dam, born, size, sex, died, day, cause = tongue.heads
    kept = {
        tag: lambda n: n.tag,
        dam: lambda n: n.dam,
        born: lambda n: n.born.date(),
        size: lambda n: n.size,
        sex: lambda n: tongue.female if n.sex == "female" else tongue.male,
    }
    endings = {
        "died": {died: lambda n: tongue.yes if n.dead else tongue.no},
        "day": {day: lambda n: n.died.date() if n.dead else ""},
        "all": {
            died: lambda n: tongue.yes if n.dead else tongue.no,
            day: lambda n: n.died.date() if n.dead else "",
            cause: lambda n: tongue.stillborn if n.stillborn else "",
        },
    }
    return columns("", kept | endings[ended], plain=False)  # type: ignore[return-value,arg-type]


def in_tongue(
    kind: str, language: str, seed: int, ended: str, encoding: str = "utf-8", accept: str = "mapped"
) -> None:
    tongue = TONGUES[language]

    def build(folder: Path) -> Made:
        truth = truth_of(tongue, seed)
        separator = "," if language in ("English", "Welsh") else ";"
        day = "%Y-%m-%d" if language in ("English", "Swedish") else "%d.%m.%Y"
        path = table(
            folder / "book.csv", grid(truth, says(tongue, ended=ended)), separator, encoding, day=day
        )  # type: ignore[arg-type]
        facets = "litter size dam" + ("" if ended == "died" else " day")
        return Made([path], truth, facets)

    add(kind, f"{language}, {ended}" + (f", {encoding}" if encoding != "utf-8" else ""), accept, build)


for number, language in enumerate(TONGUES):
    for shift, ended in enumerate(("died", "day", "all")):
        in_tongue("headings in twelve languages", language, 800 + 3 * number + shift, ended)

KEPT_IN = {
    "cp1252": ("German", "French", "Swedish", "Spanish", "Portuguese", "Danish", "Italian", "Norwegian"),
    "cp1250": ("Polish",),
    "iso8859_2": ("Polish",),
    "cp850": ("German", "French", "Danish"),
    "cp852": ("Polish",),
    "mac_roman": ("French", "German", "Spanish"),
    "utf-16": ("Polish", "German"),
    "utf-8-sig": ("Welsh", "Polish"),
    "iso8859_14": ("Welsh",),
}

for number, (encoding, language) in enumerate((e, one) for e, them in KEPT_IN.items() for one in them):
    in_tongue("encodings", language, 850 + number, ("all", "day")[number % 2], encoding)

# Names alone carry the letters: the headings are plain English.
NAMED = {
    "cp1257": ("Ąžuolė", "Šarūnė", "Rūta"),
    "cp1250": ("Růžena", "Šárka", "Maďa"),
    "cp1252": ("Zoë", "Gråsten", "Ñusta"),
    "cp850": ("Märta", "Sørine", "Éloïse"),
    "mac_roman": ("Märta", "Bjørk", "Noël"),
}


def names_only(encoding: str, names: tuple[str, ...], seed: int) -> None:
    def build(folder: Path) -> Made:
        truth = [n.but(dam=f"{names[int(n.dam) % 3]} {int(n.dam)}") for n in season_of(seed, litters=24)]
        say = columns(died=lambda n: "yes" if n.dead else "no")
        return Made([table(folder / "b.csv", grid(truth, say), encoding=encoding)], truth, "litter dam")

    add("encodings", f"only dams' names in {encoding}", "said", build)


for number, (encoding, names) in enumerate(NAMED.items()):
    names_only(encoding, names, 880 + number)
