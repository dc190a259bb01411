"""What goes beside the demo's tables: settings with counts made before birth, faults planted, the README."""

from __future__ import annotations

from collections import Counter
from importlib.resources import files

from neonatal_stats.season.demo.mess import PlantedFault
from neonatal_stats.season.demo.scenario import Plan, plan_of, scenario
from neonatal_stats.season.demo.truth import clean_truth


def settings_files() -> dict[str, str]:
    """The settings file of each enterprise; that of the hill sheep is plain ``settings.toml``."""
    names = {name: f"{name}_settings.toml" for name in scenario()["enterprises"]}
    names["hill_sheep"] = "settings.toml"
    return {file: _settings_text(enterprise) for enterprise, file in names.items()}


def _settings_text(enterprise: str) -> str:
    plan = plan_of(enterprise)
    lines = [
        f"# Invented settings of {plan['farm']}: counts made before birth, and a newborn's price.",
        f"price = {plan['price']}",
        'currency = "GBP"',
    ]
    for truth in clean_truth(enterprise):
        for name, count in _expected(plan, len(truth.births)).items():
            head = ["", "[[expected]]", f'season = "{truth.season}"'] if name == "dams_put_to_male" else []
            lines += [*head, f"{name} = {count}"]
    return "\n".join(lines) + "\n"


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
    template = files("neonatal_stats.season.demo").joinpath("readme.txt").read_text(encoding="utf-8")
    return template.replace("{{faults}}", _faults_table(planted))


def _faults_table(planted: dict[str, list[PlantedFault]]) -> str:
    counted = Counter((file, fault.name) for file, faults in planted.items() for fault in faults)
    kept = list(planted)
    lines = ["| fault | " + " | ".join(f"`{file}`" for file in kept) + " |", "|---" * (len(kept) + 1) + "|"]
    for name in dict.fromkeys(name for _, name in counted):
        lines.append(f"| {name} | " + " | ".join(str(counted[file, name]) for file in kept) + " |")
    return "\n".join(lines)
