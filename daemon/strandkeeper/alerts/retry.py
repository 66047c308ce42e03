"""When a message that could not be delivered is tried again, and when it is given up."""

from __future__ import annotations

from typing import Final

__all__ = ["GIVE_UP_S", "next_delay_s"]

GIVE_UP_S: Final = 7 * 86_400
_DELAYS_S: Final = (5, 15, 30, 60, 120, 300, 600, 900)
_LONGEST_S: Final = 900


def next_delay_s(attempts: int, age_s: float, give_up_s: float = GIVE_UP_S) -> float | None:
    """Seconds until the next try after `attempts` failed ones; None: give up, it is `age_s` old.

    A way out that comes back is noticed within a quarter of an hour at the latest. Common practice
    (growing delays with a bound), no source for the figures.

    >>> next_delay_s(1, 5), next_delay_s(4, 110), next_delay_s(50, 86_400)
    (5, 60, 900)
    >>> next_delay_s(700, 7 * 86_400) is None
    True
    """
    if attempts < 1:
        raise ValueError("a message that was not tried has no next try")
    if age_s >= give_up_s:
        return None
    return _DELAYS_S[attempts - 1] if attempts <= len(_DELAYS_S) else _LONGEST_S
