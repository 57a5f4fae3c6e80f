"""The moisture that wood comes to in a climate: temperature and humidity of the air in, % of the dry weight out.

How a bowl changes on the way there is in ``drying``.
"""

from formmaker.errors import MeasureError

COLDEST, HOTTEST = 0.0, 70.0
"""Temperatures, C, between which the equation is asked here; the handbook's table reaches from -1 to 132 C."""

MODEL_SPREAD = 0.5
"""Two published models of the same equilibrium (equations 4-5 and 4-6) differ by half a point of moisture at 20 C, by
a whole one in damp air at 10 C."""


def equilibrium_moisture(temperature: float, humidity: float) -> float:
    """Moisture of wood that has stood long enough in air of one climate.

    Parameters
    ----------
    temperature : float
        C, from 0 to 70.
    humidity : float
        Relative, as a share, above 0 and below 1.

    Returns
    -------
    float
        % of the dry weight, known to ``MODEL_SPREAD`` at best; timbers rich in resin or oil take up less.

    Raises
    ------
    MeasureError
        If a figure is out of range.

    Notes
    -----
    Wood Handbook, FPL-GTR-282 (2021), equation 4-5, the Celsius form.

    Examples
    --------
    >>> round(equilibrium_moisture(20.0, 0.65), 1)
    12.0
    """
    if not COLDEST <= temperature <= HOTTEST:
        raise MeasureError(f"temperature {temperature:g} C; give one from {COLDEST:g} to {HOTTEST:g} C")
    if not 0.0 < humidity < 1.0:
        raise MeasureError(f"humidity {100.0 * humidity:g} %; give one between 0 and 100 %")
    t = temperature
    w = 349.0 + 1.29 * t + 0.0135 * t**2
    kh = (0.805 + 0.000736 * t - 0.00000273 * t**2) * humidity
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    bound = (k1 * kh + 2.0 * k1 * k2 * kh**2) / (1.0 + k1 * kh + k1 * k2 * kh**2)
    return 1800.0 / w * (kh / (1.0 - kh) + bound)
