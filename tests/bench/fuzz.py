"""Spoilt input to everything that reads what others wrote, for so many seconds each.

    python -m tests.bench.fuzz [--seconds 10] [--seed 1] [--only NAME]

A plain mutating fuzzer: seeds as their senders write them, spoilt by flipping, cutting, doubling,
swapping and telling figures at their limits. An input may be refused by the one error that the
reader names; anything else that comes out of it, and an input that takes longer than a second, is
a finding. Printed: inputs and findings by target, and each finding with an input that shows it.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import logging
import random
import socket
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tests.strandkeeper.jobs.small_switch import SmallSwitch
from tests.strandkeeper.optics.pages import a0_page, a2_page
from tests.strandkeeper.snmp import ber
from tests.strandkeeper.snmp.agents import Agent

from strandkeeper.analysis import engine
from strandkeeper.analysis.state_codec import encode
from strandkeeper.config.load import loads, starter_text
from strandkeeper.errors import ConfigError, DecodeError, DeviceError, InputError
from strandkeeper.jobs.entries import decide
from strandkeeper.model import ledger_files
from strandkeeper.model.entry import Entry, EntryKind, StoredEntry
from strandkeeper.model.names import LinkName, SwitchName
from strandkeeper.model.switch import CommunityRef, SecretKind, SecretRef, SwitchTarget
from strandkeeper.optics.sff8472 import decode_module, pages_from_bytes
from strandkeeper.readers.history_csv import read_history
from strandkeeper.readers.text_cell import folded, read_numbers
from strandkeeper.snmp.credentials import Community
from strandkeeper.snmp.gate import MOST_DECODED
from strandkeeper.snmp.peek import glance
from strandkeeper.snmp.session import SnmpClient
from strandkeeper.snmp.trap_decode import claim_of
from strandkeeper.snmp.traps import TrapListener, TrapSource

SLOW_S = 1.0
SETTING = ("1795600000000", "30", "a", "2026-11-01")  # times, spans, ends, days
ROOT = Path(__file__).parents[2]
FIGURES = ("0", "-1", "1e309", "nan", "-0", "9" * 40, "2147483648", "18446744073709551616", "٣", "")
OCTETS = (b"\0", b"\xff", b"\x80", b"\x7f", b"\x30\x84\xff\xff\xff\xff", b"\x1b[2J", b"\r\n")


@dataclass
class Tally:
    """What came of one target; findings by where they happened, each with one input."""

    name: str
    inputs: int = 0
    findings: dict[str, str] = field(default_factory=dict)

    def note(self, where: str, data: object) -> None:
        """Keep one input of each kind of finding."""
        self.findings.setdefault(where, repr(data)[:300])


def spoilt(seed: bytes, dice: random.Random) -> bytes:
    """The seed with one to four faults."""
    data = bytearray(seed)
    for _ in range(dice.randint(1, 4)):
        at = dice.randrange(len(data) + 1)
        to = min(len(data), at + dice.choice((1, 1, 2, 4, 16, 200)))
        match dice.randrange(8):
            case 0 if data:
                data[at % len(data)] ^= 1 << dice.randrange(8)
            case 1 if data:
                data[at % len(data)] = dice.randrange(256)
            case 2:
                del data[at:to]
            case 3:
                data[at:at] = data[at:to] * dice.choice((1, 2, 50))
            case 4:
                data[at:at] = dice.choice(OCTETS)
            case 5:
                data[at:to] = dice.choice(FIGURES).encode()
            case 6:
                other = dice.randrange(len(data) + 1)
                data[at:to], data[other:other] = b"", data[at:to]
            case _:
                del data[at:]
    return bytes(data[:65_000])


Reader = Callable[[bytes], object]


@dataclass(frozen=True)
class Target:
    """`read` may raise any of `refusals`."""

    name: str
    seeds: Sequence[bytes]
    read: Reader
    refusals: tuple[type[Exception], ...]


def run(target: Target, seconds: float, seed: int, most: int = 10**9) -> Tally:
    """Spoil and read until the time is over or so many inputs were read."""
    dice, tally = random.Random(seed), Tally(target.name)
    end = time.monotonic() + seconds
    while time.monotonic() < end and tally.inputs < most:
        data = spoilt(dice.choice(target.seeds), dice)
        tally.inputs += 1
        begin = time.process_time()
        try:
            target.read(data)
        except target.refusals:
            pass
        except Exception as error:  # noqa: BLE001 that is what is looked for
            tally.note(_where(error), data)
        if time.process_time() - begin > SLOW_S:
            tally.note("slow", data)
    return tally


def _where(error: Exception) -> str:
    """The kind of error and the innermost line of ours."""
    frames = [f for f in traceback.extract_tb(error.__traceback__) if "strandkeeper" in f.filename]
    last = frames[-1] if frames else traceback.extract_tb(error.__traceback__)[-1]
    return f"{type(error).__name__} at {Path(last.filename).name}:{last.lineno}"


# --- what is read ----------------------------------------------------------------------------


def _cells(data: bytes) -> None:
    read_numbers(folded(data))


def _pages(data: bytes) -> None:
    middle = len(data) // 2
    decode_module(data[:middle], data[middle:])
    decode_module(data, None)


def _configuration(data: bytes) -> None:
    loads(data.decode("utf-8", "replace"), base=Path("/nowhere"))


def _history(data: bytes) -> None:
    for _ in read_history(data.decode("utf-8", "replace").splitlines(keepends=True)):
        pass


def _ledger_csv(data: bytes) -> None:
    ledger_files.from_csv(data.decode("utf-8", "replace"))


def _ledger_json(data: bytes) -> None:
    ledger_files.from_json(data.decode("utf-8", "replace"))


def _entry(data: bytes) -> None:
    """What lies in the table `entry`, written by a program that may have been taken over."""
    try:
        payload = json.loads(data)
    except (ValueError, RecursionError):
        return
    if isinstance(payload, dict):
        for kind in EntryKind:
            stored = StoredEntry(id=1, entry=Entry(kind=kind, who="x", payload=payload), at_ms=1)
            decide(stored, frozenset({LinkName("a")}), 5)


def _state(data: bytes) -> None:
    engine.decode(data)


def _datagram(data: bytes) -> None:
    glance(data)
    claim_of(data)


HISTORY = """time,end,rx_dbm,tx_dbm,bias_ma,temp_c,vcc_v,oper_status,uptime_s,in_octets,out_octets,\
in_frames,fcs_errors,symbol_errors
2026-03-01T12:00:00Z,a,-8.412,-5.6,12.5,-3.25,3.2971,up,86400.5,1,2,3,4,5
2026-03-01T12:00:10Z,b,no light,,,,,down,86410.5,,,,,
"""
STATION = """[[switch]]
name = "lab"
host = "192.0.2.10"
snmp = { version = "2c", community_file = "lab.community" }
[[link]]
name = "Shore"
length_m = 900
a = { name = "Lab", switch = "lab", port = "Gi1", pmd = "1000BASE-LX10" }
b = { name = "Pump house", pmd = "1000BASE-LX10" }
"""
ENTRIES = (
    b'{"link": "a", "direction": "ab", "text": "x", "until_ms": 5}',
    b'{"alert": 4, "until_ms": 1795000000000, "link": ["a"], "why": {"a": null}}',
)
DOWN = (1, 3, 6, 1, 6, 3, 1, 1, 5, 3)


def _pair(name: ber.Oid, cell: ber.Cell) -> bytes:
    body = ber.tlv(ber.OID_TAG, ber.oid_body(name)) + ber.tlv(cell.tag, cell.body)
    return ber.tlv(ber.SEQUENCE, body)


def _trap(uptime_cs: int) -> bytes:
    """linkDown of port 7 (RFC 3416, 4.2.6; RFC 2863)."""
    pairs = (
        _pair((1, 3, 6, 1, 2, 1, 1, 3, 0), ber.ticks(uptime_cs)),
        _pair((1, 3, 6, 1, 6, 3, 1, 1, 4, 1, 0), ber.Cell(ber.OID_TAG, ber.oid_body(DOWN))),
        _pair((1, 3, 6, 1, 2, 1, 2, 2, 1, 1, 7), ber.integer(7)),
    )
    head = b"\x02\x01\x05\x02\x01\x00\x02\x01\x00"
    pdu = ber.tlv(0xA7, head + ber.tlv(ber.SEQUENCE, b"".join(pairs)))
    return ber.tlv(ber.SEQUENCE, b"\x02\x01\x01\x04\x04look" + pdu)


TRAP = _trap(900)
PAGES = a0_page() + a2_page()


def targets() -> list[Target]:
    """Everything that reads without a socket."""
    strands = b"cable,number,label,colour,length_m,note\nshore,1,a,blue,900,x\n"
    return [
        Target("text cells", (b"-8.4 dBm", b"N/A", "−3.5 µW".encode()), _cells, (DecodeError,)),
        Target("module pages", (PAGES, bytes(512)), _pages, (DecodeError,)),
        Target("page files", (PAGES.hex(" ").encode(), PAGES), pages_from_bytes, (DecodeError,)),
        Target(
            "configuration",
            (STATION.encode(), starter_text().encode()),
            _configuration,
            (ConfigError,),
        ),
        Target("history CSV", (HISTORY.encode(),), _history, (DecodeError,)),
        Target("ledger CSV", (strands,), _ledger_csv, (InputError,)),
        Target(
            "ledger JSON",
            (b'{"cables": [], "strands": [{"number": 1}]}',),
            _ledger_json,
            (InputError,),
        ),
        Target("entries", ENTRIES, _entry, ()),
        Target("states", (encode(engine.LinkState()),), _state, (DecodeError,)),
        Target("datagrams", (TRAP,), _datagram, ()),
    ]


# --- over sockets ----------------------------------------------------------------------------


class Spoiler(Agent):
    """Sends spoilt answers under the number that is awaited, and the true one in the end.

    Of one question no more than MOST_DECODED are decoded, the true one among them.
    """

    dice = random.Random(0)
    inputs = 0

    def _send(self, answer: bytes, source: tuple[str, int]) -> None:
        for _ in range(MOST_DECODED - 1):
            self.inputs += 1
            self._transport.sendto(spoilt(answer, self.dice)[:65_000], source)
        self._transport.sendto(answer, source)


class Complaints(logging.Handler):
    """Log records of errors are findings."""

    def __init__(self, tally: Tally) -> None:
        super().__init__(logging.ERROR)
        self._tally = tally

    def emit(self, record: logging.LogRecord) -> None:
        self._tally.note(f"log: {record.getMessage()[:120]}", record.exc_info)


async def answers(seconds: float, seed: int) -> Tally:
    """SNMP answers over a real socket: the client must end each question, well or in words."""
    tally = Tally("SNMP answers")
    loop = asyncio.get_running_loop()
    loop.set_exception_handler(lambda _, context: tally.note(f"loop: {context}"[:160], ""))
    complaints = Complaints(tally)
    logging.getLogger().addHandler(complaints)
    nobodys = CommunityRef(version="2c", community=SecretRef(kind=SecretKind.FILE, where="unused"))
    async with Spoiler(SmallSwitch().table) as agent:
        agent.dice = random.Random(seed)
        name = SwitchName("s")
        host, port = agent.address
        target = SwitchTarget(
            name=name, host=host, port=port, credentials=nobodys, timeout_s=0.5, retries=0
        )
        client = SnmpClient([(target, Community(version="2c", text="look"))])
        await client.start()
        oids = sorted(agent.table)
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            asked = agent.dice.sample(oids, min(len(oids), agent.dice.randint(1, 20)))
            try:
                await asyncio.wait_for(client.get(name, asked), 20)
            except DeviceError:
                continue
            except Exception as error:  # noqa: BLE001 that is what is looked for
                tally.note(_where(error), asked)
        await client.close()
        tally.inputs = agent.inputs
    logging.getLogger().removeHandler(complaints)
    return tally


async def traps(seconds: float, seed: int) -> Tally:
    """Traps over a real socket: the listener must go on, and take the true one in the end."""
    tally, dice, heard = Tally("traps"), random.Random(seed), []
    loop = asyncio.get_running_loop()
    loop.set_exception_handler(lambda _, context: tally.note(f"loop: {context}"[:160], ""))
    complaints = Complaints(tally)
    logging.getLogger().addHandler(complaints)
    source = TrapSource(
        switch=SwitchName("s"),
        addresses=frozenset({"127.0.0.1"}),
        held=Community(version="2c", text="look"),
    )
    listener = TrapListener(("127.0.0.1", 0), [source], heard.append, rate_per_s=1e6)
    await listener.start()
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sender:
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            for _ in range(20):
                tally.inputs += 1
                sender.sendto(spoilt(TRAP, dice), ("127.0.0.1", listener.port))
            await asyncio.sleep(0.001)
        before = len(heard)
        await asyncio.sleep(2.5)
        sender.sendto(_trap(99_999), ("127.0.0.1", listener.port))
        await asyncio.sleep(1.0)
        if len(heard) <= before:
            tally.note("a true trap is no longer taken", dict(listener.totals()))
    listener.close()
    logging.getLogger().removeHandler(complaints)
    return tally


def pages_over_http(seconds: float, seed: int) -> Tally:
    """Every address of the dashboard with spoilt parts; nothing may be our own error (500)."""
    sys.path.insert(0, str(ROOT / "tests" / "strandkeeper_dashboard"))
    import invented_station as station

    from strandkeeper_dashboard import create_app
    from strandkeeper_dashboard.record import Door

    tally, dice = Tally("HTTP"), random.Random(seed)
    with tempfile.TemporaryDirectory() as place:
        record = Path(place) / "record.db"
        station.write(record)
        app = create_app(
            station.settings(record),
            Door(record),
            clock=lambda: station.NOW_MS,
            config_path="station.toml",
        )
        rules = [str(r) for r in app.url_map.iter_rules() if "static" not in r.rule]
        known = [str(link.name) for link in station.settings(record).links]
        client = app.test_client()
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            tally.inputs += 1
            address = _address(dice, rules, known)
            method = dice.choice(("GET", "GET", "GET", "POST"))
            begin = time.process_time()
            try:
                answer = client.open(address, method=method, data=_form(dice))
                if answer.status_code >= 500:
                    tally.note(f"status {answer.status_code} of {address[:60]}", address)
            except UnicodeError:
                continue  # the test client itself could not say it
            except Exception as error:  # noqa: BLE001 that is what is looked for
                tally.note(_where(error), (method, address))
            if time.process_time() - begin > 5 * SLOW_S:
                tally.note(f"slow: {address[:60]}", address)
    return tally


QUERY = ("from", "to", "days", "width", "at", "end", "page", "link", "direction", "format", "limit")


def _address(dice: random.Random, rules: Sequence[str], known: Sequence[str]) -> str:
    parts = []
    for part in dice.choice(rules).split("/"):
        if not part.startswith("<"):
            parts.append(part)
            continue
        name = dice.choice((*known, "1", "2", "ab", "a")).lower().replace(" ", "-")
        parts.append(name if dice.random() < 0.6 else _text(dice, name))
    pairs = [
        f"{dice.choice(QUERY)}={_text(dice, dice.choice(SETTING))}"
        for _ in range(dice.randrange(4))
    ]
    return "/".join(parts) + ("?" + "&".join(pairs) if pairs else "")


def _text(dice: random.Random, seed: str) -> str:
    from urllib.parse import quote

    return quote(spoilt(seed.encode(), dice)[:2000])


def _form(dice: random.Random) -> dict[str, str]:
    names = ("link", "text", "until", "who", "rx_dbm", "power", "csrf_token", "number", "note")
    return {dice.choice(names): spoilt(b"12.5", dice).decode("latin-1") for _ in range(3)}


def every(seconds: float, seed: int, only: str = "") -> list[Tally]:
    """All targets, or those whose name has `only` in it."""
    made: list[tuple[str, Callable[[], Tally]]] = [
        (t.name, lambda t=t: run(t, seconds, seed))
        for t in targets()  # type: ignore[misc]
    ]
    made += [
        ("SNMP answers", lambda: asyncio.run(answers(seconds, seed))),
        ("traps", lambda: asyncio.run(traps(seconds, seed))),
        ("HTTP", lambda: pages_over_http(seconds, seed)),
    ]
    return [work() for name, work in made if only in name]


def main() -> int:
    """Print the tallies; 1 if there is a finding."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=10.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="")
    given = parser.parse_args()
    logging.disable(logging.WARNING)
    tallies = every(given.seconds, given.seed, given.only)
    print(f"{'read':<16} {'inputs':>9} {'findings':>9}")
    for tally in tallies:
        print(f"{tally.name:<16} {tally.inputs:9} {len(tally.findings):9}")
    for tally in tallies:
        for where, data in tally.findings.items():
            print(f"{tally.name}: {where}\n    {data}")
    return 1 if any(tally.findings for tally in tallies) else 0


if __name__ == "__main__":
    sys.exit(main())
