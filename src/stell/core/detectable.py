"""How big a difference between two visits must be before it is more than measuring.

A tape read twice never says quite the same. The smallest difference that two visits can show is
the standard deviation of the difference times 1.96, so that of twenty rams who did not change one
seems to have [1]_ [2]_.

References
----------
.. [1] J. M. Bland and D. G. Altman, "Statistical methods for assessing agreement between two
   methods of clinical measurement", The Lancet 327 (1986) 307-310 (repeatability).
.. [2] C. G. Fraser, "Reference change values", Clin Chem Lab Med 50 (2012) 807-812.
   doi:10.1515/CCLM.2011.733 (the same as a percentage: 2^(1/2) Z (CV_A^2 + CV_I^2)^(1/2)).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from stell.core.errors import ValueRefused
from stell.core.protocol.ready import ReadyCheck

TWO_SIDED_95 = 1.96  # standard normal quantile, a fact of arithmetic and not of the trade


@dataclass(frozen=True, slots=True)
class ReadingError:
    """Standard deviation of one reading of a check. [fixed units]

    Attributes
    ----------
    same_person : float or None
        When one person measures the same ram again.
    other_person : float or None
        When anybody else does: the whole scatter, the first one's share included.
    """

    same_person: float | None
    other_person: float | None

    @classmethod
    def of(cls, check: ReadyCheck) -> ReadingError:
        """Return what the protocol says of a measured check."""
        scale = check.unit.per_unit if check.unit else 1
        same, other = check.spec.error_same_person, check.spec.error_other_person
        return cls(
            None if same is None else float(same.value) * scale,
            None if other is None else float(other.value) * scale,
        )

    def variance(self, readings: int, *, same_person: bool) -> float | None:
        """Return the variance of the mean of so many readings of one visit. [fixed units squared]

        More readings thin out a person's own scatter, divided by their number. What sets one
        person apart from another stays however often he measures.

        Parameters
        ----------
        readings : int
            At least 1. [1]
        same_person : bool
            Whether both visits were measured by one person.

        Returns
        -------
        float or None
            None when the protocol does not say how well the check can be repeated; a figure for
            one person is never taken for two.

        Raises
        ------
        ValueRefused
            `value.range` for no readings.

        Examples
        --------
        >>> ReadingError(4.0, 6.0).variance(2, same_person=True)
        8.0
        >>> ReadingError(4.0, 6.0).variance(2, same_person=False)
        28.0
        """
        if readings < 1:
            raise ValueRefused(
                "value.range",
                "a mean needs readings",
                got=readings,
                legal="1 or more",
                example="1",
            )
        same, other = self.same_person, self.other_person
        if same_person and same is not None:
            return same**2 / readings
        if other is None:
            return None
        if same is None:
            return other**2
        return same**2 / readings + max(other**2 - same**2, 0.0)


def detectable_change(*variances: float) -> float:
    """Return the smallest difference that is more than chance, 1.96 times its deviation.

    Parameters
    ----------
    variances : float
        Of the first visit, of the second, and of whatever else the difference was corrected for.
        [fixed units squared]

    Returns
    -------
    float
        [fixed units]

    Examples
    --------
    One reading at each visit, 0.4 cm of scatter:

    >>> round(detectable_change(0.4**2, 0.4**2), 1)
    1.1
    """
    return TWO_SIDED_95 * math.sqrt(sum(variances))
