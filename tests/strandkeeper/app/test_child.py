"""Real child processes, really ended."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
from pathlib import Path

from strandkeeper.app.child import KeptChild, restart_delay_s

SCRIPT = "import os,sys,time; open(sys.argv[1],'a').write(f'{os.getpid()}\\n'); time.sleep({s})"


async def _lines(path: Path, count: int) -> list[int]:
    for _ in range(200):
        found = path.read_text().split() if path.exists() else []
        if len(found) >= count:
            return [int(x) for x in found]
        await asyncio.sleep(0.05)
    raise AssertionError(f"waited in vain for {count} starts")


async def test_a_child_that_ends_is_started_again(tmp_path: Path) -> None:
    log = tmp_path / "starts"
    child = KeptChild("short", [sys.executable, "-c", SCRIPT.replace("{s}", "0"), str(log)])
    child.start()
    assert len(await _lines(log, 2)) >= 2
    await child.stop()


async def test_stop_ends_the_child(tmp_path: Path) -> None:
    log = tmp_path / "starts"
    child = KeptChild("long", [sys.executable, "-c", SCRIPT.replace("{s}", "60"), str(log)])
    child.start()
    (pid,) = await _lines(log, 1)
    await child.stop()
    assert not Path(f"/proc/{pid}").exists() or not os.path.exists(f"/proc/{pid}/exe")


def test_the_wait_before_a_restart_grows_and_is_bounded() -> None:
    assert [restart_delay_s(n) for n in (1, 2, 3, 7, 50)] == [1.0, 2.0, 4.0, 60.0, 60.0]


PARENT = """
import asyncio, sys
from strandkeeper.app.child import KeptChild

async def main():
    KeptChild("dashboard", sys.argv[1:]).start()
    await asyncio.sleep(60)

asyncio.run(main())
"""


async def test_a_child_does_not_outlive_a_parent_that_is_killed(tmp_path: Path) -> None:
    log = tmp_path / "starts"
    child = [sys.executable, "-c", SCRIPT.replace("{s}", "60"), str(log)]
    parent = await asyncio.create_subprocess_exec(sys.executable, "-c", PARENT, *child)
    (pid,) = await _lines(log, 1)
    assert _runs(pid)
    parent.kill()
    await parent.wait()
    for _ in range(100):
        if not _runs(pid):
            return
        await asyncio.sleep(0.05)
    os.kill(pid, signal.SIGKILL)
    raise AssertionError("the child lives on")


def _runs(pid: int) -> bool:
    """Whether it is there and no zombie that nobody has collected."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except (FileNotFoundError, ProcessLookupError):
        return False
