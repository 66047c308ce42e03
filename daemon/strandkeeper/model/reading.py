"""What one poll of one end of a link brought: optics, state, counters."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from enum import Enum, IntEnum

from strandkeeper.model.names import End
from strandkeeper.model.power import NOT_REPORTED, Power

__all__ = [
    "COUNTER_NAMES",
    "AdminStatus",
    "Deltas",
    "EndRow",
    "Media",
    "OperStatus",
    "OpticalReading",
    "Quantity",
]


class Quantity(Enum):
    """What a module measures of itself."""

    RX = "receive power"
    TX = "transmit power"
    BIAS = "bias"
    TEMPERATURE = "temperature"
    SUPPLY = "supply"


class OperStatus(IntEnum):
    """ifOperStatus (RFC 2863)."""

    UP = 1
    DOWN = 2
    TESTING = 3
    UNKNOWN = 4
    DORMANT = 5
    NOT_PRESENT = 6
    LOWER_LAYER_DOWN = 7


class AdminStatus(IntEnum):
    """ifAdminStatus (RFC 2863)."""

    UP = 1
    DOWN = 2
    TESTING = 3


class Media(IntEnum):
    """ifMauMediaAvailable (RFC 4836, IANA-MAU-MIB), the values that speak of light."""

    OTHER = 1
    UNKNOWN = 2
    AVAILABLE = 3
    NOT_AVAILABLE = 4
    REMOTE_FAULT = 5
    INVALID_SIGNAL = 6
    REMOTE_LINK_LOSS = 8
    AUTO_NEG_ERROR = 11
    PMD_LINK_FAULT = 12
    PCS_LINK_FAULT = 15
    EXCESSIVE_BER = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class OpticalReading:
    """Digital diagnostics of one lane at one poll."""

    rx: Power = NOT_REPORTED
    tx: Power = NOT_REPORTED
    bias_ma: float | None = None
    temp_c: float | None = None
    vcc_v: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Deltas:
    """Counts since the row before; None where the difference is not known. Never negative.

    `fcs_errors` are frames received damaged: dot3StatsFCSErrors, or ifInErrors on a switch that
    has no such column.
    """

    in_octets: int | None = None
    out_octets: int | None = None
    in_frames: int | None = None
    fcs_errors: int | None = None
    symbol_errors: int | None = None


COUNTER_NAMES = tuple(f.name for f in fields(Deltas))


@dataclass(frozen=True, slots=True, kw_only=True)
class EndRow:
    """One end at one instant, as stored and as judged.

    `answered` False: asked, and no answer came; the rest is then empty. `optics` None: this row
    says nothing of the optics (they were not asked). Times are integers: `time_ms` is record time
    (UTC epoch), `uptime_cs` and `last_change_cs` are hundredths of a second of the switch's own
    sysUpTime clock. `by_trap`: the state of the port is what the switch said by itself, not what a
    poll read.
    """

    time_ms: int
    end: End
    answered: bool = True
    optics: OpticalReading | None = None
    oper: OperStatus | None = None
    admin: AdminStatus | None = None
    uptime_cs: int | None = None
    last_change_cs: int | None = None
    media: Media | None = None
    module_id: str | None = None
    deltas: Deltas = field(default_factory=Deltas)
    by_trap: bool = False
