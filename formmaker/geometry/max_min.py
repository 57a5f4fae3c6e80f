"""Where in a box the least of several linear functions is greatest, and the weights that prove it.

One small linear programme, solved by the simplex method; kernels only. What is proven with the weights is reckoned
from them anew: any weights give a valid bound, so that no proof rests on this.
"""

import numpy as np
from numba import njit

_PIVOTS = 60  # ten or so are usual; what is reached by then is as valid
_TINY = 1e-9


@njit(nogil=True, cache=True)
def best_weights(rows, many, limits, weights):  # type: ignore[no-untyped-def]
    """Weights for which the greatest value of the mean of linear functions over a box is least.

    Parameters
    ----------
    rows : (m, 1 + n or more) float
        Each a constant and n rates, of which the first ``many`` count.
    many : int
        At least one.
    limits : (n,) float
        The variables lie from minus to plus these, the last from 0.
    weights : (m,) float
        Filled, not negative, their sum 1.
    """
    count = limits.shape[0]
    table, _, free, _ = _solved(rows, many, limits)
    weights[:many] = 0.0
    for j in range(count + 1):
        if free[j] >= count:
            weights[free[j] - count] = max(-table[many, j], 0.0)
    weights[:many] /= max(weights[:many].sum(), _TINY)


@njit(nogil=True, cache=True)
def best_place(rows, many, limits, place):  # type: ignore[no-untyped-def]
    """Fill ``place`` (n,) with the variables at which the least of linear functions is greatest, as above."""
    count = limits.shape[0]
    table, basic, _, is_turned = _solved(rows, many, limits)
    place[:] = 0.0
    for i in range(many):
        if 0 <= basic[i] < count:
            place[basic[i]] = table[i, -1]
    for k in range(count):
        low, high = (0.0 if k == count - 1 else -limits[k]), limits[k]
        place[k] = high - place[k] if is_turned[k] else low + place[k]


@njit(nogil=True, cache=True)
def _solved(rows, many, limits):  # type: ignore[no-untyped-def]
    """The last table, which variables its rows and columns stand for, and which are counted from their high ends.

    Notes
    -----
    The greatest z with z below every function: dictionaries with bounded variables, V. Chvatal, "Linear Programming"
    (1983), chapters 2 and 8.
    """
    table, span, basic, free = _first_table(rows, many, limits)
    is_turned = np.zeros(span.shape[0], np.bool_)
    for _ in range(_PIVOTS):
        enters = int(table[many, :-1].argmax())
        if table[many, enters] <= _TINY:
            break
        leaves, at_top = _leaving(table, many, basic, span, enters, span[free[enters]])
        if leaves < 0:  # it runs to its own far end
            table[:, -1] += table[:, enters] * span[free[enters]]
            table[:, enters] *= -1.0
            is_turned[free[enters]] ^= True
            continue
        if at_top:  # counted from its other end it is 0 there
            table[leaves] *= -1.0
            table[leaves, -1] += span[basic[leaves]]
            is_turned[basic[leaves]] ^= True
        _pivot(table, many, leaves, enters)
        basic[leaves], free[enters] = free[enters], basic[leaves]
    return table, basic, free, is_turned


@njit(nogil=True, cache=True)
def _first_table(rows, many, limits):  # type: ignore[no-untyped-def]
    """All variables at their low ends, z as great as the lowest function lets it be.

    Columns: the variables, then how far that function stands above z; last the constants. Rows: how far each other
    function stands above z (that of the lowest stays empty), last z itself. Names: variables first, then functions.
    """
    count = limits.shape[0]
    table = np.empty((many + 1, count + 2))
    span, basic, free = np.full(count + many, np.inf), np.empty(many, np.int64), np.arange(count + 1)
    span[: count - 1], span[count - 1] = 2.0 * limits[:-1], limits[-1]
    for i in range(many):
        table[i, :count] = rows[i, 1 : count + 1]
        table[i, count] = 1.0
        table[i, -1] = rows[i, 0] - (rows[i, 1:count] * limits[:-1]).sum()
        basic[i] = count + i
    lowest = int(table[:many, -1].argmin())
    table[many] = table[lowest]
    table[many, count] = -1.0
    for i in range(many):
        table[i, :count] -= table[many, :count]
        table[i, -1] -= table[many, -1]
    table[lowest] = 0.0
    free[count] = count + lowest
    basic[lowest] = -1
    return table, span, basic, free


@njit(nogil=True, cache=True)
def _leaving(table, many, basic, span, enters, farthest):  # type: ignore[no-untyped-def]
    """Which row stops a variable that grows from 0, -1 if none before its far end; whether it does so at its top."""
    leaves, at_top, way = -1, False, farthest
    for i in range(many):
        rate = table[i, enters]
        if basic[i] < 0 or abs(rate) <= _TINY:
            continue
        room = table[i, -1] / -rate if rate < 0.0 else (span[basic[i]] - table[i, -1]) / rate
        if room < way:
            leaves, at_top, way = i, rate > 0.0, max(room, 0.0)
    return leaves, at_top


@njit(nogil=True, cache=True)
def _pivot(table, many, leaves, enters):  # type: ignore[no-untyped-def]
    """Let one variable of a row and one of a column change places."""
    rate = table[leaves, enters]
    table[leaves] /= -rate
    table[leaves, enters] = 1.0 / rate
    for i in range(many + 1):
        share = table[i, enters]
        if i != leaves and share != 0.0:
            for j in range(table.shape[1]):
                table[i, j] += share * table[leaves, j]
            table[i, enters] = share * table[leaves, enters]
