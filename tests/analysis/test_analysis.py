"""Analysis on columns of one's own: numbers held against other software, and one sentence for what would be wrong."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import matplotlib as mpl
import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure as Canvas

from neonatal_stats import CannotRead, Season, analysis, read_season
from neonatal_stats.analysis.results import Result
from neonatal_stats.chapters import NotRecorded
from neonatal_stats.season.settings import Settings

DEMO = Path(__file__).parents[2] / "data" / "demo"
WINDOWS = ", ".join(Settings().windows_h)


@pytest.fixture(scope="module")
def cows() -> Season:
    """The invented suckler herd, with a column of somebody's own: who was on duty."""
    season = read_season([DEMO / "suckler_cows.csv", DEMO / "suckler_cows_feeds.csv"])
    return season.with_column("duty", lambda births: np.where(births["born_hour"] < 12, "Ann", "Bo"))


@pytest.fixture(scope="module")
def sheep() -> Season:
    """Two seasons of the invented hill flock, in which litters count."""
    files = sorted([*DEMO.glob("hill_sheep_202[56].csv"), DEMO / "hill_sheep_feeds.csv"])
    return read_season(files, settings=DEMO / "settings.toml")


@pytest.fixture(scope="module")
def results(cows: Season) -> tuple[Result, ...]:
    """One of each."""
    return (
        analysis.survival(cows, "duty"),
        analysis.incidence(cows),
        analysis.rates(cows, ["duty", "sex"]),
        analysis.contrasts(cows, "born_by"),
        analysis.standardised(cows, "duty", mix="born_by"),
        analysis.landmark(cows, "fed_after_h", mark_h=4),
    )


def test_survival_as_lifelines_has_it(sheep: Season) -> None:
    lifelines = pytest.importorskip("lifelines", reason="lifelines does not take this pandas yet")
    ours = analysis.survival(sheep, "birth_type")
    born = sheep.births[~sheep.births["stillborn"] & sheep.births["age_known"]]
    assert ours.counted == len(born)
    for kind in ("single", "twin"):
        mine = born[born["birth_type"] == kind]
        fitted = lifelines.KaplanMeierFitter().fit(mine["age_h"], mine["died"])
        read = ours.at_ages([24, 168]).query("birth_type == @kind")
        just_before = fitted.survival_function_at_times([23, 167]).to_numpy()
        assert read["share"].to_numpy() == pytest.approx(just_before, rel=1e-12)


def test_a_share_of_independent_newborns_has_wilsons_interval(cows: Season) -> None:
    statsmodels = pytest.importorskip("statsmodels.stats.proportion")
    frame = analysis.rates(cows, "born_by", outcome="24 h").to_frame().set_index("born_by")
    surgery = frame.loc["born by surgery"]
    assert surgery["design_effect"] == pytest.approx(1)
    assert [surgery["low"], surgery["high"]] == pytest.approx(
        statsmodels.proportion_confint(surgery["events"], surgery["n"], method="wilson"), rel=1e-9
    )


def test_littermates_make_the_interval_wider_and_the_wider_cluster_is_named(sheep: Season) -> None:
    of_litters, of_dams = analysis.rates(sheep), analysis.rates(sheep, cluster="dam")
    assert (of_litters.cluster, of_dams.cluster) == ("litter", "dam")
    assert of_litters.frame.loc[0, "design_effect"] > 1.05
    assert of_litters.frame.loc[0, "events"] == of_dams.frame.loc[0, "events"] == sheep.births["lost"].sum()
    assert of_dams.frame.loc[0, "clusters"] < of_litters.frame.loc[0, "clusters"]
    assert "Clusters (dam)" in of_dams.table().html()


def test_the_hazard_ratio_from_a_mark_is_that_of_statsmodels(sheep: Season) -> None:
    duration = pytest.importorskip("statsmodels.duration.hazard_regression")
    ours = analysis.landmark(sheep, "fed_after_h", mark_h=4, adjust="difficulty")
    births = sheep.births
    at_mark = births[births["age_known"] & (births["age_h"] > 4) & births["difficulty"].notna()]
    yet, later = at_mark["fed_after_h"] <= 4, at_mark["fed_after_h"] > 4
    at_mark = at_mark[yet | later | (at_mark["fed_not_by_h"] >= 4)]
    unfed = ~(at_mark["fed_after_h"] <= 4)
    design = np.column_stack([unfed, at_mark["difficulty"] == "difficult"]).astype(float)
    model = duration.PHReg(
        at_mark["age_h"].to_numpy(float) - 4,
        design,
        status=at_mark["died"].to_numpy(int),
        strata=at_mark["season"].astype(str).to_numpy(),
        ties="efron",
    )
    row = ours.frame.iloc[0]
    assert row["estimate"] == pytest.approx(np.exp(model.fit().params[0]), rel=1e-5)
    assert (row["n"], row["events"]) == (unfed.sum(), at_mark.loc[unfed, "died"].sum())
    assert row["n"] + row["n_versus"] == ours.counted == len(at_mark)


def test_a_class_taken_as_known_at_the_mark(cows: Season) -> None:
    found = analysis.landmark(cows, "mothered_up", mark_h=48).frame.iloc[0]
    there = cows.births[cows.births["age_known"] & (cows.births["age_h"] > 48)]
    assert (found["group"], found["versus"]) == ("no", "yes")
    assert found["n"] == (there["mothered_up"] == "no").sum()


def test_a_risk_ratio_with_its_counts_as_a_spreadsheet_has_them(cows: Season) -> None:
    births = cows.births
    by_surgery = births["born_by"] == "born by surgery"
    vaginally = births["born_by"] == "born vaginally"
    ratio = births.loc[by_surgery, "lost"].mean() / births.loc[vaginally, "lost"].mean()
    row = analysis.contrasts(cows, "born_by").frame.iloc[0]
    assert (row["group"], row["versus"], row["n"]) == ("born by surgery", "born vaginally", by_surgery.sum())
    assert row["estimate"] == pytest.approx(ratio)
    turned = analysis.contrasts(
        cows, "born_by", versus="born by surgery", measure="risk difference"
    ).frame.iloc[0]
    assert turned["estimate"] == pytest.approx(
        births.loc[vaginally, "lost"].mean() - births.loc[by_surgery, "lost"].mean()
    )


def test_several_columns_are_taken_in_turn_and_q_allows_for_all(cows: Season) -> None:
    frame = analysis.contrasts(cows, ["born_by", "duty"]).frame
    assert list(frame["factor"]) == ["born_by", "duty"]
    least = frame["p"].min()
    assert frame["q"].min() == pytest.approx(min(2 * least, frame["p"].max()))


def test_the_shares_of_an_incidence_add_up(cows: Season) -> None:
    found = analysis.incidence(cows, "duty")
    assert (found.to_frame().groupby(["duty", "age_h"], observed=True)["share"].sum() - 1).abs().max() < 1e-12
    lost = cows.births[cows.births["died"] & cows.births["age_known"] & cows.births["duty"].notna()]
    at_end = found.at_ages([found.end_h])
    assert at_end["lost"].sum() == (lost["age_h"] <= found.end_h).sum()


def test_one_mix_of_births_by_hand(cows: Season) -> None:
    found = analysis.standardised(cows, "duty", mix="born_by")
    births = cows.births[cows.births["born_by"].isin(["born vaginally", "born by surgery"])]
    share = births["born_by"].value_counts(normalize=True)
    for row in found.to_frame().to_dict("records"):
        mine = births[births["duty"] == row["duty"]].groupby("born_by", observed=True)["lost"].mean()
        assert row["standardised"] == pytest.approx((mine * share).sum())
    assert found.mix == ("born_by",)


def test_newborns_whose_group_is_not_known_are_left_out_and_counted(cows: Season) -> None:
    known = cows.births["newborn_id"][:200].dropna()
    half = cows.with_column("half", {name: "a" if name < "26-120" else "b" for name in known})
    found = analysis.rates(half, "half")
    unknown = half.births["half"].isna().sum()
    assert unknown > 40
    assert found.counted == len(half.births) - unknown
    lost = half.births.loc[half.births["half"].isna(), "lost"].sum()
    told = f"Calves left out, since nothing is written for half: {unknown}, of which lost: {lost}."
    assert told in found.notes


def test_a_blank_that_tells_of_the_outcome_is_said(cows: Season) -> None:
    kept = cows.births["lost"] & (cows.births.index % 4 == 0)
    written = cows.with_column(
        "written", lambda births: births["sex"].astype(object).where(kept | ~births["lost"])
    )
    notes = analysis.rates(written, "written").notes
    assert any("If written is written only of calves that lived long enough" in note for note in notes)
    by_chance = cows.with_column(
        "some", lambda births: births["sex"].astype(object).where(births.index % 4 > 0)
    )
    assert not any("Far more of those" in note for note in analysis.rates(by_chance, "some").notes)


def test_a_column_that_shows_itself_later_is_counted_from_a_mark(cows: Season) -> None:
    lively = cows.with_column("lively", lambda births: births["born_hour"] % 2 == 0, known_at_h=24)
    for ask in (analysis.survival, analysis.rates, analysis.contrasts, analysis.incidence):
        with pytest.raises(
            ValueError, match=r"lively takes time to happen.*landmark\(season, 'lively', mark_h=24\)"
        ):
            ask(lively, "lively")  # type: ignore[operator]
    with pytest.raises(ValueError, match="lively is known from 24 h on"):
        analysis.landmark(lively, "lively", mark_h=4)
    assert analysis.landmark(lively, "lively", mark_h=24).counted > 100
    at_birth = lively.with_column("lively", lambda births: births["born_hour"] % 2 == 0)
    assert at_birth.own_known_h["lively"] == 0
    with pytest.raises(
        ValueError, match="known_at_h: give an age in hours as a number, 0 or more; found '24 h'"
    ):
        cows.with_column("lively", lambda births: births["born_hour"], known_at_h="24 h")  # type: ignore[arg-type]


def test_a_function_may_give_its_values_in_any_order(cows: Season) -> None:
    """The lightest first, as pandas lays it by labels: nothing hangs on the order in which the values come back."""

    def heavy(births: pd.DataFrame) -> pd.Series:
        return births.sort_values("birth_weight_kg")["birth_weight_kg"].astype("Float64") > 40

    mine = cows.with_column("heavy", heavy)
    assert mine.births["heavy"].equals(cows.births.assign(heavy=heavy)["heavy"])
    for wrong in (lambda b: b["sex"].reset_index(drop=True).iloc[::-1].set_axis(range(900, 900 + len(b))),):
        with pytest.raises(ValueError, match="other labels than the births"):
            cows.with_column("odd", wrong)


@pytest.mark.parametrize(
    "values",
    [None, 5, "a", lambda births: None, lambda births: 3, lambda births: births, (n for n in "ab")],
)
def test_values_of_another_kind_are_refused(cows: Season, values: object) -> None:
    with pytest.raises(ValueError, match="with_column, odd: ") as refused:
        cows.with_column("odd", values)  # type: ignore[arg-type]
    assert "\n" not in str(refused.value)


def test_words_for_nothing_are_no_groups(cows: Season) -> None:
    """In a column of one's own as in a file: blanks around a word, "NA" and empty text."""
    told = np.resize(
        np.array(["day", " day ", "", " ", "NA", "n/a", "night"], dtype=object), len(cows.births)
    )
    mine = cows.with_column("shift", told)
    assert set(mine.births["shift"].dropna()) == {"day", "night"}
    assert mine.births["shift"].isna().sum() == sum(one.strip() not in ("day", "night") for one in told)
    frame = pd.DataFrame(
        {
            "season": 2026,
            "species": "sheep",
            "dam_id": list("ABCDEF"),
            "died": [False, True] * 3,
            "ward": ["a", "a", "b", "NA", " ", ""],
        }
    )
    beside = read_season(frame).beside["ward"]
    assert beside.dropna().tolist() == ["a", "a", "b"]


def test_yes_and_no_of_a_dict_are_yes_and_no(cows: Season) -> None:
    dams = cows.births["dam_id"].dropna().unique()
    mine = cows.with_column("fat", {dam: place % 3 == 0 for place, dam in enumerate(dams[:200])}, of="dam_id")
    assert analysis.rates(mine, "fat").frame["fat"].tolist() == ["no", "yes"]


def test_labels_with_blanks_around_them_are_found(cows: Season) -> None:
    dams = cows.births["dam_id"].dropna().unique()
    mine = cows.with_column("fat", {f" {dam} ": "fat" for dam in dams}, of="dam_id")
    assert mine.births["fat"].notna().sum() == cows.births["dam_id"].notna().sum()


def test_a_copy_of_the_outcome_is_refused_and_other_columns_are_taken_as_known_at_birth(cows: Season) -> None:
    with pytest.raises(ValueError, match="every group of gone was lost whole or not at all"):
        analysis.rates(cows.with_column("gone", lambda births: births["lost"]), "gone")
    assert any("Taken as known at birth: duty." in note for note in analysis.survival(cows, "duty").notes)
    assert not any("Taken as known" in note for note in analysis.survival(cows, "sex").notes)


def test_nobody_lost_yet_has_an_interval_and_no_loss_at_all_a_table() -> None:
    told = {
        "season": 2026,
        "species": "sheep",
        "dam_id": [f"E{n}" for n in range(60)],
        "born_on": "2026-04-01",
        "died_at": [*["2026-04-05"] * 3, *[None] * 57],
        "died": [*[True] * 3, *[False] * 57],
    }
    early = analysis.survival(read_season(pd.DataFrame(told))).at_ages(24).iloc[0]
    assert (early["lost"], early["share"], early["high"]) == (0, 1, 1)
    assert early["low"] == pytest.approx(60 / (60 + 1.959964**2), rel=1e-6)  # Wilson's limit of 60 of 60
    whole = read_season(pd.DataFrame(told).drop(columns="died_at").assign(died=False))
    none = analysis.incidence(whole)
    assert none.at_ages([24]).empty or none.at_ages([24])["lost"].sum() == 0
    assert none.table().html()
    assert none._repr_html_()


def test_a_heading_that_was_read_as_a_column_says_so(cows: Season) -> None:
    frame = pd.DataFrame(
        {
            "season": 2026,
            "species": "sheep",
            "ewe": list("ABCDEF"),
            "pen": list("xxyyxy"),
            "died": [False, True] * 3,
        }
    )
    with pytest.raises(ValueError, match='"pen" was read as the column group'):
        analysis.rates(read_season(frame), "pen")


def test_signs_of_mathematics_stay_what_they_are(cows: Season, tmp_path: Path) -> None:
    odd = cows.with_column(
        "feed", lambda births: np.where(births["born_hour"] < 12, r"$\\frac$", "$x_1$ and $y$")
    )
    drawn = analysis.rates(odd, "feed").save(tmp_path / "odd.svg").read_text(encoding="utf-8")
    assert "frac" in drawn
    assert analysis.survival(odd, "feed").save(tmp_path / "odd.png").exists()


def test_labels_that_are_no_animals_are_said(cows: Season) -> None:
    dams = cows.births["dam_id"].dropna().unique()[:30]
    with pytest.warns(
        UserWarning, match="2 of 32 labels are no dam_id of these records and were not used, such as 'X1'"
    ):
        cows.with_column("fat", dict.fromkeys([*dams, "X1", "X2"], True), of="dam_id")


def test_few_clusters_are_said(sheep: Season) -> None:
    halves = sheep.with_column("part", lambda births: births["litter"] % 4)
    assert any(
        "few clusters (part: 4)" in note for note in analysis.rates(halves, "sex", cluster="part").notes
    )
    assert not any("few clusters" in note for note in analysis.rates(halves, "sex").notes)


def test_small_groups_of_a_table_are_said(cows: Season) -> None:
    table = analysis.rates(cows, "sex").table()
    assert "too few to say" in table.html()
    assert "too few to say" not in analysis.rates(cows).table().html()


def test_axes_and_ages_of_another_kind_are_refused(cows: Season) -> None:
    curve = analysis.survival(cows)
    with pytest.raises(TypeError, match="ax: give Axes of matplotlib; found int"):
        curve.draw(ax=5)  # type: ignore[arg-type]
    with pytest.raises(TypeError, match="of several take one, such as axes"):
        curve.draw(ax=Canvas().subplots(1, 2))
    for ages in ("24 h", ["24"], [-1], [None]):
        with pytest.raises(ValueError, match="at_ages: give an age in hours as a number, 0 or more"):
            curve.at_ages(ages)  # type: ignore[arg-type]
    assert curve.at_ages(24)["lost"].tolist() == curve.at_ages((24.0,))["lost"].tolist()


def test_settings_as_a_dict() -> None:
    files = [DEMO / "suckler_cows.csv", DEMO / "suckler_cows_feeds.csv"]
    season = read_season(files, settings={"follow_up_d": 28, "minimum_group": 20})
    assert (season.settings.follow_up_d, season.settings.minimum_group) == (28, 20)
    with pytest.raises(CannotRead, match='settings: "folow_up_d" is no key here; did you mean "follow_up_d"'):
        read_season(files, settings={"folow_up_d": 28})
    with pytest.raises(CannotRead, match="settings, follow_up_d"):
        read_season(files, settings={"follow_up_d": "long"})
    with pytest.raises(CannotRead, match=r"settings: give Settings, a dict .*; found list"):
        read_season(files, settings=["a"])  # type: ignore[arg-type]


Ask = Callable[[Season], object]
WRONG: list[tuple[Ask, str]] = [
    (lambda s: analysis.survival(s, "cause"), r"by: cause tells what became of a newborn.*incidence\(season, by\)"),
    (lambda s: analysis.rates(s, "lost_by_7_d"), "by: lost_by_7_d tells what became"),
    (lambda s: analysis.survival(s, "mothered_up"), r"takes time to happen.*landmark\(season, 'mothered_up', mark_h="),
    (lambda s: analysis.contrasts(s, "fed_after_h"), "by: fed_after_h takes time to happen"),
    (lambda s: analysis.rates(s, "sex", outcome="cause"), "outcome: cause is not yes or no.*incidence"),
    (lambda s: analysis.rates(s, outcome="birth_weight_kg"), "outcome: birth_weight_kg is not yes or no"),
    (lambda s: analysis.rates(s, outcome="7d"), 'outcome: births have no column "7d"'),
    (lambda s: analysis.rates(s, "stillborn", outcome="stillborn"), "by: stillborn tells what became"),
    (lambda s: analysis.rates(s, "sex", outcome="resuscitation"), "outcome: resuscitation is not yes or no"),
    (lambda s: analysis.survival(s, "shift"), r'by: births have no column "shift".*with_column\(.shift., values\)'),
    (lambda s: analysis.survival(s, "dutty"), 'did you mean "duty"'),
    (lambda s: analysis.survival(s, "birth_weight_kg"), "121 different numbers.*pd.qcut"),
    (lambda s: analysis.survival(s, "dam_id"), "243 different words, more than the 40"),
    (lambda s: analysis.survival(s, "born_at"), r"born_at holds times.*\.dt\.month"),
    (lambda s: analysis.survival(s, "species"), 'all newborns with a value of species have "cattle"'),
    (lambda s: analysis.survival(s, "breathing_after_s"), "breathing_after_s"),
    (lambda s: analysis.survival(s, ["sex", "sex"]), "by: give the name of a column"),
    (lambda s: analysis.survival(s, 5), "by: give the name of a column"),  # type: ignore[arg-type]
    (lambda s: analysis.contrasts(s, None), "by: name a column"),  # type: ignore[arg-type]
    (lambda s: analysis.rates(s, outcome=None), "outcome: name a yes-no column, or a window"),  # type: ignore[arg-type]
    (lambda s: analysis.rates(s, outcome="lost by 7 d"), f"asked for by its name: {WINDOWS}, end"),
    (lambda s: analysis.landmark(s, "sex", mark_h="4"), "found '4'"),  # type: ignore[arg-type]
    (lambda s: analysis.survival(s, of="alive"), 'of: "alive"; use one of born alive, born'),
    (lambda s: analysis.contrasts(s, "born_by", versus="vaginal"), '"vaginal" is no group of born_by; use one of'),
    (lambda s: analysis.contrasts(s, ["sex", "born_by"], versus="male"), "with versus, one column"),
    (lambda s: analysis.contrasts(s, "born_by", measure="rr"), 'measure: "rr"; use one of risk ratio'),
    (lambda s: analysis.standardised(s), 'all newborns with a value of season have "2026"'),
    (lambda s: analysis.standardised(s, "duty", mix=["duty"]), "mix: it holds duty"),
    (lambda s: analysis.standardised(s, "duty", mix="species"), "mix: none of species can be used"),
    (lambda s: analysis.rates(s, "sex", cluster="newborn_id"), "cluster: [0-9]+ newborns have no value of newborn_id"),
    (lambda s: analysis.rates(s, "sex", cluster="newborn"), "cluster: newborn parts littermates"),
    (lambda s: analysis.landmark(s, "cause", mark_h=4), "column: cause tells what became"),
    (lambda s: analysis.landmark(s, "fed_after_h", mark_h=-1), "mark_h: a mark is an age in hours above 0; found -1"),
    (lambda s: analysis.landmark(s, "fed_after_h", mark_h=4000), "alive at 4000 h not two groups"),
    (lambda s: analysis.rates(s, "sex", cluster=["litter"]), "cluster: name litter, dam, farm or one column"),  # type: ignore[arg-type]
    (lambda s: analysis.landmark(s, "duty", mark_h=24, adjust="duty"), "adjust: it holds duty"),
    (lambda s: analysis.incidence(s, "duty").draw(), "cause: one has to be named"),
    (lambda s: analysis.incidence(s, "duty").draw(cause="infecton"), 'did you mean "infection"'),
]  # fmt: skip


@pytest.mark.parametrize(("ask", "said"), WRONG)
def test_what_would_be_wrong_is_refused_in_one_sentence(cows: Season, ask: Ask, said: str) -> None:
    with pytest.raises(ValueError, match=said) as refused:
        ask(cows)
    assert "\n" not in str(refused.value)
    assert len(str(refused.value)) < 330


def test_a_path_is_no_season() -> None:
    with pytest.raises(TypeError, match="season: give the season that read_season gives; found str"):
        analysis.survival("births.csv")  # type: ignore[arg-type]


def test_what_is_not_recorded_is_told_apart() -> None:
    told = {
        "season": 2026,
        "species": "sheep",
        "dam_id": list("AABCDDDEFGHIJKLMMNOP"),
        "died": [False, True] * 10,
    }
    bare = read_season(pd.DataFrame(told))
    for ask in (
        lambda: analysis.rates(bare, "born_by"),
        lambda: analysis.rates(bare, "suck_class"),
        lambda: analysis.survival(bare),
        lambda: analysis.landmark(bare, "fed_after_h", mark_h=4),
        lambda: analysis.standardised(bare, "birth_type", mix="born_by"),
    ):
        with pytest.raises(NotRecorded):
            ask()
    assert analysis.rates(bare).frame.loc[0, ["events", "n"]].tolist() == [10, 20]


def test_everything_shows_itself_and_is_short(results: tuple[Result, ...]) -> None:
    for one in results:
        assert repr(one).startswith(f"<{type(one).__name__}")
        assert len(repr(one)) < 120
        assert "<table>" in one._repr_html_()
        frame = one.to_frame()
        frame.iloc[:, 0] = None
        assert one.frame.iloc[:, 0].notna().all()
        assert one.table().codebook()["name"].isin(one.table().raw().columns).all()
        assert one.figure().alt.startswith(one.title)


def test_drawn_on_ones_own_axes_and_nothing_else_is_touched(results: tuple[Result, ...]) -> None:
    before = dict(mpl.rcParams)
    canvas = Canvas(figsize=(8, 3))
    mine, other = canvas.subplots(1, 2)
    for one in results:
        mine.clear()
        assert one.draw(ax=mine) is mine
        assert mine.get_xlabel()
        assert mine.lines or mine.collections
    assert not other.lines
    assert dict(mpl.rcParams) == before
    assert results[0].draw() is not mine


def test_groups_too_small_are_named_and_not_drawn(cows: Season) -> None:
    axes = analysis.rates(cows, "sex").draw()
    assert [text.get_text() for text in axes.get_yticklabels()] == ["female", "male", "unknown"]
    assert len([line for line in axes.lines if line.get_marker() == "o"]) == 2
    assert [text.get_text() for text in axes.texts] == ["too few to say"]


def test_saved_by_the_ending_of_the_name(results: tuple[Result, ...], cows: Season, tmp_path: Path) -> None:
    for one in results:
        written = pd.read_csv(one.save(tmp_path / "numbers.csv"))
        assert list(written) == list(one.frame)
        assert len(written) == len(one.frame)
        assert "Verdict" not in (tmp_path / "numbers.csv").read_text(encoding="utf-8")
    assert results[0].save(tmp_path / "drawn.svg").read_text(encoding="utf-8").startswith("<svg")
    of_sexes = analysis.incidence(cows, "sex")
    cause = of_sexes.causes[0]
    assert cause in of_sexes.save(tmp_path / "cause.svg", cause=cause).read_text(encoding="utf-8")
    assert results[0].save(str(tmp_path / "drawn.PNG")).read_bytes()[:4] == b"\x89PNG"
    with pytest.raises(ValueError, match=r"ends in none of \.csv, \.svg and \.png"):
        results[0].save(tmp_path / "numbers.xlsx")


def test_german_throughout(cows: Season) -> None:
    german = cows.with_settings(language="de")
    assert analysis.survival(german, "sex").title == "Verluste der lebend geborenen Kälber, nach: Geschlecht"
    found = analysis.contrasts(german, "sex")
    assert "kein deutlicher Unterschied" in found._repr_html_()
    assert found.notes[-1] == "Ein Zusammenhang in diesen Aufzeichnungen ist kein Beweis einer Ursache."


def test_too_many_deaths_of_unknown_age_make_no_curve() -> None:
    told = {
        "season": 2026,
        "species": "sheep",
        "dam_id": [f"E{n}" for n in range(40)],
        "born_on": "2026-04-01",
    }
    told |= {"died": ["yes"] * 10 + ["no"] * 30, "last_seen_at": [None] * 10 + ["2026-05-20"] * 30}
    with pytest.raises(NotRecorded, match=r"of 10 losses 10 have no known age.*rates\(outcome='lost'\)"):
        analysis.survival(read_season(pd.DataFrame(told)))


def test_a_mark_leaves_no_deaths_out_in_silence(cows: Season) -> None:
    frame = pd.read_csv(DEMO / "suckler_cows.csv", dtype=str)
    lost = frame["died"].eq("yes")
    frame.loc[lost & (lost.cumsum() % 2 == 0), ["died_at", "last_alive_at", "found_dead_at"]] = None
    undated = read_season(frame)
    with pytest.raises(NotRecorded, match="have no known age, too many for the hazard after a mark"):
        analysis.landmark(undated, "difficulty", mark_h=4)


def test_a_window_leaves_no_deaths_out_in_silence() -> None:
    """38 of 300 lost within a week; where 14 of them have no date the share by then would be 24 of 286."""
    told = {
        "season": 2026,
        "species": "goat",
        "dam_id": [f"G{n}" for n in range(300)],
        "born_on": "2026-04-01",
        "died": ["yes"] * 38 + ["no"] * 262,
        "died_at": ["2026-04-03 08:00"] * 24 + [None] * 276,
    }
    for ask in (analysis.rates, lambda season, **more: analysis.contrasts(season, "shift", **more)):
        season = read_season(pd.DataFrame(told)).with_column(
            "shift", lambda births: births["dam_id"].str[-1] < "5"
        )
        with pytest.raises(NotRecorded, match="of 38 losses 14 have no known age, too many for 7 d"):
            ask(season, outcome="7 d")
    assert analysis.rates(season).to_frame()["events"].tolist() == [38]
    told["died_at"] = ["2026-04-03 08:00"] * 36 + [None] * 264
    found = analysis.rates(read_season(pd.DataFrame(told)), outcome="7 d")
    assert "Kids left out, since their outcome is not known: 2, of which lost: 2." in found.notes


def test_a_heading_of_ones_own_file_is_asked_for_as_it_stands() -> None:
    frame = pd.read_csv(DEMO / "suckler_cows.csv", dtype=str)
    frame["round"] = (
        frame["newborn_id"].str[-1].map(lambda digit: "odd" if digit in "13579" else "even", "ignore")
    )
    season = read_season(frame.sample(frac=1, random_state=1))
    known = season.births["newborn_id"].dropna()
    odd = known.str[-1].isin(list("13579"))
    assert (season.beside["round"][known.index] == "odd").tolist() == odd.tolist()
    found = analysis.contrasts(season, "round", versus="even").frame.iloc[0]
    alone = season.births["lost"][season.beside["round"] == "odd"]
    assert (found["n"], found["events"]) == (len(alone), alone.sum())
    assert analysis.survival(season, "round").by == ("round",)


def _sold_at(day: int) -> pd.DataFrame:
    """Forty single lambs born alive, four of them dead on their third day, the others out of sight after so many."""
    born = pd.Timestamp("2026-03-20 06:00")
    dead = np.arange(40) < 4
    return pd.DataFrame(
        {
            "season": "2026",
            "species": "sheep",
            "newborn_id": [f"L{i}" for i in range(40)],
            "dam_id": [f"E{i}" for i in range(40)],
            "sex": ["female", "male"] * 20,
            "born_at": born,
            "died": dead,
            "died_at": np.where(dead, born + pd.Timedelta(hours=60), pd.NaT),
            "last_seen_at": np.where(dead, pd.NaT, born + pd.Timedelta(days=day)),
        }
    ).astype({"died_at": "datetime64[ns]", "last_seen_at": "datetime64[ns]"})


@pytest.mark.parametrize("ask", [analysis.rates, analysis.contrasts, analysis.standardised])
@pytest.mark.parametrize("windows", [{}, {"windows_h": {"60 d": 1440}}])
def test_a_window_that_the_living_were_not_watched_through_has_no_share(
    ask: Callable[..., Result], windows: dict[str, object]
) -> None:
    season = read_season(_sold_at(50 if windows else 5), settings=windows)
    window = "60 d" if windows else "7 d"
    with pytest.raises(NotRecorded, match=f"of 40 newborns 36 were not watched through {window}"):
        ask(season, "sex", outcome=window)


def test_one_group_out_of_sight_is_named() -> None:
    frame = _sold_at(50)
    early = (frame["sex"] == "male") & frame["last_seen_at"].notna()
    frame.loc[early.to_numpy().nonzero()[0][:3], "last_seen_at"] = pd.Timestamp("2026-03-22")
    season = read_season(frame)
    assert analysis.rates(season, outcome="7 d").frame["n"].tolist() == [37]
    with pytest.raises(NotRecorded, match='of 20 newborns with sex "male" 3 were not watched through 7 d'):
        analysis.contrasts(season, "sex", outcome="7 d")


def test_one_farm_is_no_cluster(cows: Season) -> None:
    for ask in (analysis.rates, analysis.contrasts, analysis.survival, analysis.standardised):
        with pytest.raises(ValueError, match="cluster: all newborns are of one farm"):
            ask(cows, "duty", cluster="farm")
    with pytest.raises(ValueError, match="cluster: all newborns are of one farm"):
        analysis.landmark(cows, "fed_after_h", mark_h=4, cluster="farm")


@pytest.mark.parametrize(
    "column, versus, group",
    [("early", True, "yes"), ("early", np.bool_(False), "no"), ("dam_parity", 2.0, "2")],
)
def test_a_reference_is_taken_as_the_column_holds_it(
    cows: Season, column: str, versus: object, group: str
) -> None:
    season = cows.with_column("early", lambda births: births["born_hour"].lt(6))
    found = analysis.contrasts(season, column, versus=versus).frame  # type: ignore[arg-type]
    assert set(found["versus"].astype(str)) == {group}
