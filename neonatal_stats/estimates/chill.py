"""Cold, wind and rain as a newborn lamb feels them: the sheep chill index."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats, refuse


def sheep_chill_index(wind_m_s: ArrayLike, temperature_c: ArrayLike, rain_mm: ArrayLike) -> Floats:
    """Potential heat loss of a sheep in kJ per square metre and hour.

    Parameters
    ----------
    wind_m_s : array_like
        Mean wind speed in metres a second, near the animal's height; a mast's reading is too high.
    temperature_c : array_like
        Mean air temperature in degrees Celsius.
    rain_mm : array_like
        Rain of the day in millimetres.

    Returns
    -------
    array of the broadcast shape; NaN where any of the three is NaN.

    Method
    ------
    (11.7 + 3.1 sqrt(v)) (40 - T) + 481 + 418 (1 - exp(-0.04 x)).

    Limits
    ------
    Made for sheep; not for calves or kids. The formula was checked against several public research programs
    that cite the two papers below; the papers themselves were not at hand. Classes ("high chill" from about
    1,000) differ by source. No allowance for shelter, coat or birth weight.

    References
    ----------
    Nixon-Smith WF (1972), working paper, Bureau of Meteorology, Australia; Donnelly JR (1984) Aust J Agric
    Res 35:709-721.

    Examples
    --------
    Wind 4 m/s, 10 degrees, dry: (11.7 + 6.2) x 30 + 481.

    >>> from neonatal_stats.estimates import sheep_chill_index
    >>> round(float(sheep_chill_index(4, 10, 0)), 6)
    1018.0
    """
    wind, rain = np.asarray(wind_m_s, dtype=np.float64), np.asarray(rain_mm, dtype=np.float64)
    temperature = np.asarray(temperature_c, dtype=np.float64)
    refuse("wind_m_s", (wind < 0) | np.isinf(wind), wind, "must be finite and not negative")
    refuse("rain_mm", (rain < 0) | np.isinf(rain), rain, "must be finite and not negative")
    refuse("temperature_c", np.isinf(temperature), temperature, "must be finite")
    dry = (11.7 + 3.1 * np.sqrt(wind)) * (40 - temperature)
    return np.asarray(dry + 481 + 418 * (1 - np.exp(-0.04 * rain)), dtype=np.float64)
