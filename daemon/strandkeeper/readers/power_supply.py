"""How a switch is fed and feeds others: PoE (RFC 3621) and an uninterruptible supply (RFC 1628).

Evidence for causes that have to do with power; nothing is concluded here. Pure.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from strandkeeper.model.oid import Oid, Value, as_int
from strandkeeper.model.poll import PowerSupply
from strandkeeper.readers.base import Column

__all__ = ["COLUMNS", "UPS_SCALARS", "power_supply"]

_PSE = (1, 3, 6, 1, 2, 1, 105, 1, 3, 1, 1)  # pethMainPseTable, one row a power supply
MAIN_PSE_POWER, MAIN_PSE_CONSUMPTION_POWER = (*_PSE, 2), (*_PSE, 4)
PSE_PORT_POWER_DENIED_COUNTER = (1, 3, 6, 1, 2, 1, 105, 1, 1, 1, 12)
COLUMNS: Final = (MAIN_PSE_POWER, MAIN_PSE_CONSUMPTION_POWER, PSE_PORT_POWER_DENIED_COUNTER)

_UPS = (1, 3, 6, 1, 2, 1, 33, 1)
UPS_BATTERY_STATUS = (*_UPS, 2, 1, 0)
UPS_SECONDS_ON_BATTERY = (*_UPS, 2, 2, 0)
UPS_ESTIMATED_CHARGE_REMAINING = (*_UPS, 2, 4, 0)
UPS_OUTPUT_SOURCE = (*_UPS, 4, 1, 0)
UPS_SCALARS: Final = (
    UPS_BATTERY_STATUS,
    UPS_SECONDS_ON_BATTERY,
    UPS_ESTIMATED_CHARGE_REMAINING,
    UPS_OUTPUT_SOURCE,
)
_BATTERY = {2: "normal", 3: "low", 4: "depleted"}  # upsBatteryStatus
_SOURCE = {2: "none", 3: "normal", 4: "bypass", 5: "battery", 6: "booster", 7: "reducer"}


def power_supply(tables: Mapping[Oid, Column], scalars: Mapping[Oid, Value]) -> PowerSupply | None:
    """What is published, None if nothing is. Several supplies are added up."""
    found = PowerSupply(
        budget_w=_sum(tables, MAIN_PSE_POWER),
        draw_w=_sum(tables, MAIN_PSE_CONSUMPTION_POWER),
        denied=_sum(tables, PSE_PORT_POWER_DENIED_COUNTER),
        ups_battery=_BATTERY.get(as_int(scalars.get(UPS_BATTERY_STATUS)) or 0, ""),
        ups_on_battery_s=as_int(scalars.get(UPS_SECONDS_ON_BATTERY)),
        ups_charge_percent=as_int(scalars.get(UPS_ESTIMATED_CHARGE_REMAINING)),
        ups_source=_SOURCE.get(as_int(scalars.get(UPS_OUTPUT_SOURCE)) or 0, ""),
    )
    return None if found == PowerSupply() else found


def _sum(tables: Mapping[Oid, Column], column: Oid) -> int | None:
    known = [n for v in tables.get(column, {}).values() if (n := as_int(v)) is not None]
    return sum(known) if known else None
