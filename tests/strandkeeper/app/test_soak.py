"""The short form of tests/bench/soak.py, and that each of its checks can fail."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest
from tests.bench import soak
from tests.bench.soak_checks import Outcome, judge, of_run
from tests.bench.soak_plant import Pace

pytestmark = [pytest.mark.slow, pytest.mark.timeout(300)]

PACE = Pace(tick_s=90, status_s=90, optics_s=90, batch_s=450)


@pytest.fixture(scope="module")
def soaked(tmp_path_factory: pytest.TempPathFactory) -> tuple[Outcome, Path]:
    """One day, left as it ended."""
    folder = tmp_path_factory.mktemp("soak")
    return soak.run(folder, 1, PACE), folder


def _bad(outcome: Outcome, folder: Path) -> set[str]:
    return {check.name for check in judge(outcome, folder) if not check.good}


def test_a_day_leaves_nothing_to_complain_of(soaked: tuple[Outcome, Path]) -> None:
    outcome, folder = soaked
    checks = judge(outcome, folder)
    assert len(checks) == 25
    assert [check for check in checks if not check.good] == []
    assert outcome.refused > 0  # the target was out of reach for a time, and the outbox waited


@pytest.mark.parametrize(
    ("spoil", "found"),
    [
        (lambda o: replace(o, rss_mb=[70.0, 70.0, 76.5]), {"memory of its own, MB"}),
        (lambda o: replace(o, blocks=[260_000, 268_500]), {"blocks, second half"}),
        (lambda o: replace(o, traced_kb=[100.0, 260.0]), {"traced, last sixth"}),
        (lambda o: replace(o, batches=o.batches + 20), {"batches"}),
        (lambda o: replace(o, batches=o.batches // 2), {"batches"}),
        (lambda o: replace(o, longest_batch=200), {"rows waiting for a batch"}),
        (lambda o: replace(o, most_waiting=61), {"messages waiting"}),
        (lambda o: replace(o, left_waiting=1), {"messages waiting"}),
        (lambda o: replace(o, most_tasks=25), {"tasks at once"}),
        (lambda o: replace(o, errors=["a row was given up"]), {"errors logged"}),
        *(
            (
                lambda o, n=name: replace(o, counted=o.counted | {n: o.counted[n] - 3}),
                {name, "furthest off its interval"},
            )
            for name in ("status polls hub", "optics polls gate", "ticks", "expire runs")
        ),
    ],
)
def test_a_spoiled_figure_of_the_run_is_found(
    soaked: tuple[Outcome, Path], spoil: Callable[[Any], Outcome], found: set[str]
) -> None:
    outcome, _ = soaked
    assert {check.name for check in of_run(spoil(outcome)) if not check.good} == found


# The oldest raw row that is kept, and the newest. No two statements of a test spoil the same check.
OLDEST, NEWEST = "(SELECT min(id) FROM reading)", "(SELECT max(id) FROM reading)"
SPOILED = [
    {
        "UPDATE five_minutes SET rx_sum_mdbm = rx_sum_mdbm + 1 "
        "WHERE id = (SELECT max(id) FROM five_minutes)": {"five-minute rows"},
        "UPDATE hours SET in_octets = in_octets - 1 WHERE id = (SELECT min(id) FROM hours)": {
            "hour rows",
            "days out of hour rows",
        },
        "UPDATE day_stats SET n = n - 1 WHERE direction_id = 2": {"day medians"},
        f"DELETE FROM reading WHERE id = {OLDEST}": {"raw rows, kept 1 d"},
        "INSERT INTO event (link_id, time_ms, kind, text, uncertainty_ms) "
        "SELECT link_id, time_ms, kind, text, uncertainty_ms FROM event "
        "WHERE kind = 'baseline-set' LIMIT 2": {"rows twice"},
        "UPDATE meta SET value = hex(randomblob(400000)) WHERE key = 'begun_by'": {"file, MB"},
    },
    {
        "UPDATE five_minutes SET down_ms = down_ms + 1 "
        "WHERE id = (SELECT max(id) FROM five_minutes)": {"five-minute rows"},
        "DELETE FROM hours WHERE id = (SELECT min(id) FROM hours)": {
            "hour rows",
            "days out of hour rows",
        },
        "UPDATE day_stats SET rx_mdbm = rx_mdbm + 100 WHERE direction_id = 3": {"day medians"},
        f"INSERT INTO reading (id, answered) SELECT {OLDEST} - 400000 * 65536, 1": {
            "raw rows, kept 1 d"
        },
        "INSERT INTO alert_transition (alert, at_ms, before, event, after, who) "
        "SELECT alert, at_ms, before, event, after, who FROM alert_transition LIMIT 1": {
            "rows twice"
        },
    },
    {
        "DELETE FROM five_minutes WHERE id >> 16 = (SELECT min(id) >> 16 FROM five_minutes)": {
            "five-minute rows",
            "five minutes, kept 1 d",
        },
        "DELETE FROM day_stats WHERE direction_id = 4": {"day medians"},
        f"INSERT INTO reading (id, answered) SELECT {NEWEST} + 1000 * 65536, 1": {
            "raw rows, kept 1 d",
            "rows twice",
        },
    },
]


@pytest.mark.parametrize("statements", SPOILED)
def test_a_spoiled_record_is_found(
    soaked: tuple[Outcome, Path], tmp_path: Path, statements: dict[str, set[str]]
) -> None:
    outcome, folder = soaked
    for name in ("record.db", "ledger"):
        shutil.copy(folder / name, tmp_path / name)
    with closing(sqlite3.connect(tmp_path / "record.db")) as database, database:
        for statement in statements:
            assert database.execute(statement).rowcount != 0
    assert _bad(outcome, tmp_path) == set.union(*statements.values())


class _Spoiled(soak.WatchedDaemon):
    """Keeps 40 kB a tick, never deletes, and leaves out a tick in ten."""

    def __init__(self, *given: Any) -> None:
        super().__init__(*given)
        self._kept: list[list[bytes]] = []

    async def tick(self) -> None:
        self._kept.append([bytes(400) for _ in range(100)])
        if len(self._kept) % 10:
            await super().tick()

    async def expire(self) -> None:
        self._outcome.counted["expire runs"] += 1


def test_a_daemon_that_leaks_drifts_and_never_deletes_is_found(tmp_path: Path) -> None:
    with patch("tests.bench.soak.WatchedDaemon", _Spoiled):
        outcome = soak.run(tmp_path, 1, Pace(tick_s=120, status_s=120, optics_s=120, batch_s=600))
    bad = _bad(outcome, tmp_path)
    assert {
        "memory of its own, MB",
        "blocks, second half",
        "traced, last sixth",
        "ticks",
        "furthest off its interval",
        "raw rows, kept 1 d",
    } <= bad
    assert {"expire runs", "errors logged", "rows twice"}.isdisjoint(bad)
