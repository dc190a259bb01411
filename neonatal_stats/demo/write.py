"""Write the demo: the truth as written down, closed early where planned, with faults; and a list of all."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from neonatal_stats.demo.lists import (
    FOLDER,
    README,
    laboratory_pages,
    mobs_pages,
    mobs_plan,
    mobs_settings,
    mobs_text,
)
from neonatal_stats.demo.mess import (
    BIRTH_FAULTS,
    FEED_FAULTS,
    PlantedFault,
    cell_text,
    faults_as_toml,
    plan_files,
    readme,
    settings_files,
    with_faults,
    with_rows_twice,
)
from neonatal_stats.demo.scenario import (
    Draws,
    Plan,
    outbreak_readme,
    outbreak_text,
    outbreaks,
    plan_of,
    scenario,
    scenario_text,
)
from neonatal_stats.demo.seen import HIDDEN, closed_early, written_births, written_feeds, written_samples
from neonatal_stats.demo.truth import Truth, clean_truth

Pages = dict[str, pd.DataFrame]
Planted = dict[str, list[PlantedFault]]


def write_demo(directory: str | Path) -> list[Path]:
    """Write every demo file into a directory, which is made if need be.

    Parameters
    ----------
    directory
        Where to write; files of the same names are replaced, others are left alone.

    Returns
    -------
    list of Path
        The files written, in order: births of each enterprise, feeds, samples, weather, settings, plans, the
        planted truth (``truth.toml``) and ``README.md``; and, in folders of their own, a season with an outbreak, the
        lists of a laboratory and a flock counted by the mob. Two calls write the same bytes.
    """
    folder = Path(directory)
    folder.mkdir(parents=True, exist_ok=True)
    texts: dict[str, str] = {}
    planted: Planted = {}
    for enterprise in scenario()["enterprises"]:
        pages, faults = demo_pages(enterprise)
        texts |= {name: _csv(page) for name, page in pages.items()}
        planted |= faults
    texts |= settings_files() | plan_files()
    texts["truth.toml"] = scenario_text() + faults_as_toml(planted)
    texts["README.md"] = readme(planted)
    texts |= _outbreak_texts() | _mobs_texts()
    for name, text in texts.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
    return [folder / name for name in texts]


def _outbreak_texts() -> dict[str, str]:
    """The files of the smaller scenario, with their folders: births, without faults; what is true; a README.

    Beside them the lists of a practice and its laboratory, some of them of these births.
    """
    texts = {}
    for enterprise, plan in outbreaks().items():
        for truth in clean_truth(enterprise):
            page = _season_pages(truth, plan_of(enterprise))["births"]
            page = page.drop(columns=[hidden for hidden in HIDDEN if hidden in page])
            texts[f"{plan['folder']}/{enterprise}_{truth.season}.csv"] = _csv(page)
            texts |= {name: _csv(listed) for name, listed in laboratory_pages(page).items()}
        texts[f"{plan['folder']}/truth.toml"] = outbreak_text()
        texts[f"{plan['folder']}/README.md"] = outbreak_readme()
    return texts | {f"{FOLDER}/README.md": README}


def _mobs_texts() -> dict[str, str]:
    """The files of the flock counted by the mob, in a folder of their own."""
    folder = mobs_plan()["folder"]
    return {
        f"{folder}/high_country_mobs.csv": _csv(mobs_pages()),
        f"{folder}/settings.toml": mobs_settings(),
        f"{folder}/truth.toml": mobs_text(),
        f"{folder}/README.md": mobs_text("mobs.txt"),
    }


def demo_pages(enterprise: str) -> tuple[Pages, Planted]:
    """The tables of one enterprise by file name, as a keeper hands them over, and the faults in each."""
    plan = plan_of(enterprise)
    births: Pages = {}
    others: dict[str, list[pd.DataFrame]] = {"feeds": [], "samples": [], "weather": []}
    for truth in clean_truth(enterprise):
        pages = _season_pages(truth, plan)
        births[truth.season] = pages.pop("births")
        for table, page in pages.items():
            others[table].append(page)
    files = _births_files(enterprise, births)
    tables = {name: pd.concat(found, ignore_index=True) for name, found in others.items()}
    files |= {f"{enterprise}_{table}.csv": page for table, page in tables.items()}
    return _messy(enterprise, files)


def _season_pages(truth: Truth, plan: Plan) -> Pages:
    draws = Draws(scenario()["generator_number"], plan["position"], int(truth.season), 2)
    page = written_births(truth, plan, draws)
    feeds = written_feeds(page, truth.births, plan, draws)
    samples = written_samples(page, truth.births, plan, draws)
    weather = truth.weather.assign(farm=plan["farm"])[["farm", *truth.weather.columns]]
    if "closed_on" in plan and truth.season == plan["seasons"][-1]:
        closed = pd.Timestamp(plan["closed_on"])
        page = closed_early(page, closed)
        feeds, samples, weather = (
            frame[frame[time] <= closed]
            for frame, time in ((feeds, "fed_at"), (samples, "sampled_at"), (weather, "at"))
        )
    return {"births": page, "feeds": feeds, "samples": samples, "weather": weather}


def _births_files(enterprise: str, births: Pages) -> Pages:
    if enterprise == "hill_sheep":
        return {f"{enterprise}_{season}.csv": page for season, page in births.items()}
    return {f"{enterprise}.csv": pd.concat(births.values(), ignore_index=True)}


def _messy(enterprise: str, files: Pages) -> tuple[Pages, Planted]:
    rates = scenario()["faults"]
    draws = Draws(scenario()["generator_number"], plan_of(enterprise)["position"], 3)
    pages: Pages = {}
    planted: Planted = {}
    for name, clean in files.items():
        page = clean.drop(columns=[hidden for hidden in HIDDEN if hidden in clean])
        if "born_alive" in page:
            page, planted[name] = with_faults(page, BIRTH_FAULTS, rates["births"], draws)
            twice = rates["births"]["row_written_twice"]
            page, planted[name] = with_rows_twice(page, planted[name], twice, draws)
        elif "volume_ml" in page:
            page, planted[name] = with_faults(page, FEED_FAULTS, rates["feeds"], draws)
        pages[name] = page
    return pages, planted


def _csv(page: pd.DataFrame) -> str:
    return page.apply(_as_text).to_csv(index=False, lineterminator="\n")


def _as_text(cells: pd.Series) -> pd.Series:
    return cells.map(lambda cell: cell_text(cell, str(cells.name)))
