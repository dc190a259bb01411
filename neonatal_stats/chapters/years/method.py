"""How the years were compared."""

from __future__ import annotations

from neonatal_stats.chapters.years.result import TREND_FROM, Years
from neonatal_stats.tables import printing
from neonatal_stats.words import Method
from neonatal_stats.words.groups import factor_name
from neonatal_stats.words.windows import window_label


def method(result: Years) -> Method:
    """Method, settings, limits and sources."""
    say, settings = result.voice.say, result.settings
    mix = ", ".join(factor_name(result.voice, name) for name in settings.standard_mix)
    return Method(
        method=(
            say(
                "Crude loss has Wilson intervals at the number of {newborns} divided by the design effect. "
                "The common mix is that of all seasons together, over kinds of birth that every season had; "
                "a season's loss on it is the sum of its own risks times the mix (direct standardisation)."
            ),
            say(
                "The change between two seasons is split after Kitagawa: mix is the change of each kind's "
                "share times its mean risk, rate the change of its risk times its mean share; they add up to "
                "the change exactly. A part is clear where its interval, by litters, leaves out no change."
            ),
            say(
                "The chart has three-standard-deviation limits around the common loss, widened for litters "
                "and for how much the seasons swing beyond chance (Laney)."
            ),
            say(
                "The trend is a Cochran-Armitage test with littermates exchangeable, from {n} seasons on.",
                n=printing.count(TREND_FROM),
            ),
            say("Groups that moved: clustered risk differences, with q over all levels shown."),
        ),
        settings=(
            say("Common mix: {mix}.", mix=mix),
            say(
                "Window: {window}, the longest that nine in ten {newborns} of every season were watched "
                "through.",
                window=window_label(result.window.name, result.window.end_h),
            ),
            say(
                "Seasons compared: {first} and {second}.", first=result.pair.first, second=result.pair.second
            ),
            say("Confidence level: {level}.", level=printing.percent(settings.level, 0)),
        ),
        limits=(
            say(
                "Standardising and splitting allow for the mix's columns only; weather, feed and people stay "
                "in the rate."
            ),
            say("With few seasons the chart's limits are themselves uncertain."),
        ),
        sources=(
            say("Kitagawa EM (1955) J Am Stat Assoc 50:1168-1194."),
            say(
                "Fay MP, Feuer EJ (1997) Stat Med 16:791-801; Korn EL, Graubard BI (1998) Surv Methodol "
                "24:193-201."
            ),
            say("Laney DB (2002) Qual Eng 14:531-537."),
            say("Cochran WG (1954) Biometrics 10:417-451; Armitage P (1955) Biometrics 11:375-386."),
        ),
    )
