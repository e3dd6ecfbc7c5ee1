"""From days with a visit to half-days with a visit in shooting light, as visits clump.

A buck who comes to a site at all on a day often comes again that day: his rate varies from day to
day. With gamma noise of shape k on the rate, the chance of no visit at an expected count c is
(1 + c / k) ** -k; the smaller k, the more visits come together.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


def half_log_odds(day_log_odds: Floats, share: Floats, shape: float) -> Floats:
    """Log odds of a visit in a part of the day, from the log odds of a visit on the day.

    Parameters
    ----------
    day_log_odds
        Of at least one visit on the day, any shape.
    share
        Share of visits in the part, 0 to 1, broadcast against it.
    shape
        Shape of the noise on the day's rate. At 1 the odds of the part are ``share`` times those of
        the day.
    """
    # log of one less the chance, for the day and then for the part; odds = exp(u) - 1.
    quiet = np.logaddexp(0.0, day_log_odds)
    u = shape * np.log1p(share * np.expm1(quiet / shape))
    return np.asarray(np.log(np.expm1(u)))
