"""What the pages cost on a long record: each page beside the smallest one, in the same run.

    python tests/bench/dashboard_pages.py [--days 365] [--links 10] [--rounds 30]

A real record file with a reading of each end every five minutes, so that the summaries are as many
as with one every 30 s (pages beyond two hours read only summaries); the pages are made by the
application itself, without the network. CPU time of this process. A page may weigh 300 kB without
the plot script.
"""

from __future__ import annotations

import argparse
import statistics
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from flask.testing import FlaskClient

from strandkeeper.model.link import Link, PortEnd
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.power import Measured
from strandkeeper.model.reading import Deltas, EndRow, OperStatus, OpticalReading
from strandkeeper.model.settings import Settings, StoreSettings
from strandkeeper.model.stats import DAY_S, HOUR_S, PeriodStat
from strandkeeper.model.verdict import DirectionVerdict, EndState, LinkVerdict
from strandkeeper.optics.units import Db, Dbm
from strandkeeper.store import Batch, RecordWriter, open_writer
from strandkeeper_dashboard import create_app
from strandkeeper_dashboard.record import Door

NOW_MS = 1_795_600_200_000
DAY_MS = 86_400_000
STEP_MS = 300_000
RANGES = ("1h", "6h", "1d", "1w", "1month", "1year", "all")


def _row(time_ms: int, end: End) -> EndRow:
    wobble = time_ms // STEP_MS % 100 / 1000
    return EndRow(
        time_ms=time_ms,
        end=end,
        optics=OpticalReading(
            rx=Measured(Dbm(-8 - wobble)), tx=Measured(Dbm(-5.5)), bias_ma=12.5, temp_c=28.0
        ),
        oper=OperStatus.UP,
        uptime_cs=time_ms // 10 % (1 << 32),
        deltas=Deltas(in_frames=2_100, fcs_errors=int(time_ms // STEP_MS % 211 == 0)),
    )


def _rows(links: list[Link], days: int) -> Iterator[list[tuple[LinkName, EndRow]]]:
    for start in range(NOW_MS - days * DAY_MS, NOW_MS, DAY_MS):
        yield [
            (link.name, _row(time_ms, end))
            for time_ms in range(start, start + DAY_MS, STEP_MS)
            for link in links
            for end in End
        ]


def _stats(link: Link, days: int) -> list[PeriodStat]:
    return [
        PeriodStat(
            link=link.name,
            direction=way,
            start_ms=start,
            span_s=span_s,
            n=span_s // 30,
            rx_mdbm=-8000,
            tx_mdbm=-5500,
            loss_mdb=2500,
            added_loss_mdb=start // DAY_MS % 50,
            compensated_mdb=0,
            spread_mdb=40,
            sender_temp_cc=3000,
            receiver_temp_cc=3000,
        )
        for way in Direction
        for span_s in (HOUR_S, DAY_S)
        for start in range(
            (NOW_MS - days * DAY_MS) // DAY_MS * DAY_MS, NOW_MS - span_s * 1000, span_s * 1000
        )
    ]


def _verdict(link: Link) -> LinkVerdict:
    ways = [
        DirectionVerdict(
            direction=way,
            rx=Measured(Dbm(-8)),
            tx=Measured(Dbm(-5.5)),
            optics_ms=NOW_MS - 9_000,
            sensitivity=Dbm(-19.5),
            overload=Dbm(-3),
            margin=Db(11.5),
            headroom=Db(5),
            loss=Db(2.5),
            planned_loss=Db(1.6),
        )
        for way in Direction
    ]
    return LinkVerdict(
        link=link.name,
        at_ms=NOW_MS - 4_000,
        a=EndState(end=End.A),
        b=EndState(end=End.B),
        ab=ways[0],
        ba=ways[1],
        up=True,
    )


def _write(writer: RecordWriter, links: list[Link], days: int) -> None:
    for rows in _rows(links, days):
        writer.append(Batch(rows=rows))
    for link in links:
        writer.append(Batch(stats=_stats(link, days), verdicts=[_verdict(link)]))


def _cpu_ms(client: FlaskClient, path: str, rounds: int) -> tuple[float, float, int]:
    """Median and 95th of a hundred in CPU ms, and the page's bytes."""
    spent, weight = [], 0
    for _ in range(rounds):
        begun = time.process_time()
        response = client.get(path)
        weight = len(response.data)
        spent.append((time.process_time() - begun) * 1000)
        if response.status_code != 200:
            raise SystemExit(f"{path} answered {response.status_code}")
    return statistics.median(spent), statistics.quantiles(spent, n=20)[-1], weight


def main() -> None:
    """Write the record, then measure."""
    parser = argparse.ArgumentParser(description="What the pages cost on a long record.")
    parser.add_argument("--days", type=int, default=365, help="length of the record [days]")
    parser.add_argument("--links", type=int, default=10, help="links in the record")
    parser.add_argument("--rounds", type=int, default=30, help="how often each page is asked for")
    given = parser.parse_args()
    links = [
        Link(name=LinkName(f"Link {n}"), a=PortEnd(name="Lab"), b=PortEnd(name=f"Hut {n}"))
        for n in range(given.links)
    ]
    with tempfile.TemporaryDirectory() as directory:
        path = Path(directory) / "record.db"
        writer = open_writer(path, reserve=False)
        _write(writer, links, given.days)
        writer.close()
        print(f"{given.links} links, {given.days} days, {path.stat().st_size / 1e6:.0f} MB")
        settings = Settings(
            station="bench", switches=(), links=tuple(links), store=StoreSettings(path=str(path))
        )
        client = create_app(settings, Door(path), clock=lambda: NOW_MS).test_client()
        pages = ["/about", "/api/live", "/"]
        pages += [f"/links/link-3?range={name}" for name in RANGES]
        pages += [f"/api/links/link-3/trend?range={name}" for name in RANGES]
        client.get("/links/link-3")  # compiled templates and the script's tag are no page's cost
        base = _cpu_ms(client, "/about", given.rounds)[0]
        print(f"{'page':<40}{'median':>9}{'95 %':>9}{'x about':>9}{'kB':>7}")
        for page in pages:
            median, high, weight = _cpu_ms(client, page, given.rounds)
            print(f"{page:<40}{median:9.1f}{high:9.1f}{median / base:9.1f}{weight / 1000:7.0f}")


if __name__ == "__main__":
    main()
