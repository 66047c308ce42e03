"""Every text that a device or a person may send, through every way out of the daemon's package.

Each payload is put where the text enters (a datagram, a command's output, a page, an entry, a
file), and what comes out is judged by the reader of that form: a terminal, TOML, CSV, JSON, mail,
Prometheus. The pages have a file of their own in the dashboard's tests.
"""

from __future__ import annotations

import asyncio
import csv
import email.policy
import io
import json
import logging
import sys
import time
import tomllib
from collections.abc import Callable, Iterable
from contextlib import closing
from dataclasses import replace
from email import message_from_bytes
from pathlib import Path

import pytest
from prometheus_client import CollectorRegistry, generate_latest
from prometheus_client.parser import text_string_to_metric_families
from tests.strandkeeper.jobs.small_switch import ENTITY, IF, IFX, SYSTEM, SmallSwitch
from tests.strandkeeper.metrics.test_metrics import SNAPSHOT, VERDICT
from tests.strandkeeper.notify.test_ways_out import DEADLINE_S, MESSAGE, Postbox, smtp
from tests.strandkeeper.optics.pages import a0_page, with_a0_checksums
from tests.strandkeeper.snmp import ber
from tests.strandkeeper.snmp.agents import Agent
from tests.strandkeeper.snmp.ber import Cell

from strandkeeper.alerts.wording_identify import learned_lines
from strandkeeper.app.logging_setup import OneLine
from strandkeeper.cli.main import main
from strandkeeper.config.tomltext import quoted
from strandkeeper.errors import DecodeError, InputError
from strandkeeper.jobs import survey
from strandkeeper.jobs.ask_switch import ask_switch
from strandkeeper.jobs.learn_text import table_text
from strandkeeper.jobs.poll_switch import SwitchPoller
from strandkeeper.jobs.prove import Known
from strandkeeper.jobs.prove_ledger import merge
from strandkeeper.metrics.families import Families
from strandkeeper.model.enterprise_table import IndexPart, parse_unit
from strandkeeper.model.entry import Entry, EntryKind
from strandkeeper.model.identification import Candidate, Figure, Place, Proposal, Sample
from strandkeeper.model.ledger import Strand
from strandkeeper.model.ledger_files import from_csv, from_json, to_csv, to_json, works_to_csv
from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.oid import as_text
from strandkeeper.model.plain_text import defused, one_line, undefused
from strandkeeper.model.poll import LinkEnd, SwitchPoll
from strandkeeper.model.reading import Deltas, EndRow, Quantity
from strandkeeper.model.rework import Rework
from strandkeeper.model.silence import Silence
from strandkeeper.model.switch import CommunityRef, SecretKind, SecretRef, SwitchTarget
from strandkeeper.model.verdict import DirectionVerdict, EndState, LinkVerdict
from strandkeeper.notify.child import send_to_url
from strandkeeper.notify.command import send_to_command
from strandkeeper.notify.system_log import log_line
from strandkeeper.optics.sff8472 import decode_module
from strandkeeper.readers.command_json import decode_command
from strandkeeper.readers.history_csv import read_history
from strandkeeper.readers.module_cells import facts_of_page
from strandkeeper.readers.power_supply import UPS_SCALARS
from strandkeeper.readers.text_cell import folded, read_numbers
from strandkeeper.snmp.credentials import Community
from strandkeeper.snmp.session import SnmpClient
from strandkeeper.store import Batch, open_reader, open_writer
from strandkeeper.store.telling import TellingBatch

PAYLOADS = {
    "script": b"<script>alert(1)</script>",
    "attribute": b"\" onmouseover='alert(1)' x=\"",
    "equals": b"=HYPERLINK(1)",
    "plus": b"+1+1",
    "minus": b"-1+1",
    "at": b"@SUM(1)",
    "tab": b"a\t=1",
    "carriage return": b"a\r=1",
    "apostrophe": b"'=1",
    "forged line": b"x\r\nW strandkeeper.app: all is well\r\nBcc: thief@station.example",
    "label": b'x",link="y\\"} 1\n# TYPE z gauge',
    "toml": b'x"""\n[[switch]]\nname = "thief" # \'\'\'',
    "escape": b"x\x1b[2J\x1b]0;thief\x07\x9b31m",
    "c1": "x\u009b2J\u0085y\u2028z".encode(),
    "bidi": "x\u202eecivres\u2066\u200b".encode(),
    "nul": b"x\0y",
    "no utf-8": b"x\xff\xc3\x28\xed\xa0\x80\xf5",
    "format": b"%s%n{0}{x}%(x)s",
    "long": b"q" * 4000,  # of many cells on the wire; 64 kB are below
}
EVERY = pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
LLDP = (1, 0, 8802, 1, 1, 2, 1)
HARMLESS = b"harmless"
REF = CommunityRef(version="2c", community=SecretRef(kind=SecretKind.FILE, where="look"))


def text_of(payload: bytes) -> str:
    """The payload as a person, a command or a file could give it."""
    return payload.decode("utf-8", "replace")


def assert_fit_for_a_terminal(text: str) -> None:
    assert text
    assert [c for c in text if c != "\n" and not c.isprintable()] == []


def hostile_switch(payload: bytes) -> SmallSwitch:
    """A switch all of whose texts are the payload; its ports' begin with what tells them apart."""
    small = SmallSwitch()
    hostile = Cell(ber.OCTETS, payload)
    for column in (1, 4, 5, 6):
        small.table[(*SYSTEM, column, 0)] = hostile
    for port in (1, 2):
        own = Cell(ber.OCTETS, b"%d" % port + payload)
        for column in ((*IF, 2), (*IFX, 1), (*IFX, 18)):
            small.table[(*column, port)] = own
        small.table[(*LLDP, 3, 7, 1, 2, port)] = ber.integer(5)
        small.table[(*LLDP, 3, 7, 1, 3, port)] = own
        for column, cell in {5: hostile, 6: ber.integer(5), 7: own, 8: own, 9: hostile}.items():
            small.table[(*LLDP, 4, 1, 1, column, 0, port, 1)] = cell
        for column in (2, 7, 8, 9, 10, 11, 12, 13):
            small.table[(*ENTITY, column, small.module(port))] = hostile
    return small


async def run_main(*arguments: str) -> int:
    """The command as a process would run it, beside the loop in which the agent answers."""
    return await asyncio.to_thread(main, arguments)


@EVERY
async def test_survey_and_check(
    payload: bytes,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(survey, "PAUSE_S", 0.0)  # the pause spares real switches
    (tmp_path / "look").write_text("look\n", encoding="utf-8")
    file = tmp_path / "station.toml"
    async with Agent(hostile_switch(payload).table) as agent:
        host = f"127.0.0.1:{agent.address[1]}"
        way = ("--community-file", str(tmp_path / "look"))
        assert await run_main("survey", host, *way) == 0
        text = capsys.readouterr().out
        assert await run_main("survey", host, *way, "-o", str(file)) == 0
        assert_fit_for_a_terminal(capsys.readouterr().out)
        assert_fit_for_a_terminal(text)
        assert file.read_text(encoding="utf-8") == text
        parsed = tomllib.loads(text)
        assert set(parsed) == {"station", "switch"}
        (switch,) = parsed["switch"]
        assert set(switch) == {"name", "host", "port", "snmp"}
        assert switch["host"] == "127.0.0.1"
        await run_main("check", str(file))
        said = capsys.readouterr().out
        assert said.endswith(
            "One thing to mend:\n  - no link is configured, so nothing is watched: add a [[link]]\n"
        )
        assert_fit_for_a_terminal(said)

        port = as_text(b"1" + payload)
        link = '\n[[link]]\nname = "Shore"\nb = { name = "B" }\n'
        end = f'a = {{ name = "A", switch = {quoted(switch["name"])}, port = {quoted(port)} }}\n'
        file.write_text(text + link + end, encoding="utf-8")
        await run_main("check", str(file))
    said = capsys.readouterr().out
    assert f"port {port}: found" in said
    assert_fit_for_a_terminal(said)


def neighbour(payload: bytes, own: bytes, other: bytes) -> SmallSwitch:
    """A hostile switch that hears another such one, by their names, on port 1 alone."""
    small = hostile_switch(payload)
    small.table[(*SYSTEM, 5, 0)] = Cell(ber.OCTETS, own + payload)
    del small.table[(*LLDP, 4, 1, 1, 5, 0, 1, 1)]
    small.table[(*LLDP, 4, 1, 1, 9, 0, 1, 1)] = Cell(ber.OCTETS, other + payload)
    return small


@EVERY
async def test_a_link_that_two_neighbours_tell_of(
    payload: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What they call themselves and their ports stands in strings and comments of the file."""
    (tmp_path / "look").write_text("look\n", encoding="utf-8")
    async with (
        Agent(neighbour(payload, b"A", b"B").table) as one,
        Agent(neighbour(payload, b"B", b"A").table) as two,
    ):
        hosts = [f"127.0.0.1:{agent.address[1]}" for agent in (one, two)]
        way = ("--community-file", str(tmp_path / "look"))
        assert await run_main("survey", *hosts, *way) == 0
    text = capsys.readouterr().out
    assert_fit_for_a_terminal(text)
    parsed = tomllib.loads(text)
    assert set(parsed) == {"station", "switch", "link"}
    assert len(parsed["switch"]) == 2
    (link,) = parsed["link"]
    assert {"name", "a", "b"} <= set(link) <= {"name", "a", "b", "strands", "fibre"}
    port = as_text(b"1" + payload)
    names = [switch["name"] for switch in parsed["switch"]]
    for end, name in zip("ab", names, strict=True):
        assert set(link[end]) <= {"name", "switch", "port", "pmd"}
        assert (link[end]["switch"], link[end]["port"]) == (name, port)


@EVERY
async def test_an_uninterruptible_supply(payload: bytes) -> None:
    """RFC 1628: its states are numbers, and a text in their place is none of its words."""
    switch = hostile_switch(payload)
    for oid in UPS_SCALARS:
        switch.table[oid] = Cell(ber.OCTETS, payload)
    identity = (1, 3, 6, 1, 2, 1, 33, 1, 1)  # upsIdent: maker, model, versions, name, attached
    for column in range(1, 7):
        switch.table[(*identity, column, 0)] = Cell(ber.OCTETS, payload)
    async with Agent(switch.table) as agent:
        target = SwitchTarget(
            name=SwitchName("lab"), host="127.0.0.1", port=agent.address[1], credentials=REF
        )
        client = SnmpClient([(target, Community(version="2c", text="look"))])
        await client.start()
        try:
            poller = SwitchPoller(
                client, target.name, {LinkEnd(LinkName("Shore"), End.A): PortName("x")}
            )
            texts = await poller.poll(1, optics=True)
            for n, oid in enumerate(UPS_SCALARS, start=2):
                switch.table[oid] = ber.integer(n)
            numbers = await poller.poll(40_000, optics=True)
        finally:
            await client.close()
    assert texts.power is None
    assert numbers.power is None or numbers.power.words.isprintable()


@EVERY
def test_what_was_learned_of_a_switch(payload: bytes) -> None:
    """Names and words of a switch in a proposal: comments all, and one table once adopted."""
    said = text_of(payload)
    candidate = Candidate(
        quantity=Quantity.RX,
        place=Place((1, 3, 6, 1, 4, 1, 32473, 1), said),
        unit=parse_unit("0.01 dBm"),
        probability=0.9,
        samples=(Sample((1,), as_text(payload), -7.0),),
    )
    proposal = Proposal(
        entry=(1, 3, 6, 1, 4, 1, 32473),
        index=(IndexPart.PORT, IndexPart.KIND),
        figures=(Figure(quantity=Quantity.RX, ranked=(candidate, candidate)),),
        probability=0.9,
        kind_oid=(1, 3, 6, 1, 4, 1, 32473, 2),
        port_name=said,
        no_light=(said,),
        not_there=(said, -1),
    )
    lines = table_text(proposal, said)
    assert_fit_for_a_terminal(lines)
    assert [line for line in lines.splitlines() if not line.startswith("#")] == []
    adopted = "".join(line.removeprefix("#") + "\n" for line in lines.splitlines())
    (table,) = tomllib.loads(adopted)["table"]
    in_toml = said.replace("\ud800", "\ufffd")
    assert (table["name"], table["no_light"]) == (in_toml, [in_toml])
    assert_fit_for_a_terminal("\n".join(learned_lines([proposal])))


async def polled(payload: bytes) -> SwitchPoll:
    """What the real poller makes of the switch, as a poll of the link's end A."""
    async with Agent(hostile_switch(payload).table) as agent:
        target = SwitchTarget(
            name=SwitchName("lab"), host="127.0.0.1", port=agent.address[1], credentials=REF
        )
        client = SnmpClient([(target, Community(version="2c", text="look"))])
        await client.start()
        try:
            port = PortName(as_text(b"1" + payload))
            report = await ask_switch(client, target.name, [port])
        finally:
            await client.close()
    (found,) = report.ports
    assert found.identity is not None
    assert found.reading is not None
    return SwitchPoll(
        switch=target.name,
        time_ms=time.time_ns() // 1_000_000,
        answered=True,
        identity=report.identity,
        ports={LinkEnd(LinkName("Shore"), End.A): found.identity},
        known_ports=report.known_ports,
    )


def texts_in(value: object) -> Iterable[str]:
    """Every text in a tree of JSON, keys too."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, item in value.items():
            yield from texts_in(key)
            yield from texts_in(item)
    elif isinstance(value, list):
        for item in value:
            yield from texts_in(item)


CONFIG = """
station = "Shore station"
[[switch]]
name = "lab"
host = "192.0.2.10"
snmp = { version = "2c", community_file = "x" }
[[link]]
name = "Shore"
a = { name = "Lab", switch = "lab", port = "Gi1" }
b = { name = "Pump house" }
"""


@EVERY
async def test_status_alerts_and_history_out_of_the_record(
    payload: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    config = tmp_path / "station.toml"
    config.write_text(CONFIG, encoding="utf-8")
    poll = await polled(payload)
    (identity,) = poll.ports.values()
    assert_fit_for_a_terminal(f"{identity.module}{poll.identity.sys_name}{identity.remarks}")
    link = LinkName("Shore")
    verdict = LinkVerdict(
        link=link,
        at_ms=poll.time_ms,
        a=EndState(end=End.A, module_id=identity.module_id),
        b=EndState(end=End.B, managed=False),
        ab=DirectionVerdict(direction=VERDICT.ab.direction),
        ba=DirectionVerdict(direction=VERDICT.ba.direction),
    )
    row = EndRow(time_ms=poll.time_ms, end=End.A, module_id=identity.module_id, deltas=Deltas())
    with closing(open_writer(tmp_path / "strandkeeper.db", reserve=False)) as writer:
        batch = Batch(rows=[(link, row)], verdicts=[verdict], switches=[poll])
        assert writer.append(batch).written
        telling, _ = writer.telling()
        who = asked_by(tmp_path / "strandkeeper.db", text_of(payload))
        telling.write(
            TellingBatch(silences=[Silence(link=link, from_ms=0, until_ms=1 << 45, who=who)])
        )
    for command in (["status"], ["status", "Shore"], ["alerts"]):
        name, *rest = command
        assert await run_main(name, str(config), *rest) == 0
        assert_fit_for_a_terminal(capsys.readouterr().out)
    for name in ("status", "alerts"):
        assert await run_main(name, str(config), "--json") == 0
        out = capsys.readouterr().out
        assert out.count("\n") == 1
        for text in texts_in(json.loads(out)):
            assert text.isprintable()
    assert await run_main("history", str(config), "Shore", "--csv") == 0
    out = capsys.readouterr().out
    assert_fit_for_a_terminal(out)
    header, cells = csv.reader(io.StringIO(out))
    assert len(header) == len(cells)
    module = cells[header.index("module_id")]
    assert not module.startswith(("=", "+", "-", "@", "\t", "\r"))
    assert undefused(module) == identity.module_id
    (again,) = read_history(io.StringIO(out))
    assert again.module_id == identity.module_id


def asked_by(path: Path, who: str) -> str:
    """The name of who asks, as it stands in the record."""
    with closing(open_reader(path)) as reader:
        reader.append_entry(Entry(kind=EntryKind.MUTE, who=who, payload={}), 0)
        (stored,) = reader.entries(kind=EntryKind.MUTE)
    return stored.entry.who


@EVERY
def test_the_owners_command(payload: bytes, tmp_path: Path) -> None:
    said = text_of(payload)[:90]
    port = {"rx_dbm": -7.1, "module_id": said, "maker": said, "part": said}
    answer = decode_command(json.dumps({"ports": {"Gi1": port, said: {said: 1}, "Gi2": said}}))
    assert len(answer.problems) == 2
    for problem in answer.problems:
        assert_fit_for_a_terminal(problem)
    sample = answer.ports["Gi1"].sample
    assert_fit_for_a_terminal(str(sample.module_id))
    row = EndRow(time_ms=1, end=End.A, module_id=sample.module_id)
    with closing(open_writer(tmp_path / "s.db", reserve=False)) as writer:
        assert writer.append(Batch(rows=[(LinkName("Shore"), row)])).written


def test_half_a_character_of_the_owners_command_is_no_bar_to_the_record(tmp_path: Path) -> None:
    """JSON can say a lone surrogate (RFC 8259, 8.2), which no file can hold as UTF-8."""
    answer = decode_command('{"ports": {"Gi1": {"module_id": "x\\ud800y"}}}')
    module_id = answer.ports["Gi1"].sample.module_id
    assert module_id == "x y"
    with closing(open_writer(tmp_path / "s.db", reserve=False)) as writer:
        row = EndRow(time_ms=1, end=End.A, module_id=module_id)
        assert writer.append(Batch(rows=[(LinkName("Shore"), row)])).written
        with pytest.raises(InputError, match="what JSON cannot say"):
            reader_entry(tmp_path / "s.db", {"text": "x\ud800y"})


def reader_entry(path: Path, payload: dict[str, object]) -> None:
    with closing(open_reader(path)) as reader:
        reader.append_entry(Entry(kind=EntryKind.NOTE, who="x", payload=payload), 0)


@EVERY
def test_a_modules_serial_page(payload: bytes) -> None:
    said = payload[:16].ljust(16)
    page = bytearray(a0_page())
    page[20:36] = page[40:56] = page[68:84] = said  # maker, part, serial: SFF-8472 table 4-1
    identity = decode_module(with_a0_checksums(page), None).identity
    assert identity is not None
    for text in (identity.vendor, identity.part, identity.serial, *identity.problems):
        assert_fit_for_a_terminal(str(text))
    facts = facts_of_page(identity)
    assert (facts is None) is (not said.decode("latin-1").isprintable() or not said.isascii())


@EVERY
def test_a_cell_of_a_described_table(payload: bytes) -> None:
    """It is a figure or refused; what is said of it can be shown."""
    try:
        assert read_numbers(folded(payload))
    except DecodeError as error:
        assert_fit_for_a_terminal(error.message)


@EVERY
def test_the_ledger(payload: bytes) -> None:
    text = text_of(payload)
    cable = {"name": f"{text}c", "strands": 2, "a": text, "b": text, "fibre": text, "note": text}
    strand = {"cable": one_line(cable["name"]), "number": 1, "label": text, "note": text}  # type: ignore[arg-type]
    changes = merge({"cables": [cable], "strands": [strand]}, Known()).changes
    (entered,), (first, second) = changes.cables, changes.strands
    for said in (entered.name, entered.note, first.label, first.note):
        assert_fit_for_a_terminal(said)
    table = to_csv([first, second])
    assert_sound_csv(table, rows=2)
    (back, _) = from_csv(table)["strands"]  # type: ignore[misc]
    assert (back["cable"], back["label"], back["note"]) == (
        first.cable, first.label, first.note
    )  # fmt: skip
    assert from_json(to_json([entered], [first, second], [], []))["cables"][0]["a"] == entered.a  # type: ignore[index]


@EVERY
def test_csv_of_a_record_whose_texts_were_entered_as_they_came(payload: bytes) -> None:
    """An earlier release kept line ends and control characters in notes."""
    text = text_of(payload)
    assert_sound_csv(to_csv([Strand(cable=text, number=1, label=text, note=text)]), rows=1)
    work = Rework(
        id=1,
        link=LinkName(text),
        what=text,
        who=text,
        started_ms=0,
        why=text,
        note=text,
        cable=text,
    )
    assert_sound_csv(works_to_csv([work]), rows=1)


def assert_sound_csv(text: str, *, rows: int) -> None:
    header, *lines = csv.reader(io.StringIO(text))
    assert [len(line) for line in lines] == [len(header)] * rows
    for cell in (cell for line in lines for cell in line):
        assert cell.isprintable()
        assert not cell.startswith(("=", "+", "-", "@"))


@pytest.mark.parametrize("cell", ["=1", "'=1", "''=1", "''", "'x", "", "x", "\t", "-5", "'-5"])
def test_a_defused_cell_is_read_back_as_it_was(cell: str) -> None:
    assert undefused(defused(cell)) == cell
    assert not defused(cell).startswith(("=", "+", "-", "@", "\t", "\r"))


@EVERY
def test_log_lines(payload: bytes) -> None:
    text = text_of(payload)
    form = OneLine("%(levelname).1s %(name)s: %(message)s")
    record = logging.LogRecord("x.y", logging.WARNING, "", 0, "%s is silent", (text,), None)
    assert form.format(record) == f"W x.y: {one_line(text + ' is silent')}"
    try:
        decode_command(json.dumps({text: {}}) + text)
    except DecodeError as error:
        record.exc_info = (DecodeError, DecodeError(text), error.__traceback__)
    first, *rest = form.format(record).split("\n")
    assert first.isprintable()
    assert len(rest) > 2
    for line in rest:
        assert line.startswith("  ")
        assert line.isprintable()


@pytest.mark.parametrize(
    "payload",
    [PAYLOADS[n] for n in ("forged line", "escape", "bidi")],
)
async def test_mail_has_no_header_that_a_text_has_made(payload: bytes) -> None:
    headers = []
    for said in (payload, HARMLESS):
        text, box = text_of(said), Postbox()
        message = replace(MESSAGE, title=text, text=f"{text}\nNow: {text}", link=text)
        with smtp(box) as url:
            assert (await send_to_url(url, message, DEADLINE_S)).ok
        letter = message_from_bytes(box.letters[0], policy=email.policy.default)
        headers.append(sorted(letter.keys()))
        assert str(letter["Subject"]).split() == one_line(text).split()  # mail folds blanks
        for part in letter.iter_parts():
            assert_fit_for_a_terminal(part.get_content().replace("\r\n", "\n"))
    assert headers[0] == headers[1]


@EVERY
async def test_command_and_system_log(payload: bytes, tmp_path: Path) -> None:
    text = text_of(payload)
    message = replace(MESSAGE, title=text, text=f"{text}\nNow: {text}", link=text)
    line = log_line(message, 7).decode()
    assert line.startswith("<26>strandkeeper[7]: ")
    assert line.isprintable()
    kept = tmp_path / "kept"
    keep = "import sys, pathlib; pathlib.Path(sys.argv[1]).write_bytes(sys.stdin.buffer.read())"
    assert (await send_to_command([sys.executable, "-c", keep, str(kept)], message, 20.0)).ok
    data = kept.read_bytes()
    assert data.count(b"\n") == 1
    assert json.loads(data)["title"] == text


@EVERY
def test_metrics(payload: bytes) -> None:
    """As many series as with a harmless name, and the names read back as they were."""
    text = text_of(payload)

    def scraped(name: str) -> list[tuple[str, dict[str, str], float]]:
        verdict = replace(VERDICT, link=LinkName(name))
        poll = replace(next(iter(SNAPSHOT.switches.values())), switch=SwitchName(name))
        shot = replace(SNAPSHOT, verdicts=(verdict,), switches={SwitchName(name): poll})
        registry = CollectorRegistry()
        registry.register(Families(lambda: shot))
        page = generate_latest(registry).decode()
        return [
            (s.name, s.labels, s.value)
            for family in text_string_to_metric_families(page)
            for s in family.samples
        ]

    found, usual = scraped(text), scraped("harmless")
    assert [(name, list(labels)) for name, labels, _ in found] == [
        (name, list(labels)) for name, labels, _ in usual
    ]
    assert {labels["link"] for _, labels, _ in found if "link" in labels} == {text}


@pytest.mark.parametrize("size", [65_536, 1 << 20])
@pytest.mark.parametrize("read", [as_text, folded])
def test_a_long_text_costs_no_more_than_its_length(size: int, read: Callable[[bytes], str]) -> None:
    assert len(read(b"\x1bq" * (size // 2))) <= size
