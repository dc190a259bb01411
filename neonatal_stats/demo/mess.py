"""Faults planted in the demo's tables, and what is written beside them: settings, the faults, the README."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from importlib.resources import files

import numpy as np
import pandas as pd

from neonatal_stats.demo.scenario import Draws, Plan, plan_of, scenario
from neonatal_stats.demo.truth import clean_truth

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
