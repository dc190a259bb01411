"""What to do: the last plan in a line an action, the new one to sign; the page's own decisions are left alone by it."""

from __future__ import annotations

import json
import re
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

import jsonschema
import pandas as pd
import pytest

from docs.list_templates import all_templates
from neonatal_stats.chapters import agreed
from neonatal_stats.report.blank_plan import notes, plan_rows, write_plan
from neonatal_stats.report.first_page import looked
from neonatal_stats.report.folder import HEADLINE, PAGE
from neonatal_stats.report.page import keeper_html, page_html
from neonatal_stats.report.review import Review, build
from neonatal_stats.report.what_to_do import at_hand, what_to_do
from neonatal_stats.report.workbook import write_workbook
from neonatal_stats.report.write import headline
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.model import Season
from neonatal_stats.season.plan import read_plan
from neonatal_stats.words import voice_of
from neonatal_stats.words.voice import catalogue
from tests.chapters.planned import farm
from tests.conftest import MADE_ON
from tests.demo import COWS, HERDS, SHEEP, hearing, review_of, season_of
from tests.report.test_at_a_glance import text
from tests.report.test_keeper import is_short_and_plain, sides

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("undrawn")]

PLAN: list[dict[str, Any]] = [
    {"action": "Feed within two hours", "done": "yes", "measure": "fed by the mark", "from": "50 %", "to": "80 %"},
    {"action": "Mend the gate", "done": "no"},
    {"action": "Small pens", "who": "Ann", "by_when": "March", "season": "2027", "measure": "mothered up",
     "from": "90 %", "to": "95 %"},
]  # fmt: skip
SEASONS = {"2025": {"fed": 0.50, "dams": 120}, "2026": {"fed": 0.85, "dams": 120}}


@cache
def planned(language: str = "en") -> Review:
    return build(farm(1, SEASONS, PLAN, language=language), made_on=MADE_ON, parts=(HEADLINE, PAGE))


@cache
def unplanned() -> Review:
    return build(farm(1, SEASONS, []), made_on=MADE_ON, parts=(HEADLINE, PAGE))


@pytest.fixture
def alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """No chapter is asked but that of the plan."""
    monkeypatch.setattr("neonatal_stats.report.review.in_reading_order", lambda *_: (agreed,))


def test_the_last_plan_stands_in_a_line_an_action_and_the_new_one_in_a_table() -> None:
    found = what_to_do(planned())
    first, second = found.went
    assert (first.action, first.done, first.word, first.clear) == (
        "Feed within two hours",
        "done",
        "Reached",
        True,
    )
    assert re.fullmatch(r"Fed by 2\xa0h: \d+, then \d+ in 100", first.moved)
    assert (second.done, second.moved, second.word, second.clear) == ("not done", "", "Not recorded", False)
    (line,) = found.to_do
    assert (line.action, line.who, line.by_when) == ("Small pens", "Ann", "March")
    assert line.moves.replace("\xa0", " ") == "Mothered up: 90 % → 95 %"


def test_page_one_shows_it_before_what_the_records_cannot_say_and_links_to_the_chapter() -> None:
    page = page_html(planned())
    parts = re.findall(r'data-part="([\w-]+)"', page)
    assert parts.index("stands-out") < parts.index("what-to-do") < parts.index("cannot-say")
    block = page[page.index('id="what-to-do"') : page.index('id="cannot-say"')]
    assert '<a href="#agreed">Reached</a>' in block
    assert "are no proof that what was done made the difference" in block
    assert 'id="agreed"' in page


def test_without_a_plan_there_is_a_table_to_write_on_and_to_sign_on_paper_alone() -> None:
    page = page_html(unplanned())
    block = page[page.index('id="what-to-do"') : page.index('id="chapters"')]
    assert block.startswith('id="what-to-do" class="paper-alone"')
    assert block.count('<tr class="paper-alone">') == 3
    assert "Signed:" in block
    assert 'id="agreed"' not in page


def test_a_plan_changes_nothing_that_the_page_claims_or_decides() -> None:
    """The ledger holds the same claims with the same verdicts; all other sections say the same."""
    plain, with_plan = unplanned(), planned()
    assert repr(with_plan.ledger) == repr(
        plain.ledger
    )  # a number that is none equals nothing, not even itself
    assert next(one.name for one in with_plan.sections) == "agreed"
    assert "agreed" not in [one.name for one in plain.sections]
    said = {one.name: [s.text for s in one.sentences] for one in with_plan.sections if one.name != "agreed"}
    assert said == {one.name: [s.text for s in one.sentences] for one in plain.sections}
    ours, theirs = headline(with_plan), headline(plain)
    assert ours.pop("plan")
    assert ours["chapters"].pop("agreed") == "answered"
    assert ours == theirs


def test_the_fold_says_that_the_measures_of_the_plan_were_decided_by_themselves() -> None:
    assert looked(planned()).sentences[-1].startswith("The measures of the plan (1) are not among them")
    assert len(looked(unplanned()).sentences) == len(looked(planned()).sentences) - 1


def test_the_headline_holds_the_plan_by_its_schema() -> None:
    found = json.loads(json.dumps(headline(planned())))
    schema = json.loads((resources.files("neonatal_stats.report") / "headline.schema.json").read_text())
    jsonschema.validate(found, schema)
    jsonschema.validate(json.loads(json.dumps(headline(unplanned()))), schema)
    first, second = found["plan"]
    assert (first["measure"], first["done"], first["verdict"]) == ("fed by the mark", "yes", "reached")
    assert (first["season"], first["against"], first["target"]) == ("2026", "2025", 0.8)
    assert first["after"]["share"] - first["before"]["share"] == pytest.approx(first["change"]["estimate"])
    assert first["change"]["p_holm"] < 0.05
    assert (second["measure"], second["before"], second["change"]) == ("", None, None)
    assert second["verdict"] == "not recorded"


@pytest.mark.usefixtures("alone")
def test_page_one_is_about_the_plan_of_the_season_in_focus() -> None:
    plan = [
        {**PLAN[0], "season": "2025", "action": "First"},
        {**PLAN[0], "season": "2026", "action": "Second"},
    ]
    seasons = {
        "2024": {"fed": 0.5, "dams": 60},
        "2025": {"fed": 0.9, "dams": 60},
        "2026": {"fed": 0.9, "dams": 60},
    }
    made = farm(1, seasons, plan)
    for focus, action in (("2025", "First"), ("2026", "Second")):
        review = build(made, focus=focus, made_on=MADE_ON, parts=(HEADLINE,))
        assert [one.action for one in what_to_do(review).went] == [action]
        assert [one["action"] for one in headline(review)["plan"]] == [action]


def test_german_page_and_sheet_hold_the_plan() -> None:
    block = text(page_html(planned("de")))
    assert "Was zu tun ist" in block
    assert "Erreicht" in block
    assert "Feed within two hours: erreicht" in text(keeper_html(planned("de")))


@pytest.mark.usefixtures("alone")
def test_more_than_page_one_has_room_for_is_counted() -> None:
    plan = [{"action": f"Action {i}", "season": "2027"} for i in range(5)]
    found = what_to_do(
        build(farm(1, {"2026": {"fed": 0.5, "dams": 30}}, plan), made_on=MADE_ON, parts=(HEADLINE,))
    )
    assert [one.action for one in found.to_do] == ["Action 0", "Action 1", "Action 2"]
    assert found.more == "2 more in the chapter What we agreed."


def test_what_a_farm_wrote_is_made_harmless() -> None:
    plan = [
        {"action": "<script>x</script>", "who": "<b>", "season": "2027"},
        {"action": "=1+1", "done": "yes"},
    ]
    review = build(farm(1, {"2026": {"fed": 0.5, "dams": 30}}, plan), made_on=MADE_ON, parts=(HEADLINE, PAGE))
    for page in (page_html(review), keeper_html(review)):
        assert "<script>x" not in page
        assert "<b></td>" not in page


@pytest.mark.parametrize(("name", "language"), [(SHEEP, "en"), (COWS, "en"), (SHEEP, "de")])
def test_the_keepers_sheet_of_the_demo_herds_stays_short_with_their_plans(name: str, language: str) -> None:
    """Of the herd that has most to tell in both languages."""
    review = review_of(name, language, plan=True)
    is_short_and_plain(review)
    assert len(at_hand(review).went) == min(3, len(review.kept))


@pytest.mark.parametrize("name", HERDS)
def test_each_demo_plan_has_one_reached_one_not_and_one_not_recorded(name: str) -> None:
    result = agreed.answer(season_of(name, plan=True))
    told = " ".join(one.text for one in agreed.sentences(result))
    assert ": reached (agreed: " in told
    assert ": no clear change (agreed: " in told
    assert "not recorded" in told
    assert result.to_do


LONG = "Walk round the lambing field once more in every night of the first three weeks, with the lamp"


def crowded(language: str) -> Season:
    """As many actions as page one takes, each longer than there is room for, of four seasons."""
    seasons = {str(year): {"fed": 0.5, "dams": 60} for year in (2023, 2024, 2025, 2026)}
    last = [
        {"action": LONG, "done": "partly", "measure": name, "to": to, "season": "2026"}
        for name, to in (("fed by the mark", "80 %"), ("mothered up", "95 %"), ("lost by 7 d", "5 %"))
    ]
    new = [
        {"action": LONG, "who": "the night lamber", "by_when": "before the first lamb", "season": "2027",
         "measure": "lost by 7 d", "from": "12 %", "to": "8 %"}
    ] * 5  # fmt: skip
    return farm(1, seasons, [*last, *new], language=language)


@pytest.mark.browser
@pytest.mark.filterwarnings("ignore::ResourceWarning")
@pytest.mark.parametrize("made", ["sheep-en", "sheep-de", "crowded-en", "crowded-de", "cows-en"])
def test_page_one_and_the_keepers_sheet_print_on_one_side_each(made: str, tmp_path: Path) -> None:
    name, _, language = made.partition("-")
    names = {"sheep": SHEEP, "cows": COWS}
    review = (
        review_of(names[name], language, plan=True)
        if name in names
        else build(crowded(language), made_on=MADE_ON, parts=(HEADLINE, PAGE))
    )
    (tmp_path / "keeper.html").write_text(keeper_html(review), encoding="utf-8")
    assert sides(tmp_path / "keeper.html") == 1
    whole = page_html(review)
    alone = whole[: whole.index('<div id="chapters">')] + "</main></body></html>"
    (tmp_path / "page.html").write_text(alone.replace("break-after: page", ""), encoding="utf-8")
    assert sides(tmp_path / "page.html") == 1


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("name", ["plan.csv", "plan.xlsx"])
def test_a_blank_plan_offers_every_measure_with_its_value_and_is_read_back(
    name: str, language: str, tmp_path: Path
) -> None:
    made = farm(1, SEASONS, [], language=language)
    n = write_plan(tmp_path / name, made)
    read = read_plan(tmp_path / name)
    assert (read.actions, len(read.unused)) == ((), n)
    rows = {row["measure"]: row for row in plan_rows(made, "2026")}
    assert {row["season"] for row in rows.values()} == {"2027"}
    fed = made.births[made.births["season"].astype(str) == "2026"]["fed_after_h"] <= 2
    of = "of" if language == "en" else "von"
    value = rows["fed by the mark" if language == "en" else "bis zur Frist versorgt"]["from"]
    assert value.startswith(f"{int(fed.sum())} {of} {len(fed)} (")
    assert rows["absorbed" if language == "en" else "aufgenommen"]["from"] == ""


@pytest.mark.parametrize("language", ["en", "de"])
def test_a_blank_plan_filled_in_is_the_plan_of_next_season(language: str, tmp_path: Path) -> None:
    """The first line is filled in by hand: its counts are read as where the measure stood."""
    made = farm(1, SEASONS, [], language=language)
    write_plan(tmp_path / "plan.csv", made)
    head, first, *rest = (tmp_path / "plan.csv").read_text(encoding="utf-8-sig").splitlines()
    cells = first.split(",", 7)
    cells[1:3], cells[5] = ["Feed early", "Ann"], "yes" if language == "en" else "ja"
    filled = ",".join(cells).rstrip(",") + ",90 %"
    (tmp_path / "plan.csv").write_text("\n".join([head, filled, *rest]), encoding="utf-8")
    (one,) = read_plan(tmp_path / "plan.csv", made.settings).actions
    assert (one.season, one.action, one.done, one.measure) == ("2027", "Feed early", "yes", "fed by the mark")
    assert one.stood is not None
    assert one.stood.n > 100
    assert one.target is not None
    assert one.target.value == 0.90


def test_notes_say_how_to_fill_it_in_and_other_names_are_refused(tmp_path: Path) -> None:
    made = farm(1, SEASONS, [])
    assert any("blank means not recorded" in note for note in notes(voice_of(made)))
    with pytest.raises(CannotRead, match=r"plan.pdf: a plan is written as .csv or .xlsx"):
        write_plan(tmp_path / "plan.pdf", made)
    with pytest.raises(CannotRead, match="no records of '1999'"):
        write_plan(tmp_path / "plan.csv", made, "1999")


@pytest.mark.usefixtures("alone")
def test_the_workbook_has_a_sheet_of_the_plan_that_is_read_back(tmp_path: Path) -> None:
    review = build(farm(1, SEASONS, PLAN), made_on=MADE_ON, parts=(HEADLINE, "workbook"))
    write_workbook(review, tmp_path / "review.xlsx")
    sheets = pd.read_excel(tmp_path / "review.xlsx", sheet_name=None, engine="calamine")
    assert {"plan", "agreed"} <= set(sheets)
    assert [heading.casefold() for heading in sheets["plan"].columns] == [
        "season", "action", "who", "by when", "cost", "done", "measure", "from", "to",
    ]  # fmt: skip
    assert read_plan(tmp_path / "review.xlsx").actions == review.season.settings.plan
    plain = build(farm(1, SEASONS, []), made_on=MADE_ON, parts=(HEADLINE, "workbook"))
    write_workbook(plain, tmp_path / "plain.xlsx")
    assert "plan" not in pd.read_excel(tmp_path / "plain.xlsx", sheet_name=None, engine="calamine")


def test_every_template_of_a_plan_is_translated_and_listed(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    heard = hearing(monkeypatch)
    made = farm(1, SEASONS, PLAN, language="de")
    review = build(made, made_on=MADE_ON, parts=(HEADLINE, PAGE, "workbook"))
    write_workbook(review, tmp_path / "review.xlsx")
    for page in (page_html, keeper_html):
        page(review)
    write_plan(tmp_path / "plan.xlsx", made)
    assert heard - set(catalogue("de").templates) == set()
    assert heard - set(all_templates()) == set()
