"""The ``[lathe]`` table of a job file."""

from formmaker.errors import LatheError
from formmaker.files.job_blank import read_index_count
from formmaker.files.job_chuck import read_thread
from formmaker.files.job_faults import Table
from formmaker.files.job_keys import LARGEST_SKIN, LARGEST_SWING, number_reader, size_reader
from formmaker.model.lathe import UNKNOWN_LATHE, Lathe
from formmaker.units import Units

FASTEST = 20_000.0  # rpm; no wood lathe turns faster

_SPEEDS = ("lowest_speed", "highest_speed")


def read_lathe(table: Table | None, index_count: int | None, units: Units) -> Lathe:
    """Read the ``[lathe]`` table; faults are noted with it.

    Parameters
    ----------
    table : Table or None
        None where the file has none; every key of it may be missing.
    index_count : int or None
        What the head of the file says: the two may not contradict each other.
    units : Units
        What plain lengths mean.

    Returns
    -------
    Lathe
        With nothing known where there is no table, or a fault.
    """
    if table is None:
        return UNKNOWN_LATHE
    read_size, read_speed = size_reader(units, most=LARGEST_SWING), number_reader(1.0, FASTEST, "a speed in rpm")
    sizes = {key: table.optional(key, read_size) for key in ("swing", "between_centres")}
    speeds = {key: table.optional(key, read_speed) for key in _SPEEDS}
    count = table.optional("index_count", read_index_count)
    rest = table.optional("tool_rest", size_reader(units, most=LARGEST_SKIN))
    thread = table.optional("thread", read_thread)
    table.refuse_rest()
    if count is not None and index_count is not None and count != index_count:
        table.fault("index_count", f"the {index_count} that stands at the top of the file; leave one of the two out")
    try:
        return Lathe(
            swing=sizes["swing"],
            between_centres=sizes["between_centres"],
            lowest_speed=speeds["lowest_speed"],
            highest_speed=speeds["highest_speed"],
            index_count=count,
            tool_rest=rest,
            thread=thread,
        )
    except LatheError as error:
        table.fault("lowest_speed", f"a speed not above highest_speed: {error}")
        return UNKNOWN_LATHE
