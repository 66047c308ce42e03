"""What a command may say, and what is made of everything else."""

from __future__ import annotations

import contextlib
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strandkeeper.errors import DecodeError
from strandkeeper.model.module import ModuleFacts
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured
from strandkeeper.model.reading import OpticalReading
from strandkeeper.optics.units import Dbm
from strandkeeper.readers.base import Sample
from strandkeeper.readers.command_json import decode_command
from strandkeeper_demo.sff_pages import Counts, Identity, encode_pages


def one_sample(**said: object) -> Sample:
    answer = decode_command(json.dumps({"ports": {"Gi1": said}}))
    assert not answer.problems
    return answer.ports["Gi1"].sample


def one(**said: object) -> OpticalReading:
    answer = decode_command(json.dumps({"ports": {"Gi1": said}}))
    assert not answer.problems
    reading = answer.ports["Gi1"].sample.reading
    assert reading is not None
    return reading


def problem(**said: object) -> str:
    (text,) = decode_command(json.dumps({"ports": {"Gi1": said}})).problems
    return text


def test_all_figures_are_read() -> None:
    assert one(rx_dbm=-7.1, tx_dbm=-5.9, bias_ma=16.2, temp_c=31, vcc_v=3.29) == OpticalReading(
        rx=Measured(Dbm(-7.1)), tx=Measured(Dbm(-5.9)), bias_ma=16.2, temp_c=31.0, vcc_v=3.29
    )


def test_milliwatts_are_the_same_power() -> None:
    rx = one(rx_mw=0.3).rx
    assert isinstance(rx, Measured)
    assert rx.power.value == pytest.approx(-5.229, abs=0.001)  # 10·log10 0.3


@pytest.mark.parametrize("said", [{"rx_dbm": "no-light"}, {"rx_mw": 0}, {"rx_dbm": -40}])
def test_no_light_is_no_light(said: dict[str, object]) -> None:
    assert one(**said).rx == NO_LIGHT


@pytest.mark.parametrize("said", [{}, {"rx_dbm": None}, {"rx_mw": None, "rx_dbm": None}])
def test_null_and_nothing_are_not_reported(said: dict[str, object]) -> None:
    assert one(**said).rx == NOT_REPORTED


def test_raw_pages_are_decoded() -> None:
    a0, a2 = encode_pages(
        Counts(temp=9011, vcc=33012, bias=8050, tx=2427, rx=1963), identity=Identity(serial="TSX9")
    )
    answer = decode_command(json.dumps({"ports": {"Gi1": {"a0": a0.hex(), "a2": a2.hex(" ")}}}))
    sample = answer.ports["Gi1"].sample
    assert sample.reading is not None
    assert isinstance(sample.reading.rx, Measured)
    assert sample.reading.rx.power.value == pytest.approx(-7.07, abs=0.005)  # 0.1963 mW
    assert sample.module_id == "TSX9, DEMO-LX10, 1310 nm"


def test_what_a_module_says_of_itself_may_be_told() -> None:
    said = one_sample(module_id="TSX9", maker="Invented", part="DEMO-BX", wavelength_nm=1490.5)
    assert said.facts == ModuleFacts(
        serial="TSX9", maker="Invented", part="DEMO-BX", wavelength_nm=1490.5
    )
    assert said.module_id == "TSX9, DEMO-BX, 1490.5 nm"
    assert one_sample(module_id="TSX9").module_id == "TSX9"


@pytest.mark.parametrize(
    ("said", "text"),
    [
        ({"rx": -7.1}, 'port Gi1: no such key: "rx"; there are: rx_dbm, rx_mw, tx_dbm, tx_mw, '
         "bias_ma, temp_c, vcc_v, wavelength_nm, module_id, maker, part, at, a0, a2"),
        ({"rx_dbm": "-7.1"}, 'port Gi1: "rx_dbm" is neither a number, nor "no-light", nor null'),
        ({"rx_dbm": True}, 'port Gi1: "rx_dbm" is neither a number, nor "no-light", nor null'),
        ({"rx_dbm": 71}, 'port Gi1: "rx_dbm" of 71 dBm is more than any module sends or survives'),
        ({"rx_mw": -1}, 'port Gi1: "rx_mw" of -1 mW is no power of a module'),
        ({"rx_mw": 1, "rx_dbm": 0},
         "port Gi1: rx_dbm and rx_mw are the same figure; give one of them"),
        ({"temp_c": 900}, 'port Gi1: "temp_c" is no number from -60 to 150'),
        ({"a2": "xyz"}, 'port Gi1: "a2" is not a page in hexadecimal digits'),
        ({"a2": "00", "rx_dbm": 1}, 'port Gi1: "rx_dbm" and raw pages are two ways; give one of '
         "them"),
        ({"at": 5}, 'port Gi1: "at" is not a text of at most 100 characters'),
    ],
)  # fmt: skip
def test_a_port_that_is_wrong_is_said(said: dict[str, object], text: str) -> None:
    assert problem(**said) == text


def test_a_port_that_is_wrong_costs_itself_only() -> None:
    answer = decode_command('{"ports": {"Gi1": {"rx": 1}, "Gi2": {"rx_dbm": -7.1}}}')
    assert list(answer.ports) == ["Gi2"]


@pytest.mark.parametrize(
    "text",
    ["", "nonsense", "[]", '{"port": {}}', '{"ports": []}', '{"ports": {"a": NaN}}', "[" * 60_000,
     '{"ports": {}, "more": 1}', "1" * 70_000],
)  # fmt: skip
def test_what_is_not_of_this_shape_is_refused(text: str) -> None:
    with pytest.raises(DecodeError):
        decode_command(text)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=12,
)
KEYS = st.sampled_from(["rx_dbm", "tx_mw", "temp_c", "vcc_v", "module_id", "at", "a0", "a2"])


@given(
    st.text(max_size=300)
    | JSON.map(json.dumps)
    | st.dictionaries(KEYS, JSON).map(lambda port: json.dumps({"ports": {"x": port}}))
)
def test_no_text_raises_anything_but_the_named_error(text: str) -> None:
    with contextlib.suppress(DecodeError):
        decode_command(text)
