"""`strandkeeper budget`, run as a person runs it: what it prints, for people and for scripts."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from tests.strandkeeper.optics.pages import a0_page

from strandkeeper.cli.budget_config import planned_link
from strandkeeper.cli.main import main
from strandkeeper.model.link import Link, PortEnd
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.verdict import DirectionVerdict, EndState, LinkVerdict
from strandkeeper.optics.units import Db

LX10 = ("budget", "--length", "900m", "--pmd", "1000BASE-LX10")


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    code = main(arguments)
    told = capsys.readouterr()
    return code, told.out, told.err


def words(text: str) -> str:
    """Sentences as one line, however they were broken."""
    return " ".join(text.split())


def test_a_plan_reads_as_a_technicians_table(capsys: pytest.CaptureFixture[str]) -> None:
    """0.9 · 0.40 + 2 · 0.75 = 1.86; -9 - 1.86 - (-19.5) = 8.64 dB, by hand."""
    code, out, err = run(capsys, *LX10)
    assert (code, err) == (0, "")
    assert out.startswith(
        "0.9 km of G.652.D fibre between near end (1000BASE-LX10) and far end (1000BASE-LX10)"
    )
    assert "Both directions alike: fits: in the worst case 8.6 dB to spare before too weak." in out
    assert "  together                                                          1.3   1.9 dB" in out
    assert "so the receiver sees                 −10.9 to −3.3 dBm" in out
    assert "from memory, unconfirmed" in out
    assert "dB is how many times weaker light gets" in words(out)


def test_a_real_process_does_the_same() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "strandkeeper", *LX10],
        check=False,
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 0
    assert "8.6 dB to spare" in done.stdout


def test_too_strong_a_module_is_given_an_attenuator(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "budget", "--length", "100m", "--pmd", "10GBASE-ER")
    assert "needs an attenuator of at least 5 dB at the receiver" in words(out)


def test_figures_from_a_data_sheet_do_without_a_class(capsys: pytest.CaptureFixture[str]) -> None:
    figures = (
        *("--launch-min-dbm", "-8", "--launch-max-dbm", "0"),
        *("--sensitivity-dbm", "-22", "--overload-dbm", "0", "--wavelength-nm", "1310"),
    )
    code, out, _ = run(capsys, "budget", "--length", "1km", *figures)
    assert code == 0
    # -8 - (0.40 + 1.5) + 22 = 12.1
    assert "12.1 dB to spare before too weak" in out


def test_single_strand_modules_get_their_counterpart(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "budget", "--length", "350m", "--pmd", "1000base-bx10-d")
    assert "1000BASE-BX10-D needs its counterpart at the far end: 1000BASE-BX10-U" in words(out)
    assert "near end → far end" in out
    assert "fibre at 1490 nm" in out
    assert "fibre at 1310 nm" in out


def test_wrong_parts_come_before_any_figure(capsys: pytest.CaptureFixture[str]) -> None:
    pair = ("--pmd", "1000BASE-BX10-U", "--far-pmd", "1000BASE-BX10-U")
    _, out, _ = run(capsys, "budget", "--length", "350m", *pair)
    assert words(out).index("two like single-strand modules") < words(out).index("fits")
    assert "by light alone" in out


def test_types_are_listed_with_how_sure_they_are(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "budget", "--types")
    rows = {line.split()[0]: line for line in out.splitlines() if "BASE-" in line}
    assert code == 0
    assert len(rows) == 39
    assert rows["1000BASE-SX"].endswith("standard")
    assert rows["1000BASE-LX10"].endswith("memory")
    assert rows["1000BASE-ZX"].endswith("practice")
    assert rows["1000BASE-BX20-D"].endswith("practice")
    assert "data sheet" in rows["25GBASE-LR"]


def test_a_modules_own_pages_name_its_type(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """A multimode module found in the hand: no cable of the wrong kind is planned for it."""
    (tmp_path / "lx").write_bytes(a0_page(b6=0x02))
    (tmp_path / "sx").write_bytes(a0_page(b6=0x01, b14=0, b15=0, b60=0x03, b61=0x52))
    both = ("--module", str(tmp_path / "lx"), "--far-module", str(tmp_path / "sx"))
    _, out, _ = run(capsys, "budget", "--length", "900m", *both)
    assert "near end: 1000BASE-LX10 (certain:" in words(out)
    assert "far end: 1000BASE-SX (certain:" in words(out)
    assert "far end: a multimode module on single-mode cable" in words(out)
    assert "unlike wavelengths (1310 and 850 nm)" in words(out)


def test_a_measured_loss_is_set_beside_the_plan(capsys: pytest.CaptureFixture[str]) -> None:
    measured = ("--measured-loss-db", "4", "--accuracy-db", "0.5", "--details")
    _, out, _ = run(capsys, *LX10, *measured)
    assert "Measured 4.0 dB (±0.5): 2.1 dB above the limit: clean the connectors" in words(out)
    assert "an air gap of about" in words(out)
    assert "mode field 9.2 µm: from memory, unconfirmed" in words(out)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("budget",), "neither a cable nor a configuration is given"),
        (("budget", "--length", "900", "--pmd", "1000BASE-LX10"), "the unit is missing"),
        (("budget", "--length", "900m", "--pmd", "LX"), "there is no module type 'LX'"),
        (("budget", "--length", "900m", "--pmd", "1000BASE-BX10"), "say -D or -U"),
        ((*LX10, "--fibre", "hemp"), "there is no fibre 'hemp'"),
        ((*LX10, "--matings", "-1"), "give a figure of 0 or more"),
        ((*LX10, "--meter", "--source", "vfl"), "cannot measure loss"),
        ((*LX10, "--reading-dbm", "-11"), "add --reference-dbm"),
        (("budget", "nowhere.toml"), "nowhere.toml"),
        ((*LX10, "--sensitivity-dbm", "-3", "--overload-dbm", "-20"), "the wrong way round"),
    ],
)
def test_a_mistake_is_answered_with_what_to_do(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], message: str
) -> None:
    code, out, err = run(capsys, *arguments)
    assert (code, out) == (1, "")
    assert message in err


@pytest.mark.parametrize("text", ["nan", "inf", "strong"])
def test_what_is_no_number_is_a_usage_error(capsys: pytest.CaptureFixture[str], text: str) -> None:
    with pytest.raises(SystemExit) as ended:
        main((*LX10, "--launch-min-dbm", text))
    assert ended.value.code == 2
    assert "--launch-min-dbm" in capsys.readouterr().err


def as_json(capsys: pytest.CaptureFixture[str], *arguments: str) -> Any:
    code, out, _ = run(capsys, *arguments, "--json")
    assert code in (0, 1)
    return json.loads(out)


def test_json_says_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    told = as_json(capsys, *LX10)
    assert told["schema"] == 1
    (link,) = told["links"]
    assert link["cable"]["length_m"] == 900
    assert link["ab"] == link["ba"]
    assert link["ab"]["margin_db"] == pytest.approx(8.64)
    assert link["ab"]["loss"]["limit_db"] == pytest.approx(1.86)
    assert link["ab"]["verdicts"] == ["fits"]
    assert link["ab"]["receiver"]["tag"] == "from memory, unconfirmed"
    assert link["ab"]["measured"] is None


def test_the_keys_of_the_json_are_those_that_scripts_rely_on(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Schema 1: a key may come, none may go."""
    (link,) = as_json(capsys, *LX10, "--measured-loss-db", "1.2")["links"]
    assert {
        *("name", "cable", "a", "b", "ab", "ba"),
        *("missing", "beyond_reach", "wrong_parts", "remarks"),
    } <= set(link)
    assert {
        *("transmitter", "receiver", "loss", "least_loss_db", "penalties_db", "reserve_db"),
        *("power_budget_db", "weakest_dbm", "strongest_dbm", "margin_db", "margin_expected_db"),
        *("headroom_db", "attenuator_db", "verdicts", "sentences", "tag", "measured"),
    } <= set(link["ab"])
    assert link["ab"]["measured"] == {"loss_db": 1.2, "accuracy_db": 6.0, "verdict": "as-planned"}


@pytest.mark.parametrize("cords", ["1", "2", "3"])
def test_how_to_measure_is_drawn(capsys: pytest.CaptureFixture[str], cords: str) -> None:
    code, out, _ = run(capsys, *LX10, "--meter", "--cords", cords)
    assert code == 0
    assert "reference   [source]====cord 1====" in out
    assert "Do not unplug cord 1 from the source" in out
    assert "Never look into a plug or port" in out
    limit = {"1": "1.86", "2": "1.11", "3": "0.36"}[cords]
    assert out.startswith(f"The cable may lose {limit} dB at 1310 nm")


@pytest.mark.parametrize(
    ("reading", "code", "verdict"),
    [
        ("-11.2", 0, "passed, 0.66 dB below the limit"),
        ("-12.1", 1, "0.24 dB above the limit, less than 0.5 dB: clean every connection"),
        ("-13.0", 1, "failed, 1.14 dB above the limit"),
        ("-9.0", 1, "more light than at the reference cannot be"),
    ],
)
def test_a_reading_is_judged(
    capsys: pytest.CaptureFixture[str], reading: str, code: int, verdict: str
) -> None:
    got, out, _ = run(capsys, *LX10, "--reference-dbm", "-10", "--reading-dbm", reading)
    assert got == code
    assert verdict in words(out)


def test_a_reading_is_judged_for_scripts_too(capsys: pytest.CaptureFixture[str]) -> None:
    told = as_json(capsys, *LX10, "--reference-dbm", "-10", "--reading-dbm", "-11.2")
    assert told["schema"] == 1
    assert told["meter"]["verdict"] == "accept"
    assert told["meter"]["loss_db"] == pytest.approx(1.2)
    assert told["meter"]["cords"] == 1


CONFIG = """
station = "Shore"
[[switch]]
name = "lab-switch"
host = "127.0.0.1"
snmp = { version = "2c", community_env = "NOT_NEEDED_FOR_PLANS" }
[[link]]
name = "Pump house"
strands = 2
length_m = 900
fibre = "G.652.D"
a = { name = "Lab", switch = "lab-switch", port = "Gi1", pmd = "1000BASE-LX10" }
b = { name = "Pump house", pmd = "1000BASE-LX10" }
"""


def test_every_link_of_a_configuration_is_planned(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "station.toml"
    file.write_text(CONFIG, encoding="utf-8")
    code, out, _ = run(capsys, "budget", str(file))
    assert code == 0
    assert "Pump house: 0.9 km of G.652.D fibre between Lab" in out
    assert "nothing is measured yet: there is no record file" in words(out)
    code, _, err = run(capsys, "budget", str(file), "Jetty")
    assert code == 1
    assert "there is no link 'Jetty'" in err
    assert "links: Pump house" in err


def test_the_plan_of_a_link_stands_beside_what_the_record_says() -> None:
    """4.0 dB where the limit is 1.86: within two readings' ±6, beyond an anchored ±0.5."""
    link = Link(
        name=LinkName("Pump house"),
        a=PortEnd(name="Lab", pmd="1000BASE-LX10"),
        b=PortEnd(name="Pump house", pmd="1000BASE-LX10"),
        length_m=900,
    )
    verdict = LinkVerdict(
        link=link.name,
        at_ms=0,
        a=EndState(end=End.A),
        b=EndState(end=End.B),
        ab=DirectionVerdict(direction=Direction.AB, loss=Db(4.0)),
        ba=DirectionVerdict(direction=Direction.BA, loss=Db(4.0), anchored=True),
    )
    found = planned_link(link, verdict, remark="", reserve=Db(3))
    assert {way: c.verdict.value for way, c in found.measured.items()} == {
        "ab": "as-planned",
        "ba": "above-limit",
    }
    assert found.remarks == ()
    silent = planned_link(link, None, remark="", reserve=Db(3))
    assert silent.remarks == ("the record has no loss of this link yet",)
