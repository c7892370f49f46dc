"""How long it takes to copy a card that was taken out."""

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.units import BYTES_PER_GB, BYTES_PER_MB, S_PER_H


def copy_h(used_gb: Numbers, reader_mbyte_s: Numbers, card_read_mbyte_s: Numbers) -> Values:
    r"""Time to copy what is on a card in a card reader.

    Parameters
    ----------
    used_gb : float or array_like
        What is copied, GB, 0 or more: all of the card for an image of it.
    reader_mbyte_s : float or array_like
        Rate of the reader, with its port and the disk that is written to, Mbyte/s, above 0.
    card_read_mbyte_s : float or array_like
        Sequential read rate of the card, Mbyte/s, above 0.

    Returns
    -------
    float or ndarray
        Time in h, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: t = \frac{V}{\min(b, c)}

    with V the volume, b the rate of the reader and c that of the card: the slower of the two decides. Reading
    back to compare digests takes as long again.

    References
    ----------
    Arithmetic. That a card in a slower slot reads at the rate of its bus: SD Association, bus-speed page.

    Examples
    --------
    64 GB at 20 Mbyte/s are 3200 s, however fast the card is:

    >>> print(f"{copy_h(64, 20, 90):.4f}")
    0.8889
    """
    used = checks.in_range("used_gb", used_gb, "GB", at_least=0)
    reader = checks.in_range("reader_mbyte_s", reader_mbyte_s, "Mbyte/s", above=0)
    card = checks.in_range("card_read_mbyte_s", card_read_mbyte_s, "Mbyte/s", above=0)
    checks.broadcastable(used_gb=used_gb, reader_mbyte_s=reader_mbyte_s, card_read_mbyte_s=card_read_mbyte_s)
    return used * (BYTES_PER_GB / BYTES_PER_MB) / np.minimum(reader, card) / S_PER_H
