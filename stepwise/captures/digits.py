"""Many numbers of one written form at once: digit by digit, all rows together.

Oscilloscopes print with a fixed number of digits, so that nearly all cells of a column have one
of two or three forms. Their digits are weighed like those of a number on paper. Up to fifteen
digits and within 22 powers of ten the quotient is the nearest double, as a careful parse gives
it; anything else is left to that.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_MOST_FORMS = 8
_MOST_DIGITS, _MOST_EXPONENT = 15, 3
_EXACT_POWER = 22
_ZERO, _NINE, _MINUS = ord("0"), ord("9"), ord("-")


def column_of_digits(
    letters: NDArray[np.uint8], starts: NDArray[np.intp], ends: NDArray[np.intp]
) -> NDArray[np.float64] | None:
    """The numbers in one column of cells.

    Args:
        letters: The text that they stand in.
        starts: Where each cell begins, shape (n,).
        ends: Where it ends, shape (n,).

    Returns:
        Shape (n,); None where the cells have too many forms, or one that is not plain.
    """
    import numpy as np

    lengths = ends - starts
    values = np.empty(lengths.size)
    forms = np.flatnonzero(np.bincount(lengths))
    if forms.size > _MOST_FORMS or forms[-1] > 2 * _MOST_DIGITS:
        return None
    for length in forms.tolist():
        rows = np.flatnonzero(lengths == length)
        windows = np.lib.stride_tricks.sliding_window_view(letters, length)
        cells = windows[starts[rows]]
        # signs of number and exponent come and go without a change of length
        signs = 2 * (cells[:, 0] == _MINUS) + (cells[:, 1:] == _MINUS).any(axis=1)
        for sign in np.flatnonzero(np.bincount(signs)).tolist():
            same = signs == sign
            found = _alike(cells[same])
            if found is None:
                return None
            values[rows[same]] = found
    return values


def _alike(cells: NDArray[np.uint8]) -> NDArray[np.float64] | None:
    """Numbers whose signs, marks and digits stand at the same places, shape (n, length)."""
    import numpy as np

    first = cells[0]
    is_digit = (first >= _ZERO) & (first <= _NINE)
    digits = cells[:, is_digit] - np.uint8(_ZERO)  # what is no digit wraps round to above nine
    if (digits > 9).any() or (cells[:, ~is_digit] != first[~is_digit]).any():
        return None
    text = first.tobytes().decode("latin-1").lower()
    mantissa, mark, exponent = text.partition("e")
    body = mantissa.lstrip("+-")
    whole, _, part = body.partition(".")
    if len(mantissa) - len(body) > 1 or not (whole + part).isdigit():
        return None
    count = len(whole) + len(part)
    if digits.shape[1] - count > _MOST_EXPONENT or count > _MOST_DIGITS:
        return None
    if mark != "" and not exponent.lstrip("+-").isdigit():
        return None
    number = digits[:, :count].astype(np.float64) @ 10.0 ** np.arange(count - 1, -1, -1)
    power = np.full(len(cells), -len(part))
    if mark:
        places = 10 ** np.arange(digits.shape[1] - count - 1, -1, -1)
        raised = digits[:, count:].astype(np.int64) @ places
        power = power + (-raised if exponent.startswith("-") else raised)
    if np.abs(power).max() > _EXACT_POWER:
        return None
    tens = 10.0 ** np.arange(_EXACT_POWER + 1)
    up, down = tens[np.maximum(power, 0)], tens[np.maximum(-power, 0)]
    value: NDArray[np.float64] = number * up / down
    return -value if text.startswith("-") else value
