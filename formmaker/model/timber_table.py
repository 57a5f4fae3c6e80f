"""The timber table: figures of turned woods, as their sources print them.

A figure with a question mark behind it is from memory and not confirmed; one with a tilde was worked back from
another table; a dash stands where the source has none. What follows from the figures is in ``timber``.
"""

from formmaker.model.species import Figure, Shrinkage, Source, Species, Strength
from formmaker.units import MPA_PER_PSI

# US Forest Service FIADB REF_SPECIES, public domain, figures of Research Note NRS-38 (2009): basic specific gravity
# (green volume, dry weight), specific gravity at 12 %, moisture of green wood %. Where the last is a dash, it is the
# mean of heartwood and sapwood below. "plum" is the table's own row for cherry and plum together.
_WEIGHT = """
alder, red              0.37  0.41   99.24
apple                   0.61  0.67   78.0
ash, black              0.45  -      -
ash, green              0.53  0.56   57.23
ash, Oregon             0.50  -      -
ash, white              0.55  0.60   45.69
aspen, quaking          0.35  -      -
basswood, American      0.32  0.37  105.34
beech, American         0.56  0.64   54.54
birch, paper            0.48  0.55   73.60
birch, sweet            0.60  -      -
birch, yellow           0.55  0.62   71.91
boxelder                0.42  0.46   90.79
buckeye, yellow         0.33  -      -
butternut               0.36  0.38  104.78
cherry, black           0.47  0.50   53.45
chestnut, American      0.40  -     120.0
cottonwood, eastern     0.37  -      -
Douglas-fir, coast      0.45  -      -
elm, American           0.46  0.50   94.00
elm, rock               0.57  -      -
hackberry               0.49  0.53   63.53
hickory, mockernut      0.64  -      -
hickory, pecan          0.60  0.66   65.60
honeylocust             0.60  0.65   60.25
locust, black           0.66  0.69   40.83
madrone, Pacific        0.58  0.65   65.78
magnolia, southern      0.46  -      -
maple, bigleaf          0.44  0.48   71.18
maple, red              0.49  0.54   63.53
maple, silver           0.44  0.47   67.55
maple, sugar            0.56  0.63   57.39
mulberry, red           0.52  0.58   75.13
oak, northern red       0.56  0.63   83.14
oak, white              0.60  0.68   68.27
Osage-orange            0.76  0.85   30.74
plum                    0.47  -      53.0
redcedar, eastern       0.44  0.47   34.75
redcedar, western       0.31  -      -
sassafras               0.42  0.46   67.88
sweetgum                0.46  0.52   74.20
sycamore, American      0.46  0.49   81.15
tanoak                  0.58  0.62   79.60
tupelo, black           0.46  -      -
walnut, black           0.51  0.55   79.12
willow, black           0.36  -     127.03
yellow-poplar           0.40  0.42   95.00
"""

# Wood Handbook FPL-GTR-190 (2010), Table 4-3: shrinkage radial, tangential, volumetric, % from green to ovendry.
# Red oak and sugar maple as the 2021 edition was quoted. With a tilde: Table 13-5 worked back, C = 1/(3000/S - 20).
_SHRINKAGE = """
alder, red              4.4   7.3   12.6
apple                   5.9~  10.5~ -
ash, black              5.0   7.8   15.2
ash, green              4.6   7.1   12.5
ash, Oregon             4.1   8.1   13.2
ash, white              4.9   7.8   13.3
aspen, quaking          3.5   6.7   11.5
basswood, American      6.6   9.3   15.8
beech, American         5.5   11.9  17.2
birch, paper            6.3   8.6   16.2
birch, sweet            6.5   9.0   15.6
birch, yellow           7.3   9.5   16.8
buckeye, yellow         3.6   8.1   12.5
butternut               3.4   6.4   10.6
cherry, black           3.7   7.1   11.5
chestnut, American      3.4   6.7   11.6
cottonwood, eastern     3.9   9.2   13.9
Douglas-fir, coast      4.8   7.6   12.4
elm, American           4.2   9.5   14.6
elm, rock               4.8   8.1   14.9
hackberry               4.8   8.9   13.8
hickory, mockernut      7.7   11.0  17.8
hickory, pecan          4.9   8.9   13.6
honeylocust             4.2~  6.6~  10.8?
locust, black           4.6~  7.2~  10.2?
madrone, Pacific        5.6~  12.4~ 18.1?
magnolia, southern      5.4~  6.6~  12.3?
maple, bigleaf          3.7~  7.1~  11.6?
maple, red              4.0~  8.2~  12.6?
maple, silver           3.0~  7.2~  12.0?
maple, sugar            4.8   9.9   14.7
oak, northern red       4.0   8.6   13.7
oak, white              5.6   10.5  16.3
redcedar, eastern       3.1   4.7   7.8
redcedar, western       2.4   5.0   6.8
sassafras               4.0   6.2   10.3
sweetgum                5.3   10.2  15.8
sycamore, American      5.0   8.4   14.1
tanoak                  4.9   11.7  17.3
tupelo, black           5.1   8.7   14.4
walnut, black           5.5   7.8   12.8
willow, black           3.3   8.7   13.9
yellow-poplar           4.6   8.2   12.7
"""

# Wood Handbook (2010; 2021 for sugar maple, the oaks and yellow-poplar), Table 4-1: green moisture of heartwood and
# of sapwood, %.
_GREEN = """
alder, red              -     97
apple                   81    74
ash, black              95    -
ash, green              -     58
ash, Oregon             48?   -
ash, white              46    44
aspen, quaking          95    113
basswood, American      81    133
beech, American         55    72
birch, paper            89    72
birch, sweet            75    70
birch, yellow           74    72
buckeye, yellow         141?  -
cherry, black           58    -
chestnut, American      120?  -
cottonwood, eastern     162?  146?
Douglas-fir, coast      37    115
elm, American           95?   92?
elm, rock               44?   57?
hackberry               61?   65?
hickory, mockernut      70?   52?
magnolia, southern      80?   104?
maple, silver           58?   97?
maple, sugar            65    72
oak, northern red       80    69
oak, white              64    78
redcedar, eastern       33    -
redcedar, western       58    249
sweetgum                79?   137?
sycamore, American      114?  130?
tupelo, black           87?   115?
walnut, black           90?   73?
yellow-poplar           83    106
"""

# Wood Handbook (2021), Table 5-3a, N/mm2: shear along the grain green and at 12 %, tension across the grain green and
# at 12 %, as it was quoted.
_STRENGTH = """
ash, white              9.3   13.2  4.1   6.5
cherry, black           7.8   11.7  3.9   3.9
maple, sugar            10.1  16.1  -     -
oak, northern red       8.3   12.3  5.2   5.5
oak, white              8.6   13.8  5.3   5.5
yellow-poplar           5.4   8.2   3.5   3.7
"""

# The same table in inches and pounds (Table 5-3b), lbf/in2: shear at 12 % as quoted, the rest from memory.
_STRENGTH_PSI = """
alder, red              -     1080  -     -
ash, black              -     1570  -     -
ash, green              -     1910  -     -
ash, Oregon             -     1790  -     -
aspen, quaking          -     850   -     -
basswood, American      -     990   280?  350?
beech, American         -     2010  720?  1010?
birch, paper            -     1210  -     -
birch, sweet            -     2240  -     -
birch, yellow           -     1880  430?  920?
butternut               -     1170  -     -
chestnut, American      -     1080  -     -
cottonwood, eastern     -     930   -     -
elm, American           -     1510  590?  660?
elm, rock               -     1920  -     -
hackberry               -     1590  -     -
hickory, mockernut      -     1740  -     -
hickory, pecan          -     2080  -     -
honeylocust             -     2250  -     -
locust, black           -     2480  -     -
magnolia, southern      -     1530  -     -
maple, bigleaf          -     1730  -     -
maple, red              -     1850? -     -
maple, silver           -     1480? 560?  500?
sweetgum                -     1600? 540?  760?
sycamore, American      -     1470? 630?  720?
tupelo, black           -     1340? -     -
walnut, black           -     1370? 570?  690?
"""

_ALSO = {
    "ash, black": ("brown ash",),
    "basswood, American": ("American linden",),
    "birch, paper": ("white birch",),
    "birch, sweet": ("black birch",),
    "boxelder": ("box elder", "ashleaf maple"),
    "butternut": ("white walnut",),
    "elm, American": ("white elm",),
    "honeylocust": ("honey locust",),
    "locust, black": ("robinia", "false acacia"),
    "madrone, Pacific": ("madrona",),
    "maple, silver": ("soft maple",),
    "maple, sugar": ("hard maple", "rock maple"),
    "oak, northern red": ("red oak",),
    "Osage-orange": ("bodark", "hedge apple"),
    "redcedar, eastern": ("eastern red cedar",),
    "redcedar, western": ("western red cedar",),
    "sweetgum": ("sweet gum", "red gum"),
    "sycamore, American": ("buttonwood", "American plane"),
    "tupelo, black": ("black gum",),
    "yellow-poplar": ("tulip tree", "tulipwood", "American whitewood"),
}
"""Other names in the trade, where they mean one timber of the table and no other of it."""

_SOFTWOODS = ("Douglas-fir, coast", "redcedar, eastern", "redcedar, western")


def _rows(table: str, columns: int) -> dict[str, list[str]]:
    words = [line.rsplit(None, columns) for line in table.strip().splitlines()]
    return {name.strip(): cells for name, *cells in words}


def _figure(cell: str, source: Source, *, per_unit: float = 1.0) -> Figure | None:
    """One cell of a table; None for a dash."""
    if cell == "-":
        return None
    marks = {"?": Source.MEMORY, "~": Source.CHANGE_TABLE}
    return Figure(value=float(cell.rstrip("?~")) * per_unit, source=marks.get(cell[-1], source))


def _known(cell: str, source: Source) -> Figure:
    figure = _figure(cell, source)
    if figure is None:
        raise ValueError("a figure that every row of this table has to have is missing")
    return figure


def _strengths(rows: dict[str, list[str]], per_unit: float) -> dict[str, Strength]:
    fields = ("shear_green", "shear_dry", "tension_green", "tension_dry")
    figures = {
        name: [_figure(cell, Source.STRENGTH_TABLE, per_unit=per_unit) for cell in cells]
        for name, cells in rows.items()
    }
    return {name: Strength(**dict(zip(fields, given, strict=True))) for name, given in figures.items()}


def _table() -> tuple[Species, ...]:
    shrinkage, green = _rows(_SHRINKAGE, 3), _rows(_GREEN, 2)
    strength = _strengths(_rows(_STRENGTH_PSI, 4), MPA_PER_PSI) | _strengths(_rows(_STRENGTH, 4), 1.0)
    return tuple(
        _species(name, cells, shrinkage.get(name), green.get(name, ["-", "-"]), strength.get(name, Strength()))
        for name, cells in _rows(_WEIGHT, 3).items()
    )


def _species(
    name: str, weight: list[str], shrinkage: list[str] | None, green: list[str], strength: Strength
) -> Species:
    basic, dry, moisture = (_figure(cell, Source.FOREST_SERVICE) for cell in weight)
    either = [_figure(cell, Source.GREEN_TABLE) for cell in green]
    known = [figure for figure in either if figure is not None]
    if basic is None or (moisture is None and not known):
        raise ValueError(f"the timber table says too little of {name}")
    from_memory = any(figure.source is Source.MEMORY for figure in known)
    mean = sum(figure.value for figure in known) / max(len(known), 1)
    return Species(
        name=name,
        basic_gravity=basic.value,
        green_moisture=mean if moisture is None else moisture.value,
        green_source=moisture.source if moisture else Source.MEMORY if from_memory else Source.GREEN_TABLE,
        dry_gravity=None if dry is None else dry.value,
        heartwood=either[0],
        sapwood=either[1],
        shrinkage=None if shrinkage is None else _shrinkage(shrinkage),
        strength=strength,
        also=_ALSO.get(name, ()),
        is_softwood=name in _SOFTWOODS,
    )


def _shrinkage(cells: list[str]) -> Shrinkage:
    return Shrinkage(
        radial=_known(cells[0], Source.SHRINKAGE_TABLE),
        tangential=_known(cells[1], Source.SHRINKAGE_TABLE),
        volumetric=_figure(cells[2], Source.SHRINKAGE_TABLE),
    )


SPECIES = _table()
"""Every timber of the table, by name; figures are means of many trees, and one piece may lie well off them."""
