"""How farms write that a newborn died or lived, in twelve languages: only words that can mean nothing else.

English, German, French, Spanish, Dutch, Norwegian, Swedish, Danish, Polish, Welsh, Portuguese and Italian. The words
are common usage, from memory, unchecked by a printed source. They stand without capitals and accents, as `folded`
gives them. A word that is missing here is never taken for alive: it is asked about.
"""

from __future__ import annotations

import re
from functools import cache

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
    arrival, sb, s/b, s.b, bd, b/d, born-dead, dead on birth, dead when born, dead at lambing, dead at calving,
    dead at kidding, died at birth, aborted, abortion, slipped, slipped lamb, slipped calf, slipped kid, mummified,
    macerated, abortiert, verworfen, verlammt, verkalbt, mumifiziert, tot bei geburt, bei geburt tot,
    bei der geburt tot, avorte, avortee, avorton, avortement, momifie, momifiee, mort a la naissance,
    morte a la naissance, abortado, abortada, aborto, momificado, momificada, muerto al nacer, muerta al nacer,
    totgeboren, tot geboren, totgeburt, mort-ne, mort-nee, mort ne, mort nee, mortne, nacido muerto, nacida
    muerta, mortinato, mortinata, doodgeboren, dood geboren, dodfodt, dodfod, dodfodd, dodfodda, martwo urodzony,
    martwo urodzone, martwo urodzona, marw-anedig, marwanedig, marw anedig, nado-morto, nado morto, natimorto,
    natimorta, nato morto, nata morta, nati morti, never breathed, had never breathed, had not breathed, did not
    breathe, didn't breathe, nie geatmet, nicht geatmet, hatte nicht geatmet, n'a pas respire, nunca respiro, no respiro
""")
DEAD = BORN_DEAD | _words("""
    dead, died, dies, death, deceased, perished, killed, rip, r.i.p, dd, didn't make it, did not make it, didnt make it,
    passed away, passed on, froze, froze to death, frozen to death, snuffed it, pegged it, pegged out, drowned,
    lost, smothered, suffocated, strangled, put down,
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
AS_LAMBS_DO = _words("""
    pet, pet lamb, pets, cade, cade lamb, tiddler, tiddling, sock lamb, poddy, poddy lamb, pet kid, bottle,
    bottle baby, bottle lamb, bottle kid, bottle calf, bottle fed, bottle-fed, bottle reared, on bottle, on the bottle,
    hand reared, hand-reared, bucket calf, bucket reared, on lamb bar, artificially reared, fostered, fostered on,
    fostered off, foster, adopted, adopted on, set on, grafted, retained, kept for breeding, kept for flock,
    kept for herd, kept as replacement, kept for stock, replacement, still going, revived, doing well, thriving,
    flaschenlamm,
    flaschenkind, flaschenkitz, flasche, mit der flasche, adoptiert, untergeschoben, zur zucht, zucht, behalten,
    remontiert, nachzucht, biberon, au biberon, elevage au biberon, adopte, adoptee, garde, gardee, conserve,
    conservee, pour la reproduction, renouvellement, biberon lamb, a biberon, mamila, con biberon, adoptado, adoptada,
    ahijado, ahijada, guardado, guardada, reposicion, recria
""")
"""Words for a newborn that lives, whatever the heading: reared otherwise, set on, or kept."""
GROWN = _words("""
    to hill, to the hill, hill, on hill, on the hill, to grass, to the grass, at grass, on grass, out at grass, out,
    turned away, to field, in field, fat, fat lamb, finished, store, stores, to store, to rearer, to rearing unit,
    in rearing unit, to yard, with ewe, with dam, with mother, with cow, with doe, on ewe, on cow, on dam, auf der
    weide,
    auf weide, weide, bei der mutter, a l'herbe, au pre, a la pature, engraisse, a l'engraissement, sous la mere,
    a pasto,
    en pasto, al campo, cebo, a cebo, con la madre
""")
"""Words for where a living newborn went, under a heading that asks for its fate."""
OK = _words("ok, okay, o.k, all right, alright, fine, ok now, doing ok, healthy, gesund")
"""Kind words that nobody writes of the dead."""
WELL = _words(
    "ok, okay, o.k, fine, well, good, healthy, gut, gesund, bien, goed, bra, dobry, dobre, iach, bem, bene"
)
"""Kind words that say "alive" only where every other word of the column is one for dead or alive."""

NOT_ASKED = _words("n/a, n.a, na, nan, nat, none, nil, null, <na>, #n/a")
"""Words that stand for an empty cell. A question mark and "unknown" do not: somebody wondered."""
WONDERED = _words("""
    ?, ??, ???, unknown, not known, don't know, dont know, not sure, unsure, missing, gone missing, unbekannt,
    weiss nicht, verschollen, vermisst, inconnu, disparu, disparue, ne sait pas, desconocido, desconocida,
    desaparecido, desaparecida, no se sabe, ukjent
""")

_IN_TEXT = DEAD - _words("""
    sb, s/b, s.b, bd, b/d, dd, rip, slipped, verworfen, verlammt, verkalbt, aborted, aborto, abortion, avorton, avorte,
    abortado, abortada, abortiert, mummified, mumifiziert, macerated, momifie, momifiee, lost, tot, pts, peri,
    dog, dode, death, good, mort, morte, vif, live, carcass, carcase, destroyed, knacker, post
    mortem, post-mortem, postmortem, necropsy, doda, dod, marw, trigo, dies
""")
_ALSO_IN_TEXT = _words("""
    fox got it, fox had it, fox took it, taken by fox, taken by a fox, killed by fox, eaten by fox, taken by crows,
    overlaid, taken by dog, taken by dogs, taken by crow, taken by badger, taken by eagle, eaten by, laid on by,
    lain on, found dead, was dead, tot gefunden, lag tot, war tot, trouve mort, trouvee morte, est mort, est morte,
    funnet dod, fundet dod, hittad dod, marw
""")


WHEN_SAID = (
    r"(?:(?:at|on|in|by|since|am|im|le|el|en|a|ab|seit|den|till|until)\s+)?"
    r"(?:\d{1,2}\s*[./-]\s*\d{1,2}(?:\s*[./-]\s*\d{2,4}|\.)?|\d{4}-\d{1,2}-\d{1,2}"
    rf"|\d{{1,2}}\.?(?:st|nd|rd|th)?\s*(?:of\s+|de\s+)?(?:{'|'.join(sorted(MONTHS))})(?:\s*\d{{2,4}})?"
    rf"|(?:{'|'.join(sorted(MONTHS))})(?:\s*\d{{1,4}})?"
    r"|\d{1,3}\s*(?:d|days?|w|wks?|weeks?|mths?|months?|tage?n?|wochen?|monate?n?|j|jours?|sem|semaines?|mois"
    r"|dias?|semanas?|mes|meses)(?:\s+old)?)"
)
"""A date, a month or an age, as it stands behind a word for a fate."""


def _either(words: frozenset[str]) -> str:
    return "|".join(re.escape(word) for word in sorted(words, key=lambda word: (-len(word), word)))


TO_WHOM = (
    r"(?:\s+(?:to|on to|onto|on|by|an|auf|a|bei|con)\s+(?:ewe|cow|doe|nanny|dam|mutter|aue)?\s*#?\d+\w?)?"
)
HOW_SOLD = (
    r"(?:\s+(?:as\s+)?(?:stores?|fat|finished|breeding|live|to market|at market|privately|deadweight))?"
)
"""How those that left alive went: "sold store", "sold fat"."""


@cache
def _life(grown: bool) -> re.Pattern[str]:
    left = _either(LEFT["sold"] | LEFT["moved"] | LEFT["lent"] | LEFT["other"])
    lives = _either((ALIVE | AS_LAMBS_DO | OK | (GROWN if grown else frozenset())) - frozenset(LEFT_SAID))
    one = rf"(?:(?:{left}){HOW_SOLD}|(?:{lives}){TO_WHOM})"
    between = r"\s*(?:[,;:(+&/–—-]|\band\b|\bund\b|\bet\b|\by\b)?\s*"
    return re.compile(rf"{one}(?:{between}(?:{one}|{WHEN_SAID})\)?)*")


def speaks_of_life(text: str, grown: bool = True) -> bool:
    """True where every word of a text says that the newborn lives or left alive, or when or to whom.

    ``grown`` lets words pass that say so only under a heading for a fate ("to hill", "fat").

    >>> speaks_of_life("alive 12/4"), speaks_of_life("fostered to 214"), speaks_of_life("sold 3 wks")
    (True, True, True)
    >>> speaks_of_life("alive 20/3 died 25/3"), speaks_of_life("alive?"), speaks_of_life("sold, ewe died")
    (False, False, False)
    """
    plain = folded(text)
    return bool(_life(grown).fullmatch(plain)) and not (SPAN_ALONE.search(plain) and not _WENT.match(plain))


SPAN_ALONE = re.compile(
    r"(?<!at )(?<!a )(?<!con )(?<!mit )(?<![\d./-])\b\d{1,3}\s*(?:d|days?|w|wks?|weeks?|mths?|months?|tage?n?|wochen?"
    r"|monate?n?|j|jours?|sem|semaines?|mois|dias?|semanas?|mes(?:es)?)\b"
)
"""A span of time of which nothing says whether the newborn lived so long or was seen alive then: "alive 2 days"."""
_WENT = re.compile(rf"(?:{_either(frozenset(LEFT_SAID))})(?!\w)")
_SOLD = re.compile(r"(?<!\w)(?:" + _either(LEFT["sold"]) + r")(?!\w)")


def why_it_left(text: str) -> str | None:
    """Why a newborn left alive, where a text says so: "sold store", "sold 3 wks"; None elsewhere."""
    plain = folded(text)
    if (reason := LEFT_SAID.get(plain)) is not None:
        return reason
    return "sold" if _SOLD.search(plain) and speaks_of_life(text) else None


PLAINLY_ALIVE = re.compile(rf"(?:{_either(ALIVE | OK | WELL)})(?!\w)")
_SURELY_DEAD = DEAD - _words("lost, slipped, dog, destroyed, carcass, carcase, verworfen, peri")
_SURELY_ALIVE = (ALIVE - frozenset(LEFT_SAID) - _words("kept, retained, on farm, at foot")) | OK | WELL
_LIVING = re.compile(rf"(?:{_either(_SURELY_ALIVE)})(?!\w)")


def says_itself(word: str) -> str:
    """What a word says by itself, whatever a map makes of it: "dead", "alive" or "".

    >>> says_itself("R.I.P."), says_itself("OK"), says_itself("alive 12/4"), says_itself("culled"), says_itself("sold")
    ('dead', 'alive', 'alive', '', '')
    """
    plain = folded(word)
    if plain in _SURELY_DEAD or TAKEN.fullmatch(plain) or (plain not in DEAD and speaks_of_death(word)):
        return "dead"
    alive = plain in _SURELY_ALIVE or (speaks_of_life(word) and bool(_LIVING.match(plain)))
    return "alive" if alive else ""


AT_BIRTH = _words("""
    at birth, birth, at lambing, at calving, at kidding, during birth, during lambing, during calving, during kidding,
    bei geburt, bei der geburt, geburt, a la naissance, naissance, al nacer, en el parto, al parto, nacimiento
""")
"""Where a heading asks for deaths: born dead."""
TOLD_BORN_DEAD = AT_BIRTH | _words("""
    sb, s/b, s.b, bd, b/d, aborted, abortion, slipped, slipped lamb, slipped calf, slipped kid, mummified, macerated,
    abortiert, verworfen, verlammt, verkalbt, mumifiziert, avorte, avortee, avorton, avortement, momifie, momifiee,
    abortado, abortada, aborto, momificado, momificada
""")
"""Words read as born dead of which it is told that they were read so."""
_HOURS = r"h|hrs?|hours?|std|stunden?|stdn|heures?|horas?"
_DAYS = r"d|days?|tage?n?|j|jours?|dias?"
_WEEKS = r"w|wks?|weeks?|wochen?|sem|semaines?|semanas?"
AGED = re.compile(
    r"(?:(?:died|dead|lost|tot|gestorben|verendet|mort|morte|muerto|muerta|murio|lived|lebte)\s*)?"
    r"(?:(?:at|aged?|after|on|in|mit|nach|a|apres|con|a los|@)\s*)?(?:about|ca|c)?\s*"
    rf"(?:(\d{{1,3}}(?:[.,]\d)?)\s*(?:({_HOURS})|({_DAYS})|({_WEEKS}))(?:\s+(?:old|later|alt))?"
    r"|(?:d|day|tag|jour|dia)\s*(\d{1,2}))"
)


IN_THE_BAG = re.compile(
    r"(?:found |born )?(?:dead|died|suffocated|drowned|tot|mort|morte|muerto|muerta) "
    r"(?:in|in der|im|dans|en) (?:the |its |la |le |les |el )?"
    r"(?:bag|sac|sack|caul|membranes?|waters|water bag|fruchtblase|eihaut|poche|membranes|bolsa)"
)
"""Dead at birth, of which nobody knows whether it had breathed: a death in the first hour, not a stillbirth."""


def age_said(text: str) -> str | None:
    """The age at which a newborn died, where a text tells a death by its age alone: hours or days.

    >>> age_said("2d"), age_said("died day 3"), age_said("6 hrs"), age_said("lived 2 weeks"), age_said("2")
    ('2 d', '3 d', '6 h', '14 d', None)
    """
    if IN_THE_BAG.fullmatch(folded(text)):
        return "0 h"
    if not (found := AGED.fullmatch(folded(text))):
        return None
    number, hours, days, weeks, day = found.groups()
    if weeks:
        return f"{7 * float(number.replace(',', '.')):g} d"
    return f"{number or day} {'h' if hours else 'd'}" if hours or days or day else None


def _pattern(words: frozenset[str]) -> re.Pattern[str]:
    return re.compile(rf"(?<![\w'-])(?:{_either(words)})(?![\w-])")


ALONE = _words("bd, b/d, dd, s.b, slipped, verworfen, verlammt, verkalbt, aborto, abortion, avorton")
"""Words for dead that say so only where they fill a cell."""
DEAD_SAID, BORN_DEAD_SAID = _pattern(DEAD - ALONE - {"lost", "dog"}), _pattern(BORN_DEAD - ALONE)
DEAD_IN_TEXT = _pattern(_IN_TEXT | _ALSO_IN_TEXT)
DEAD_LATER = _pattern(DEAD - BORN_DEAD - ALONE - _words("lost, dog"))
_OTHERS = """
    dam|ewe|ewes|doe|nanny|cow|mother|mum|sire|twin|twins|triplet|sibling|siblings|brother|sister|littermate|mate|
    other|others
    |mutter|mutterschaf|aue|kuh|ziege|zwilling|geschwister|mere|brebis|vache|chevre|jumeau|jumelle|madre|oveja|vac
    a|cabra
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
    r"(?:(?<![\d./-])\d{1,2}|one|two|three|both|ein|eins|zwei|un|une|deux|uno|dos|een|twee|tva|jeden|dwa|dois|due)\s+$"
)


def speaks_of_death(
    text: str,
    said: re.Pattern[str] = DEAD_SAID,
    unless_before: tuple[re.Pattern[str], ...] = (DENIED, COUNTED),
) -> bool:
    """True where a text has a word for dead that is neither denied nor about the dam or a littermate.

    >>> speaks_of_death("found dead 3/4"), speaks_of_death("not dead"), speaks_of_death("its twin was dead")
    (True, False, False)
    """
    plain = folded(text)
    return any(
        not (
            any(before.search(plain[: found.start()]) for before in (*unless_before, OF_ANOTHER))
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
    return speaks_of_death(LITTERMATE.sub("one", folded(text)), LOSS, (DENIED, NONE_LOST))


_PREDATORS = {
    "en": "fox(?:es)?|crows?|ravens?|eagles?|dogs?|badgers?|coyotes?|wolf|wolves|lynx|(?:sea)?gulls?|magpies?|buzzards?"
    "|hawks?|mink|pigs?|dingo(?:es)?|cougars?|bears?|stoats?|vultures?|predators?",
    "de": "fuchs|fuchse|krahen?|raben?|kolkraben?|hund|hunde|adler|seeadler|wolf|wolfe|wolfen|luchs|dachs",
    "fr": "renards?|corbeaux?|corneilles?|chiens?|loups?|aigles?|vautours?|ours|lynx|sanglier",
    "es": "zorros?|cuervos?|perros?|lobos?|aguilas?|buitres?|oso|jabali",
}
_IT = r"(?:it|him|her|them|this one|that one)"
TAKEN = re.compile(
    rf"(?:the |a |an )?(?:{_PREDATORS['en']}) (?:got|had|took|killed|ate) {_IT}"
    rf"|(?:taken|killed|eaten|got|lost|carried off) (?:by|to) (?:an? |the )?(?:{_PREDATORS['en']})"
    rf"|(?:{_PREDATORS['en']}) kill|(?:vom |von |durch |von einem )?(?:{_PREDATORS['de']}) "
    r"(?:geholt|gerissen|gefressen|getotet)"
    rf"|(?:pris|prise|tue|tuee|mange|mangee|emporte|emportee|devore|devoree) par (?:l'|le |la |les |un |une |des )?"
    rf"(?:{_PREDATORS['fr']})"
    rf"|(?:comido|comida|matado|matada|llevado|llevada|devorado|devorada) por (?:el |la |los |las |un |una |unos )?"
    rf"(?:{_PREDATORS['es']})"
)
"""A newborn taken by a predator, said in a cell of a fate."""

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
    alive, live, lives, living, lived, survived, survives, surviving, survival, survivor, reared, weaned, turnout, lebt,
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


LETTERED = re.compile(r"(?:a|l)\s*(?:/|or)\s*d|d\s*(?:/|or)\s*(?:a|l)|l\s*/\s*t|t\s*/\s*l")
"""Alive or dead, live or dead, lebend oder tot, by their letters."""
VIVO = re.compile(r"v\s*[/-]\s*m|m\s*[/-]\s*v")
"""Vivo o muerto, vivant ou mort; in other languages the letters are those of the sexes."""
_STAGES = {
    "at birth": "birth, geburt, naissance, nacimiento, nacer",
    "hours": "24h, 48h, 72h, 24 h, 48 h, 72 h, 24 hours, 48 hours, 72 hours, 24 hrs, 48 hrs, 1 day, 2 days, "
    "24 stunden, "
    "48 stunden, 24 heures, 48 heures, 24 horas, 48 horas",
    "marking": "marking, tailing, docking, tagging, branding, marquage, marcaje, kupieren",
    "turnout": "turnout, turn out, turning out, austrieb, mise a l'herbe",
    "weaning": "weaning, w, speaning, absetzen, absetzalter, sevrage, destete, wean",
    "end": "sale, selling, end of season, end of lambing, verkauf, vente, venta, end",
}
STAGES = tuple((stage, word) for stage, words_ in _STAGES.items() for word in sorted(_words(words_)))
_STAGE = _either(frozenset(word for _, word in STAGES))
_SPAN = rf"\d{{1,3}}\s*(?:{_DAYS}|{_WEEKS}|{_HOURS}|months?|mths?|monate?n?|mois|mes(?:es)?)"
_PLACED = (
    r"(?:at|@|to|till|until|by|before|bei|bis|zum|bis zum|vor|mit|au|a|a los|al"
    r"|antes de|antes del|hasta|avant|jusqu'au|jusqu'a)"
)
PRESENT = re.compile(
    rf"(?:present|there|vorhanden|presents?|presente)\s+{_PLACED}\s+(?:the )?(?:{_STAGE}|{_SPAN})(?:\s*\(.*\)?)?"
)
AT_A_STAGE = re.compile(
    rf"(?P<said>[^\W\d_]+(?:\s+[^\W\d_]+)?)\s*{_PLACED}\s*(?:the )?(?P<when>{_STAGE}|{_SPAN})(?:\s*\(.*\)?)?"
)


def stage_asked(heading: str) -> tuple[str, float] | None:
    """The outcome that a heading asks for at some age or stage, and how late that is; None for any other heading.

    >>> stage_asked("Alive at 28 days")[0], stage_asked("Mort avant 48h")[0], stage_asked("Status at weaning")[0]
    ('alive', 'dead', 'either')
    >>> stage_asked("Alive @ tailing")[1] < stage_asked("Alive @ weaning")[1], stage_asked("Weight at weaning")
    (True, None)
    """
    spoken = folded(heading)
    found = AT_A_STAGE.fullmatch(spoken)
    if found is None or ABOUT_ANOTHER.search(spoken):
        return None
    asked = "alive" if PRESENT.fullmatch(spoken) else asks_for(found["said"])
    return (asked, _how_late(found["when"])) if asked in ("dead", "alive", "either") else None


def _how_late(when: str) -> float:
    """Days after birth, about, by which stages can be put in order."""
    typical = {
        "at birth": 0.0,
        "hours": 2.0,
        "marking": 35.0,
        "turnout": 42.0,
        "weaning": 100.0,
        "end": 200.0,
    }
    if (age := age_said(when)) is not None:
        return float(age.split()[0]) / (24 if age.endswith("h") else 1)
    stages = {word: typical[stage] for stage, word in STAGES}
    if when in stages:
        return stages[when]
    return 30.0 * float(re.match(r"\d+", when)[0])  # type: ignore[index]


def asks_for(heading: str) -> str:
    """What a heading asks for: "dead", "alive", "either", "examined", or "" where it sounds like no outcome.

    >>> asks_for("Died?"), asks_for("Alive at turnout"), asks_for("Live / dead"), asks_for("Ewe died"), asks_for("Sex")
    ('dead', 'alive', 'either', '', '')
    """
    spoken = folded(heading)
    if ABOUT_ANOTHER.search(spoken):
        return ""
    if LETTERED.fullmatch(spoken):
        return "either"
    if PRESENT.fullmatch(spoken):
        return "alive"
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
