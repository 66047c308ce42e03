"""The short forms of tests/bench/faults.py and power_cuts.py, and that they can fail."""

from __future__ import annotations

import random
import time
from pathlib import Path

import pytest
from tests.bench import faults, power_cuts, store_proof
from tests.bench.crowd import Ways, config_text, write_config
from tests.bench.store_child import row

from strandkeeper.model.names import End, LinkName
from strandkeeper.store import Batch, open_writer

pytestmark = [pytest.mark.slow, pytest.mark.timeout(400)]


@pytest.mark.skipif(bool(faults.why_not()), reason=faults.why_not() or "-")
def test_failing_system_calls_stop_neither_polls_nor_the_record_for_longer_than_they_fail() -> None:
    cases = [
        faults.Case("pwrite64", "ENOSPC"),
        faults.Case("fsync,fdatasync", "EIO"),
        faults.Case("pwrite64", "EINTR", "1+2", trouble=False),
        faults.Case("sendto,sendmsg", "ECONNREFUSED", where="udp", trouble=False),
    ]
    result = faults.measure(cases, 4.0, port=16861)
    assert all(one.failed for one in result.seen), result.seen
    assert [one.said for one in result.seen[:2]] == [True, True], "it was to be said"
    assert result.record.rows > 0
    assert result.good, result


def test_a_case_whose_call_was_never_made_shows_nothing() -> None:
    case = faults.Case("unlink", "EIO", trouble=False)
    none, some = (faults.Seen(case, n, 0.0, 4.0, said=False, recovered_s=1.0) for n in (0, 1))
    assert (none.good, none.word) == (False, "NO CALL WAS MADE")
    assert (some.good, some.word) == (True, "")
    assert not faults.Result(seen=[none]).good


def test_calls_that_fail_so_that_others_are_made_are_not_those_of_the_case(tmp_path: Path) -> None:
    log = tmp_path / "traced"
    log.write_text(
        "7 pwrite64(8, ...) = -1 ENOSPC (No space left on device) (INJECTED)\n"
        '7 unlink("record.db.reserve") = -1 EIO (Input/output error) (INJECTED)\n'
        "7 pwrite64(8, ...) = 4096\n"
    )
    assert faults._failed(faults.Case("unlink", "EIO", after="pwrite64:error=ENOSPC"), log) == 1
    assert faults._failed(faults.Case("pwrite64", "ENOSPC"), log) == 2


def test_after_a_power_cut_the_daemon_s_record_has_what_anybody_had_seen(tmp_path: Path) -> None:
    outcome = power_cuts.measure(12.0, 25, 16862, tmp_path)
    if outcome is None:
        pytest.skip("NOT RUN: the write log needs a C compiler")
    assert outcome.cuts == 25
    assert outcome.rows > 0
    assert outcome.good, outcome
    ops = list(store_proof.read_log((tmp_path / "write.log").read_bytes()))
    unsynced = [op for op in ops if op.what != "S"]
    config = tmp_path / "station.toml"
    assert not power_cuts.cut(config, unsynced, 10, random.Random(1)).good, "it cannot fail"


def test_a_hole_in_the_rows_of_a_switch_that_was_asked_is_found(tmp_path: Path) -> None:
    """Rows of one end at 0 to 3 s and 9 to 12 s; the switch was asked every second."""
    write_config(tmp_path, config_text(Ways(2), 16863, status_s=1, optics_s=1, batch_s=2))
    record = tmp_path / "record.db"
    writer = open_writer(record, reserve=False)
    begin_s = time.monotonic() - 20
    begin_ms = round((begin_s + time.time() - time.monotonic()) * 1000)
    times = [*range(4), *range(9, 13)]
    rows = [(LinkName("l0-1"), row(begin_ms + 1000 * t, End.A, t)) for t in times]
    writer.append(Batch(rows=rows))
    writer.close()
    seen = faults.Seen(faults.CASES[0], 1, begin_s, begin_s + 12, said=True, recovered_s=1.0)
    asked = {0: [begin_s + t for t in range(13)], 1: []}
    assert faults._lost(record, seen, asked) == 1
    assert faults._lost(record, seen, {0: [], 1: []}) == 0
