"""How farms write that a newborn died or lived, in twelve languages: only words that can mean nothing else.

English, German, French, Spanish, Dutch, Norwegian, Swedish, Danish, Polish, Welsh, Portuguese and Italian. The words
are common usage, from memory, unchecked by a printed source. They stand without capitals and accents, as `folded`
gives them. A word that is missing here is never taken for alive: it is asked about.
"""

from __future__ import annotations

import re

from neonatal_stats.vocabulary.spelling import folded


def _words(text: str) -> frozenset[str]:
    return frozenset(" ".join(word.split()) for word in text.split(",") if word.strip())


YES = _words(
    "yes, y, yep, true, t, ja, jawohl, oui, vrai, si, verdadero, tak, prawda, ydy, ydw, oedd, sim, vero"
)
NO = _words(
    "no, n, false, f, nein, falsch, non, faux, falso, nee, nei, nej, nie, nao, nac ydy, nag oes, naddo"
)
WELSH_NO = "na"
WELSH = _words(
    "marw, wedi marw, bu farw, trigo, wedi trigo, marw-anedig, byw, yn fyw, fyw, ydy, ydw, oedd, nac ydy"
)
MONTHS = _words("""
    jan, january, feb, february, mar, march, apr, april, may, jun, june, jul, july, aug, august, sep, sept,
    september, oct, october, nov, november, dec, december, januar, februar, marz, mai, juni, juli, okt, oktober,
    dez, dezember, des, desember, janvier, fevrier, mars, avril, juin, juillet, aout, septembre, octobre, novembre,
    decembre, enero, febrero, marzo, abril, mayo, junio, julio, agosto, septiembre, octubre, noviembre, diciembre,
    januari, februari, maart, mei, augustus, augusti, maj, januar, stycznia, lutego, marca, kwietnia, maja, czerwca,
    lipca, sierpnia, wrzesnia, pazdziernika, listopada, grudnia, ionawr, chwefror, mawrth, ebrill, mehefin,
    gorffennaf, awst, medi, hydref, tachwedd, rhagfyr, janeiro, fevereiro, marco, maio, junho, julho, setembro,
    outubro, novembro, dezembro, gennaio, febbraio, aprile, maggio, giugno, luglio, settembre, ottobre, dicembre
""")

BORN_DEAD = _words("""
    stillborn, still born, still-born, stillbirth, still birth, born dead, dead at birth, dead born, doa, dead on
    arrival, totgeboren, tot geboren, totgeburt, mort-ne, mort-nee, mort ne, mort nee, mortne, nacido muerto, nacida
    muerta, mortinato, mortinata, doodgeboren, dood geboren, dodfodt, dodfod, dodfodd, dodfodda, martwo urodzony,
    martwo urodzone, martwo urodzona, marw-anedig, marwanedig, marw anedig, nado-morto, nado morto, natimorto,
    natimorta, nato morto, nata morta, nati morti, never breathed, had never breathed, had not breathed, did not
    breathe, didn't breathe, nie geatmet, nicht geatmet, hatte nicht geatmet, n'a pas respire, nunca respiro, no respiro
""")
DEAD = BORN_DEAD | _words("""
    dead, died, dies, death, deceased, perished, killed, drowned, lost, smothered, suffocated, strangled, put down,
    put to sleep, pts, euthanised, euthanized, euthanasia, destroyed, fallen stock, carcass, carcase, knackerman,
    knacker, knackers, post mortem, post-mortem, postmortem, necropsy, not alive, no longer alive, not living, not
    survived, did not survive, didn't survive, did not live, didn't live, tot, gestorben, verendet, verstorben,
    eingegangen, umgekommen, eingeschlafert, kadaver, nicht mehr am leben, mort, morte, morts, mortes, decede,
    decedee, peri, euthanasie, euthanasiee, muerto, muerta, muertos, muertas, murio, fallecido, fallecida, dood,
    gestorven, overleden, gesneuveld, geeuthanaseerd, dod, dode, doda, dodt, doed, dog, avlivet, avlivad, avlivat,
    sjalvdod, padl, padla, padlo, padly, martwy, martwa, martwe, zdechl, zdechla, zdechlo, nie zyje, marw, wedi
    marw, bu farw, trigo, wedi trigo, morto, morta, mortos, mortas, morreu, falecido, falecida, obito, morti,
    deceduto, deceduta
""")
LEFT = {
    "sold": _words("""
    sold, sold alive, sold live, sold off, sold privately, verkauft, lebend verkauft, vendu, vendue, vendus, vendues,
    vendido, vendida, vendidos, vendidas, verkocht, levend verkocht, solgt, sald, sald levande, sprzedany, sprzedana,
    sprzedane, wedi gwerthu, venduto, venduta, venduti
    """),
    "moved": _words("""
    moved off farm, moved off the farm, moved off, moved to another farm, moved away, transferred off farm,
    umgestallt auf anderen betrieb
    """),
    "lent": _words("lent, lent out, on loan, verliehen, ausgeliehen, leihweise abgegeben"),
    "other": _words("""
    exported, exported alive, live export, left farm, left the farm, left alive, off farm, off the farm, given away,
    rehomed, exportiert, lebend exportiert, lebend abgegeben, abgegeben, verschenkt, exporte, exportee, exportes,
    donne, donnee, exportado, exportada, regalado, regalada, geexporteerd, weggegeven, eksportert, eksporteret,
    exporterad, bortskankt, wyeksportowany, wyeksportowana, oddany, oddana, doado, doada, esportato, esportata,
    ceduto, ceduta
    """),
}
"""Words for a newborn that left alive, by the reason; "gone" is none, since what is gone may be dead."""
LEFT_SAID = {word: reason for reason, words in LEFT.items() for word in words}
LEFT_WORD = {"sold": "sold", "moved": "moved off farm", "lent": "lent out", "other": "left the farm"}
"""A word of each reason, by which it is read back."""
ALIVE = frozenset(LEFT_SAID) | _words("""
    alive, live, lives, living, lived, survived, survives, surviving, survivor, still alive, alive and well, born
    alive, reared, weaned, kept, retained, turned out, on farm, at foot, not dead, did not die, didn't die, lebt,
    lebend, lebendig, am leben, uberlebt, lebt noch, aufgezogen, abgesetzt, vivant, vivante, vivants, vivantes, en
    vie, vif, survecu, sevre, sevree, vivo, viva, vivos, vivas, sobrevivio, destetado, destetada, levend, leeft,
    levendig, overleefd, gespeend, levende, lever, i live, overlevd, overlevede, avvent, levande, overlevt,
    overlevde, avvand, zywy, zywa, zywe, zyje, przezyl, przezyla, przezylo, byw, yn fyw, fyw, wedi goroesi,
    sobreviveu, sobrevive, desmamado, desmamada, vivi, vive, sopravvissuto, sopravvissuta, svezzato, svezzata
""")
WELL = _words(
    "ok, okay, o.k, fine, well, good, healthy, gut, gesund, bien, goed, bra, dobry, dobre, iach, bem, bene"
)
"""Kind words that say "alive" only where every other word of the column is one for dead or alive."""

NOT_ASKED = _words("n/a, n.a, na, nan, nat, none, nil, null, <na>, #n/a")
"""Words that stand for an empty cell. A question mark and "unknown" do not: somebody wondered."""
WONDERED = _words(
    "?, ??, ???, unknown, not known, don't know, dont know, not sure, unsure, unbekannt, inconnu, ukjent"
)

_IN_TEXT = DEAD - _words("""
    lost, tot, pts, peri, dog, dode, death, good, mort, morte, vif, live, carcass, carcase, destroyed, knacker, post
    mortem, post-mortem, postmortem, necropsy, doda, dod, marw, trigo, dies
""")
_ALSO_IN_TEXT = _words("""
    fox got it, fox had it, fox took it, taken by fox, taken by a fox, killed by fox, eaten by fox, taken by crows,
    overlaid, taken by dog, taken by dogs, taken by crow, taken by badger, taken by eagle, eaten by, laid on by,
    lain on, found dead, was dead, tot gefunden, lag tot, war tot, trouve mort, trouvee morte, est mort, est morte,
    funnet dod, fundet dod, hittad dod, marw
""")


def _pattern(words: frozenset[str]) -> re.Pattern[str]:
    either = "|".join(re.escape(word) for word in sorted(words, key=lambda word: (-len(word), word)))
    return re.compile(rf"(?<![\w'-])(?:{either})(?![\w-])")


DEAD_SAID, BORN_DEAD_SAID = _pattern(DEAD - {"lost", "dog"}), _pattern(BORN_DEAD)
DEAD_IN_TEXT = _pattern(_IN_TEXT | _ALSO_IN_TEXT)
DEAD_LATER = _pattern(DEAD - BORN_DEAD - _words("lost, dog"))
_OTHERS = """
    dam|ewe|ewes|doe|nanny|cow|mother|mum|sire|twin|twins|triplet|sibling|siblings|brother|sister|littermate|mate|other|others
    |mutter|mutterschaf|aue|kuh|ziege|zwilling|geschwister|mere|brebis|vache|chevre|jumeau|jumelle|madre|oveja|vaca|cabra
    |gemelo|moeder|ooi|koe|geit|tweeling|mor|soye|ku|geit|tvilling|moder|tacka|ko|far|matka|owca|krowa|koza|blizniak|mam
    |dafad|buwch|gefell|mae|ovelha|gemeo|pecora|mucca|capra|gemello
"""
OTHER = "(?:" + "".join(_OTHERS.split()) + ")"
NOT = r"(?:no|not|non|never|nearly|almost|didn't|did not|wasn't|nicht|kein|keine|fast|pas|presque|casi|niet|geen|bijna"
NOT += r"|ikke|nesten|inte|nastan|nie|prawie|nao|quase|quasi|if|half|thought|looked|seemed|like)"
DENIED = re.compile(rf"(?<![\w']){NOT}(?:\s+\w+)?\s+$")
OF_ANOTHER = re.compile(rf"(?<![\w-]){OTHER}(?:'s)?(?:\s+\w+){{0,2}}\s+$")
ANOTHER_NEXT = re.compile(rf"^\s+{OTHER}(?!\w)")
COUNTED = re.compile(
    r"(?:\d|one|two|three|both|ein|eins|zwei|un|une|deux|uno|dos|een|twee|tva|jeden|dwa|dois|due)\s+$"
)


def speaks_of_death(text: str, said: re.Pattern[str] = DEAD_SAID) -> bool:
    """True where a text has a word for dead that is neither denied nor about the dam or a littermate.

    >>> speaks_of_death("found dead 3/4"), speaks_of_death("not dead"), speaks_of_death("its twin was dead")
    (True, False, False)
    """
    plain = folded(text)
    return any(
        not (
            DENIED.search(plain[: found.start()])
            or OF_ANOTHER.search(plain[: found.start()])
            or COUNTED.search(plain[: found.start()])
            or ANOTHER_NEXT.search(plain[found.end() :])
        )
        for found in said.finditer(plain)
    )


LOSS = _pattern(DEAD - _words("dog"))
NONE_LOST = re.compile(r"(?<!\w)(?:none|nil|0|zero|keins?|keine|aucun|ninguno)\s+$")
_MATES = """
    twin|twins|triplet|sibling|siblings|brother|sister|littermate|mate|other|others|zwilling|geschwister|jumeau|jumelle
    |gemelo|tweeling|tvilling|blizniak|gefell|gemeo|gemello
"""
LITTERMATE = re.compile(rf"(?<!\w)(?:{''.join(_MATES.split())})(?!\w)")


def speaks_of_a_loss(text: str) -> bool:
    """True where a text about a litter says that any of it was lost: not denied, and not said of the dam.

    >>> [speaks_of_a_loss(text) for text in ("lost 1", "1 died later", "its twin died", "none lost", "ewe died")]
    [True, True, True, False, False]
    """
    plain = LITTERMATE.sub("one", folded(text))
    return any(
        not (
            DENIED.search(plain[: found.start()])
            or NONE_LOST.search(plain[: found.start()])
            or OF_ANOTHER.search(plain[: found.start()])
            or ANOTHER_NEXT.search(plain[found.end() :])
        )
        for found in LOSS.finditer(plain)
    )


_LATER = _words(r"""
    next (?:day|morning|night|afternoon|evening), following (?:day|morning|night), day after, morning after,
    by (?:the )?(?:next )?morning, by night, by evening, overnight, later, afterwards, within (?:hours|days),
    within \d+ ?(?:h|d)\w*, (?:second|2nd|third|3rd) day, day [2-9]\d?,
    (?:after|at|aged?) (?:a few|some|\d+|one|two|three) ?(?:h|hrs?|hours?|d|days?|weeks?),
    \d+ ?(?:hours?|hrs?|days?|weeks?) (?:later|old), (?:nachsten|naechsten|folgenden|zweiten|2\.|3\.) (?:tag|morgen),
    tags darauf, spater, spaeter, uber nacht, ueber nacht, bis zum morgen,
    nach (?:\d+|einem|einigen|zwei|drei) (?:tag|stunde)\w*, lendemain, plus tard, dia siguiente, mas tarde,
    dia seguinte, mais tarde, giorno dopo, piu tardi, volgende (?:dag|ochtend),
    (?:neste|naeste|nasta) (?:dag|morgon|morgen), dagen (?:etter|efter), senere, senare, nastepnego dnia, pozniej,
    trannoeth, yn ddiweddarach
""")
LATER_THAN_BIRTH = re.compile(rf"(?<!\w)(?:{'|'.join(sorted(_LATER))})(?!\w)")
FOUND = re.compile(r"(?<!\w)(?:found|gefunden|trouve|trouvee|funnet|fundet|hittad)(?!\w)")


def speaks_of_later_death(text: str) -> bool:
    """True where a text says that the newborn died some time after its birth; when it was found does not say so.

    >>> speaks_of_later_death("died next day"), speaks_of_later_death("Dead by morning"), speaks_of_later_death("died")
    (True, True, False)
    >>> speaks_of_later_death("found dead next day"), speaks_of_later_death("born dead, ewe died next day")
    (False, False)
    """
    plain = BORN_DEAD_SAID.sub(" ", folded(text))
    told = LATER_THAN_BIRTH.search(plain) and not FOUND.search(plain)
    return bool(told) and speaks_of_death(plain, DEAD_LATER)


HEADED_DEAD = _words("""
    dead, died, dies, death, deaths, lost, loss, losses, mortality, dod, stillborn, perished, deceased, fatality,
    tot, tod, gestorben, verendet, verluste, verlust, totgeboren, mort, morte, morts, mortalite, deces, decede,
    perdu, perte, muerto, muerta, muerte, muertos, murio, baja, bajas, mortalidad, dood, gestorven, overleden,
    sterfte, dode, dodt, dodde, dodsfall, doda, dodsfall, padlo, padl, padla, padle, martwe, martwy, smierc, upadek,
    upadki, marw, marwolaeth, morto, morta, mortos, obito, morreu, morti, deceduto, decesso
""")
HEADED_ALIVE = _words("""
    alive, live, lives, living, survived, survives, surviving, survival, survivor, reared, weaned, turnout, lebt,
    lebend, lebendig, uberlebt, aufgezogen, abgesetzt, vivant, vivante, vivants, survie, sevre, vivo, viva, vivos,
    sobrevive, sobrevivio, destetado, levend, leeft, overleefd, gespeend, levende, lever, overlevd, levande,
    overlevt, avvent, avvand, zywy, zywe, zyje, przezyl, byw, fyw, goroesi, sobreviveu, desmamado, vivi, vive,
    sopravvissuto, svezzato
""")
HEADED_EITHER = _words("""
    outcome, fate, status, state, result, code, verbleib, ausgang, ergebnis, etat, devenir, statut, resultat,
    estado, destino, resultado, uitkomst, utfall, udfald, utgang, skjebne, stan, wynik, canlyniad, tynged, situacao,
    esito, stato, happened, ended, became
""")
HEADED_EXAMINED = _words(
    "pm, postmortem, necropsy, autopsy, sektion, sektionsbefund, autopsie, necropsia, obduksjon, obduktion, sekcja"
)
ABOUT_ANOTHER = re.compile(rf"(?<!\w){OTHER}(?!\w)")


def asks_for(heading: str) -> str:
    """What a heading asks for: "dead", "alive", "either", "examined", or "" where it sounds like no outcome.

    >>> asks_for("Died?"), asks_for("Alive at turnout"), asks_for("Live / dead"), asks_for("Ewe died"), asks_for("Sex")
    ('dead', 'alive', 'either', '', '')
    """
    spoken = folded(heading)
    if ABOUT_ANOTHER.search(spoken):
        return ""
    words = set(re.findall(r"[^\W\d_]+", spoken))
    if words & HEADED_EXAMINED or "post mortem" in spoken or "post-mortem" in spoken:
        return "examined"
    dead, alive = bool(words & HEADED_DEAD), bool(words & HEADED_ALIVE)
    if dead != alive:
        return "dead" if dead else "alive"
    return "either" if dead or words & HEADED_EITHER else ""


CULPRITS = {
    "predation": _words("""
    fox, foxes, taken by fox, fox got it, badger, crow, crows, raven, ravens, dogs, eagle, wolf, lynx, predator,
    predation, fuchs, wolf, rabe, krahe, hund, renard, loup, corbeau, chien, zorro, lobo, cuervo, perro, vos, kraai,
    hond, rev, kraka, ravn, ulv, orn, rav, varg, korp, raev, lis, wilk, kruk, pies, llwynog, bran, ci, raposa,
    corvo, cao, volpe, lupo, cane
    """),
    "accident": _words("""
    laid on, lay on, lain on, overlaid, overlain, crushed, trampled, hung, ewe lay on it, smothered, suffocated,
    drowned, strangled, accident
    """),
    "infection": _words(
        "scours, scour, watery mouth, joint ill, pneumonia, septicaemia, septicemia, sepsis, navel ill"
    ),
    "starvation-mismothering-exposure": _words("starved, starvation, hypothermia, exposure"),
    "congenital": _words("deformed, deformity, congenital"),
}
"""What stands in a column of deaths instead of yes: how it died. A word for a weak or cold newborn is none of these."""

LATER = _words(
    "reared, weaned, turnout, sold, kept, aufgezogen, abgesetzt, sevre, destetado, gespeend, avvent, avvand, svezzato"
)


def may_be_later(heading: str) -> bool:
    """True where a heading asks for weaning, turnout or the like: a "no" there need be no death."""
    return bool(set(re.findall(r"[^\W\d_]+", folded(heading))) & LATER)


TOTALS = _words("""
    total, totals, sum, subtotal, sub-total, sub total, grand total, mean, average, avg, count, median, summe,
    gesamt, insgesamt, gesamtsumme, zwischensumme, anzahl, durchschnitt, mittelwert, mittel, somme, totaux,
    sous-total, moyenne, nombre, suma, subtotal, media, promedio, recuento, totaal, som, subtotaal, gemiddelde,
    aantal, totalt, sum totalt, delsum, snitt, gjennomsnitt, antall, summa, medel, medelvarde, antal, i alt, ialt,
    gennemsnit, razem, ogolem, srednia, liczba, cyfanswm, cyfartaledd, nifer, totais, contagem, totale, totali,
    somma, conteggio, subtotale
""")
