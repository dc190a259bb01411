"""The page: one self-contained HTML file that needs no script and fetches nothing.

Of very long tables it shows the first rows. On a narrow screen each row of a wide table is a short paragraph, "Twins:
Lost 45, Share 12.4 %", with the columns' headings before their cells. The headings come from the page's style: they
cost no node, and nothing has to scroll.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from functools import cache
from importlib import resources

import jinja2
from markupsafe import Markup

from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.colours import variables
from neonatal_stats.measures.rates import Counted
from neonatal_stats.report.at_a_glance import at_a_glance, need_births
from neonatal_stats.report.first_page import FirstPage, claims_on_top, first_page, looked
from neonatal_stats.report.keeper import keeper_sheet
from neonatal_stats.report.outcomes import outcomes_said
from neonatal_stats.report.review import Review, anchor, version
from neonatal_stats.report.shown import is_brief, is_short, shown, too_few_needs
from neonatal_stats.report.texts import checklist, definitions
from neonatal_stats.report.what_to_do import at_hand, what_to_do
from neonatal_stats.season.following.seasons import NOT_RECORDED, UNNAMED_FARM
from neonatal_stats.tables import Table, sentence_case
from neonatal_stats.vocabulary.columns import LISTS
from neonatal_stats.words import Voice, joined
from neonatal_stats.words.cautions import cautions
from neonatal_stats.words.problems import TABLES


def page_html(review: Review) -> str:
    """The whole review as one HTML text; its folds closed it is the short edition, all of them open the full one."""
    if lists_alone(review):
        return _render(
            "alone.html.j2",
            review,
            first_page(review),
            chapters=[shown(one) for one in review.sections],
            named={},
        )
    top, short = first_page(review), is_short(review)
    chapters = [
        shown(section, claims_on_top(top, section.name), brief=short and is_brief(section))
        for section in review.sections
    ]
    return _render(
        "page.html.j2",
        review,
        top,
        chapters=chapters,
        gathered=[one for one in chapters if short and (one.silent or not one.section.open)],
        needs=too_few_needs(review),
        need_births=need_births(review),
        named={section.name: section.title for section in review.sections if section.open},
        glance=at_a_glance(review),
        checklist=checklist(review),
        looked=looked(review),
        plan=what_to_do(review),
    )


def page_one_html(review: Review) -> str:
    """Page one alone, for a notebook: it leads to no chapters, since they are not there."""
    if lists_alone(review):
        return page_html(review)
    page = _render(
        "page_one.html.j2",
        review,
        first_page(review),
        glance=at_a_glance(review),
        plan=what_to_do(review),
    )
    return re.sub(' href="#[^"]*"', "", page)


def keeper_html(review: Review) -> str:
    """The keeper's sheet: one side of A4."""
    return _render(
        "keeper.html.j2", review, first_page(review), sheet=keeper_sheet(review), plan=at_hand(review)
    )


def lists_alone(review: Review) -> bool:
    """True where lists of single animals stand without births, and nothing else that tells of losses."""
    return bool(review.season.alone) and set(review.season.alone) <= set(LISTS)


def title(review: Review) -> str:
    """The page's title: the birthing season in the species' own word, and the farm where there is one."""
    say, farms = review.voice.say, review.season.farms
    undated = review.focus == NOT_RECORDED
    name = say("{Birthing}") if undated else say("{Birthing} {season}", season=review.focus)
    if lists_alone(review):
        held = ", ".join(say(TABLES[table]) for table in review.season.alone)
        name = say("{name}: {tables}", name=name, tables=held)
    named = len(farms) == 1 and farms[0] not in ("", UNNAMED_FARM)
    return say("{name}, {farm}", name=name, farm=farms[0]) if named else name


def byline(review: Review) -> str:
    """What was read, up to which day where later records were left out, and when the page was made."""
    voice = review.voice
    if lists_alone(review):
        return _without_births(review)
    if review.season.alone:
        return _byline_of_mobs(review)
    said = voice.say(
        "{n} {newborns} born in the season under review; {total} in all records read. Page made on {day}.",
        n=voice.count(len(review.births)),
        total=voice.count(len(review.season.births)),
        day=voice.date(review.made_on),
    )
    if review.season.known_until is None:
        return said
    known = voice.say("Nothing recorded after {day} was read.", day=voice.date(review.season.known_until))
    return joined((said, known))


def _without_births(review: Review) -> str:
    """What was read where no birth is on record, and when the page was made."""
    voice = review.voice
    held = (
        voice.say(
            "{table} {n}", table=voice.say(TABLES[table]), n=voice.count(len(getattr(review.season, table)))
        )
        for table in review.season.alone
    )
    return voice.say(
        "Rows read: {held}; no births are among these records. Page made on {day}.",
        held=", ".join(held),
        day=voice.date(review.made_on),
    )


def _byline_of_mobs(review: Review) -> str:
    """The same where no single newborn is on record."""
    voice, mobs = review.voice, review.season.mobs
    return voice.say(
        "{n} mobs counted in the season under review, {total} in all seasons read; no single {newborn} on record."
        " Page made on {day}.",
        n=voice.count((mobs["season"] == review.focus).sum()) if len(mobs) else voice.count(0),
        total=voice.count(len(mobs)),
        day=voice.date(review.made_on),
    )


def counted_line(counted: Counted, voice: Voice) -> str:
    """Who was counted and who was left out, in one line."""
    line = voice.say("Counted: {n} of {total} {what}.", n=voice.count(counted.n),
                     total=voice.count(counted.total), what=voice.say(counted.what))  # fmt: skip
    if not counted.left_out:
        return line
    reasons = "; ".join(f"{voice.say(reason)} {voice.count(n)}" for reason, n in counted.left_out)
    return voice.say("{line} Left out: {reasons}.", line=line, reasons=reasons)


def _render(template: str, review: Review, top: FirstPage, **more: object) -> str:
    voice = review.voice
    name = title(review)
    return (
        environment()
        .get_template(template)
        .render(
            review=review,
            voice=voice,
            say=voice.say,
            title=name,
            byline=byline(review),
            css=style(name, review.tables),
            top=top,
            outcomes=outcomes_said(review),
            definitions=definitions(review),
            cautions=_not_yet_said(review),
            footer=voice.say("Made with neonatal_stats {version} from the records alone.", version=version()),
            svg=drawn,
            anchor=anchor,
            sentence_case=sentence_case,
            table_html=lambda table: table_html(table, voice),
            counted=lambda counted: counted_line(counted, voice),
            **more,
        )
    )


def _not_yet_said(review: Review) -> list[str]:
    """The usual cautions that no open chapter has said already, word for word."""
    said = {one.text for section in review.sections for one in section.sentences if one.role == "caution"}
    usual = cautions(review.voice, review.season.settings.marks)
    return [text for text in usual if text not in said]


def drawn(figure: Figure) -> Markup:
    """A figure as the page holds it."""
    return Markup(figure.inline())


STYLES = ("page.css", "first_page.css", "plan.css", "keeper.css", "alone.css")


def style(foot: str, tables: Iterable[Table], sheets: Iterable[str] = STYLES) -> Markup:
    """The style of a page, with the colours of the house and the words at the foot of a side."""
    folder = resources.files("neonatal_stats.report") / "templates"
    css = "\n".join((folder / name).read_text(encoding="utf-8") for name in sheets)
    css = css.replace("HOUSE_COLOURS", variables()).replace("DARK_COLOURS", variables(dark=True))
    css = css.replace("PAGE_FOOT", quoted(foot)).replace("STACKED_TABLES", stacked(tables))
    return Markup(css)


@cache
def environment() -> jinja2.Environment:
    """The room's templates; what is filled in is escaped."""
    loader = jinja2.PackageLoader("neonatal_stats.report")
    return jinja2.Environment(loader=loader, autoescape=True, undefined=jinja2.StrictUndefined)


FIRST_ROWS = 15
VERY_LONG = 20
"""A table of more rows shows only its first ones; all of them are in the workbook and in its CSV file."""

MOST_ROWS = 5000
"""A list with a sheet to itself holds so many rows there; all of a longer one are in its CSV file alone."""

NARROW = {"wide": "54rem", "widest": "78rem"}
"""The width of the screen under which tables that are marked so are stacked; others fit on any."""


def table_html(table: Table, voice: Voice) -> Markup:
    """The table, of a very long one the first rows and a line that says where the others are."""
    rows, first = len(table.frame), table.on_page or FIRST_ROWS
    if rows <= (table.on_page or VERY_LONG):
        return Markup(table.html())
    if rows > MOST_ROWS and table.own_sheet:
        return Markup(table.html(first=first, rest=rows_left(table, voice, first)))
    rest = voice.say(
        "The first {shown} of {rows} rows; all of them are on the sheet {sheet} of the workbook and in {file}.",
        shown=voice.count(first),
        rows=voice.count(rows),
        sheet=table.sheet,
        file=f"tables/{table.name}.csv",
    )
    return Markup(table.html(first=first, rest=rest))


def rows_left(table: Table, voice: Voice, first: int) -> str:
    """That only so many rows of a list stand here, and where all are."""
    return voice.say(
        "The first {shown} of {rows} rows; all of them are in {file}.",
        shown=voice.count(first),
        rows=voice.count(len(table.frame)),
        file=f"tables/{table.name}.csv",
    )


def stacked(tables: Iterable[Table]) -> str:
    """Rules of style that set the rows of wide tables one under the other, each cell behind its column's heading; those
    of lists on paper too, so that they run in its two columns.
    """
    rules = (resources.files("neonatal_stats.report") / "templates" / "stacked.css").read_text(
        encoding="utf-8"
    )
    narrow = (
        f"@media screen and (max-width: {width}) {{\n{rules.replace('WIDE', kind)}}}"
        for kind, width in NARROW.items()
    )
    on_paper = f"@media print {{\n{rules.replace('WIDE', 'list')}}}"
    return "\n".join((*_headings(tables), *narrow, on_paper))


def _headings(tables: Iterable[Table]) -> Iterator[str]:
    """Each heading, for the cells of all columns that have it."""
    places: defaultdict[str, list[str]] = defaultdict(list)
    for table in tables:
        for place, column in enumerate(table.shown[1:], start=2):
            places[sentence_case(column.heading)].append(f"#table-{table.name} td:nth-child({place})")
    for words, cells in places.items():
        yield f'{",".join(cells)}{{--heading:"{quoted(words)}"}}'


def quoted(words: str) -> str:
    """Words as they may stand between quotation marks in a style, whatever they are."""
    return "".join(one if one.isalnum() or one == " " else f"\\{ord(one):06x} " for one in words)
