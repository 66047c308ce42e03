"""The store's first proof: one file, two users, killed, cut from power, the clock stepped.

    .venv/bin/python tests/bench/store_proof.py [--kills 100] [--cuts 2000]

What each part proves, and what it does not:

kill        The writing process is ended by SIGKILL at random instants; a reader then looks, and the
            next writer goes on. The kernel lives, so whatever was handed to it arrives: this proves
            the transactions, the recovery by another process, and (as root) by another user.
power cut   A preloaded library writes down every write, truncation and sync of the writer in order
            (store_write_log.c). At any place in that log the directory is rebuilt as a power cut
            there could have left it: what was synced is there; of what was not, nothing, everything
            or any sectors of 512 bytes. That a batch was acknowledged stands in the same log. This
            proves that every acknowledged batch was synced and that recovery works from any such
            mixture. It assumes that the disk keeps what it says it has synced, does not tear
            sectors, and that the directory entries of the files are durable.
clock       The writer runs under libfaketime; its wall clock is stepped an hour ahead and back, and
            an hour back and ahead, while the monotonic clock goes on.
"""

from __future__ import annotations

import argparse
import itertools
import os
import random
import shutil
import sqlite3
import struct
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

HERE = Path(__file__).parent
CHILD = HERE / "store_child.py"
SHIM = HERE / "store_write_log.c"
SECTOR = 512
ROWS_A_BATCH = 4
BATCHES_A_MINUTE = 3
WRITER_UID, READER_UID, SHARED_GID = 61_001, 61_002, 61_003


@dataclass
class User:
    """Whom to run a child as; None: whoever runs the proof."""

    uid: int | None = None

    def environment(self) -> dict[str, str]:
        """What makes the child become that user before it touches the record."""
        return {} if self.uid is None else {"STORE_CHILD_USER": f"{self.uid}:{SHARED_GID}"}


ANYONE = User()


def child(
    record: Path, *arguments: str, user: User = ANYONE, environment: dict[str, str] | None = None
) -> subprocess.Popen[bytes]:
    """Start the writing or reading child."""
    return subprocess.Popen(
        [sys.executable, str(CHILD), str(record), *arguments],
        stdout=subprocess.PIPE,
        env={**os.environ, **user.environment(), **(environment or {})},
    )


# --- what a record holds ---------------------------------------------------------------------


@dataclass
class Content:
    """What was found in a record."""

    batches: set[int]
    torn: int  # batches of which only some rows are there
    sums_wrong: int  # five-minute rows that are not the sum of their raw rows
    states: set[int]


def look(record: Path) -> Content:
    """Open the record as the daemon does (recovery, integrity check) and take stock."""
    from store_child import BEGIN_MS, STEP_MS

    from strandkeeper.store import open_writer

    open_writer(record, reserve=False).close()
    database = sqlite3.connect(record)
    try:
        answer = database.execute("PRAGMA integrity_check").fetchone()[0]
        if answer != "ok":
            raise AssertionError(f"{record}: {answer}")
        counts = dict(database.execute("SELECT id >> 16, count(*) FROM reading GROUP BY 1"))
        wrong = database.execute(
            "SELECT count(*) FROM five_minutes f WHERE n != (SELECT count(*) FROM reading r "
            "WHERE r.id >= f.id AND r.id < f.id + 300000 * 65536 AND r.id & 65535 = f.id & 65535)"
        ).fetchone()[0]
        states = {
            int.from_bytes(s[:8], "big") for (s,) in database.execute("SELECT state FROM state")
        }
    finally:
        database.close()
    return Content(
        batches={(time_ms - BEGIN_MS) // STEP_MS for time_ms in counts},
        torn=sum(n != ROWS_A_BATCH for n in counts.values()),
        sums_wrong=wrong,
        states=states,
    )


# --- killed ----------------------------------------------------------------------------------


@dataclass
class Kills:
    """Outcome of killing the writer again and again."""

    kills: int = 0
    acknowledged: int = 0
    lost: int = 0
    torn: int = 0
    reads_refused: int = 0


def kill_again_and_again(record: Path, kills: int, writer: User, reader: User) -> Kills:
    """Start a writer, kill it at a random instant, read as the other user, look, repeat."""
    chance = random.Random(1)
    outcome = Kills()
    acknowledged: set[int] = set()
    for _ in range(kills):
        process = child(record, "append", "100000", user=writer)
        assert process.stdout is not None
        lines = process.stdout.readline()
        time.sleep(chance.uniform(0, 0.15))
        process.kill()
        lines += process.stdout.read()
        process.wait()
        process.stdout.close()
        whole = lines[: lines.rfind(b"\n") + 1]
        acknowledged |= {int(number) for number in whole.split()}
        seen = child(record, "read", user=reader)
        seen.communicate()
        outcome.reads_refused += seen.returncode != 0
        outcome.kills += 1
    found = look(record)
    outcome.acknowledged = len(acknowledged)
    outcome.lost = len(acknowledged - found.batches)
    outcome.torn = found.torn + found.sums_wrong
    return outcome


def two_users_after_a_clean_close(record: Path, writer: User, reader: User) -> bool:
    """Whether each can open the file after the other has closed it and taken the log away."""
    for _ in range(2):
        for user, what in ((writer, ["append", "3"]), (reader, ["read"])):
            process = child(record, *what, user=user)
            process.communicate()
            if process.returncode:
                return False
    return True


# --- cut from power --------------------------------------------------------------------------


@dataclass
class Op:
    """One record of the write log."""

    what: str
    name: str
    offset: int
    data: bytes


def build_shim(folder: Path) -> Path | None:
    """Compile the write log; None without a C compiler."""
    compiler = shutil.which("cc") or shutil.which("gcc")
    if compiler is None:
        return None
    library = folder / "write_log.so"
    subprocess.run(
        [compiler, "-O1", "-shared", "-fPIC", "-o", str(library), str(SHIM), "-ldl"], check=True
    )
    return library


def logged_run(library: Path, folder: Path, batches: int, pause_s: float = 0.0) -> list[Op]:
    """Let a writer append batches under the write log; every change of its files in order."""
    record, log = folder / "record.db", folder.parent / f"{folder.name}.log"
    acks = folder / "acks"
    with acks.open("wb") as out:
        subprocess.run(
            [sys.executable, str(CHILD), str(record), "append", str(batches), str(pause_s)],
            stdout=out,
            check=True,
            env={
                **os.environ,
                "LD_PRELOAD": str(library),
                "WRITE_LOG_DIR": str(folder),
                "WRITE_LOG_FILE": str(log),
            },
        )
    return list(read_log(log.read_bytes()))


def read_log(raw: bytes) -> Iterator[Op]:
    """The records of a write log."""
    at = 0
    while at < len(raw):
        what, name_length, offset, length = struct.unpack_from("<cBqq", raw, at)
        at += 18
        name = raw[at : at + name_length].decode()
        at += name_length
        yield Op(what.decode(), name, offset, raw[at : at + length])
        at += length


@dataclass
class Disk:
    """The files as synced, and what was done to each since its last sync."""

    durable: dict[str, bytearray] = field(default_factory=dict)
    pending: dict[str, list[Op]] = field(default_factory=dict)
    acknowledged: int = -1

    def do(self, op: Op) -> None:
        """Take one record of the log."""
        if op.name == "acks":
            self.acknowledged = max(self.acknowledged, int(op.data.split()[-1]))
        elif op.what == "S":
            content = self.durable.setdefault(op.name, bytearray())
            for change in self.pending.pop(op.name, []):
                apply(content, change)
        elif op.what == "U":
            self.durable.pop(op.name, None)
            self.pending.pop(op.name, None)
        else:
            self.pending.setdefault(op.name, []).append(op)

    def after_a_cut(self, chance: random.Random, folder: Path) -> None:
        """Write the files as a power cut now could leave them."""
        for name in {*self.durable, *self.pending}:
            content = bytearray(self.durable.get(name, b""))
            for change in survivors(self.pending.get(name, []), chance):
                apply(content, change)
            (folder / name).write_bytes(content)


def apply(content: bytearray, op: Op) -> None:
    """Do to a file what the record says."""
    if op.what == "T":
        del content[op.offset :]
        content.extend(bytes(op.offset - len(content)))
        return
    content.extend(bytes(max(0, op.offset - len(content))))
    content[op.offset : op.offset + len(op.data)] = op.data


def survivors(pending: list[Op], chance: random.Random) -> list[Op]:
    """Nothing, everything, or any sectors of what was not synced."""
    mood = chance.random()
    if mood < 0.34:
        return []
    if mood < 0.5:
        return pending
    share = chance.random()
    kept = []
    for op in pending:
        for start in range(0, max(1, len(op.data)), SECTOR):
            if chance.random() < share:
                piece = op.data[start : start + SECTOR]
                kept.append(Op(op.what, op.name, op.offset + start, piece))
    return kept


@dataclass
class Cuts:
    """Outcome of cutting the power at many places of one run."""

    cuts: int = 0
    acknowledged: int = 0
    lost: int = 0
    broken: int = 0


def cut_the_power(ops: list[Op], cuts: int, folder: Path) -> Cuts:
    """Cut at random places of the log and take stock of what comes back."""
    chance = random.Random(2)
    places = sorted(chance.randrange(1, len(ops) + 1) for _ in range(cuts))
    disk, done, outcome = Disk(), 0, Cuts()
    for place in places:
        for op in ops[done:place]:
            disk.do(op)
        done = place
        if not disk.durable:
            continue
        with tempfile.TemporaryDirectory(dir=folder) as image:
            disk.after_a_cut(chance, Path(image))
            _take_stock(Path(image) / "record.db", disk.acknowledged, outcome)
    return outcome


def _take_stock(record: Path, acknowledged: int, outcome: Cuts) -> None:
    outcome.cuts += 1
    outcome.acknowledged = max(outcome.acknowledged, acknowledged + 1)
    if not record.exists():
        outcome.lost += acknowledged + 1
        return
    try:
        found = look(record)
    except Exception as error:  # noqa: BLE001 whatever it is, the file did not come back
        print(f"not recovered: {error}", file=sys.stderr)
        outcome.broken += 1
        return
    outcome.lost += len(set(range(acknowledged + 1)) - found.batches)
    outcome.broken += bool(found.torn or found.sums_wrong)
    if found.batches and found.states != {max(found.batches)}:
        outcome.broken += 1  # a state that has not seen exactly the rows beside it


@dataclass
class Writing:
    """What a run cost."""

    batches: int
    syncs: int
    written_bytes: int

    @property
    def syncs_a_minute(self) -> float:
        """At one batch every 20 s."""
        return self.syncs / self.batches * BATCHES_A_MINUTE

    @property
    def megabytes_a_day(self) -> float:
        """At one batch every 20 s."""
        return self.written_bytes / self.batches * BATCHES_A_MINUTE * 1440 / 1e6


def cost(ops: list[Op], batches: int) -> Writing:
    """Syncs and bytes of a logged run, from its first acknowledgement on."""
    begin = next(place for place, op in enumerate(ops) if op.name == "acks")
    files = [op for op in ops[begin:] if op.name != "acks"]
    return Writing(
        batches=batches - 1,
        syncs=sum(op.what == "S" for op in files),
        written_bytes=sum(len(op.data) for op in files),
    )


# --- the clock stepped -----------------------------------------------------------------------


@dataclass
class Steps:
    """Outcome of stepping the wall clock under a running writer."""

    acknowledged: int
    lost: int
    backward: int
    epochs: list[tuple[int, int, str, str]]


def faketime_library() -> Path | None:
    """Debian's libfaketime, None if it is not installed."""
    found = sorted(Path("/usr/lib").glob("*/faketime/libfaketime.so.1"))
    return found[0] if found else None


AHEAD_AND_BACK = ("+0", "+1h", "+0")
BACK_AND_AHEAD = ("+0", "-1h", "+0")


def step_the_clock(
    folder: Path, library: Path, offsets: tuple[str, ...], pause_s: float = 0.4
) -> Steps:
    """Set the wall clock to each offset in turn while rows are appended."""
    record, stamp = folder / "record.db", folder / "faketime"
    stamp.write_text("+0\n")
    process = child(
        record,
        "clock",
        str(pause_s * (len(offsets) + 0.5)),
        environment={
            "LD_PRELOAD": str(library),
            "FAKETIME_TIMESTAMP_FILE": str(stamp),
            "FAKETIME_NO_CACHE": "1",
            "FAKETIME_DONT_FAKE_MONOTONIC": "1",
            "DONT_FAKE_MONOTONIC": "1",
        },
    )
    assert process.stdout is not None
    first = process.stdout.readline()
    for offset in offsets:
        half = folder / "faketime.new"
        half.write_text(f"{offset}\n")
        half.rename(stamp)
        time.sleep(pause_s)
    lines = (first + process.stdout.read()).decode().splitlines()
    process.stdout.close()
    if process.wait():
        raise AssertionError(f"the writer ended with {process.returncode}")
    return _count_steps(record, lines)


def _count_steps(record: Path, lines: list[str]) -> Steps:
    expected: list[int] = []
    for line in lines:
        words = line.split()
        if words[0] == "dated":
            moved_from, by = int(words[1]), int(words[2])
            expected = [t + by if t >= moved_from else t for t in expected]
        else:
            expected.append(int(words[1]))
    database = sqlite3.connect(record)
    found = [t for (t,) in database.execute("SELECT id >> 16 FROM reading ORDER BY id")]
    epochs = list(
        database.execute("SELECT start_ms, shift_ms, mode, reason FROM time_epoch ORDER BY id")
    )
    database.close()
    return Steps(
        acknowledged=len(expected),
        lost=len(set(expected) - set(found)) + len(expected) - len(set(expected)),
        backward=sum(b < a for a, b in itertools.pairwise(expected)),
        epochs=epochs,
    )


# --- all of it -------------------------------------------------------------------------------


def shared_folder(parent: Path, name: str) -> tuple[Path, User, User]:
    """A directory of mode 2770 that two users share; without root, one user's own."""
    folder = parent / name
    folder.mkdir()
    if os.geteuid():
        return folder, User(), User()
    parent.chmod(0o755)
    os.chown(folder, WRITER_UID, SHARED_GID)
    folder.chmod(0o2770)
    return folder, User(WRITER_UID), User(READER_UID)


def main() -> None:
    """Run everything and print the counts."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--cuts", type=int, default=2000)
    parser.add_argument("--batches", type=int, default=1200)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="store-proof-") as name:
        parent = Path(name)
        folder, writer, reader = shared_folder(parent, "shared")
        clean = two_users_after_a_clean_close(folder / "record.db", writer, reader)
        print(f"users {writer.uid} writes, {reader.uid} reads; after a clean close: {clean}")
        print(kill_again_and_again(folder / "record.db", options.kills, writer, reader))
        library = build_shim(parent)
        if library is None:
            print("NOT RUN: power cut (no C compiler)")
        else:
            (parent / "logged").mkdir()
            ops = logged_run(library, parent / "logged", options.batches)
            spent = cost(ops, options.batches)
            print(spent)
            print(
                f"{spent.syncs_a_minute:.2f} syncs a minute, "
                f"{spent.megabytes_a_day:.1f} MB written a day, "
                f"{spent.written_bytes / spent.batches / ROWS_A_BATCH:.0f} bytes a row"
            )
            print(cut_the_power(ops, options.cuts, parent))
        faketime = faketime_library()
        if faketime is None:
            print("NOT RUN: clock (libfaketime is not installed)")
        else:
            for offsets in (AHEAD_AND_BACK, BACK_AND_AHEAD):
                clock = parent / f"clock{offsets[1]}"
                clock.mkdir()
                print(offsets, step_the_clock(clock, faketime, offsets, pause_s=2.0))


if __name__ == "__main__":
    main()
