"""A DataFrame is read as the file that it would make: by its dtypes, told by its labels, never altered."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from neonatal_stats import Season, Settings, read_season
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.tidy import write_tidy

DEMO = Path(__file__).parents[2] / "data" / "demo"
IDENTITIES = {"newborn_id": str, "dam_id": str, "sire_id": str}
LIVED_AND_DIED = [False, True, False, True]
BORN = ["2026-04-03 05:30", "2026-04-03 06:10", "2026-04-04 23:15", "2026-04-05 01:00"]


def lambs(**columns: Any) -> pd.DataFrame:
    """Four lambs of three ewes: the first and third lived, the second and fourth died; columns as given."""
    told = {
        "season": ["2026"] * 4,
        "species": ["sheep"] * 4,
        "dam_id": ["E014", "E014", "E022", "E023"],
        "born_at": BORN,
        "died": ["no", "yes", "no", "yes"],
    }
    return pd.DataFrame({name: values for name, values in {**told, **columns}.items() if values is not None})


def lost(season: Season) -> list[bool]:
    """Who was lost, in the order of the births."""
    return [bool(one) for one in season.births["lost"]]


def told(season: Season) -> list[tuple[str, object, str, str]]:
    """Where something was said of which column, and how it ended."""
    said = season.problems[["file", "row", "column", "ended"]]
    return [tuple(line) for line in said.itertuples(index=False)]


YES_NO: dict[str, Callable[[list[bool]], Any]] = {
    "bool": list,
    "nullable boolean": lambda said: pd.array(said, dtype="boolean"),
    "numbers": lambda said: [int(one) for one in said],
    "floats": lambda said: [float(one) for one in said],
    "nullable integers": lambda said: pd.array([int(one) for one in said], dtype="Int64"),
    "objects": lambda said: np.array(said, dtype=object),
    "text of bool": lambda said: [str(one) for one in said],
    "arrow": lambda said: pd.array(said, dtype="bool[pyarrow]"),
    "categories of bool": lambda said: pd.Categorical(said),
    "sparse": lambda said: pd.arrays.SparseArray(said),
}


@pytest.mark.parametrize("kind", YES_NO)
def test_yes_and_no_of_every_dtype_under_died(kind: str) -> None:
    assert lost(read_season(lambs(died=YES_NO[kind](LIVED_AND_DIED)))) == LIVED_AND_DIED


@pytest.mark.parametrize("kind", YES_NO)
def test_alive_is_the_other_way_round(kind: str) -> None:
    alive = YES_NO[kind]([not one for one in LIVED_AND_DIED])
    assert lost(read_season(lambs(died=None, alive=alive))) == LIVED_AND_DIED


@pytest.mark.parametrize("kind", ["object", "string", "category", "string[pyarrow]"])
def test_an_outcome_in_words(kind: str) -> None:
    words = pd.Series(["alive", "dead", "alive", "dead"], dtype=kind)
    assert lost(read_season(lambs(died=None, outcome=words))) == LIVED_AND_DIED


BLANKS = [None, np.nan, pd.NA, pd.NaT, "", "nan", "None", "<NA>", "NaT"]


@pytest.mark.parametrize("blank", BLANKS, ids=repr)
def test_a_blank_outcome_is_neither_a_life_nor_a_death(blank: object) -> None:
    season = read_season(lambs(died=np.array(["no", blank, "no", "yes"], dtype=object)))
    assert lost(season) == [False, False, True]
    assert season.births["dam_id"].tolist() == ["E014", "E022", "E023"]
    assert season.balances[0].set_aside == 1
    assert ("births frame", 1, "died", "set aside") in told(season)


@pytest.mark.parametrize("dtype", ["boolean", "Int64", "Float64", "bool[pyarrow]"])
def test_a_missing_nullable_outcome_is_set_aside(dtype: str) -> None:
    season = read_season(lambs(died=pd.array([False, None, False, True], dtype=dtype)))
    assert lost(season) == [False, False, True]
    assert season.balances[0].set_aside == 1


@pytest.mark.parametrize("odd", [np.inf, 7, 3.5, Decimal("0.5"), pd.Timedelta("3h")], ids=repr)
def test_a_value_that_is_no_answer_is_never_a_life(odd: object) -> None:
    season = read_season(lambs(died=np.array(["no", odd, "no", "yes"], dtype=object)))
    assert sum(lost(season)) >= 1
    assert (~season.births["lost"]).sum() == 2


def test_codes_that_only_the_farm_knows_are_asked_about() -> None:
    with pytest.raises(
        CannotRead, match=r'^births frame: "died" holds numbers .1 in 2 rows, 2 in 2 rows.; if they are codes'
    ):
        read_season(lambs(died=[1, 2, 1, 2]))


MOMENTS: dict[str, Callable[[], Any]] = {
    "text": lambda: BORN,
    "datetime64[ns]": lambda: pd.to_datetime(BORN),
    "datetime64[s]": lambda: pd.to_datetime(BORN).astype("datetime64[s]"),
    "objects": lambda: np.array([datetime.fromisoformat(one) for one in BORN], dtype=object),
    "timestamps": lambda: np.array([pd.Timestamp(one) for one in BORN], dtype=object),
    "datetime64 objects": lambda: np.array([np.datetime64(one) for one in BORN], dtype=object),
    "local zone": lambda: pd.to_datetime(BORN).tz_localize("Europe/London"),
    "categories": lambda: pd.Categorical(pd.to_datetime(BORN)),
    "minutes of a period": lambda: pd.PeriodIndex(BORN, freq="min"),
}


@pytest.mark.parametrize("kind", MOMENTS)
def test_times_of_every_dtype(kind: str) -> None:
    season = read_season(lambs(born_at=MOMENTS[kind]()))
    assert season.births["born_at"].tolist() == [pd.Timestamp(one) for one in BORN]
    assert not season.births["born_at_is_day"].any()
    assert season.balances[0].used == 4


def test_utc_becomes_the_farms_own_time_where_it_is_known() -> None:
    utc = pd.to_datetime(BORN).tz_localize("Europe/London").tz_convert("UTC")
    season = read_season(lambs(born_at=utc), settings=Settings(time_zone="Europe/London"))
    assert season.births["born_at"].tolist() == [pd.Timestamp(one) for one in BORN]


def test_utc_without_a_zone_in_the_settings_is_remarked_row_by_row() -> None:
    utc = pd.to_datetime(BORN).tz_localize("UTC")
    said = read_season(lambs(born_at=utc)).problems
    rows = said[(said["column"] == "born_at") & said["problem"].str.contains("UTC")]
    assert rows["row"].tolist() == [0, 1, 2, 3]


DAYS = ["2026-04-03", "2026-04-03", "2026-04-04", "2026-04-05"]


@pytest.mark.parametrize(
    "days",
    [
        DAYS,
        pd.to_datetime(DAYS),
        np.array([date.fromisoformat(one) for one in DAYS], dtype=object),
        pd.PeriodIndex(DAYS, freq="D"),
        ["3 Apr 2026", "3 Apr 2026", "4 Apr 2026", "5 Apr 2026"],
        [20260403, 20260403, 20260404, 20260405],
    ],
    ids=["text", "datetime64", "dates", "periods", "named months", "whole numbers"],
)
def test_days_stay_days(days: Any) -> None:
    births = read_season(lambs(born_at=days)).births
    assert births["born_at"].tolist() == [pd.Timestamp(one) for one in DAYS]
    assert births["born_at_is_day"].all()


def test_many_midnights_among_times_are_asked_about() -> None:
    mixed = pd.to_datetime(["2026-04-03 05:30", *DAYS[1:]], format="ISO8601")
    season = read_season(lambs(born_at=mixed))
    assert ("births frame", "born_at", "asked") in [
        (file, column, ended) for file, _, column, ended in told(season)
    ]
    assert not season.all_well
    assert any("3 of 4 times are exactly 00:00" in text for text in season.problems["problem"])


@pytest.mark.parametrize("order", [["03/04/2026 05:30"] * 4, ["03/04/2026"] * 4])
def test_dates_that_may_be_either_order_are_asked_about(order: list[str]) -> None:
    with pytest.raises(
        CannotRead, match=r"^births frame, column born_at: 03/04/2026.*day or the month first"
    ):
        read_season(lambs(born_at=order))


@pytest.mark.parametrize(
    "dtype", ["float32", "Float32", "float64", "object", "string", "category", "float[pyarrow]"]
)
def test_weights_of_every_width(dtype: str) -> None:
    weights = (
        pd.Series(["4.1", "3.7", None, "5.05"])
        if dtype in ("string", "category")
        else pd.Series([4.1, 3.7, None, 5.05])
    )
    births = read_season(lambs(birth_weight_kg=weights.astype(dtype))).births
    assert births["birth_weight_kg"].dropna().tolist() == [4.1, 3.7, 5.05]


def test_an_infinite_weight_is_named_and_not_used() -> None:
    season = read_season(lambs(birth_weight_kg=[4.1, np.inf, 3.9, 4.0]))
    assert ("births frame", 1, "birth_weight_kg", "set to missing") in told(season)


@pytest.mark.parametrize(
    ("identities", "read"),
    [
        ([14.0, np.nan, 22.0, 23.0], ["14", None, "22", "23"]),
        (pd.array([14, None, 22, 23], dtype="Int64"), ["14", None, "22", "23"]),
        (["0014", None, "0022", "0023"], ["0014", None, "0022", "0023"]),
        (
            [982000123456789012, 982000123456789013, 22, 23],
            ["982000123456789012", "982000123456789013", "22", "23"],
        ),
        (pd.Categorical([14, 14, 22, 23]), ["14", "14", "22", "23"]),
        ([Decimal(14), None, Decimal(22), Decimal("23.0")], ["14", None, "22", "23"]),
    ],
    ids=["floats", "nullable", "leading zeros", "18 digits", "categories", "decimals"],
)
def test_identities_keep_what_the_frame_holds(identities: Any, read: list[str | None]) -> None:
    season = read_season(lambs(dam_id=identities))
    dam = season.births["dam_id"].astype(object)
    assert dam.where(dam.notna(), None).tolist() == read


def test_minutes_as_numbers_and_as_timedeltas() -> None:
    asked = [pd.Timedelta(minutes=minutes) for minutes in (12, 45, 20, 30)]
    births = read_season(lambs(stood_after_min=pd.Series(asked))).births
    assert births["stood_after_min"].tolist() == [12.0, 45.0, 20.0, 30.0]


INDEXES: dict[str, tuple[Any, object]] = {
    "numbers": ([15, 16, 17, 18], 17),
    "backwards": ([4, 3, 2, 1], 2),
    "text": (["a", "b", "tag 7", "d"], "tag 7"),
    "several levels": (pd.MultiIndex.from_tuples([("A", 1), ("A", 2), ("B", 1), ("B", 2)]), "B, 1"),
    "moments": (pd.to_datetime(DAYS) + pd.to_timedelta([0, 1, 2, 3], unit="D"), "2026-04-06"),
    "long numbers": (pd.Index([2**64 - 4, 2**64 - 3, 2**64 - 2, 2**64 - 1], dtype="uint64"), str(2**64 - 2)),
    "again and again": ([7, 7, 7, 7], 2),
}


@pytest.mark.parametrize("kind", INDEXES)
def test_a_row_is_told_by_its_label(kind: str) -> None:
    index, label = INDEXES[kind]
    season = read_season(lambs(died=["no", "yes", None, "yes"]).set_axis(index))
    assert ("births frame", label, "died", "set aside") in told(season)
    assert lost(season) == [False, True, True]
    assert ("" if kind != "again and again" else "labels of the index stand more than once") in " ".join(
        season.problems["problem"]
    )


def test_a_named_index_is_a_column_as_it_would_be_in_a_file() -> None:
    frame = lambs(newborn_id=["L1", "L2", "L3", "L4"]).set_index(["dam_id", "newborn_id"])
    births = read_season(frame).births
    assert births[["dam_id", "newborn_id"]].to_numpy().tolist() == [
        ["E014", "L1"], ["E014", "L2"], ["E022", "L3"], ["E023", "L4"],
    ]  # fmt: skip


def test_a_frame_is_never_altered() -> None:
    frame = lambs(died=pd.Categorical(["no", "yes", None, "yes"]), born_at=pd.to_datetime(BORN)).set_index(
        "dam_id"
    )
    before = frame.copy(deep=True)
    read_season(frame)
    pd.testing.assert_frame_equal(frame, before)
    assert frame.index.names == before.index.names


@pytest.mark.parametrize(
    "cell", [b"yes", ["yes"], {"died": True}, object(), 1j], ids=lambda cell: type(cell).__name__
)
def test_a_cell_that_is_none_is_refused_by_its_label(cell: object) -> None:
    died = np.empty(4, dtype=object)
    died[:] = ["no", "yes", None, "no"]
    died[2] = cell
    with pytest.raises(
        CannotRead, match=f"^births frame, row label 17, column died: the cell holds {type(cell).__name__};"
    ):
        read_season(lambs(died=died).set_axis([15, 16, 17, 18]))


@pytest.mark.parametrize(
    ("records", "sentence"),
    [
        (3, "^int: this is neither a path nor a pandas DataFrame"),
        ([pd.Series([1])], "^pandas Series: this is neither"),
        ({"lambs": lambs()}, '"lambs" is no table of the records; the tables are births, feeds'),
        ({"births": "births.csv"}, "^births frame, str: this is neither"),
        (
            {"feeds": pd.DataFrame({"newborn_id": ["1"], "fed_at": ["2026-04-03 07:00"]})},
            "feeds frame: no births",
        ),
        (pd.DataFrame(), "no births were recognised|hold no cell"),
        (lambs().iloc[:0], "births frame: it has headings and no row below"),
        (lambs(died=None), "births frame: no column says what became of the newborns"),
        (pd.concat({"a": lambs()}, axis=1), "births frame: its columns have 2 levels"),
    ],
    ids=[
        "number",
        "series",
        "no table",
        "path in a dict",
        "feeds alone",
        "empty",
        "no rows",
        "no outcome",
        "two levels",
    ],
)
def test_what_cannot_be_read_is_refused_in_one_sentence(records: Any, sentence: str) -> None:
    with pytest.raises(CannotRead, match=sentence):
        read_season(records)


def test_births_of_a_season_are_not_taken_for_records() -> None:
    season = read_season(lambs())
    with pytest.raises(CannotRead, match="births frame: these births were read already"):
        read_season(season.births)


@pytest.mark.parametrize("parquet", [True, False])
def test_tidy_tables_read_back_from_frames_as_the_same_season(parquet: bool, tmp_path: Path) -> None:
    season = demo("suckler_cows")
    write_tidy(season, tmp_path, parquet=parquet)
    read = (
        (lambda path: pd.read_parquet(path))
        if parquet
        else (lambda path: pd.read_csv(path, dtype=IDENTITIES))
    )
    again = read_season({table: read(path) for table in TABLES for path in tmp_path.glob(f"{table}.*")})
    for table in TABLES:
        pd.testing.assert_frame_equal(getattr(again, table), getattr(season, table))
    assert again.problems.empty


def test_a_heading_may_hold_anything() -> None:
    season = read_season(lambs(**{"tally {x}": ["a {", "}", "", "d"]}))
    assert lost(season) == LIVED_AND_DIED
    assert ("births frame", "tally {x}", "asked") in [
        (f, column, ended) for f, _, column, ended in told(season)
    ]


def test_two_frames_of_the_same_births_are_counted_once() -> None:
    frame = lambs(newborn_id=["L1", "L2", "L3", "L4"])
    season = read_season([frame, frame])
    assert len(season.births) == 4
    assert {source.file for source in season.sources} == {"births frame 1", "births frame 2"}


def test_columns_of_one_name_are_asked_about_as_in_a_file() -> None:
    frame = lambs()
    twice = pd.concat([frame, frame["died"].map({"no": "yes", "yes": "no"})], axis=1)
    with pytest.raises(CannotRead, match='the heading "died" stands over two columns'):
        read_season(twice)


def as_text(name: str) -> pd.DataFrame:
    return pd.read_csv(DEMO / name, dtype=str, keep_default_na=False)


def as_pandas_reads_it(name: str) -> pd.DataFrame:
    return pd.read_csv(DEMO / name, dtype=IDENTITIES)


def as_nullable(name: str) -> pd.DataFrame:
    return as_pandas_reads_it(name).convert_dtypes()


def as_categories(name: str) -> pd.DataFrame:
    frame = as_pandas_reads_it(name)
    return frame.astype(dict.fromkeys(frame.select_dtypes(["object", "string"]), "category"))


def as_python_objects(name: str) -> pd.DataFrame:
    """Every cell as the Python object that it most plainly is."""
    return as_text(name).map(as_object).astype(object)


def as_object(text: str) -> object:
    if text in ("", "yes", "no"):
        return {"": None, "yes": True, "no": np.False_}[text]
    if re.fullmatch(r"\d{4}-\d\d-\d\d", text):
        return date.fromisoformat(text)
    if re.fullmatch(r"\d{4}-\d\d-\d\d \d\d:\d\d", text):
        return datetime.fromisoformat(text)
    if re.fullmatch(r"\d{1,2}:\d\d", text):
        return datetime.strptime(text, "%H:%M").time()
    return np.float32(text) if re.fullmatch(r"\d{1,2}(\.\d+)?", text) else np.str_(text)


TABLES = ("births", "feeds", "samples", "weather")


@cache
def demo(herd: str) -> Season:
    return read_season([DEMO / name for name in files_of(herd).values()])


def files_of(herd: str) -> dict[str, str]:
    other = herd.removesuffix("_2026")
    return {"births": f"{herd}.csv", **{table: f"{other}_{table}.csv" for table in TABLES[1:]}}


@pytest.mark.parametrize(
    ("herd", "read"),
    [
        ("suckler_cows", as_text),
        ("suckler_cows", as_pandas_reads_it),
        ("suckler_cows", as_nullable),
        ("suckler_cows", as_categories),
        ("suckler_cows", as_python_objects),
        ("dairy_goats", as_python_objects),
        pytest.param("hill_sheep_2026", as_pandas_reads_it, marks=pytest.mark.slow),
    ],
)
def test_the_demo_from_frames_is_the_demo_from_files(herd: str, read: Callable[[str], pd.DataFrame]) -> None:
    tables, from_files = files_of(herd), demo(herd)
    from_frames = read_season({table: read(name) for table, name in tables.items()})
    for table in tables:
        pd.testing.assert_frame_equal(getattr(from_frames, table), getattr(from_files, table))
    assert from_frames.balances == from_files.balances
    first_row = 2  # of a file: its headings stand in row 1, while a frame's first label is 0
    for one, other_problem in zip(
        from_frames.problems.itertuples(), from_files.problems.itertuples(), strict=True
    ):
        assert (one.table, one.column, one.problem, one.ended) == (
            other_problem.table, other_problem.column, other_problem.problem, other_problem.ended,
        )  # fmt: skip
        assert pd.isna(one.row) or one.row == other_problem.row - first_row


@pytest.mark.slow
def test_frames_beside_files() -> None:
    births = as_pandas_reads_it("hill_sheep_2026.csv")
    mixed = read_season(
        [DEMO / "hill_sheep_2025.csv", births, {"feeds": as_pandas_reads_it("hill_sheep_feeds.csv")}]
    )
    files = read_season([DEMO / f"hill_sheep_{name}.csv" for name in ("2025", "2026", "feeds")])
    pd.testing.assert_frame_equal(mixed.births, files.births)
    assert [source.file for source in mixed.sources] == ["hill_sheep_2025.csv", "births frame", "feeds frame"]
