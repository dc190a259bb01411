"""Write the demo: the truth as written down, closed early where planned, with faults; and a list of all."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

import numpy as np
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


POUNDS_PER_KG = 2.20462
SEX_WORDS = ("gimmer", "f?", "wether")


def cell_text(cell: object, column: str) -> str:
    """Times to the minute, dates as dates, numbers without needless zeros, nothing for what is missing."""
    if cell is None or cell is pd.NaT or cell != cell:
        return ""
    if isinstance(cell, pd.Timestamp):
        return f"{cell:%Y-%m-%d}" if column == "born_on" else f"{cell:%Y-%m-%d %H:%M}"
    if isinstance(cell, float):
        return f"{cell:g}" if cell < 1000 else f"{cell:.0f}"
    return str(cell)


@dataclass(frozen=True)
class PlantedFault:
    """One fault: its name, row as a spreadsheet numbers it (the header is row 1), column, old and new."""

    name: str
    row: int
    column: str
    was: str
    now: str


Planted = dict[str, list[PlantedFault]]
"""The faults of each page, by its name."""


@dataclass(frozen=True)
class Fault:
    """A kind of fault: the column it spoils, which rows can have it, and what the cell becomes."""

    column: str
    can_have: Callable[[pd.DataFrame], pd.Series]
    becomes: Callable[[pd.DataFrame, int, Draws], object]


def _has(*names: str) -> Callable[[pd.DataFrame], pd.Series]:
    return lambda page: page[list(names)].notna().all(axis=1)


def _died_live_born(page: pd.DataFrame) -> pd.Series:
    return page["died_at"].notna() & page["born_at"].notna() & page["fed_after_min"].notna()


def _fed_too_late(page: pd.DataFrame, row: int, draws: Draws) -> object:
    age = page["died_at"].iloc[row] - page["born_at"].iloc[row]
    return f"{age / pd.Timedelta(minutes=1) + 90:.0f}"


def _of_another_row(page: pd.DataFrame, row: int, draws: Draws) -> object:
    return page["newborn_id"].dropna().iloc[row // 2]


BIRTH_FAULTS: dict[str, Fault] = {
    "weight_in_pounds": Fault(
        "birth_weight_kg",
        _has("birth_weight_kg"),
        lambda p, r, d: round(p["birth_weight_kg"].iloc[r] * POUNDS_PER_KG, 1),
    ),
    "decimal_point_lost": Fault(
        "birth_weight_kg",
        _has("birth_weight_kg"),
        lambda p, r, d: round(p["birth_weight_kg"].iloc[r] * 10, 1),
    ),
    "fed_after_death": Fault("fed_after_min", _died_live_born, _fed_too_late),
    "duplicate_identity": Fault(
        "newborn_id", lambda p: p["newborn_id"].notna() & (np.arange(len(p)) > 20), _of_another_row
    ),
    "missing_dam": Fault("dam_id", _has("dam_id"), lambda p, r, d: None),
    "died_before_born": Fault(
        "died_at", _has("died_at", "born_at"), lambda p, r, d: p["born_at"].iloc[r] - pd.Timedelta(days=1)
    ),
    "sex_word_unknown": Fault("sex", _has("sex"), lambda p, r, d: d.pick(SEX_WORDS, [1, 1, 1], 1)[0]),
    "time_missing": Fault(
        "born_at",
        lambda p: p["born_at"].notna() & (p["died"] == "no"),
        lambda p, r, d: f"{p['born_at'].iloc[r]:%Y-%m-%d}",
    ),
    "stillborn_that_stood": Fault("stood_after_min", lambda p: p["born_alive"] == "no", lambda p, r, d: "40"),
    "litter_size_too_small": Fault("litter_size", lambda p: p["litter_size"] > 1, lambda p, r, d: 1),
    "outcome_missing": Fault(
        "died", lambda p: (p["died"] == "no") & p["left_at"].isna(), lambda p, r, d: None
    ),
    "delivery_word_unknown": Fault(
        "delivery", lambda p: p["delivery"] == "easy assist", lambda p, r, d: "bit of a pull"
    ),
}

FEED_FAULTS: dict[str, Fault] = {
    "volume_in_litres": Fault("volume_ml", _has("volume_ml"), lambda p, r, d: p["volume_ml"].iloc[r] / 1000),
    "fed_before_birth": Fault(
        "fed_at", _has("fed_at"), lambda p, r, d: p["fed_at"].iloc[r] - pd.Timedelta(days=2)
    ),
    "feed_of_unknown_newborn": Fault("newborn_id", _has("newborn_id"), lambda p, r, d: f"X{r:04d}"),
}


def with_faults(
    page: pd.DataFrame, faults: dict[str, Fault], rates: dict[str, float], draws: Draws
) -> tuple[pd.DataFrame, list[PlantedFault]]:
    """The page with its faults, and the list of them in row order."""
    page = page.astype({fault.column: object for fault in faults.values() if fault.column in page})
    clean = page.copy()
    planted: list[PlantedFault] = []
    for name, fault in faults.items():
        if fault.column not in page:
            continue
        cells = list(page[fault.column])
        for row in _rows(clean, fault, rates[name], {p.row - 2 for p in planted}, draws):
            was, cells[row] = clean[fault.column].iloc[row], fault.becomes(clean, row, draws)
            texts = [cell_text(cell, fault.column) for cell in (was, cells[row])]
            planted.append(PlantedFault(name, row + 2, fault.column, *texts))
        page[fault.column] = pd.Series(cells, dtype=object)
    return page, sorted(planted, key=lambda fault: fault.row)


def with_rows_twice(
    page: pd.DataFrame, planted: list[PlantedFault], rate: float, draws: Draws
) -> tuple[pd.DataFrame, list[PlantedFault]]:
    """Some rows written again at the foot of the page."""
    spoilt = {fault.row - 2 for fault in planted}
    row_again = Fault("newborn_id", _has("newborn_id"), lambda p, r, d: None)
    rows = _rows(page, row_again, rate, spoilt, draws)
    first = len(page) + 2
    again = [
        PlantedFault("row_written_twice", first + at, "newborn_id", "", str(page["newborn_id"].iloc[row]))
        for at, row in enumerate(rows)
    ]
    return pd.concat([page, page.iloc[rows]], ignore_index=True), [*planted, *again]


def _rows(page: pd.DataFrame, fault: Fault, rate: float, taken: set[int], draws: Draws) -> list[int]:
    can = [int(row) for row in np.flatnonzero(fault.can_have(page).to_numpy(dtype=bool)) if row not in taken]
    count = min(len(can), max(1, round(rate * len(can)))) if can else 0
    order = np.argsort(draws.uniform(len(can)), kind="stable")
    return sorted(can[place] for place in order[:count])


def settings_files() -> dict[str, str]:
    """The settings file of each enterprise; that of the hill sheep is plain ``settings.toml``."""
    names = {name: f"{name}_settings.toml" for name in scenario()["enterprises"]}
    names["hill_sheep"] = "settings.toml"
    return {file: _settings_text(enterprise) for enterprise, file in names.items()}


def plan_files() -> dict[str, str]:
    """The invented plan of each enterprise, as it stands in the package."""
    folder = files("neonatal_stats.demo").joinpath("plans")
    return {found.name: found.read_text(encoding="utf-8") for found in sorted(folder.iterdir(), key=str)}


def _settings_text(enterprise: str) -> str:
    plan = plan_of(enterprise)
    lines = [
        f"# Invented settings of {plan['farm']}: a newborn's price, the keeper's targets, counts made before birth.",
        f"price = {plan['price']}",
        'currency = "GBP"',
        f'kind = "{plan["kind"]}"',
        "",
        "[targets]",
        *(f'"{name}" = {wanted}' for name, wanted in plan["targets"].items()),
    ]
    for truth in clean_truth(enterprise):
        for name, count in _expected(plan, len(truth.births)).items():
            head = ["", "[[expected]]", f'season = "{truth.season}"'] if name == "dams_put_to_male" else []
            lines += [*head, f"{name} = {count}"]
    for action in plan.get("actions", ()):
        lines += ["", "[[action]]", *(f"{name} = {_toml(value)}" for name, value in action.items())]
    return "\n".join(lines) + "\n"


def _toml(value: object) -> str:
    """A text, a number or a list of numbers as a settings file holds it."""
    return f'"{value}"' if isinstance(value, str) else str(value)


def _expected(plan: Plan, born: int) -> dict[str, int]:
    shares, dams = plan["expected"], plan["dams"]
    put = round(dams / (1 - shares["dams_not_pregnant"]))
    return {
        "dams_put_to_male": put,
        "dams_scanned": round(put * (1 - shares["dams_not_scanned"])),
        "newborns_scanned": round(born / (1 - shares["lost_before_birth"])),
    }


def faults_as_toml(planted: dict[str, list[PlantedFault]]) -> str:
    """The planted faults as TOML tables, one a fault; row 1 is the header."""
    text = "\n# Every fault planted in the files, one by one; the header is row 1.\n"
    for file, faults in planted.items():
        for fault in faults:
            text += (
                f'[[planted_fault]]\nfile = "{file}"\nrow = {fault.row}\ncolumn = "{fault.column}"\n'
                f'fault = "{fault.name}"\nwas = "{fault.was}"\nnow = "{fault.now}"\n'
            )
    return text


def readme(planted: dict[str, list[PlantedFault]]) -> str:
    """The README of the demo folder, with the faults counted."""
    template = files("neonatal_stats.demo").joinpath("readme.txt").read_text(encoding="utf-8")
    return template.replace("{{faults}}", _faults_table(planted))


def _faults_table(planted: dict[str, list[PlantedFault]]) -> str:
    counted = Counter((file, fault.name) for file, faults in planted.items() for fault in faults)
    kept = list(planted)
    lines = ["| fault | " + " | ".join(f"`{file}`" for file in kept) + " |", "|---" * (len(kept) + 1) + "|"]
    for name in dict.fromkeys(name for _, name in counted):
        lines.append(f"| {name} | " + " | ".join(str(counted[file, name]) for file in kept) + " |")
    return "\n".join(lines)
