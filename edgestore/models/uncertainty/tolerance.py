"""What measured values say of those that were not measured: a limit that most of all values stay below."""

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values

MOST_SURE = 0.9999
"""No measurement proves anything beyond all doubt: the highest confidence that is answered."""


def tolerance_factor(values: Numbers, below_fraction: Numbers, confidence: Numbers = 0.95) -> Values:
    r"""Factor of the standard deviation for an upper limit of a rate from measured hours, for *what does it write?*.

    Parameters
    ----------
    values : float or array_like
        Count of measured values, a whole number and no fraction, 2 or more.
    below_fraction : float or array_like
        Fraction of all values that is to lie below the limit, above 0 and at most 0.999999.
    confidence : float or array_like
        Confidence that it does, a fraction, above 0 and at most 0.9999.

    Returns
    -------
    float or ndarray
        Factor k, a plain ratio, of the broadcast shape: the limit is ``mean + k x standard deviation``.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: k = \frac{t}{\sqrt{n}}

    with t the quantile at the confidence of the noncentral t distribution of ``n - 1`` degrees of
    freedom and noncentrality ``z sqrt(n)``, z the normal quantile of the fraction. With many values it nears z. Mean
    and standard deviation (with n - 1) are those of independent values by a normal law: of rates take the logarithms,
    and the limit is ``exp`` of the result. Hours of one day resemble one another; they are worth fewer than they are.

    References
    ----------
    Montgomery and Runger, Applied Statistics and Probability for Engineers, 2018, table XII, as the test-suite of the
    open library toleranceinterval holds it. NIST/SEMATECH e-Handbook of Statistical Methods, section 7.2.6.3.

    Examples
    --------
    Ten measured hours: 90 % of all hours stay below mean + 2.355 standard deviations, with 95 % confidence.

    >>> print(f"{tolerance_factor(10, 0.9):.3f}")
    2.355
    """
    from scipy.special import nctdtrit, ndtri

    percent = "A percentage is divided by 100."
    count = checks.whole("values", values, "values", at_least=2)
    below = checks.in_range("below_fraction", below_fraction, above=0, at_most=0.999999, mend=percent)
    sure = checks.in_range("confidence", confidence, above=0, at_most=MOST_SURE, mend=percent)
    checks.broadcastable(values=count, below_fraction=below, confidence=sure)
    root = np.sqrt(count)
    return nctdtrit(count - 1, ndtri(below) * root, sure) / root
