"""Cells under "agent" that name none: awaited, nothing found, not sent, in many languages; what is unclear is asked."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pandas as pd
import pytest

from neonatal_stats import read_season
from neonatal_stats.chapters import examinations as chapter
from neonatal_stats.season.map.draft_map import draft_map
from neonatal_stats.vocabulary.agents import agent_said

SAID = {
    "awaited": "pending; awaited; TBC; not back yet; sent 3/4; ausstehend; offen; noch nicht zurück; steht noch aus; "
    "en attente; in afwachting; väntar; oczekuje; pendente; afventer",
    "nothing found": "no growth; none found; neg; NEGATIVE; N.A.D.; no significant growth; no pathogens isolated; "
    "sterile; -ve; kein Erreger; kein Keimwachstum; o.B.; ohne Befund; aucun germe isolé; geen groei; ingen växt; "
    "brak wzrostu; "
    "nessuna crescita; sin crecimiento; dim twf",
    "not sent": "not sent; not tested; no sample; not yet sent; nicht eingesandt; keine Probe entnommen; non envoyé; "
    "niet ingestuurd; ikke sendt; nie wysłano; não enviado",
    "": "unknown; k.A.; unbekannt; n/a; inconnu; -",
    "named": "E. coli; Toxoplasma +ve; Strep. dysgalactiae isolated; Chlamydia abortus (EAE); Erysipelothrix; O157",
    "agent found": "positive; positiv; agent found",
}
UNCLEAR = ("E. coli?", "none", "no", "mixed growth", "see report", "E. coli, Toxoplasma neg.", "Verdacht auf Listerien",
           "sample lost", "awaiting Toxoplasma", "no Campylobacter")  # fmt: skip


@pytest.mark.parametrize(
    ("meant", "text"), [(m, t.strip()) for m, row in SAID.items() for t in row.split(";")]
)
def test_a_cell_says_what_it_says_in_any_language(meant: str, text: str) -> None:
    assert agent_said(text) == meant


@pytest.mark.parametrize("text", UNCLEAR)
def test_what_may_say_several_things_is_left_open(text: str) -> None:
    assert agent_said(text) is None


def listed(folder: Path, *agents: str, heading: str = "Agent") -> Path:
    path = folder / "bodies.csv"
    rows = (f"K{n};sheep;2026-04-{n:02d};infection;{agent}" for n, agent in enumerate(agents, start=1))
    path.write_text("\n".join([f"Carcass;Species;Examined on;Diagnosis;{heading}", *rows]), encoding="utf-8")
    return path


def test_words_that_name_no_agent_are_counted_by_kind_and_told(tmp_path: Path) -> None:
    path = listed(tmp_path, "E. coli", "pending", "neg.", "no growth", "not sent", "k.A.", "positive")
    season = read_season(path)
    examined = season.examinations
    assert list(examined["agent"].dropna()) == ["E. coli"]
    laboratory = chapter.answer(season).laboratory.set_index("result")["n"].to_dict()
    assert laboratory == {"nothing found": 2, "agent found": 2, "awaited": 1, "not sent": 1}
    said = next(text for text in season.problems["problem"] if "name no agent" in text)
    assert "nothing found 2, awaited 1, not sent 1, found without a name 1" in said
    told = " ".join(sentence.text for sentence in chapter.sentences(chapter.answer(season)))
    assert "nothing found 2" in told
    assert "Agents that the laboratory found, most often first: E. coli 1." in told


def test_unclear_words_are_asked_by_the_draft_and_by_the_reader(tmp_path: Path) -> None:
    path = listed(tmp_path, "E. coli?", "mixed growth", "Listeria")
    season = read_season(path)
    assert list(season.examinations["agent"].dropna()) == ["Listeria"]
    assert list(season.problems.loc[season.problems["ended"] == "set to missing", "value"]) == [
        "E. coli?",
        "mixed growth",
    ]
    words = tomllib.loads(draft_map(path))["examinations"]["words"]["agent"]
    assert words == {"e. coli?": "?", "mixed growth": "?"}
    (tmp_path / "map.toml").write_text(
        '[examinations.words.agent]\n"e. coli?" = "agent found"\n"mixed growth" = "nothing found"\n',
        encoding="utf-8",
    )
    answered = read_season(path, map=tmp_path / "map.toml").examinations
    assert list(answered["agent"].dropna()) == ["E. coli?", "Listeria"]
    assert list(answered["laboratory"].dropna()) == ["nothing found"]


def test_a_laboratory_result_that_names_agents_keeps_their_names(tmp_path: Path) -> None:
    path = listed(tmp_path, "Campylobacter", "No agent found", "no significant growth", heading="Lab result")
    (tmp_path / "map.toml").write_text(draft_map(path), encoding="utf-8")
    assert (
        "?"
        not in tomllib.loads(draft_map(path))["examinations"].get("words", {}).get("laboratory", {}).values()
    )
    examined = read_season(path, map=tmp_path / "map.toml").examinations
    assert list(examined["agent"].dropna()) == ["Campylobacter"]
    assert list(examined["laboratory"].dropna()) == ["nothing found", "nothing found"]


def test_an_agent_without_a_name_is_a_cause_found_and_no_basis_is_invented(tmp_path: Path) -> None:
    path = tmp_path / "examinations.csv"
    rows = [{"newborn_id": f"K{n}", "species": "sheep", "examined_at": "2026-04-20", "laboratory": result}
            for n, result in enumerate(["agent found", "nothing found", "awaited"])]  # fmt: skip
    pd.DataFrame(rows).to_csv(path, index=False)
    result = chapter.answer(read_season(path))
    assert result.found.iloc[0]["events"] == 1
    assert result.causes[["post_mortem", "opinion", "with_agent"]].sum().to_dict() == {
        "post_mortem": 0,
        "opinion": 0,
        "with_agent": 1,
    }
