"""Closed periods of one direction: what slopes are computed from and charts are drawn from."""

from __future__ import annotations

from dataclasses import dataclass

from strandkeeper.model.names import Direction, LinkName

__all__ = ["DAY_S", "HOUR_S", "PeriodStat"]

HOUR_S = 3600
DAY_S = 86400


@dataclass(frozen=True, slots=True, kw_only=True)
class PeriodStat:
    """Medians of one closed hour or day (`span_s`), in integers: 0.001 dB, 0.001 dBm, 0.01 °C.

    `loss_mdb` is transmit minus receive power, None without a far reading; `spread_mdb` is a
    robust standard deviation; `n` counts the readings with light.
    """

    link: LinkName
    direction: Direction
    start_ms: int
    span_s: int
    n: int
    rx_mdbm: int | None
    tx_mdbm: int | None
    loss_mdb: int | None
    added_loss_mdb: int | None
    compensated_mdb: int | None
    spread_mdb: int | None
    sender_temp_cc: int | None
    receiver_temp_cc: int | None
