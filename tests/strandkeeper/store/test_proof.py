"""The store's first proof in its short form; tests/bench/store_proof.py is the long one."""

from __future__ import annotations

import importlib.util
import os
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

BENCH = Path(__file__).parents[2] / "bench"


@pytest.fixture
def proof(monkeypatch: pytest.MonkeyPatch) -> Iterator[ModuleType]:
    monkeypatch.syspath_prepend(str(BENCH))
    spec = importlib.util.spec_from_file_location("store_proof", BENCH / "store_proof.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    monkeypatch.setitem(sys.modules, "store_proof", module)
    spec.loader.exec_module(module)
    yield module
    sys.modules.pop("store_child", None)


def test_a_writer_that_is_killed_loses_no_batch_that_it_acknowledged(
    proof: ModuleType, tmp_path: Path
) -> None:
    nobody = proof.User()
    outcome = proof.kill_again_and_again(tmp_path / "record.db", 6, nobody, nobody)
    assert outcome.acknowledged > 0
    assert (outcome.lost, outcome.torn, outcome.reads_refused) == (0, 0, 0)


@pytest.mark.skipif(os.geteuid() != 0, reason="NOT RUN: two users need root to become them")
def test_two_users_share_one_file_over_kills_and_clean_closes(
    proof: ModuleType,
) -> None:
    with tempfile.TemporaryDirectory() as open_to_all:  # the tests' own directories are root's
        folder, writer, reader = proof.shared_folder(Path(open_to_all), "shared")
        assert writer.uid != reader.uid
        assert proof.two_users_after_a_clean_close(folder / "record.db", writer, reader)
        outcome = proof.kill_again_and_again(folder / "record.db", 4, writer, reader)
    assert outcome.acknowledged > 0
    assert (outcome.lost, outcome.torn, outcome.reads_refused) == (0, 0, 0)


def test_after_a_power_cut_every_acknowledged_batch_is_there(
    proof: ModuleType, tmp_path: Path
) -> None:
    library = proof.build_shim(tmp_path)
    if library is None:
        pytest.skip("NOT RUN: the write log needs a C compiler")
    (tmp_path / "logged").mkdir()
    ops = proof.logged_run(library, tmp_path / "logged", 250)
    outcome = proof.cut_the_power(ops, 60, tmp_path)
    assert outcome.cuts > 40
    assert outcome.acknowledged > 200
    assert (outcome.lost, outcome.broken) == (0, 0)


def test_a_batch_costs_one_sync_and_checkpoints_a_few_more(
    proof: ModuleType, tmp_path: Path
) -> None:
    library = proof.build_shim(tmp_path)
    if library is None:
        pytest.skip("NOT RUN: the write log needs a C compiler")
    (tmp_path / "logged").mkdir()
    spent = proof.cost(proof.logged_run(library, tmp_path / "logged", 250), 250)
    assert 3.0 <= spent.syncs_a_minute < 3.5


@pytest.mark.parametrize("offsets", ["AHEAD_AND_BACK", "BACK_AND_AHEAD"])
def test_a_clock_stepped_by_an_hour_loses_no_row_and_time_never_runs_back(
    proof: ModuleType, tmp_path: Path, offsets: str
) -> None:
    library = proof.faketime_library()
    if library is None:
        pytest.skip("NOT RUN: stepping the clock needs libfaketime")
    steps = proof.step_the_clock(tmp_path, library, getattr(proof, offsets))
    assert steps.acknowledged > 10  # a busy machine writes fewer; none may be lost
    assert (steps.lost, steps.backward) == (0, 0)
    modes = [(mode, reason) for _start, _shift, mode, reason in steps.epochs]
    assert (
        modes
        == {
            "AHEAD_AND_BACK": [
                ("trusted", "start"),
                ("trusted", "clock-ahead"),
                ("held", "clock-back"),
            ],
            "BACK_AND_AHEAD": [
                ("trusted", "start"),
                ("held", "clock-back"),
                ("trusted", "clock-believed-again"),
            ],
        }[offsets]
    )
