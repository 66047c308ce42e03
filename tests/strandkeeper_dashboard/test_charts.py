"""The trend's arrays: right values on the shared grid, holes where nothing was read, a plot that
the plot library itself accepts."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import invented_station as station
import plotly.graph_objects as go
import pytest
from flask.testing import FlaskClient

from strandkeeper.model.names import Direction
from strandkeeper.store import open_reader
from strandkeeper_dashboard import trends
from strandkeeper_dashboard.chart import Chart, Line
from strandkeeper_dashboard.trend_drawing import trend_drawing
from strandkeeper_dashboard.trend_table import to_csv, trend_table
from strandkeeper_dashboard.window import window

HOUR_MS = 3_600_000


def chart_of(path: Path, link: str, range_id: str) -> Chart:
    settings = station.settings(path)
    reader = open_reader(path)
    try:
        chosen = next(one for one in settings.links if one.name == link)
        shown = window(range_id, None, None, now_ms=station.NOW_MS, first_ms=None)
        return trends.trend(settings, chosen, reader, shown)
    finally:
        reader.close()


def line(chart: Chart, wanted: str) -> Line:
    return next(one for one in chart.lines if one.id == wanted)


def test_points_are_the_readings_that_were_written(record_path: Path) -> None:
    chart = chart_of(record_path, station.PUMP, "1h")
    light = station.LIGHTS[station.PUMP, station.End.A]
    drawn = dict(zip(chart.t_s, line(chart, "power-ba").values, strict=True))
    known = {t: value for t, value in drawn.items() if value is not None}
    assert len(known) == 120  # an hour, a reading every 30 s
    for t_s, value in known.items():
        written = light.row(chart.t0_ms + t_s * 1000, station.End.A).optics
        assert written is not None
        assert value == round(written.rx.power.value * 1000)  # type: ignore[union-attr]


def test_added_loss_is_loss_less_the_baseline(record_path: Path) -> None:
    # sent -5.2, received -7.4 - 3.6 = -11.0 dBm: loss 5.8 dB; baseline 2.2 dB; 3.6 dB since good
    chart = chart_of(record_path, station.PUMP, "1h")
    values = [v for v in line(chart, "added-ba").values if v is not None]
    assert values
    assert all(abs(v - 3600) <= 300 for v in values)  # ripple and swing: 40 + 220 + 20 mdB


def test_beyond_a_day_added_loss_comes_from_the_closed_hours(record_path: Path) -> None:
    chart = chart_of(record_path, station.PUMP, "1w")
    values = [v for v in line(chart, "added-ba").values if v is not None]
    assert len(values) in (7 * 24 - 1, 7 * 24)
    assert values[-1] >= 3580
    assert abs(values[0]) <= 20


def test_a_year_is_drawn_from_days_and_hourly_summaries(record_path: Path) -> None:
    chart = chart_of(record_path, station.PUMP, "1year")
    assert chart.resolution == "hourly summaries"
    assert len([v for v in line(chart, "added-ab").values if v is not None]) == 120
    assert len(chart.t_s) < 1000


def test_an_end_nobody_can_ask_has_no_line(record_path: Path) -> None:
    chart = chart_of(record_path, station.JETTY, "1d")
    assert not any(v is not None for v in line(chart, "power-ab").values)
    assert any(v is not None for v in line(chart, "power-ba").values)


def test_dark_silent_and_down_are_stretches_not_values(record_path: Path) -> None:
    chart = chart_of(record_path, station.TOWER, "1h")
    kinds = {(span.kind, span.row) for span in chart.spans}
    assert kinds == {("down", 0), ("dark", 0), ("silent", 1)}
    dark = next(span for span in chart.spans if span.kind == "dark")
    begin_s = (station.dark_from_ms(station.NOW_MS) - chart.t0_ms) // 1000
    assert abs(dark.from_s - begin_s) <= 30
    last = max(
        t for t, v in zip(chart.t_s, line(chart, "power-ba").values, strict=True) if v is not None
    )
    assert last < begin_s  # no light is not drawn as a level


def test_alike_limits_are_drawn_once(record_path: Path) -> None:
    chart = chart_of(record_path, station.PUMP, "1d")
    assert [(limit.kind, limit.value) for limit in chart.limits] == [
        ("overload", -3000),
        ("reserve", -13500),  # -19.5 dBm + 6 dB
        ("sensitivity", -19500),
        ("reserve", 6000),  # of what is to spare
        ("good", 0),
    ]


def expand(answer: dict[str, Any], drawn: dict[str, Any]) -> dict[str, Any]:
    """A trace as the browser builds it: its own times, None where a hole is."""
    x: list[int] = []
    y: list[float | None] = []
    start = answer["t0_ms"] + answer["utc_offset_s"] * 1000
    before: int | None = None
    for t, value in zip(answer["t_s"], drawn["values"], strict=True):
        if value is None:
            continue
        if before is not None and t - before > drawn["gap_s"]:
            x.append(start + (before + 1) * 1000)
            y.append(None)
        x.append(start + t * 1000)
        y.append(value / drawn["per_unit"])
        before = t
    return {**drawn["trace"], "x": x, "y": y}


@pytest.mark.parametrize("range_id", ["1h", "1d", "1month", "1year", "all"])
def test_the_plot_library_accepts_every_trace_and_the_layout(
    client: FlaskClient, range_id: str
) -> None:
    answer = client.get(f"/api/links/lab-to-pump-house/trend?range={range_id}").get_json()
    assert all(isinstance(t, int) for t in answer["t_s"])
    for drawn in answer["lines"]:
        assert all(v is None or isinstance(v, int) for v in drawn["values"])
        assert len(drawn["values"]) == len(answer["t_s"])
    figure = go.Figure(
        data=[expand(answer, drawn) for drawn in answer["lines"]], layout=answer["layout"]
    )
    assert {trace.type for trace in figure.data} == {"scatter"}


def test_serving_never_imports_the_plot_library(record_path: Path) -> None:
    script = f"""
import sys
sys.path.insert(0, {str(Path(__file__).parent)!r})
from pathlib import Path
import invented_station as station
from strandkeeper_dashboard import create_app
from strandkeeper_dashboard.record import Door
path = Path({str(record_path)!r})
client = create_app(station.settings(path), Door(path), clock=lambda: station.NOW_MS).test_client()
for page in ("/", "/links/lab-to-pump-house", "/api/links/lab-to-pump-house/trend", "/about"):
    assert client.get(page).status_code == 200, page
loaded = [name for name in sys.modules if name.split(".")[0] in ("plotly", "numpy", "pysnmp")]
assert not loaded, loaded
"""
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=False, timeout=60
    )
    assert done.returncode == 0, done.stderr


def test_the_drawing_on_paper_breaks_where_nothing_was_read(record_path: Path) -> None:
    chart = chart_of(record_path, station.TOWER, "1d")
    power = trend_drawing(chart).panels[0]
    inner = [path.d for path in power.paths]
    # neither receiver saw light in the last 40 minutes of the day: 1000 * (1 - 40/1440) = 972
    for d in inner:
        last = float(d.rsplit("L", 1)[1].split()[0])
        assert last <= 973
    assert power.limits[0][0] == "overload"


def test_table_and_csv_hold_what_the_plot_shows(record_path: Path) -> None:
    chart = chart_of(record_path, station.PUMP, "1d")
    table = trend_table(chart)
    assert len(table.heads) == len(chart.lines) == 12
    damaged = sum(
        int(cells[index])
        for index, one in enumerate(chart.lines)
        if one.id == "errors-a"
        for _time, cells in table.rows
        if cells[index] != "–"
    )
    assert damaged == sum(v or 0 for v in line(chart, "errors-a").values)
    header, *rows = to_csv(chart).splitlines()
    assert header.startswith(
        "time,power_ab_dbm,power_ba_dbm,margin_ab_db,margin_ba_db,added_ab_db,added_ba_db,"
        "errors_a_frames,errors_b_frames,laser_a_ma,laser_b_ma,heat_a_c,heat_b_c"
    )
    assert len(rows) == len(chart.t_s)


def test_directions_are_told_apart_by_more_than_colour(client: FlaskClient) -> None:
    answer = client.get("/api/links/lab-to-pump-house/trend").get_json()
    dashes = {drawn["role"]: drawn["trace"]["line"]["dash"] for drawn in answer["lines"]}
    assert dashes[Direction.AB] != dashes[Direction.BA]


def test_lasers_and_modules_have_their_lines(record_path: Path) -> None:
    chart = chart_of(record_path, station.PUMP, "1h")
    for name, unit in (("laser-a", "mA"), ("heat-a", "°C")):
        one = line(chart, name)
        panel = next(panel for panel in chart.panels if panel.id == one.panel)
        assert panel.unit == unit
        assert any(v is not None for v in one.values)
    written = station.LIGHTS[station.PUMP, station.End.A].row(chart.t0_ms, station.End.A).optics
    assert written is not None
    known = [v for v in line(chart, "laser-a").values if v is not None]
    assert abs(known[0] / 1000 - (written.bias_ma or 0)) < 0.5


def test_to_spare_is_receive_power_above_what_the_receiver_needs(record_path: Path) -> None:
    chart = chart_of(record_path, station.PUMP, "1h")
    for way in ("ab", "ba"):
        power, spare = line(chart, f"power-{way}").values, line(chart, f"margin-{way}").values
        for got, left in zip(power, spare, strict=True):
            assert left == (None if got is None else got + 19_500)


def test_only_the_panels_that_are_asked_for_are_read_out(client: FlaskClient) -> None:
    path = "/api/links/lab-to-pump-house/trend?range=1h&show=margin&show=heat"
    answer = client.get(path).get_json()
    assert answer["axes"] == {"margin": "y", "heat": "y2", "state": "y3"}
    assert {drawn["id"].split("-")[0] for drawn in answer["lines"]} == {"margin", "heat"}
    page = client.get("/links/lab-to-pump-house?range=1h&show=margin&show=heat")
    assert "range=6h&amp;show=margin&amp;show=heat" in page.get_data(as_text=True)
