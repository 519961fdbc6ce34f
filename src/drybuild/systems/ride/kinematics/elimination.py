"""Many small linear systems at once, without a loop over them.

Rows and columns are swapped once, for all systems alike, by the order that a typical system of
the lot needs. The systems of one linkage look alike, so this is as good as swapping each one; and
Newton's method, which uses it, judges the answer by what is left over, not by this step.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


def pivot_order(*, typical: Floats) -> tuple[list[int], list[int]]:
    """Order of rows and of columns in which a typical matrix is eliminated: largest entry first.

    typical: (n, n), of comparable units throughout (scale lengths against angles before).
    Returns rows and columns, each a list of n. Errors: a singular matrix gives an order too; its
    elimination then divides by zero and yields inf or NaN.
    Source: complete pivoting; Golub and Van Loan, Matrix Computations, ch. 3 (from memory).
    """
    left = np.array(typical, dtype=float)
    count = len(left)
    rows, columns = [*range(count)], [*range(count)]
    for step in range(count - 1):
        part = np.abs(left[step:, step:])
        row, column = divmod(int(np.argmax(np.nan_to_num(part))), count - step)
        row, column = row + step, column + step
        left[[step, row]] = left[[row, step]]
        left[:, [step, column]] = left[:, [column, step]]
        rows[step], rows[row] = rows[row], rows[step]
        columns[step], columns[column] = columns[column], columns[step]
        if left[step, step] != 0.0:
            factor = left[step + 1 :, step] / left[step, step]
            left[step + 1 :] -= factor[:, None] * left[step]
    return rows, columns


def eliminate(*, system: Floats, spare: Floats) -> Floats:
    """Solutions of many small systems A·x = b, worked in place.

    system: (n, n + m, P): n equations, m right-hand sides beside the matrix, P systems; it is
    overwritten. spare: room for working, at least (n − 1, n + m − 1, P).
    Returns x as (n, m, P), a view into `system`. Rows and columns must stand in the order of
    `pivot_order`. A singular system gives inf or NaN in its own column and disturbs no other.
    Source: Gaussian elimination.
    """
    count = system.shape[0]
    for step in range(count - 1):
        pivot = system[step, step]
        np.divide(system[step, step + 1 :], pivot, out=system[step, step + 1 :])
        below = system[step + 1 :, step]
        work = spare[: count - 1 - step, : system.shape[1] - 1 - step]
        np.multiply(below[:, None], system[step, step + 1 :][None], out=work)
        system[step + 1 :, step + 1 :] -= work
    answer = system[:, count:]
    answer[count - 1] /= system[count - 1, count - 1]
    for step in range(count - 1, 0, -1):
        work = spare[:step, : answer.shape[1]]
        np.multiply(system[:step, step][:, None], answer[step][None], out=work)
        answer[:step] -= work
    return answer
