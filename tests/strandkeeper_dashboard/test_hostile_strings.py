"""Texts of devices and people on every page: no element, attribute or script comes of them.

Each page is made twice, with a hostile and with a harmless text in the same fields, and read by an
HTML parser: both must have the same elements with the same attributes. The texts come into the
record by the real writer, as they are: no page rests on their having been cleaned before.
"""

from __future__ import annotations

import csv
import io
import json
from contextlib import closing
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import invented_station as station
import pytest
from flask.testing import FlaskClient

from strandkeeper.model.ledger import Cable, Strand, StrandUse
from strandkeeper.model.meter_reading import MeterKind, MeterReading
from strandkeeper.model.names import Direction, PortName
from strandkeeper.model.poll import SwitchIdentity
from strandkeeper.model.rework import Rework
from strandkeeper.optics.units import Dbm
from strandkeeper.store import Batch, open_writer
from strandkeeper.store.changes import Changes
from strandkeeper_dashboard import create_app
from strandkeeper_dashboard.record import Door

HARMLESS = "harmless"
PAYLOADS = {
    "script": "<script>alert(1)</script><img src=x onerror=alert(1)>",
    "attribute": "\" onmouseover='alert(1)' x=\"",
    "apostrophe": "' autofocus onfocus=alert(1) '",
    "template": "{{ 7*7 }}{% raw %}%s{0}",
    "address": "javascript:alert(1)",
    "line ends": "x\r\nSet-Cookie: a=b\r\n\r\n<b>",
    "control": "x\x1b[2J\x07\u202e\u2028y\x00",
    "formula": "=1+1",
    "long": "<b>" * 20_000,
}
LINK = "/links/lab-to-pump-house"
PAGES = (
    *("/", LINK, "/links/lab-to-tower", "/findings", "/alerts", "/cables", "/switches", "/about"),
    *(f"{LINK}/rework", f"{LINK}/commission", f"{LINK}/record", "/meter", "/budget"),
    *("/cables/cable?name=shore+cable", "/cables/strand?cable=shore+cable&number=1"),
)
DATA = (
    *("/api/links", "/api/links/lab-to-pump-house", "/api/links/lab-to-pump-house/events"),
    *("/api/links/lab-to-pump-house/trend", "/api/switches", "/api/alerts", "/api/ledger"),
    *("/api/about", "/cables/ledger.json"),
)


def written(path: Path, text: str) -> FlaskClient:
    """Pages over a record in which every text of a device or a person is `text`."""
    now = station.NOW_MS
    station.write(path, hours=1, days=1)
    identity = SwitchIdentity(
        sys_name=text, sys_descr=text, sys_object_id="1.3.6.1.4.1.32473.1", enterprise=32473
    )
    polls = [
        replace(
            poll,
            time_ms=now - 3_000,
            identity=identity,
            error="" if poll.answered else text,
            hint="" if poll.answered else text,
            known_ports=(PortName(text),),
            ports={
                where: replace(
                    port,
                    reader=text,
                    errors_from=text,
                    module_id=text,
                    module_maker=text,
                    module_part=text,
                    remarks=(text, text),
                )
                for where, port in poll.ports.items()
            },
        )
        for poll in station.polls(now)
    ]
    verdicts = [
        replace(
            verdict,
            a=replace(verdict.a, module_id=text),
            b=replace(verdict.b, module_id=text),
            ab=replace(verdict.ab, limits_source=text),
        )
        for verdict in station.verdicts(now)
    ]
    strand = Strand(
        cable="shore cable",
        number=1,
        label=text,
        use=StrandUse.IN_USE,
        link=station.PUMP,
        note=text,
    )
    spare = Strand(cable="shore cable", number=2, label=text, note=text)
    cable = Cable(name="shore cable", strands=2, fibre=text, a=text, b=text, note=text)
    reading = MeterReading(
        id=900, at_ms=now - 3_600_000, who=text, kind=MeterKind.POWER, reading=Dbm(-9.0),
        wavelength_nm=1310, source=text, link=station.PUMP, direction=Direction.AB, note=text,
    )  # fmt: skip
    work = Rework(
        id=901, link=station.PUMP, what=text, who=text, why=text, note=text,
        started_ms=now - 7_200_000, finished_ms=now - 3_600_000,
    )  # fmt: skip
    with closing(open_writer(path, reserve=False)) as writer:
        assert writer.append(Batch(switches=polls, verdicts=verdicts)).written
        writer.change(
            Changes(cables=[cable], strands=[strand, spare], readings=[reading], reworks=[work])
        )
    settings = station.settings(path, station=text)
    app = create_app(settings, Door(path), clock=lambda: now, config_path="station.toml")
    return app.test_client()


class Shape(HTMLParser):
    """The elements of a page with the names of their attributes, and what its scripts hold."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, tuple[str, ...]]] = []
        self.scripts: list[str] = []
        self._in_script = False
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._in_script = tag == "script"
        if tag != "wbr":  # where a long word may be broken: as many as its signs ask for
            self.elements.append((tag, tuple(name for name, _ in attrs)))
        for name, value in attrs:
            if name in ("href", "action", "src"):
                assert not (value or "").lower().startswith("javascript:")

    def handle_endtag(self, tag: str) -> None:
        self._in_script = False

    def handle_data(self, data: str) -> None:
        if self._in_script:
            self.scripts.append(data)

    def handle_comment(self, data: str) -> None:
        self.elements.append(("!", ()))


@pytest.fixture(scope="module")
def harmless(tmp_path_factory: pytest.TempPathFactory) -> FlaskClient:
    return written(tmp_path_factory.mktemp("harmless") / "strandkeeper.db", HARMLESS)


@pytest.mark.parametrize("text", PAYLOADS.values(), ids=PAYLOADS)
def test_pages_data_and_files(text: str, harmless: FlaskClient, tmp_path: Path) -> None:
    client = written(tmp_path / "strandkeeper.db", text)
    harmless = harmless.application.test_client()  # as new as the other: without a cookie
    shown = 0
    for path in PAGES:
        answer, usual = client.get(path), harmless.get(path)
        assert (path, answer.status_code, usual.status_code) == (path, 200, 200)
        assert list(answer.headers.keys()) == list(usual.headers.keys())
        page = answer.get_data(as_text=True)
        assert Shape(page).elements == Shape(usual.get_data(as_text=True)).elements, path
        shown += HARMLESS in usual.get_data(as_text=True)
    assert shown == len(PAGES), "each page shows at least the station's name"
    for path in DATA:
        answer = client.get(path)
        assert answer.status_code == 200, path
        assert answer.mimetype == "application/json"
        json.loads(answer.get_data(as_text=True))
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert client.get("/cables/ledger.json").get_json()["cables"][0]["note"] == text
    for kind, rows in (("strands", 2), ("readings", 1), ("works", 1)):
        table = client.get(f"/cables/{kind}.csv").get_data(as_text=True)
        header, *lines = csv.reader(io.StringIO(table))
        assert [len(line) for line in lines] == [len(header)] * rows
        for cells in lines:
            named = dict(zip(header, cells, strict=True))
            assert not named["note"].startswith(("=", "+", "-", "@", "\t", "\r"))
    header, *lines = csv.reader(io.StringIO(client.get(f"{LINK}/trend.csv").get_data(as_text=True)))
    assert lines
    assert {len(line) for line in lines} == {len(header)}
