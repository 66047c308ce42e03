"""The scrape page over real HTTP, and promtool's opinion of it."""

from __future__ import annotations

import shutil
import subprocess
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from dataclasses import replace

import pytest

from strandkeeper.alerts.calm import Calm
from strandkeeper.alerts.flap_penalty import Penalty
from strandkeeper.errors import OperatorError
from strandkeeper.jobs.deliver_outbox import TargetCounts
from strandkeeper.metrics.alert_families import AlertSnapshot
from strandkeeper.metrics.families import DaemonCounts, Snapshot
from strandkeeper.metrics.server import MetricsServer
from strandkeeper.model.alert import Alert, AlertState
from strandkeeper.model.finding import Finding, FindingKind, Severity
from strandkeeper.model.names import Direction, End, LinkName, SwitchName
from strandkeeper.model.poll import SwitchPoll
from strandkeeper.model.power import NO_LIGHT, Measured
from strandkeeper.model.reading import OperStatus
from strandkeeper.model.settings import Address
from strandkeeper.model.verdict import DirectionVerdict, EndState, Interval, LinkVerdict
from strandkeeper.optics.units import Db, Dbm

HERE = Address(host="127.0.0.1", port=0)
NAME = LinkName('Lab "1" \\ Pump\nhouse')
VERDICT = LinkVerdict(
    link=NAME,
    at_ms=1_000,
    up=True,
    a=EndState(end=End.A, oper=OperStatus.UP, temp_c=31.5, bias_ma=20.0, vcc_v=3.3),
    b=EndState(end=End.B),
    ab=DirectionVerdict(
        direction=Direction.AB,
        rx=Measured(Dbm(-12.5)),
        tx=Measured(Dbm(-6.0)),
        optics_ms=1_000,
        margin=Db(7.0),
        headroom=Db(9.5),
        loss=Db(6.5),
        added_loss=Interval(value=0.2, low=0.0, high=0.4),
    ),
    ba=DirectionVerdict(direction=Direction.BA, rx=NO_LIGHT),
    findings=(
        Finding(
            link=NAME,
            kind=FindingKind.LIGHT_LOST,
            severity=Severity.URGENT,
            since_ms=0,
            direction=Direction.BA,
        ),
    ),
)
SNAPSHOT = Snapshot(
    version="0",
    verdicts=(VERDICT,),
    switches={
        SwitchName("lab"): SwitchPoll(
            switch=SwitchName("lab"), time_ms=0, answered=True, round_trip_ms=4.0
        )
    },
    counts=DaemonCounts(polls={(SwitchName("lab"), True): 3}),
    last_batch_s=1.5,
)


@pytest.fixture
def address() -> Iterator[str]:
    server = MetricsServer(HERE, lambda: SNAPSHOT, lambda: False)
    server.start()
    yield f"http://127.0.0.1:{server.port}"
    server.stop()


def _get(url: str) -> str:
    with urllib.request.urlopen(url, timeout=5) as answer:
        return str(answer.read().decode())


def test_figures_that_are_known_are_there_and_no_light_is_no_figure(address: str) -> None:
    page = _get(f"{address}/metrics")
    link = 'link="Lab \\"1\\" \\\\ Pump\\nhouse"'
    assert f'strandkeeper_receive_power_dbm{{direction="ab",{link}}} -12.5' in page
    assert f'strandkeeper_margin_db{{direction="ab",{link}}} 7.0' in page
    assert f'strandkeeper_no_light{{direction="ba",{link}}} 1.0' in page
    assert f'strandkeeper_receive_power_dbm{{direction="ba",{link}}}' not in page
    assert 'strandkeeper_polls_total{outcome="answered",switch="lab"} 3.0' in page


def test_health_is_what_the_daemon_says(address: str) -> None:
    with pytest.raises(urllib.error.HTTPError, match="503") as caught:
        _get(f"{address}/healthz")
    caught.value.close()


def test_a_link_that_is_gone_leaves_no_series() -> None:
    shot = SNAPSHOT
    server = MetricsServer(HERE, lambda: shot, lambda: True)
    server.start()
    try:
        shot = replace(SNAPSHOT, verdicts=())
        assert "strandkeeper_margin_db{" not in _get(f"http://127.0.0.1:{server.port}/metrics")
    finally:
        server.stop()


def test_whoever_asks_without_end_gets_the_same_figures_and_no_more_than_so_many_answers() -> None:
    made: list[float] = []

    def snapshot() -> Snapshot:
        made.append(time.monotonic())
        return replace(SNAPSHOT, version=f"0.{len(made)}")

    server = MetricsServer(HERE, snapshot, lambda: True, fresh_s=0.5, apart_s=0.05)
    server.start()
    try:
        began_s = time.monotonic()
        texts = [_get(f"http://127.0.0.1:{server.port}/metrics") for _ in range(6)]
        assert time.monotonic() - began_s >= 5 * 0.05
        assert "0.1" in texts[0]
        while len(made) < 2:  # they are made anew, but not before half a second is over
            _get(f"http://127.0.0.1:{server.port}/metrics")
        assert made[1] - made[0] >= 0.5
        assert _get(f"http://127.0.0.1:{server.port}/healthz") == "ok\n"
    finally:
        server.stop()


def test_another_format_is_another_answer() -> None:
    server = MetricsServer(HERE, lambda: SNAPSHOT, lambda: True, fresh_s=60.0, apart_s=0.0)
    server.start()
    try:
        where = f"http://127.0.0.1:{server.port}/metrics"
        plain = _get(where)
        asked = urllib.request.Request(where, headers={"Accept": "application/openmetrics-text"})
        with urllib.request.urlopen(asked, timeout=5) as answer:
            assert answer.read().endswith(b"# EOF\n")
        assert not plain.endswith("# EOF\n")
        assert _get(where) == plain
    finally:
        server.stop()


def test_a_taken_port_is_said_with_what_to_do() -> None:
    server = MetricsServer(HERE, lambda: SNAPSHOT, lambda: True)
    server.start()
    try:
        with pytest.raises(OperatorError) as caught:
            MetricsServer(Address(host="127.0.0.1", port=server.port), lambda: SNAPSHOT, bool)
        assert str(caught.value) == (
            f"metrics: cannot listen on 127.0.0.1 port {server.port}: Address already in use\n"
            "  choose another [metrics] port in the configuration, or stop what uses it"
        )
    finally:
        server.stop()


def test_open_alerts_and_ways_out_are_figures_that_promtool_likes() -> None:
    finding = Finding(
        link=LinkName("shore"), kind=FindingKind.LINK_DOWN, severity=Severity.URGENT, since_ms=0
    )
    alert = Alert(
        number=1,
        finding=finding,
        state=AlertState.FIRING,
        began_ms=0,
        changed_ms=0,
        held_from_ms=0,
    )
    calm = Calm(
        penalty=Penalty(merit=3.5, held_back=True), released_in_s=90.0, downs_24h=4, downs_14d=90
    )
    shot = AlertSnapshot(
        alerts=(alert,),
        calm={LinkName("shore"): calm},
        waiting={"phone": 2},
        targets={"phone": TargetCounts(delivered=5, failed=3, trouble="down")},
        heartbeats_failed=1,
        traps={"taken": 7, "stranger": 1},
    )
    snapshot = Snapshot(version="t", verdicts=(), switches={}, counts=DaemonCounts(), alerts=shot)
    server = MetricsServer(HERE, lambda: snapshot, lambda: True)
    server.start()
    try:
        page = _get(f"http://127.0.0.1:{server.port}/metrics")
    finally:
        server.stop()
    for line in (
        'strandkeeper_alert{direction="",end="",kind="link-down",link="shore",severity="urgent",'
        'state="firing"} 1.0',
        'strandkeeper_flap_penalty{link="shore"} 3.5',
        'strandkeeper_flaps_24h{link="shore"} 4.0',
        'strandkeeper_flaps_14d{link="shore"} 90.0',
        'strandkeeper_flap_released_in_seconds{link="shore"} 90.0',
        'strandkeeper_messages_waiting{target="phone"} 2.0',
        'strandkeeper_target_reached{target="phone"} 0.0',
        'strandkeeper_traps_total{outcome="taken"} 7.0',
    ):
        assert line in page
    if shutil.which("promtool") is not None:
        done = subprocess.run(
            ["promtool", "check", "metrics"],
            input=page,
            capture_output=True,
            text=True,
            check=False,
        )
        assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


@pytest.mark.skipif(shutil.which("promtool") is None, reason="NOT RUN: promtool is missing")
def test_promtool_has_nothing_to_say(address: str) -> None:
    page = _get(f"{address}/metrics")
    done = subprocess.run(
        ["promtool", "check", "metrics"], input=page, capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
