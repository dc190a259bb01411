"""Books in twelve languages: read with no map, and with the drafted map, held against what they were made from.

The headings and words are common usage, from memory, unchecked by a printed source.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import pytest

from neonatal_stats.season.map.draft_map import drafted
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from neonatal_stats.vocabulary.farm_words import is_no_column, possible_meanings, sure_meaning, tongues_of


@dataclass(frozen=True)
class Born:
    tag: str
    dam: str
    at: datetime
    size: int
    sex: str
    kg: float
    delivery: str
    died: datetime | None = None
    cause: str = ""


def at(day: int, hour: int, minute: int) -> datetime:
    return datetime(2026, 3, day, hour, minute)


TRUTH = [
    Born("00101", "A1", at(14, 5, 40), 2, "female", 4.2, "unassisted"),
    Born("00102", "A1", at(14, 5, 55), 2, "male", 3.8, "hard assist", at(16, 0, 0), "infection"),
    Born("00103", "A2", at(15, 22, 10), 1, "male", 5.1, "caesarean"),
    Born("00104", "A3", at(17, 9, 5), 3, "female", 3.1, "unassisted", at(17, 0, 0), "stillbirth"),
    Born("00105", "A3", at(17, 9, 20), 3, "female", 3.0, "unassisted"),
    Born("00106", "A3", at(17, 9, 35), 3, "male", 2.9, "unassisted", at(21, 0, 0), "predation"),
    Born("00107", "A4", at(20, 14, 0), 1, "female", 4.8, "unassisted"),
    Born("00108", "A5", at(21, 3, 25), 1, "male", 4.6, "hard assist", at(22, 0, 0), "predation"),
]

# tag, dam, day of birth, time, litter, sex, weight, delivery, died, day of death, cause, remarks
# then yes and no, one to three in a litter, female and male, the three deliveries, stillbirth, infection, predation
BOOKS: dict[str, tuple[str, str, str]] = {
    "English": (
        "Lamb tag|Ewe|Date lambed|Time lambed|Type of birth|Sex|Birth wt (kg)|Lambing ease|Lamb died|Date died|Cause of death|Notes",
        "Y|N|single|twin|triplet|ewe lamb|ram lamb|unaided|hard pull|caesarean|stillborn|scours|fox",
        "%d/%m/%Y %H%M",
    ),
    "German": (
        "Lamm Nr.|Mutterschaf|Geburtsdatum|Uhrzeit Geburt|Geburtstyp|Geschlecht|Geburtsgewicht (kg)|Geburtsverlauf|Verendet|Todesdatum|Todesursache|Bemerkungen",
        "ja|nein|Einling|Zwilling|Drilling|weiblich|männlich|ohne Hilfe|Schwergeburt|Kaiserschnitt|Totgeburt|Durchfall|Fuchs",
        "%d.%m.%Y %H:%M",
    ),
    "French": (
        "N° agneau|Brebis|Né le|Heure de naissance|Mode de naissance|Sexe|Poids de naissance|Aide à l'agnelage|Décédé|Date du décès|Cause du décès|Observations",
        "oui|non|simple|double|triple|femelle|mâle|sans aide|difficile|césarienne|mort-né|diarrhée|renard",
        "%d/%m/%Y %Hh%M",
    ),
    "Spanish": (
        "Crotal cordero|Oveja|Fecha nacimiento|Hora nacimiento|Tipo de parto|Sexo|Peso al nacer|Ayuda al parto|Murió|Fecha de muerte|Causa de la muerte|Observaciones",
        "sí|no|simple|gemelo|trillizo|hembra|macho|sin ayuda|difícil|cesárea|nacido muerto|diarrea|zorro",
        "%d/%m/%Y %H:%M",
    ),
    "Italian": (
        "Matricola agnello|Pecora|Data nascita|Ora nascita|Tipo di parto|Sesso|Peso alla nascita|Facilità di parto|Deceduto|Data decesso|Causa decesso|Note",
        "sì|no|singolo|gemello|trigemino|femmina|maschio|senza aiuto|difficile|cesareo|nato morto|diarrea|volpe",
        "%d/%m/%Y %H.%M",
    ),
    "Portuguese": (
        "Brinco borrego|Ovelha|Data nascimento|Hora do parto|Tipo de parto|Sexo|Peso ao nascer|Ajuda ao parto|Morreu|Data de morte|Causa de morte|Observações",
        "sim|não|simples|gémeo|trigémeo|fêmea|macho|sem ajuda|difícil|cesariana|nado-morto|diarreia|raposa",
        "%d/%m/%Y %H:%M",
    ),
    "Dutch": (
        "Oornummer lam|Ooi|Geboren op|Geboortetijd|Geboortetype|Geslacht|Geboortegewicht|Geboorteverloop|Overleden|Gestorven op|Oorzaak sterfte|Opmerkingen",
        "ja|nee|eenling|tweeling|drieling|vrouwelijk|mannelijk|geen hulp|zware hulp|keizersnede|doodgeboren|diarree|vos",
        "%d-%m-%Y %H:%M",
    ),
    "Norwegian": (
        "Lammenummer|Søye|Født dato|Født kl|Burd|Kjønn|Fødselsvekt|Fødselshjelp|Død|Dato død|Årsak til død|Merknader",
        "ja|nei|enkling|tvilling|trilling|hunn|hann|uten hjelp|mye hjelp|keisersnitt|dødfødt|diaré|rev",
        "%d.%m.%Y %H.%M",
    ),
    "Swedish": (
        "Öronnummer lamm|Tacka|Född den|Klockslag födelse|Kullstorlek|Kön|Födelsevikt|Födselhjälp|Dött|Datum död|Orsak till död|Anteckningar",
        "ja|nej|enkel|tvilling|trilling|hona|hane|utan hjälp|mycket hjälp|kejsarsnitt|dödfödd|diarré|räv",
        "%Y-%m-%d %H:%M",
    ),
    "Danish": (
        "Øremærke lam|Moderfår|Født den|Født kl|Fødselstype|Køn|Fødselsvægt|Fødselshjælp|Død|Død den|Årsag til død|Bemærkninger",
        "ja|nej|enling|tvilling|trilling|hun|han|uden hjælp|meget hjælp|kejsersnit|dødfødt|diarré|ræv",
        "%d-%m-%Y %H.%M",
    ),
    "Polish": (
        "Nr kolczyka jagnięcia|Maciorka|Data wykotu|Godzina wykotu|Typ urodzenia|Płeć|Masa urodzeniowa|Przebieg porodu|Padło|Data padnięcia|Przyczyna padnięcia|Uwagi",
        "tak|nie|pojedyncze|bliźniak|trojaczek|samica|samiec|bez pomocy|trudny|cesarskie cięcie|martwo urodzone|biegunka|lis",
        "%d.%m.%Y %H:%M",
    ),
    "Welsh": (
        "Rhif yr oen|Dafad|Dyddiad wyna|Amser geni|Math o enedigaeth|Rhyw|Pwysau geni|Cymorth wyna|Bu farw|Dyddiad marwolaeth|Achos marwolaeth|Sylwadau",
        "ydy|nac ydy|sengl|efaill|tripled|benyw|gwryw|dim cymorth|anodd|toriad cesaraidd|marw-anedig|dolur rhydd|llwynog",
        "%d/%m/%Y %H:%M",
    ),
}  # fmt: skip


def written(language: str, folder: Path) -> Path:
    headings, words, style = BOOKS[language]
    yes, no, one, two, three, female, male, alone, hard, cut, *causes = words.split("|")
    day_style, clock_style = style.split(" ")
    cause_of = dict(zip(("stillbirth", "infection", "predation"), causes, strict=True))
    of_delivery = {"unassisted": alone, "hard assist": hard, "caesarean": cut}
    comma = language not in ("English", "Welsh")
    rows = []
    for n in TRUTH:
        kg = str(n.kg).replace(".", ",") if comma else str(n.kg)
        ended = [yes, f"{n.died:{day_style}}", cause_of[n.cause]] if n.died else [no, "", ""]
        rows.append(
            [
                *(
                    n.tag,
                    n.dam,
                    f"{n.at:{day_style}}",
                    f"{n.at:{clock_style}}",
                    (one, two, three)[n.size - 1],
                ),
                *(female if n.sex == "female" else male, kg, of_delivery[n.delivery], *ended, ""),
            ]
        )
    path = folder / "book.csv"
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream, delimiter=";" if comma else ",")
        writer.writerows([headings.split("|"), *rows])
    return path


def reconciled(season: Season) -> list[tuple[object, ...]]:
    births = season.births.sort_values("newborn_id")
    return [
        (
            row.newborn_id,
            row.dam_id,
            row.born.to_pydatetime(),
            int(row.litter_size),
            row.sex,
            row.birth_weight_kg,
            row.delivery,
            bool(row.died),
            row.cause if row.died else "",
            row.age_h,
        )
        for row in births.itertuples()
    ]


def expected() -> list[tuple[object, ...]]:
    rows = []
    for n in TRUTH:
        days = (n.died.date() - n.at.date()).days if n.died else 42
        rows.append(
            (n.tag, n.dam, n.at, n.size, n.sex, n.kg, n.delivery, n.died is not None, n.cause, days * 24.0)
        )
    return rows


@pytest.mark.quickly(4)
@pytest.mark.parametrize("language", BOOKS)
def test_a_book_is_read_with_no_map(language: str, tmp_path: Path) -> None:
    season = read_season(written(language, tmp_path))
    assert reconciled(season) == expected()
    assert season.all_well


@pytest.mark.quickly(4)
@pytest.mark.parametrize("language", BOOKS)
def test_the_drafted_map_is_right_unedited(language: str, tmp_path: Path) -> None:
    path = written(language, tmp_path)
    draft = drafted([path])
    assert draft.open == ()
    (tmp_path / "map.toml").write_text(draft.text, encoding="utf-8")
    season = read_season(path, map=tmp_path / "map.toml")
    assert reconciled(season) == expected()
    assert season.all_well
    assert set(season.births["species"]) == {"sheep"}


@pytest.mark.parametrize("language", BOOKS)
def test_the_language_of_a_book_is_recognised(language: str) -> None:
    codes = {
        "English": "en",
        "German": "de",
        "French": "fr",
        "Spanish": "es",
        "Italian": "it",
        "Portuguese": "pt",
    }
    codes |= {
        "Dutch": "nl",
        "Norwegian": "no",
        "Swedish": "sv",
        "Danish": "da",
        "Polish": "pl",
        "Welsh": "cy",
    }
    assert tongues_of(BOOKS[language][0].split("|")) == (codes[language],)


@pytest.mark.parametrize(
    ("heading", "column", "unit"),
    [
        ("FODSELSDATO", "born_at", ""),
        ("Wurfgroesse", "litter_size", ""),
        ("Date de decès", "died_at", ""),
        ("Died? (Y/N)", "died", ""),
        ("Sex (M/F)", "sex", ""),
        ("DOB (dd/mm/yyyy)", "born_at", ""),
        ("Birth wt lbs", "birth_weight_kg", "lb"),
        ("Geburtsgewicht in g", "birth_weight_kg", "g"),
        ("Alter bei Tod (Tage)", "age_at_death_d", "d"),
        ("Âge à la mort (heures)", "age_at_death_h", "h"),
        ("Edad al morir (días)", "age_at_death_d", "d"),
        ("Rhif y ddafad", "dam_id", ""),
        ("N° de la mère", "dam_id", ""),
        ("Kalv nr.", "newborn_id", ""),
        ("Vater", "sire_id", ""),
        ("Ewe's tag", "dam_id", ""),
    ],
)
def test_headings_are_known_whatever_their_accents_units_and_brackets(
    heading: str, column: str, unit: str
) -> None:
    found = sure_meaning("births", heading)
    assert found is not None
    assert (found.column, found.unit) == (column, unit)


@pytest.mark.parametrize(
    "heading",
    ["Alive", "Alive now", "Still alive", "Alive at turnout", "Lebt noch", "En vie", "I live", "Yn fyw"],
)
def test_what_is_alive_now_is_never_born_alive(heading: str) -> None:
    found = sure_meaning("births", heading)
    assert found is not None
    assert found.column == "alive_now"
    assert "born_alive" not in {meaning.column for meaning in possible_meanings("births", heading)}


@pytest.mark.parametrize("heading", ["Date", "Datum", "Status", "Weight", "Tag", "Dod", "Parto", "Time"])
def test_what_may_mean_several_things_is_not_sure(heading: str) -> None:
    assert sure_meaning("births", heading) is None
    assert possible_meanings("births", heading)


@pytest.mark.parametrize("heading", ["Weaning weight (kg)", "8 week weight", "Ewe died", "Price", "Preis"])
def test_what_is_no_column_is_known_to_be_none(heading: str) -> None:
    assert is_no_column(heading)
    assert sure_meaning("births", heading) is None
