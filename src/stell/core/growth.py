"""How the scrotal circumference of young rams grows with age: what was usual in one large study."""

from __future__ import annotations

import math

from stell.core.errors import ValueRefused

FIRST_DAY = 60
LAST_DAY = 365
# Coefficients of the published quadratic in log10(age in days). [cm]
_CONSTANT, _LINEAR, _SQUARE = -143.05, 137.71, -27.073


def expected_circumference_cm(age_days: float) -> float:
    """Return the circumference usual at an age, in Dorset, Hampshire and Suffolk rams. [cm]

    A mean, not a minimum: half of sound rams lie below it, and smaller breeds lie below it
    altogether. No verdict uses it.

    Parameters
    ----------
    age_days : float
        From 60 to 365. [days]

    Raises
    ------
    ValueRefused
        `value.range` outside the ages of the study: the curve turns down soon after a year.

    References
    ----------
    Ley W. B. and others (1990), Theriogenology; abstract. 753 purebred lamb and yearling rams,
    r² 0.738 in rams of 2 to 12 months: SC = -143.05 + 137.71 L - 27.073 L², L = log(age in days).
    The base of the logarithm is not stated; only base 10 gives circumferences of rams.

    Examples
    --------
    >>> round(expected_circumference_cm(180), 1)
    29.8
    """
    if not FIRST_DAY <= age_days <= LAST_DAY:
        raise ValueRefused(
            "value.range",
            "the growth of the circumference is known only between two ages",
            got=age_days,
            legal=f"{FIRST_DAY} to {LAST_DAY} days",
            example="180",
        )
    log_age = math.log10(age_days)
    return _CONSTANT + _LINEAR * log_age + _SQUARE * log_age * log_age
