"""Code pages are told apart by the words that they make, named by the map, or asked about; a file is never garbled."""

from __future__ import annotations

from pathlib import Path

import pytest

from neonatal_stats.season.files.delimited import CODE_PAGES, decoded, languages, likely
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.read import read_season

# Headings and words of invented farm books, in twelve languages and two more; from memory, unchecked.
# ruff: noqa: E501
BOOKS = {
    "English": "tag,dam,born,sex,weight (kg),cost £,temp °C\n1,Zoë,2026-04-01,female,4.1,£3,39.1\n2,Chloë,2026-04-02,male,4.4,£2,38.7\n",
    "German": "Ohrmarke;Mutter;Geschlecht;Größe;überlebt\n1;Bärbel;männlich;groß;ja\n2;Grete;weiblich;schwächlich;nein, unterkühlt\n",
    "French": "boucle;mère;née le;décès;cause\n1;Hélène;1.4.2026;non;\n2;Zoé;2.4.2026;oui;diarrhée\n",
    "Spanish": "número;madre;año;murió;causa\n1;Toña;2026;sí;neumonía\n2;Lucía;2026;no;\n",
    "Dutch": "lam;ooi;geboren;dood;reden\n1;Zoë;1-4-2026;nee;\n2;Annie;2-4-2026;ja;geïnfecteerd\n3;Eén;2-4-2026;ja;één dag oud\n",
    "Norwegian": "lam nr;søye;fødselsdato;kjønn;død;årsak\n1;Bjørk;1.4.2026;hunkjønn;nei;\n2;Gråøye;2.4.2026;hannkjønn;ja;dødfødt\n",
    "Swedish": "lamm;tacka;född;kön;död\n1;Märta;2026-04-01;hona;nej\n2;Gråsäl;2026-04-02;hane;ja, för små\n",
    "Danish": "lam;moder;fødselsdato;køn;død;årsag\n1;Sørine;1.4.2026;hun;nej;\n2;Åse;2.4.2026;væder;ja;for svag, ingen råmælk\n",
    "Polish": "kolczyk;matka;urodzone;płeć;padło;przyczyna\n1;Żabka;1.4.2026;samica;nie;\n2;Łatka;2.4.2026;męska;tak;wyziębienie\n",
    "Welsh": "oen;dafad;brîd;ŵyn;marw\n1;Gwên;mynydd;2;na\n2;Llŷn;tŷ;1;do, yn y dŵr\n",
    "Portuguese": "número;mãe;nascimento;espécie;óbito\n1;Graça;1-4-2026;fêmea;não\n2;Conceição;2-4-2026;macho;sim, inanição\n",
    "Italian": "agnello;madre;età;sesso;perché morto\n1;Niccolò;3;femmina;\n2;Libertà;4;maschio;più debole, così è morto\n",
    "Czech": "číslo;matka;narození;pohlaví;úhyn\n1;Růžena;1.4.2026;jehnička;ne\n2;Šárka;2.4.2026;beránek;ano, příčina\n",
    "Lithuanian": "ėriukas;motina;gimė;lytis;nugaišo\n1;Ąžuolė;2026-04-01;avytė;ne\n2;Šarūnė;2026-04-02;avinas;taip, būklė\n",
}  # fmt: skip


def fits(text: str, encoding: str) -> bool:
    """True where the code page holds every letter of the text, and its bytes are no UTF-8 by chance."""
    try:
        data = text.encode(encoding)
    except UnicodeEncodeError:
        return False
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return True
    return False


def first_lines(text: str) -> str:
    """Headings and one row."""
    return "".join(text.splitlines(keepends=True)[:2])


FILES = [
    (language, size, encoding)
    for language, book in BOOKS.items()
    for size, text in (("book", book), ("two lines", first_lines(book)))
    for encoding in CODE_PAGES
    if fits(text, encoding)
]


def written(language: str, size: str) -> str:
    return BOOKS[language] if size == "book" else first_lines(BOOKS[language])


def test_there_are_eighty_files_and_more_in_twelve_languages_and_more() -> None:
    assert len(FILES) >= 80
    assert len(BOOKS) >= 12
    assert {encoding for _, _, encoding in FILES} == set(CODE_PAGES)


@pytest.mark.parametrize(("language", "size", "encoding"), FILES, ids=lambda part: str(part))
def test_a_file_in_an_old_code_page_reads_as_it_was_written(language: str, size: str, encoding: str) -> None:
    text = written(language, size)
    read, (remark,) = decoded("book.csv", text.encode(encoding))
    assert read == text
    assert remark.problem.startswith("the file is not UTF-8; it was read as")


@pytest.mark.parametrize("language", BOOKS)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_unicode_is_proven_and_nothing_is_said_of_it(language: str, encoding: str) -> None:
    read, remarks = decoded("book.csv", BOOKS[language].encode(encoding))
    assert (read.removeprefix("\ufeff"), remarks) == (BOOKS[language], ())


@pytest.mark.parametrize("cut", [1, 2])
def test_a_letter_cut_in_two_at_the_end_leaves_the_file_unicode(cut: int) -> None:
    data = "oen,dafad\n1,tŵ€".encode()[:-cut]
    assert decoded("book.csv", data) == ("oen,dafad\n1,tŵ", ())


NAMES = {
    "cp1257": ("Ąžuolė", "Šarūnė", "Rūta"),
    "cp1250": ("Żaneta", "Łucja", "Świtezianka"),
    "cp1252": ("Zoë", "Gråsten", "Ñusta"),
    "cp850": ("Märta", "Sørine", "Éloïse"),
    "mac_roman": ("Märta", "Bjørk", "Noël"),
    "iso8859_2": ("Božena", "Šárka", "Jiřina"),
    "cp437": ("Désirée", "Jürgen", "Åsa"),
    "iso8859_15": ("Cœur", "Élise", "Aïda"),
}


@pytest.mark.quickly(4)
@pytest.mark.parametrize("encoding", NAMES)
def test_names_alone_tell_the_code_page(tmp_path: Path, encoding: str) -> None:
    rows = [f"{at},{NAMES[encoding][at % 3]} {at},2026-04-{1 + at:02d},no" for at in range(12)]
    path = tmp_path / "lambs.csv"
    path.write_bytes("\n".join(["newborn_id,dam_id,born_on,died", *rows]).encode(encoding))
    births = read_season(path).births
    assert set(births["dam_id"].str.rsplit(" ", n=1).str[0]) == set(NAMES[encoding])


def test_words_that_two_code_pages_make_alike_are_asked_about_and_the_map_settles_it(tmp_path: Path) -> None:
    """Byte EA is ê in Windows-1252 and ę in Windows-1250 (their tables); here one name alone holds it."""
    path, said = tmp_path / "lambs.csv", tmp_path / "map.toml"
    path.write_bytes("newborn_id,dam_id,born_on,died\n1,Bręna,2026-04-01,no\n".encode("cp1250"))
    problems = read_season(path).problems
    (asked,) = problems.loc[problems["ended"] == "asked", "problem"]
    assert "it was read as cp1252 (" in asked
    assert "but may be cp1250 (" in asked
    assert "Brêna" in asked
    assert "Bręna" in asked
    for text in ('encoding = "cp1250"', '[encoding]\n"lambs.csv" = "cp1250"', '[encoding]\n"" = "cp1250"'):
        said.write_text(text, encoding="utf-8")
        season = read_season(path, map=said)
        assert season.births["dam_id"].tolist() == ["Bręna"]
        assert not (season.problems["ended"] == "asked").any()


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ('encoding = "cp99"', '"cp99" is no encoding; write one such as utf-8, cp1252 (Western)'),
        ('encoding = "hex"', '"hex" is no encoding'),
        ('encoding = "ascii"', "lambs.csv: the map says it is ascii, but its byte 35 does not fit"),
    ],
)
def test_an_encoding_that_is_none_or_does_not_fit_gives_one_sentence(
    tmp_path: Path, text: str, sentence: str
) -> None:
    path, said = tmp_path / "lambs.csv", tmp_path / "map.toml"
    path.write_bytes("newborn_id,dam_id,born_on,died\n1,Gråsten,2026-04-01,no\n".encode("cp1252"))
    said.write_text(text, encoding="utf-8")
    with pytest.raises(CannotRead) as raised:
        read_season(path, map=said)
    assert sentence in str(raised.value)


def test_a_file_that_is_unicode_is_read_as_that_whatever_the_map_says_of_others(tmp_path: Path) -> None:
    path, said = tmp_path / "lambs.csv", tmp_path / "map.toml"
    path.write_text("newborn_id,dam_id,born_on,died\n1,Łucja,2026-04-01,no\n", encoding="utf-8")
    said.write_text('encoding = "cp1252"', encoding="utf-8")
    assert read_season(path, map=said).births["dam_id"].tolist() == ["Łucja"]


@pytest.mark.parametrize("byte", range(0x80, 0x100))
def test_any_byte_alone_is_read_as_something(byte: int) -> None:
    data = b"tag,dam\n1,a" + bytes([byte]) + b"b\n"
    assert likely(data)[0].encoding in CODE_PAGES
    assert decoded("any.csv", data)[0].startswith("tag,dam\n1,a")


def test_the_words_of_each_language_hold_only_letters_that_it_has() -> None:
    for code, language in languages().items():
        strange = {sign for word in language.words for sign in word if not sign.isascii()} - set(
            language.letters
        )
        assert strange == set(), code
