"""What speaks against a reading, said to a person who looks at an unknown switch."""

from __future__ import annotations

import pytest

from strandkeeper.model.power import NO_LIGHT, Measured
from strandkeeper.model.reading import OperStatus, OpticalReading
from strandkeeper.optics.units import Dbm
from strandkeeper.readers.plausible import doubts

GOOD = OpticalReading(
    rx=Measured(Dbm(-7.1)), tx=Measured(Dbm(-5.9)), bias_ma=16.2, temp_c=31.0, vcc_v=3.29
)


def test_nothing_speaks_against_a_usual_module() -> None:
    assert doubts(GOOD, OperStatus.UP) == ()


@pytest.mark.parametrize(
    ("reading", "doubt"),
    [
        (OpticalReading(), "no figure came: no module, or one that does not measure"),
        (OpticalReading(temp_c=352.0),
         "temperature of 352 °C is not that of a module: is the unit right?"),
        (OpticalReading(vcc_v=0.33),
         "supply of 0.33 V is not that of a module: is the unit right?"),
        (OpticalReading(tx=Measured(Dbm(12.0))), "sent light of 12.0 dBm is not that of a module"),
        (OpticalReading(rx=NO_LIGHT, temp_c=30.0),
         "the port is up, but shows no received light: is this the reading of this port?"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_doubted(reading: OpticalReading, doubt: str) -> None:
    assert doubts(reading, OperStatus.UP) == (doubt,)


def test_a_dark_receiver_of_a_port_that_is_down_is_as_it_should_be() -> None:
    assert doubts(OpticalReading(rx=NO_LIGHT, temp_c=30.0), OperStatus.DOWN) == ()
