"""Whether a switch restarted between two polls, or only its clock turned over at 497 days."""

from __future__ import annotations

__all__ = ["restarted"]

_TURN_CS = 1 << 32  # sysUpTime is TimeTicks: 32 bits of hundredths of a second (RFC 3418)
_TOLERANCE_CS = 600
_DRIFT = 0.005
_JITTER_CS = 100  # some agents read their clock from more than one place


def restarted(before_cs: int | None, now_cs: int | None, elapsed_s: float) -> bool:
    """Whether sysUpTime began anew between two readings.

    Parameters
    ----------
    before_cs, now_cs : int [cs]
        sysUpTime at the two polls; None where it did not come: then nothing is said.
    elapsed_s : float [s]
        Time between the polls by the poller's monotonic clock.

    Returns
    -------
    bool
        True if the clock went back, or lies behind what it must be by more than delays and drift
        explain, and not by one whole turn of the counter. A reading ahead is no restart: this
        computer may have slept.

    Source: RFC 3418, sysUpTime; RFC 2578 section 7.1.8; tolerance: common practice, no source.
    """
    if before_cs is None or now_cs is None:
        return False
    expected = before_cs + elapsed_s * 100
    tolerance = _TOLERANCE_CS + elapsed_s * 100 * _DRIFT
    went_back = now_cs < before_cs - _JITTER_CS
    if not went_back and now_cs >= expected - tolerance:
        return False
    return abs(now_cs + _TURN_CS - expected) > tolerance
