"""The description of the JSON of alerts, the ledger and this installation. Pure."""

from __future__ import annotations

from typing import Any

from strandkeeper.model.alert import AlertState
from strandkeeper.model.ledger_files import SCHEMA as LEDGER_SCHEMA
from strandkeeper.model.verdict_json import SCHEMA
from strandkeeper_dashboard.schema_parts import (
    COUNT,
    NUMBER,
    TEXT,
    TIME,
    array,
    maybe,
    one_of,
    record,
    ref,
)

__all__ = ["more_schemas"]

Json = dict[str, Any]


def more_schemas() -> Json:
    """By name."""
    return {"Alerts": _alerts(), "Ledger": _ledger(), "About": _about()}


def _alerts() -> Json:
    alert = record(
        number=COUNT,
        link=TEXT,
        state=one_of(*(state.value for state in AlertState)),
        began=TIME,
        changed=TIME,
        told=COUNT,
        until=maybe(TIME),
        who=TEXT,
        finding=ref("Finding"),
        text=maybe(TEXT),
    )
    waiting = record(target=TEXT, key=TEXT, title=TEXT, attempts=COUNT, error=TEXT)
    return record(
        schema={"const": SCHEMA},
        station=TEXT,
        alerts=array(alert),
        silences=array(record({"from": TIME}, link=TEXT, until=TIME, who=TEXT)),
        waiting=array(waiting),
    )


def _ledger() -> Json:
    strand = record(
        cable=TEXT,
        number=COUNT,
        label=TEXT,
        use=TEXT,
        link=maybe(TEXT),
        direction=one_of("ab", "ba", None),
        slack_a_m=maybe(NUMBER),
        slack_b_m=maybe(NUMBER),
        attempts_a=COUNT,
        attempts_b=COUNT,
        tested=maybe(TIME),
        tested_loss_db=maybe(NUMBER),
        note=TEXT,
    )
    cable = record(
        name=TEXT, strands=COUNT, length_m=maybe(NUMBER), fibre=TEXT, a=TEXT, b=TEXT, note=TEXT
    )
    told = {"type": "object", "description": "as `strandkeeper cable CONFIG export --json` has it"}
    return record(
        schema={"const": LEDGER_SCHEMA},
        cables=array(cable),
        strands=array(strand),
        readings=array(told),
        works=array(told),
    )


def _about() -> Json:
    times = ("begun", "oldest_reading", "oldest_summary", "newest_reading")
    return record(
        schema={"const": SCHEMA},
        station=TEXT,
        release=TEXT,
        record=record(
            format=COUNT,
            size_bytes=COUNT,
            log_bytes=COUNT,
            raw_days=NUMBER,
            five_minutes_days=NUMBER,
            **dict.fromkeys(times, maybe(TIME)),
        ),
        backup=maybe(TIME),
        sign_of_life=record(
            every_s=maybe(NUMBER),
            arrived=maybe(TIME),
            refused=maybe(TIME),
            why_refused=maybe(TEXT),
        ),
    )
