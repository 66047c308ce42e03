"""Health of a module: laser current at equal temperature, light sent, temperature, supply."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from strandkeeper.analysis.conditions import key_of, put
from strandkeeper.analysis.robust import middle
from strandkeeper.analysis.slow import EndSlow
from strandkeeper.model.block import MISSING
from strandkeeper.model.finding import FindingKind, Severity
from strandkeeper.model.names import End

if TYPE_CHECKING:
    from strandkeeper.analysis.run import Run

__all__ = ["bias_change"]

DAY_MS: Final = 86_400_000
FIRST_DAYS: Final = 14
LAST_DAYS: Final = 7
AGED: Final = 0.20
WORN_OUT: Final = 0.50  # the usual criterion of the trade, from memory, unconfirmed
LOW_MDB: Final = -1000
LOW_WINDOWS: Final = 6
SLACK_CC: Final = 200
SUPPLY: Final = (31_350, 34_650)  # [0.1 mV] 3.3 V ± 5 % (SFP MSA INF-8074, from memory)
RATE_RANGE: Final = (0.0, 0.03)  # laser current per °C, as a share
RATE_UNKNOWN: Final = 0.01


def take_end(end: EndSlow, start_ms: int, values: tuple[int, int, int, int]) -> None:
    """Enter a window's means (temperature, bias, supply, transmit power) of one end."""
    end.temp, end.bias, end.vcc, end.tx = values
    day = start_ms // DAY_MS * DAY_MS
    if day != end.today_ms:
        _close(end)
        end.today_ms, end.today = day, (0, 0, 0, 0)
    if MISSING not in (end.temp, end.bias, end.tx):
        n, temp, bias, tx = end.today
        end.today = (n + 1, temp + end.temp, bias + end.bias, tx + end.tx)
    low = end.first and end.tx != MISSING and end.tx - _sent_first(end) < LOW_MDB
    end.low_windows = min(LOW_WINDOWS, end.low_windows + 1) if low else 0


def _close(end: EndSlow) -> None:
    n, temp, bias, tx = end.today
    if n < 12:
        return
    means = (temp // n, bias // n, tx // n)
    if len(end.first) < FIRST_DAYS:
        end.first = [*end.first, means]
    end.last = [*end.last, means][-LAST_DAYS:]


def _sent_first(end: EndSlow) -> int:
    return middle([day[2] for day in end.first])


def sent_change(end: EndSlow) -> float | None:
    """Light sent now against the first days [dB]; None before there are any."""
    if not end.first or end.tx == MISSING:
        return None
    return (end.tx - _sent_first(end)) / 1000


def _rate(days: Sequence[tuple[int, int, int]]) -> float:
    """Growth of the laser current with temperature, as a share per °C, of the first days."""
    temps = [day[0] / 100 for day in days]
    logs = [math.log(day[1]) for day in days]
    mean_t, mean_l = sum(temps) / len(days), sum(logs) / len(days)
    square = sum((t - mean_t) ** 2 for t in temps)
    if square < 20.0:
        return RATE_UNKNOWN
    slope = sum((t - mean_t) * (v - mean_l) for t, v in zip(temps, logs, strict=True)) / square
    return min(max(slope, RATE_RANGE[0]), RATE_RANGE[1])


def bias_change(end: EndSlow) -> float | None:
    """Laser current of the last days against the first, at equal temperature, as a share.

    Parameters
    ----------
    end : EndSlow
        One end with its first and last days (temperature [0.01 °C], bias [µA]).

    Returns
    -------
    float or None
        [-] 0.2 means a fifth more than at first; None before 14 days are in.

    Raises
    ------
    Nothing.

    Notes
    -----
    The growth with temperature is taken from the module's own first days, where they swing enough;
    else 1 % per °C. A constant light is assumed: the control loop of the module keeps it.

    Source
    ------
    Comparison at equal temperature with the same module's own baseline: common practice; end of
    life at +50 %: from memory, unconfirmed.

    Example
    -------
    >>> first = [(3000, 10_000, -5000)] * 14
    >>> round(bias_change(EndSlow(first=first, last=[(3000, 12_500, -5000)] * 7)), 2)
    0.25
    """
    if len(end.first) < FIRST_DAYS or min((day[1] for day in end.first), default=0) <= 0:
        return None
    rate = _rate(end.first)
    bias, temp = middle([d[1] for d in end.first]), middle([d[0] for d in end.first])
    now = middle([d[1] for d in end.last])
    warmer = (middle([d[0] for d in end.last]) - temp) / 100
    return now / (bias * math.exp(rate * warmer)) - 1


def judge_end(run: Run, end: EndSlow, which: End, now_ms: int, *, day_closed: bool) -> None:
    """Put or end everything that is said of one module."""
    active, tell = run.live.active, run.tell
    low = Severity.WARNING if end.low_windows >= LOW_WINDOWS else None
    put(active, key_of(FindingKind.TRANSMIT_LOW, end=which), low, now_ms, now_ms, tell)
    _judge_temperature(run, end, which, now_ms)
    _judge_supply(run, end, which, now_ms)
    if not day_closed:
        return
    change = bias_change(end)
    aged = Severity.WARNING if change is not None and change > AGED else None
    aged = Severity.URGENT if change is not None and change > WORN_OUT else aged
    put(active, key_of(FindingKind.LASER_AGEING, end=which), aged, now_ms, now_ms, tell)


def _judge_temperature(run: Run, end: EndSlow, which: End, now_ms: int) -> None:
    if end.temp == MISSING:
        return
    limits = run.facts.thresholds
    key = key_of(FindingKind.TEMPERATURE, end=which)
    slack = SLACK_CC if key in run.live.active else 0
    severity = None
    if end.temp > limits.temp_warn_c * 100 - slack or end.temp < limits.temp_low_c * 100 + slack:
        severity = Severity.WARNING
    if end.temp > limits.temp_urgent_c * 100:
        severity = Severity.URGENT
    put(run.live.active, key, severity, now_ms, now_ms, run.tell)


def _judge_supply(run: Run, end: EndSlow, which: End, now_ms: int) -> None:
    if end.vcc == MISSING:
        return
    key = key_of(FindingKind.SUPPLY, end=which)
    slack = 150 if key in run.live.active else 0
    fine = SUPPLY[0] + slack <= end.vcc <= SUPPLY[1] - slack
    put(run.live.active, key, None if fine else Severity.WARNING, now_ms, now_ms, run.tell)
