"""The process that the store proof kills: appends batches to a record and says which are in.

    store_child.py RECORD append COUNT [PAUSE_S]    numbered batches on the record's own time axis
    store_child.py RECORD clock SECONDS             rows by record time, the wall clock watched
    store_child.py RECORD read                      the newest time that a reader sees

Each acknowledged batch is a line on stdout: batch number, or the row's record time.
"""

from __future__ import annotations

import os
import select
import sys
import time

from strandkeeper.model.names import Direction, End, LinkName, PortName, SwitchName
from strandkeeper.model.poll import LinkEnd, PortIdentity, SwitchPoll
from strandkeeper.model.power import Measured
from strandkeeper.model.reading import Deltas, EndRow, OperStatus, OpticalReading
from strandkeeper.model.verdict import DirectionVerdict, EndState, LinkVerdict
from strandkeeper.optics.units import Db, Dbm
from strandkeeper.store import Batch, RecordWriter, open_reader, open_writer
from strandkeeper.store.migrate import known_steps
from strandkeeper.store.record_time import record_ms, start, watch

LINKS = (LinkName("Lab to pump house"), LinkName("Lab to jetty"))
BEGIN_MS = 1_795_000_200_000
STEP_MS = 20_000


def row(time_ms: int, end: End, number: int) -> EndRow:
    """A row whose figures follow from its number, so that a reader can tell whether it is whole."""
    return EndRow(
        time_ms=time_ms,
        end=end,
        optics=OpticalReading(
            rx=Measured(Dbm(-8 - (number % 1000) / 1000)),
            tx=Measured(Dbm(-5.5)),
            bias_ma=12.5 + (number % 7) * 0.002,
            temp_c=28.0 + (number % 50) / 10,
            vcc_v=3.2971,
        ),
        oper=OperStatus.UP,
        uptime_cs=number * 2000,
        deltas=Deltas(
            in_octets=1_250_000 + number,
            out_octets=980_000,
            in_frames=2_100 + number % 97,
            fcs_errors=int(number % 211 == 0),
            symbol_errors=0,
        ),
    )


def verdict(link: LinkName, time_ms: int, number: int) -> LinkVerdict:
    """A verdict of ordinary size."""
    figures = {
        "rx": Measured(Dbm(-8 - (number % 1000) / 1000)),
        "tx": Measured(Dbm(-5.5)),
        "optics_ms": time_ms,
        "sensitivity": Dbm(-19.0),
        "margin": Db(10.5),
        "loss": Db(2.5),
    }
    return LinkVerdict(
        link=link,
        at_ms=time_ms,
        a=EndState(end=End.A, oper=OperStatus.UP, temp_c=28.0, bias_ma=12.5),
        b=EndState(end=End.B, oper=OperStatus.UP, temp_c=24.0, bias_ma=12.5),
        ab=DirectionVerdict(direction=Direction.AB, **figures),  # type: ignore[arg-type]
        ba=DirectionVerdict(direction=Direction.BA, **figures),  # type: ignore[arg-type]
        up=True,
    )


def poll(switch: str, time_ms: int) -> SwitchPoll:
    """A poll that was answered."""
    where = LinkEnd(LINKS[0], End.A)
    return SwitchPoll(
        switch=SwitchName(switch),
        time_ms=time_ms,
        answered=True,
        ports={where: PortIdentity(port=PortName("Gi1"), if_index=1)},
    )


def batch(number: int, time_ms: int) -> Batch:
    """What a station of two links and three switches writes every 20 s."""
    return Batch(
        rows=[(link, row(time_ms, end, number)) for link in LINKS for end in End],
        verdicts=[verdict(link, time_ms, number) for link in LINKS],
        states={link: number.to_bytes(8, "big") * 512 for link in LINKS},
        switches=[poll(name, time_ms) for name in ("lab", "pump-house", "jetty")],
    )


def append(writer: RecordWriter, count: int, pause_s: float) -> None:
    """Batches numbered on from the newest one in the file."""
    newest = writer.newest_ms()
    first = 0 if newest is None else (newest - BEGIN_MS) // STEP_MS + 1
    for number in range(first, first + count):
        outcome = writer.append(batch(number, BEGIN_MS + number * STEP_MS))
        if outcome.written:
            os.write(1, b"%d\n" % number)
        if pause_s:
            time.sleep(pause_s)


def run_by_the_clock(writer: RecordWriter, seconds: float) -> None:
    """One row about every 10 ms by record time, whatever the clock on the wall does meanwhile."""
    change = start(_wall_ms(), _mono_ms(), writer.newest_ms())
    end = time.monotonic() + seconds
    number = 0
    while time.monotonic() < end:
        if change.date_from_ms is not None:
            writer.date_rows(change.date_from_ms, change.date_by_ms, change.date_until_ms)
            os.write(1, b"dated %d %d\n" % (change.date_from_ms, change.date_by_ms))
        if change.epoch is not None:
            writer.begin_epoch(change.epoch)
        now = record_ms(change.clock, _mono_ms())
        writer.append(Batch(rows=[(LINKS[0], row(now, End.A, number))]))
        os.write(1, b"%d %d\n" % (number, now))
        number += 1
        select.select([], [], [], 0.01)  # libfaketime breaks time.sleep, which waits for an instant
        change = watch(change.clock, _wall_ms(), _mono_ms())


def _wall_ms() -> int:
    return time.time_ns() // 1_000_000


def _mono_ms() -> int:
    return time.monotonic_ns() // 1_000_000


def become(user: str) -> None:
    """Give up root for `uid:gid`, after everything was imported: Python may lie in root's home."""
    known_steps()
    uid, gid = (int(number) for number in user.split(":"))
    os.setgroups([])
    os.setgid(gid)
    os.setuid(uid)
    os.umask(0o007)


def main() -> None:
    """See above."""
    if "STORE_CHILD_USER" in os.environ:
        become(os.environ["STORE_CHILD_USER"])
    record, what, *rest = sys.argv[1:]
    if what == "read":
        reader = open_reader(record)
        print(reader.newest_ms(), reader.data_version())
        reader.close()
        return
    writer = open_writer(record, reserve=False)
    if what == "append":
        append(writer, int(rest[0]), float(rest[1]) if rest[1:] else 0.0)
    else:
        run_by_the_clock(writer, float(rest[0]))
    writer.close()


if __name__ == "__main__":
    main()
