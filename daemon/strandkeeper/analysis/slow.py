"""The slow part of the state: what five-minute windows, hours and days leave behind."""

from __future__ import annotations

import copy
from dataclasses import dataclass, field

from strandkeeper.model.block import MISSING, Ints


@dataclass(slots=True, eq=False)
class Window:
    """One closed window of one direction with what both ends add to it; units as in windows.

    `readings` are the times, receive powers and paired transmit powers (shape (3, n)),
    gone once the step detector has had them.
    """

    start_ms: int
    light: int
    dark: int
    by_loss: bool
    level: int
    middle: int
    spread: int
    peak: int
    grain: int
    rx: int
    tx: int
    sender_temp: int = MISSING
    receiver_temp: int = MISSING
    frames: int = MISSING
    errors: int = MISSING
    readings: Ints | None = None


@dataclass(slots=True)
class HourRow:
    """One closed hour of one direction: medians of its windows [0.001 dB, 0.01 °C]."""

    start_ms: int
    n: int
    level: int
    rx: int
    tx: int
    spread: int
    sender_temp: int
    receiver_temp: int
    jitter: int = MISSING
    grain: int = MISSING


@dataclass(slots=True)
class DayRow:
    """One closed day: medians of its hours, and the sums that the weather is learnt from.

    `sums` are over the hours' deviations from the day's means: (hours, Σaa, Σab, Σbb, Σay, Σby,
    Σyy) with a, b the sender's and receiver's temperature [0.01 °C] and y the level [0.001 dB].
    `swing` is the day's range [0.001 dB]. `offset` is what steps had added up to by then.
    """

    start_ms: int
    n: int
    level: int
    sender_temp: int
    receiver_temp: int
    spread: int
    swing: int
    offset: int
    receiver_low: int = MISSING
    receiver_high: int = MISSING
    sums: tuple[int, ...] = ()
    rx: int = MISSING


@dataclass(slots=True)
class BaselineNote:
    """The level when it was last good; `days` are the levels it is being made firm from."""

    level: int
    spread: int
    since_ms: int
    firm: bool = False
    by_owner: bool = False
    by_loss: bool = True
    days: list[int] = field(default_factory=list)
    coldest: int = MISSING
    warmest: int = MISSING


@dataclass(slots=True)
class HoldNote:
    """A threshold that must be passed for a while to count, and left for a while to end."""

    above_ms: int = MISSING
    below_ms: int = MISSING
    on: bool = False


@dataclass(slots=True)
class StepNote:
    """A step being watched or settled; sizes in 0.001 dB, `settled` after the re-estimate."""

    time_ms: int
    low_ms: int
    high_ms: int
    size: int
    size_low: int
    size_high: int
    found_ms: int
    settled: bool = False
    tx_change: int = 0


@dataclass(slots=True)
class TrendNote:
    """The slope as of the last closed day [0.001 dB/month] and how long it has been certain."""

    value: float = 0.0
    half: float = 0.0
    level: float = 0.0
    level_sd: float = 0.0
    window_days: int = 0
    days_seen: int = 0
    reported: bool = False
    season_excluded: bool = False
    since_ms: int = MISSING


@dataclass(slots=True)
class WatchNote:
    """What the step detector remembers: noise scales and the newest windows [0.001 dB]; `raw` is
    the scale from hour to hour without compensation.

    `recent` are (start, compensated level, sender's and receiver's temperature) of
    up to 18 windows.
    """

    white: int = 0
    hourly: int = 0
    total: int = 0
    raw: int = 0
    recent: list[tuple[int, int, int, int]] = field(default_factory=list)
    found_ms: int = MISSING
    guess_ms: int = MISSING
    guess: int = 0


@dataclass(slots=True)
class DirectionSlow:
    """One direction.

    `due`: windows until the work of the closed day is all done, `slopes` what it has found so
    far (fields of drift.Slope in order, empty for none).
    """

    by_loss: bool | None = None
    last_ms: int = MISSING
    last_middle: int = MISSING
    added: int = MISSING
    rx: int = MISSING
    first: list[int] = field(default_factory=list)
    first_ms: int = MISSING
    baseline: BaselineNote | None = None
    holds: list[HoldNote] = field(default_factory=lambda: [HoldNote(), HoldNote(), HoldNote()])
    hour: list[Window] = field(default_factory=list)
    hours: list[HourRow] = field(default_factory=list)
    today: list[HourRow] = field(default_factory=list)
    days: list[DayRow] = field(default_factory=list)
    steps: list[StepNote] = field(default_factory=list)
    errors: list[tuple[int, int, int, int]] = field(default_factory=list)
    frames: list[tuple[int, int]] = field(default_factory=list)
    weather: tuple[float, float, float, float, float, float] = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    trend: TrendNote = field(default_factory=TrendNote)
    watch: WatchNote = field(default_factory=WatchNote)
    ring: list[Ints] = field(default_factory=list)
    grain: int = 10
    calm: int = MISSING
    restless: list[int] = field(default_factory=list)
    excursions: list[int] = field(default_factory=list)
    cold: tuple[int, int] = (MISSING, 0)
    due: int = 0
    slopes: list[tuple[float, ...]] = field(default_factory=list)


@dataclass(slots=True)
class EndSlow:
    """One end: its newest window, the sums of the day (n, temperature, bias, transmit power), the
    first and the last days' means of the three, how many windows in a row it sent too little or
    reported no readings, and since when its receive power has been the same to the last digit:
    (power, windows, lowest and highest temperature meanwhile).
    """

    temp: int = MISSING
    bias: int = MISSING
    vcc: int = MISSING
    tx: int = MISSING
    today_ms: int = MISSING
    today: tuple[int, int, int, int] = (0, 0, 0, 0)
    first: list[tuple[int, int, int]] = field(default_factory=list)
    last: list[tuple[int, int, int]] = field(default_factory=list)
    low_windows: int = 0
    mute_windows: int = 0
    frozen: tuple[int, int, int, int] = (MISSING, 0, 0, 0)


@dataclass(slots=True)
class LinkSlow:
    """Both directions and both ends. `packed` are its bytes once it was encoded: it changes only
    when a window closes, and is encoded with every batch.
    """

    directions: list[DirectionSlow] = field(
        default_factory=lambda: [DirectionSlow(), DirectionSlow()]
    )
    ends: list[EndSlow] = field(default_factory=lambda: [EndSlow(), EndSlow()])
    packed: bytes = field(default=b"", compare=False, repr=False)


def _direction_copy(slow: DirectionSlow) -> DirectionSlow:
    mine = copy.copy(slow)
    for name in DirectionSlow.__slots__:
        value = getattr(mine, name)
        if isinstance(value, list):
            setattr(mine, name, value.copy())
    mine.baseline = copy.copy(slow.baseline)
    mine.holds = [copy.copy(note) for note in slow.holds]
    mine.watch = copy.copy(slow.watch)
    mine.watch.recent = slow.watch.recent.copy()
    return mine


def working_copy(slow: LinkSlow) -> LinkSlow:
    """A copy that may be altered without the original noticing.

    Windows, hours, days and steps in its lists are shared: they are replaced, never altered.
    """
    return LinkSlow(
        directions=[_direction_copy(each) for each in slow.directions],
        ends=[_end_copy(each) for each in slow.ends],
    )


def _end_copy(slow: EndSlow) -> EndSlow:
    mine = copy.copy(slow)
    mine.first, mine.last = slow.first.copy(), slow.last.copy()
    return mine
