"""Two daemons never keep one record; everything else goes on beside the one that does."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from tests.bench.crowd import Ways, config_text, write_config

from strandkeeper.errors import StoreError
from strandkeeper.store import open_reader, open_writer
from strandkeeper.store.backup import copy_record
from strandkeeper.store.keeper_lock import hold_record
from strandkeeper.store.restore import restore_record

HOLD = """
import sys
from strandkeeper.store.keeper_lock import hold_record
lock = hold_record(sys.argv[1])
print("held", flush=True)
sys.stdin.read()
"""


@pytest.fixture
def holder(path: Path) -> Iterator[subprocess.Popen[bytes]]:
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == b"held\n"
        yield process
        process.kill()


def test_the_second_is_told_who_has_it_and_what_to_do(
    holder: subprocess.Popen[bytes], path: Path
) -> None:
    with pytest.raises(StoreError) as refused:
        hold_record(path)
    assert refused.value.message == (
        f"the record {path} is kept by another daemon already (pid {holder.pid})"
    )
    assert f"`ps -p {holder.pid}`" in refused.value.hint
    assert "[store] path" in refused.value.hint


def test_another_name_of_the_same_record_meets_the_same_lock(
    holder: subprocess.Popen[bytes], path: Path
) -> None:
    other = path.parent / "elsewhere"
    other.symlink_to(path.parent, target_is_directory=True)
    with pytest.raises(StoreError, match=f"pid {holder.pid}"):
        hold_record(other / path.name)


def test_a_holder_that_is_killed_leaves_no_lock(
    holder: subprocess.Popen[bytes], path: Path
) -> None:
    os.kill(holder.pid, signal.SIGKILL)
    holder.wait()
    hold_record(path).close()


def test_once_it_is_closed_the_next_one_has_it(path: Path) -> None:
    hold_record(path).close()
    with closing(hold_record(path)), pytest.raises(StoreError, match=f"pid {os.getpid()}"):
        hold_record(path)


def test_a_lock_that_may_not_be_opened_is_said_in_words(path: Path) -> None:
    path.with_name(f"{path.name}.lock").symlink_to(path.parent / "somewhere")
    with pytest.raises(StoreError, match=r"record\.db\.lock cannot be opened"):
        hold_record(path)
    assert not (path.parent / "somewhere").exists()


@pytest.mark.parametrize(("folder_mode", "mode"), [(0o700, 0o600), (0o2770, 0o660)])
def test_the_lock_is_as_open_as_the_record(path: Path, folder_mode: int, mode: int) -> None:
    path.parent.chmod(folder_mode)
    hold_record(path).close()
    assert path.with_name(f"{path.name}.lock").stat().st_mode & 0o777 == mode


def test_reading_importing_and_backup_go_on_beside_the_holder(
    holder: subprocess.Popen[bytes], path: Path, tmp_path: Path
) -> None:
    open_writer(path, reserve=False).close()
    open_reader(path).close()
    copy_record(path, tmp_path / "copy.db")
    restore_record(path, tmp_path / "copy.db")  # nobody has it open; only the lock is held


def test_a_second_daemon_ends_at_once_and_the_first_goes_on(tmp_path: Path) -> None:
    config = write_config(tmp_path, config_text(Ways(2), 16615, status_s=5, optics_s=5, batch_s=2))
    command = [sys.executable, "-m", "strandkeeper", "run", str(config), "--no-dashboard"]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as first:
        try:
            assert first.stderr is not None
            while "started" not in first.stderr.readline():
                assert first.poll() is None
            second = subprocess.run(
                command, check=False, capture_output=True, text=True, timeout=60
            )
            assert second.returncode == 1
            assert f"is kept by another daemon already (pid {first.pid})" in second.stderr
            assert "Traceback" not in second.stderr
            assert first.poll() is None
            first.terminate()
            assert first.wait(60) == 0
        finally:
            first.kill()
