"""Where the named parts of page one stand, at three widths, kept in page_one.json: `python -m tests.report.places`.

A part is what has an id or a `data-part` in the page's head, its bar or its first section. Boxes say which part moved
and by how much, where two pictures would only say that something did.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from tests.report.browser import opened

Box = tuple[int, int, int, int]
"""Left, top, width and height, in pixels of the page."""
Places = Mapping[str, Box]

WIDTHS = (360, 768, 1280)
STILL = 3
"""Pixels by which a part may move unsaid: letters differ by so much between versions of one browser."""
KEPT = Path(__file__).with_name("page_one.json")

BOXES = """() => {
  const found = [], seen = {};
  for (const one of document.querySelectorAll('nav.bar, header, header [id], #top, #top [id], #top [data-part]')) {
    const box = one.getBoundingClientRect();
    if (one.parentElement.closest('svg') || !one.checkVisibility() || !box.width) continue;
    const name = one.dataset.part || one.id || one.className;
    seen[name] = (seen[name] || 0) + 1;
    const place = [box.left + scrollX, box.top + scrollY, box.width, box.height].map(Math.round);
    found.push([seen[name] > 1 ? `${name} ${seen[name]}` : name, place]);
  }
  return found;
}"""
LETTERS = """() => ['Georgia, "DejaVu Serif", serif', '"DejaVu Sans", Verdana, sans-serif'].map(family => {
  const probe = document.body.appendChild(document.createElement('span'));
  probe.style.cssText = `font: 40px ${family}; position: absolute; white-space: nowrap`;
  probe.textContent = 'Mothering-up 0123456789';
  const width = Math.round(probe.getBoundingClientRect().width);
  probe.remove();
  return width;
})"""


def measured(page_file: Path) -> dict[str, Any]:
    """The places at each width, and how wide the letters of this machine are: others stand elsewhere."""
    found: dict[str, Any] = {}
    with opened(page_file) as (page, _, _errors):
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 800})
            found[str(width)] = {name: tuple(box) for name, box in page.evaluate(BOXES)}
        found["letters"] = page.evaluate(LETTERS)
    return found


def moved(kept: Places, found: Places) -> list[str]:
    """What stands elsewhere or has another size; parts that one above only pushed along are not named."""
    said, pushed = [], {0}
    for name, before in kept.items():
        if name not in found:
            said.append(f"{name} is gone")
            continue
        right, down, wider, taller = (now - then for now, then in zip(found[name], before, strict=True))
        along = any(abs(down - push) <= STILL for push in pushed)
        said += _told(name, {"right": right, "down": 0 if along else down, "wider": wider, "taller": taller})
        pushed = {down, down + taller}
    return said + [f"{name} is new" for name in found if name not in kept]


OTHER_WAY = {"right": "left", "down": "up", "wider": "narrower", "taller": "shorter"}


def _told(name: str, changes: Mapping[str, int]) -> Iterator[str]:
    ways = [
        f"{abs(by)} px {way if by > 0 else OTHER_WAY[way]}" for way, by in changes.items() if abs(by) > STILL
    ]
    if ways:
        yield f"{name}: {', '.join(ways)}"


def main() -> None:
    """Measure page one of the demo flock and keep it."""
    from neonatal_stats.report.review import build
    from neonatal_stats.report.write import write_review
    from neonatal_stats.season.read import read_season
    from tests.conftest import DEMO, MADE_ON

    season = read_season(sorted(DEMO.glob("hill_sheep*.csv")), settings=DEMO / "settings.toml")
    with tempfile.TemporaryDirectory() as folder:
        page = write_review(
            build(season, made_on=MADE_ON, parts=("page",)), Path(folder) / "out", parts=("page",)
        )
        found = measured(page)
    parts = ",\n".join(f"{json.dumps(key)}: {_lines(value)}" for key, value in found.items())
    KEPT.write_text(f"{{\n{parts}\n}}\n", encoding="utf-8")


def _lines(value: Any) -> str:
    if not isinstance(value, dict):
        return json.dumps(value)
    return (
        "{\n" + ",\n".join(f"  {json.dumps(name)}: {json.dumps(box)}" for name, box in value.items()) + "\n}"
    )


if __name__ == "__main__":
    main()
