"""Who is who: numbers that littermates share, one dam's tags in several spellings, two litters of a dam, fosters."""

from __future__ import annotations

import pytest

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.model import Season
from tests.season.books import read, said

OFFER = "this dam seems to be written in several ways: taken as one, the rows make one litter"
SIZES = (1, 2, 2, 3, 1, 2, 1, 2, 3, 2)


def litters(number: str, sizes: bool = True, dam: str = "{d}", more: str = "") -> str:
    """Ten litters; how newborn (of place n in its litter d) and dam are called."""
    heads = (
        "newborn_id,dam_id,born_on,species,"
        + ("litter_size," if sizes else "")
        + "died"
        + (",sex" if more else "")
    )
    rows = []
    for d, size in enumerate(SIZES, start=101):
        for n in range(size):
            cells = [
                number.format(d=d, n=n),
                dam.format(d=d, n=n, e=d if n % 2 else f"0{d}"),
                f"2026-04-{d - 100:02d}",
                "sheep",
            ]
            cells += [str(size)] if sizes else []
            rows.append(",".join([*cells, "no", *(["female" if n else "male"] if more else [])]))
    return "\n".join([heads, *rows]) + "\n"


def sizes_of(season: Season) -> list[int]:
    """The sizes of the litters as they are grouped, smallest first."""
    return sorted(season.births.groupby("litter").size().tolist())


@pytest.mark.quickly(4)
@pytest.mark.parametrize("number", ["{d}", "L{d}", "{d} blue"])
@pytest.mark.parametrize("sizes", [True, False])
@pytest.mark.parametrize("more", ["", "sex"])
def test_littermates_that_share_a_spray_number_are_newborns_of_their_own(
    number: str, sizes: bool, more: str
) -> None:
    season = read(litters(number, sizes, more=more))
    assert len(season.births) == sum(SIZES)
    assert sizes_of(season) == sorted(SIZES)
    assert sorted(season.births.groupby("litter")["litter_size"].first()) == sorted(SIZES)
    assert not season.all_well


def test_a_row_written_twice_is_still_one_newborn() -> None:
    text = litters("{d}{n}")
    season = read(text + text.splitlines()[5] + "\n")
    assert len(season.births) == sum(SIZES)
    assert "the same row stands in the records twice; it is counted once" in said(season)


def test_a_row_written_twice_without_litter_sizes_is_still_one_newborn() -> None:
    text = litters("{d}{n}", sizes=False)
    season = read(text + text.splitlines()[5] + "\n")
    assert len(season.births) == sum(SIZES)


def test_equal_orders_of_birth_are_one_newborn_whatever_the_size_says() -> None:
    head = "newborn_id,dam_id,born_on,species,litter_size,birth_order,died\n"
    season = read(
        head + "7,1,2026-04-01,sheep,2,1,no\n7,1,2026-04-01,sheep,2,1,no\n8,2,2026-04-01,sheep,1,1,no\n"
    )
    assert len(season.births) == 2


def test_a_number_used_again_by_another_dam_is_told_and_no_row_is_lost() -> None:
    text = litters("{d}") + "101,999,2026-05-20,sheep,1,no\n"
    season = read(text)
    assert len(season.births) == sum(SIZES) + 1
    assert "the same identity stands at two newborns, so feeds and samples cannot be told apart" in said(
        season
    )


@pytest.mark.quickly(4)
@pytest.mark.parametrize(
    "dam", ["{e}", "E{d}|{d}", "{d}.0|{d}", "e{d}|E{d}", "UK 0123456 00{d}|{d}", "4-{d}|4{d}", "{d} |0{d}"]
)
@pytest.mark.parametrize("sizes", [True, False])
def test_tags_that_may_be_one_dam_are_offered_and_never_joined(dam: str, sizes: bool) -> None:
    first, _, second = dam.partition("|")
    lines = litters("{d}{n}", sizes, first).splitlines()
    other = litters("{d}{n}", sizes, second or first).splitlines()
    text = "\n".join(
        line if place % 2 else twin for place, (line, twin) in enumerate(zip(lines, other, strict=True))
    )
    season = read(text + "\n")
    assert len(season.births) == sum(SIZES)
    assert OFFER in said(season, "asked")
    assert max(sizes_of(season)) < 3 or season.births["litter"].nunique() > len(SIZES)
    line = season.problems[season.problems["problem"] == OFFER].iloc[0]
    assert "=" in line["value"]
    assert line["remedy"].startswith("if they are one dam, say in the map under [join] dam_id = [[")


def test_the_map_joins_what_was_offered() -> None:
    text = litters("{d}{n}", dam="{e}")
    offered = read(text)
    remedy = offered.problems.loc[offered.problems["problem"] == OFFER, "remedy"].iloc[0]
    joined = read(text, "[join]\n" + remedy.partition("[join] ")[2] + "\n")
    assert sizes_of(joined) == sorted(SIZES)
    assert joined.all_well


def test_two_dams_whose_litters_are_whole_are_not_offered_as_one() -> None:
    head = "newborn_id,dam_id,born_on,species,litter_size,died\n"
    rows = "".join(f"{n},{dam},2026-04-01,sheep,2,no\n" for n, dam in enumerate(("14", "14", "014", "014")))
    apart = "5,20,2026-04-01,sheep,2,no\n6,020,2026-04-20,sheep,2,no\n"
    assert OFFER not in said(read(head + rows + apart))


@pytest.mark.parametrize(
    "join",
    ['dam_id = "100"', 'dam_id = ["100"]', 'dam_id = [["100"]]', "dam_id = [[1, 2]]", 'sex = [["a", "b"]]'],
)
def test_a_join_that_cannot_be_read_is_refused(join: str) -> None:
    with pytest.raises(CannotRead, match=r"\[join\]"):
        read(litters("{d}{n}"), f"[join]\n{join}\n")


def test_a_dam_that_gave_birth_twice_has_two_litters() -> None:
    head = "season,newborn_id,dam_id,born_on,species,litter_size,died\n"
    early = "2026,1,A,2026-02-01,goat,2,no\n2026,2,A,2026-02-01,goat,2,no\n"
    season = read(head + early + "2026,3,A,2026-08-10,goat,1,no\n2026,4,B,2026-08-10,goat,1,no\n")
    births = season.births.set_index("newborn_id")
    assert births["litter_size"].tolist() == [2, 2, 1, 1]
    assert births["litter"].nunique() == 3
    assert births.loc[["1", "3"], "dam"].nunique() == 1
    assert "this dam gave birth twice in one season, months apart; each birth is a litter of its own" in said(
        season
    )


def test_litters_days_apart_are_two_only_where_their_sizes_say_so() -> None:
    head = "season,newborn_id,dam_id,born_on,species,litter_size,died\n"
    two = "2026,1,A,2026-03-01,sheep,1,no\n2026,2,A,2026-03-20,sheep,2,no\n2026,3,A,2026-03-20,sheep,2,no\n"
    season = read(head + two)
    assert season.births.set_index("newborn_id")["litter_size"].tolist() == [1, 2, 2]
    assert (
        "the litter sizes show two litters of this dam in one season, days apart; was it two dams?"
        in said(season, "asked")
    )
    slip = read(head + "2026,1,A,2026-03-01,sheep,2,no\n2026,2,A,2026-03-20,sheep,2,no\n")
    assert slip.births["litter"].nunique() == 1
    assert "newborns of this dam were born more than 5 days apart in one season" in said(slip)


def test_a_fostered_newborn_erases_no_litter_size() -> None:
    head = "newborn_id,dam_id,born_on,species,litter_size,rearing,died\n"
    own = "1,A,2026-04-01,sheep,3,dam,no\n2,A,2026-04-01,sheep,3,dam,no\n"
    season = read(head + own + "4,B,2026-04-01,sheep,1,dam,no\n3,B,2026-04-01,sheep,3,fostered,no\n")
    births = season.births.set_index("newborn_id")
    assert births["litter_size"].to_dict() == {"1": 3, "2": 3, "3": 3, "4": 1}
    assert births.loc["3", "litter"] != births.loc["4", "litter"]


def test_a_newborn_under_both_dams_counts_once() -> None:
    head = "newborn_id,dam_id,born_on,species,litter_size,died\n"
    own = "1,A,2026-04-01,sheep,2,no\n2,A,2026-04-01,sheep,2,no\n"
    season = read(head + own + "3,B,2026-04-01,sheep,1,no\n2,B,2026-04-01,sheep,2,no\n")
    assert sorted(season.births["newborn_id"]) == ["1", "2", "3"]
    assert season.births.set_index("newborn_id")["litter_size"].to_dict() == {"1": 2, "2": 2, "3": 1}
    assert "this newborn stands under two dams; only the other one's litter size has room for it" in said(
        season
    )


def test_a_litter_with_fewer_rows_than_its_size_is_not_all_well() -> None:
    season = read("season,dam_id,species,litter_size,died\n2026,A,sheep,2,no\n2026,B,sheep,1,no\n")
    assert not season.all_well


def test_a_newborn_in_two_rows_with_two_outcomes_is_one_open_newborn() -> None:
    text = litters("{d}{n}") + "1010,101,2026-04-01,sheep,1,yes\n"
    season = read(text)
    assert season.undecided[["born", "not_written", "not_readable"]].to_numpy().tolist() == [
        [sum(SIZES), 0, 1]
    ]
    assert season.balances[0].set_aside == 2
