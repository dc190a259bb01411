"""The parts of the colostrum chapter, shown one after the other."""

from __future__ import annotations

from neonatal_stats.chapters.colostrum import (
    amount,
    effect,
    effect_tables,
    sources,
    timing,
    transfer,
    transfer_tables,
    trial,
)
from neonatal_stats.chapters.colostrum.result import Colostrum
from neonatal_stats.drawing import Figure
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import Sentence, cautions


def sentences(result: Colostrum) -> tuple[Sentence, ...]:
    """The answer in words, with the cautions where a reader might act."""
    voice, settings = result.voice, result.settings
    said: list[Sentence] = []
    if result.timing:
        said += timing.sentences(result.timing, voice)
        hours = settings.marks.colostrum_h
        said.append(cautions.without_colostrum(voice, printing.age(hours[min(2, len(hours) - 1)])))
    if result.amount:
        said += amount.sentences(result.amount, voice, settings)
    if result.effect:
        said += effect.sentences(result.effect, voice, settings)
        said += trial.sentences(result.trial, voice, result.effect.until_h, settings)
    said += transfer.sentences(result.transfer, voice)
    if result.sources:
        said += sources.sentences(result.sources, voice, settings)
    return tuple(said)


def tables(result: Colostrum) -> tuple[Table, ...]:
    """The tables of every part."""
    voice, settings = result.voice, result.settings
    built: list[Table] = []
    if result.timing:
        built += timing.tables(result.timing, voice, settings)
    if result.amount:
        built += amount.tables(result.amount, voice, settings)
    if result.effect:
        built += effect_tables.tables(result.effect, voice, settings)
        built += trial.tables(result.trial, voice, settings)
    built += transfer_tables.tables(result.transfer, voice, settings)
    if result.sources:
        built += sources.tables(result.sources, voice, settings)
    return tuple(built)


def figures(result: Colostrum) -> tuple[Figure, ...]:
    """The figures of every part."""
    voice, settings = result.voice, result.settings
    drawn: list[Figure] = []
    if result.timing:
        drawn += timing.figures(result.timing, voice, settings)
    if result.effect:
        drawn += effect_tables.figures(result.effect, voice, settings)
    if result.amount:
        drawn += amount.figures(result.amount, voice, settings)
    drawn += transfer_tables.figures(result.transfer, voice)
    return tuple(drawn)
