"""What test shots prove: the chance of success that so many successes show, with confidence."""

from __future__ import annotations

from scipy.special import betaincinv


def lower_bound(successes: int, shots: int, level: float = 0.95) -> float:
    """Return the one-sided exact lower bound of the chance of success.

    The chance at which so many successes, or more, have the probability 1 - level (Clopper &
    Pearson, Biometrika 26 (1934) 404, from memory), by a quantile of the beta distribution. Where
    every shot succeeds it is (1 - level)^(1/shots).

    The two-sided interval of :func:`baypulse.members.chances.chance` leaves half of that below.

    Parameters
    ----------
    successes : int
        Shots that succeeded, 0 to `shots`.
    shots : int
        Independent shots of the very same set-up, at least 1.
    level : float
        Confidence, between 0 and 1.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Examples
    --------
    >>> round(lower_bound(3, 3), 3)
    0.368
    """
    if shots < 1 or not 0 <= successes <= shots:
        raise ValueError(f"{successes} of {shots} shots cannot have succeeded")
    _check("level", level)
    return (
        float(betaincinv(successes, shots - successes + 1, 1.0 - level)) if successes > 0 else 0.0
    )


def shots_needed(chance: float, failures: int = 0, level: float = 0.95) -> int:
    """Return how many shots show a chance of success, if no more than so many of them fail.

    Parameters
    ----------
    chance : float
        Lower bound that is wanted, between 0 and 1.
    failures : int
        Shots that may fail, fixed before the first shot.
    level : float
        Confidence, between 0 and 1.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Examples
    --------
    >>> shots_needed(0.95), shots_needed(0.95, 1)
    (59, 93)
    """
    _check("chance", chance)
    _check("level", level)
    if failures < 0:
        raise ValueError(f"{failures} shots cannot fail")

    def enough(shots: int) -> bool:
        return lower_bound(shots - failures, shots, level) >= chance

    high = failures + 1
    while not enough(high):
        high *= 2
    low = max(high // 2, failures)  # not enough, or none succeeded
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def _check(name: str, value: float) -> None:
    if not 0.0 < value < 1.0:
        raise ValueError(f"the {name} is {value}; it must lie between 0 and 1")
