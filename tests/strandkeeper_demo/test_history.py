"""The invented history in the form that the design fixes."""

from __future__ import annotations

import csv
import itertools
from datetime import UTC, datetime
from pathlib import Path

import pytest

from strandkeeper.model.names import LinkName
from strandkeeper_demo.faults import Dark, PowerCut
from strandkeeper_demo.history import instants, rows, write_history
from strandkeeper_demo.plant import Plant
from strandkeeper_demo.scenario import DAYS, JETTY, PUMP_HOUSE, Scenario

# The design's header, "CSV (assess, history)".
REQUIRED = (
    "time,end,rx_dbm,tx_dbm,bias_ma,temp_c,vcc_v,oper_status,uptime_s,in_octets,out_octets,"
    "in_frames,fcs_errors,symbol_errors"
)
OPTIONAL = ["last_change_s", "media", "module_id", "admin_status"]

Rows = list[dict[str, str]]


def around(plant: Plant, link: LinkName, from_s: float, to_s: float) -> Rows:
    times = [t for t in instants(plant, link) if from_s <= t <= to_s]
    header = [*REQUIRED.split(","), "last_change_s", "module_id", "admin_status"]
    found = rows(plant, plant.scenario.link(link), times)
    return [dict(zip(header, row, strict=True)) for row in found]


@pytest.fixture(scope="module")
def written(scenario: Scenario, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("history") / "pump-house.csv"
    *_, last = write_history(Plant(scenario), scenario.link(PUMP_HOUSE), path)
    assert last == 1.0
    return path


def test_the_header_is_the_designs_and_the_columns_after_it_are_known(written: Path) -> None:
    header = written.read_text().splitlines()[0]
    assert header.startswith(REQUIRED + ",")
    extra = header.removeprefix(REQUIRED + ",").split(",")
    assert [name for name in OPTIONAL if name in extra] == extra


def test_it_spans_the_sixty_days_up_to_now_in_order(written: Path, scenario: Scenario) -> None:
    with written.open() as file:
        times = [row["time"] for row in csv.DictReader(file)]
    assert times == sorted(times)
    first, last = (
        datetime.strptime(t, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=UTC).timestamp()
        for t in (times[0], times[-1])
    )
    assert 0 <= first - scenario.start_s < 300
    assert 0 <= scenario.now_s - last < 30
    assert last - first == pytest.approx(DAYS * 86400, abs=330)


def test_both_ends_are_asked_at_the_same_instants_and_never_more_than_five_minutes_apart(
    plant: Plant, written: Path
) -> None:
    with written.open() as file:
        found = [(row["time"], row["end"]) for row in csv.DictReader(file)]
    assert found[0::2] == [(time, "A") for time, _ in found[1::2]]
    assert all(end == "B" for _, end in found[1::2])
    times = instants(plant, PUMP_HOUSE)
    assert max(b - a for a, b in itertools.pairwise(times)) == 300


def test_a_switch_without_power_is_asked_and_does_not_answer(plant: Plant) -> None:
    (cut,) = plant.scenario.of_kind(PowerCut)
    dark = around(plant, PUMP_HOUSE, cut.start_s + 60, cut.end_s - 60)
    far = [row for row in dark if row["end"] == "B"]
    near = [row for row in dark if row["end"] == "A"]
    assert far
    assert all(not any(row[k] for k in row if k not in ("time", "end")) for row in far)
    assert all(row["rx_dbm"] == "no-light" and row["oper_status"] == "down" for row in near)


def test_uptime_and_counters_start_over_after_that_night(plant: Plant) -> None:
    (cut,) = plant.scenario.of_kind(PowerCut)
    after = around(plant, PUMP_HOUSE, cut.answers_s, cut.answers_s + 60)
    first = next(row for row in after if row["end"] == "B")
    assert 0 < float(first["uptime_s"]) < 120
    assert int(first["in_octets"]) < 10_000_000
    light_back = cut.link_s - cut.boot_s
    assert float(first["last_change_s"]) == pytest.approx(light_back, abs=3)


def test_the_storm_was_watched_closely_enough_to_see_every_interruption(plant: Plant) -> None:
    dark = [d for d in plant.scenario.of_kind(Dark) if d.end_s - d.start_s < 60]
    night = around(plant, JETTY, dark[0].start_s - 120, dark[-1].end_s + 120)
    changes = {row["last_change_s"] for row in night if row["end"] == "A" and row["oper_status"]}
    assert len(dark) >= 5
    assert len(changes) >= len(dark)


def test_powers_are_those_of_whole_counts(plant: Plant) -> None:
    now = plant.scenario.now_s
    for row in around(plant, JETTY, now - 600, now):
        tenths = 10 ** (float(row["rx_dbm"]) / 10) * 10_000
        assert tenths == pytest.approx(round(tenths), abs=0.3)
