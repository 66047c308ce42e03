"""How a switch is fed and feeds others: PoE (RFC 3621) and an uninterruptible supply (RFC 1628).

Evidence for causes that have to do with power; nothing is concluded here. Pure.

Source: RFC 1628 (compared with its compiled module). RFC 3621 from memory, unconfirmed: the one
compiled module at hand is a draft under another number, which agrees in the columns of the main
supply (power, state, consumption) and has no counter of denials.
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
MAIN_PSE_OPER_STATUS = (*_PSE, 3)
PSE_PORT_POWER_DENIED_COUNTER = (1, 3, 6, 1, 2, 1, 105, 1, 1, 1, 12)
COLUMNS: Final = (
    MAIN_PSE_POWER,
    MAIN_PSE_OPER_STATUS,
    MAIN_PSE_CONSUMPTION_POWER,
    PSE_PORT_POWER_DENIED_COUNTER,
)

_UPS = (1, 3, 6, 1, 2, 1, 33, 1)
UPS_BATTERY_STATUS = (*_UPS, 2, 1, 0)
UPS_SECONDS_ON_BATTERY = (*_UPS, 2, 2, 0)
UPS_ESTIMATED_MINUTES_REMAINING = (*_UPS, 2, 3, 0)
UPS_ESTIMATED_CHARGE_REMAINING = (*_UPS, 2, 4, 0)
UPS_OUTPUT_SOURCE = (*_UPS, 4, 1, 0)
UPS_SCALARS: Final = (
    UPS_BATTERY_STATUS,
    UPS_SECONDS_ON_BATTERY,
    UPS_ESTIMATED_MINUTES_REMAINING,
    UPS_ESTIMATED_CHARGE_REMAINING,
    UPS_OUTPUT_SOURCE,
)
_FAULTY = 3  # pethMainPseOperStatus: on(1) off(2) faulty(3)
_BATTERY = {2: "normal", 3: "low", 4: "depleted"}  # upsBatteryStatus
_SOURCE = {2: "none", 3: "normal", 4: "bypass", 5: "battery", 6: "booster", 7: "reducer"}


def power_supply(tables: Mapping[Oid, Column], scalars: Mapping[Oid, Value]) -> PowerSupply | None:
    """What is published, None if nothing is. Several supplies are added up."""
    found = PowerSupply(
        budget_w=_sum(tables, MAIN_PSE_POWER),
        draw_w=_sum(tables, MAIN_PSE_CONSUMPTION_POWER),
        denied=_sum(tables, PSE_PORT_POWER_DENIED_COUNTER),
        faulty=_count(tables, MAIN_PSE_OPER_STATUS, _FAULTY),
        ups_battery=_BATTERY.get(as_int(scalars.get(UPS_BATTERY_STATUS)) or 0, ""),
        ups_on_battery_s=as_int(scalars.get(UPS_SECONDS_ON_BATTERY)),
        ups_minutes_left=as_int(scalars.get(UPS_ESTIMATED_MINUTES_REMAINING)),
        ups_charge_percent=as_int(scalars.get(UPS_ESTIMATED_CHARGE_REMAINING)),
        ups_source=_SOURCE.get(as_int(scalars.get(UPS_OUTPUT_SOURCE)) or 0, ""),
    )
    return None if found == PowerSupply() else found


def _sum(tables: Mapping[Oid, Column], column: Oid) -> int | None:
    known = [n for v in tables.get(column, {}).values() if (n := as_int(v)) is not None]
    return sum(known) if known else None


def _count(tables: Mapping[Oid, Column], column: Oid, wanted: int) -> int | None:
    known = [n for v in tables.get(column, {}).values() if (n := as_int(v)) is not None]
    return known.count(wanted) if known else None
