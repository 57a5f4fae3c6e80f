"""Bark: how heavy that of a timber is, where the turner says how thick it is."""

from dataclasses import dataclass

from formmaker.model.timber import WATER, Species


@dataclass(frozen=True, slots=True, kw_only=True)
class Bark:
    """Bark of one timber: ovendry weight over green volume, relative to water, and green moisture, %."""

    gravity: float
    green_moisture: float


BARKS = {
    "alder, red": Bark(gravity=0.56, green_moisture=74.57),
    "apple": Bark(gravity=0.50, green_moisture=69.88),
    "ash, green": Bark(gravity=0.48, green_moisture=70.27),
    "ash, white": Bark(gravity=0.50, green_moisture=89.1),
    "basswood, American": Bark(gravity=0.48, green_moisture=90.31),
    "beech, American": Bark(gravity=0.67, green_moisture=88.96),
    "birch, paper": Bark(gravity=0.56, green_moisture=51.68),
    "birch, yellow": Bark(gravity=0.62, green_moisture=60.26),
    "boxelder": Bark(gravity=0.50, green_moisture=92.3),
    "butternut": Bark(gravity=0.40, green_moisture=88.3),
    "cherry, black": Bark(gravity=0.63, green_moisture=90.78),
    "elm, American": Bark(gravity=0.44, green_moisture=78.48),
    "hackberry": Bark(gravity=0.49, green_moisture=89.69),
    "hickory, pecan": Bark(gravity=0.60, green_moisture=60.25),
    "honeylocust": Bark(gravity=0.50, green_moisture=89.1),
    "locust, black": Bark(gravity=0.29, green_moisture=87.9),
    "madrone, Pacific": Bark(gravity=0.60, green_moisture=60.25),
    "maple, bigleaf": Bark(gravity=0.48, green_moisture=113.67),
    "maple, red": Bark(gravity=0.60, green_moisture=78.95),
    "maple, silver": Bark(gravity=0.57, green_moisture=79.93),
    "maple, sugar": Bark(gravity=0.54, green_moisture=89.93),
    "mulberry, red": Bark(gravity=0.53, green_moisture=80.49),
    "oak, northern red": Bark(gravity=0.68, green_moisture=90.9),
    "oak, white": Bark(gravity=0.56, green_moisture=88.88),
    "Osage-orange": Bark(gravity=0.60, green_moisture=60.25),
    "redcedar, eastern": Bark(gravity=0.40, green_moisture=60.25),
    "sassafras": Bark(gravity=0.50, green_moisture=89.1),
    "sweetgum": Bark(gravity=0.42, green_moisture=90.79),
    "sycamore, American": Bark(gravity=0.60, green_moisture=84.3),
    "tanoak": Bark(gravity=0.62, green_moisture=60.26),
    "walnut, black": Bark(gravity=0.33, green_moisture=89.39),
    "yellow-poplar": Bark(gravity=0.38, green_moisture=123.53),
}
"""By the names of ``timber.SPECIES``: US Forest Service FIADB ``REF_SPECIES`` (public domain; figures of Research
Note NRS-38, 2009)."""


def bark_density(species: Species, moisture: float | None) -> float | None:
    """Weight of a volume of bark, as the wood under it: green, or at the wood's own moisture.

    Parameters
    ----------
    species : Species
    moisture : float or None
        % of the dry weight; None for green.

    Returns
    -------
    float or None
        kg/mm3; None where the table has no bark of this timber. Bark is taken to keep its volume as it dries.

    Examples
    --------
    >>> from formmaker.model.timber import find_species
    >>> round(1e9 * bark_density(find_species("cherry, black"), None))
    1202
    """
    bark = BARKS.get(species.name)
    if bark is None:
        return None
    wet = bark.green_moisture if moisture is None else moisture
    return WATER * bark.gravity * (1.0 + wet / 100.0)
