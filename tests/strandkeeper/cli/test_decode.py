"""`strandkeeper decode`: pages in words, and in JSON; damaged ones as far as they are sound."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest
from tests.strandkeeper.optics.pages import a0_page, a2_page

from strandkeeper.cli.main import main


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    code = main(("decode", *arguments))
    told = capsys.readouterr()
    return code, told.out, told.err


@pytest.fixture
def module(tmp_path: Path) -> Path:
    """An invented LX10: 25.0 °C, 3.3 V, 6 mA, 501.2 µW (-3.0 dBm) out, 100 µW (-10 dBm) in."""
    file = tmp_path / "module.bin"
    file.write_bytes(a0_page(b6=0x02) + a2_page())
    return file


def test_a_module_in_words(capsys: pytest.CaptureFixture[str], module: Path) -> None:
    code, out, err = run(capsys, str(module))
    assert (code, err) == (0, "")
    for line in (
        "  maker                 INVENTED",
        "  made                  2024-02-29, lot A1",
        "  temperature           25.0 °C",
        "  supply                3.30 V",
        "  laser bias            6.0 mA",
        "  sends                 −3.0 dBm (501.2 µW)",
        "  receives              −10.0 dBm (100.0 µW), average",
        # -10 - (-19.5) = 9.5 dB, shown in whole dB as the reading is ±3
        "  to spare              10 dB before too weak, 7 dB before too strong (as 1000BASE-LX10,",
        "Maker's warning levels (not what the receiver can use)",
        "Calibration: internal (the module gives units)",
    ):
        assert line in out.splitlines(), line
    assert "1000BASE-LX10 (certain: its compliance code says 1000BASE-LX" in out


def test_a_module_for_scripts(capsys: pytest.CaptureFixture[str], module: Path) -> None:
    code, out, _ = run(capsys, str(module), "--json")
    told = json.loads(out)
    assert code == 0
    assert told["schema"] == 1
    assert told["identity"]["serial"] == "SERIAL-1"
    assert told["recognised"]["pmd"] == "1000BASE-LX10"
    assert told["diagnostics"]["rx_dbm"] == pytest.approx(-10)
    assert told["diagnostics"]["status"]["rx_los"] == "clear"
    assert told["diagnostics"]["status"]["tx_disabled_by_pin"] == "not implemented"
    assert told["problems"] == []


def test_no_light_is_a_word(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "dark.bin"
    file.write_bytes(a0_page() + a2_page({104: b"\0\0"}))
    _, out, _ = run(capsys, str(file))
    assert "  receives              no light (less than 0.1 µW, or less than it can measure)" in out
    _, out, _ = run(capsys, str(file), "--json")
    assert json.loads(out)["diagnostics"]["rx_dbm"] == "no-light"


def test_a_cut_file_shows_what_is_sound_and_ends_with_1(
    capsys: pytest.CaptureFixture[str], module: Path
) -> None:
    module.write_bytes(module.read_bytes()[: 256 + 100])
    code, out, err = run(capsys, str(module))
    assert code == 1
    assert "the page ends after 100 bytes: what lies beyond is not known" in out
    assert "INVENTED" in out
    assert "not known: the page does not hold them" in out
    assert "the pages are damaged or incomplete; what could be read is above" in err


def test_a_wrong_checksum_is_said_first(capsys: pytest.CaptureFixture[str], module: Path) -> None:
    content = bytearray(module.read_bytes())
    content[20] ^= 1
    module.write_bytes(content)
    code, out, _ = run(capsys, str(module))
    assert code == 1
    assert out.startswith("Note\n  - checksum of A0h bytes 0 to 62 is wrong")
    assert "(likely: its compliance code" in out


def test_the_two_pages_may_be_in_two_files(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    (tmp_path / "a0").write_bytes(a0_page())
    (tmp_path / "a2").write_text(a2_page({0: b"\x5a\0"}).hex(" "), encoding="ascii")
    code, out, _ = run(capsys, str(tmp_path / "a0"), str(tmp_path / "a2"))
    assert code == 0
    assert "temperature           25.0 °C" in out


def test_a_page_alone(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    (tmp_path / "a0").write_bytes(a0_page())
    code, out, _ = run(capsys, str(tmp_path / "a0"))
    assert code == 0
    assert "none: the diagnostics page (A2h) was not given" in out


def test_a_module_without_diagnostics_is_not_damaged(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    (tmp_path / "m").write_bytes(a0_page(b92=0) + b"\xff" * 256)
    code, out, _ = run(capsys, str(tmp_path / "m"))
    assert code == 0
    assert "none: " in out


def test_standard_input_is_read(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=io.BytesIO(a0_page())))
    code, out, _ = run(capsys, "-")
    assert code == 0
    assert "INVENTED" in out


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (None, "cannot be read: No such file or directory"),
        (b"", "the file is empty"),
        (b"hello", "'h' is no hexadecimal digit"),
        (bytes(512), "nothing but 00h"),
        (b"0" * (1 << 20) + b"00", "too long for a module's pages"),
    ],
)
def test_what_is_no_module_is_refused(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, content: bytes | None, message: str
) -> None:
    file = tmp_path / "x"
    if content is not None:
        file.write_bytes(content)
    code, out, err = run(capsys, str(file))
    assert (code, out) == (1, "")
    assert message in err


def test_two_pages_and_another_one_are_too_many(
    capsys: pytest.CaptureFixture[str], module: Path
) -> None:
    code, _, err = run(capsys, str(module), str(module))
    assert code == 1
    assert "holds both pages already" in err
