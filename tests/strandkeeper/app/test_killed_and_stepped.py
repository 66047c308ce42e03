"""The short forms of tests/bench/kill_series.py and clock_steps.py, and that they can fail."""

from __future__ import annotations

import contextlib
import sqlite3
from pathlib import Path

import pytest
from tests.bench import clock_steps, kill_series
from tests.bench.crowd import Ways, config_text, write_config
from tests.bench.store_child import row

from strandkeeper.model.names import End, LinkName
from strandkeeper.store import Batch, open_writer

pytestmark = [pytest.mark.slow, pytest.mark.timeout(300)]


def test_a_daemon_killed_three_times_loses_and_doubles_nothing() -> None:
    outcome = kill_series.series(kills=3, switches=4, port=16611, seed=3)
    assert outcome.kills == 3
    assert outcome.rows > 0
    assert outcome.good, outcome


def test_a_row_that_was_there_before_the_kill_and_a_hole_in_a_run_count_as_lost() -> None:
    whole = {1: [1_000_000 + 1000 * n for n in range(10)]}
    assert kill_series._lost(whole, whole, began_s=999.0, killed_s=1010.0) == 0
    rid_of_one = {1: [t for t in whole[1] if t != 1_004_000]}
    assert kill_series._lost(whole, rid_of_one, began_s=999.0, killed_s=1010.0) == 1
    hole = {1: [t for t in whole[1] if not 1_003_000 <= t <= 1_006_000]}
    assert kill_series._lost(hole, hole, began_s=999.0, killed_s=1010.0) == 1
    assert kill_series._lost(whole, whole, began_s=999.0, killed_s=1020.0) == 7  # 11 - 2 - 1.5 s


def test_what_is_compared_before_and_after_a_kill_begins_at_the_same_time(tmp_path: Path) -> None:
    """A window that moved along with the clock counted old rows as lost, and none was."""
    record = tmp_path / "record.db"
    with contextlib.closing(open_writer(record, reserve=False)) as writer:
        rows = [(LinkName("l0-1"), row(time_ms, End.A, 1)) for time_ms in (1_000, 2_000, 3_000)]
        writer.append(Batch(rows=rows))
    seen = kill_series._ends(record, 2_000)
    assert [times for times in seen.values()] == [[2_000, 3_000]]
    assert kill_series._look(record, kill_series.Outcome(), 2_000) == seen


def test_an_event_written_twice_and_one_that_no_row_bears_out_are_found(tmp_path: Path) -> None:
    text = config_text(Ways(2), 16612, status_s=1, optics_s=1, batch_s=2)
    config = write_config(tmp_path, text)
    record = tmp_path / "record.db"
    open_writer(record, reserve=False).close()
    with sqlite3.connect(record) as database:
        database.execute("INSERT INTO link (id, name) VALUES (1, 'l0-1')")
        for _ in range(2):
            database.execute(
                "INSERT INTO event (link_id, time_ms, kind, text, uncertainty_ms) "
                "VALUES (1, 1000, 'link-down', '', 0)"
            )
    database.close()
    outcome = kill_series.Outcome()
    kill_series._count_doubled(record, outcome)
    assert len(outcome.doubled) == 1
    kill_series._judge_anew(config, record, outcome)
    assert len(outcome.untrue) == 1


@pytest.mark.skipif(clock_steps.faketime() is None, reason="NOT RUN: libfaketime is missing")
def test_an_hour_either_way_neither_stops_the_polls_nor_doubles_them() -> None:
    """How long the polls pause is a figure for the benchmark; here: they go on at all."""
    library = clock_steps.faketime()
    assert library is not None
    outcome = clock_steps.measure(library, steps=3, pause_s=10.0, port=16613)
    assert outcome.rows > 0
    assert outcome.doubled == 0
    assert max(outcome.gaps_s) < 6.0, outcome  # of 10: it would be all of them, standing still
    assert outcome.epochs >= 2
