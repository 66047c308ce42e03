"""Columns that hold a module's own memory: the A0h and A2h pages of SFF-8472 as octet strings."""

from __future__ import annotations

from strandkeeper.optics.units import Milliwatt
from strandkeeper_demo.mib import Syntax
from strandkeeper_demo.personalities.physics import OPTICS, PortNow
from strandkeeper_demo.personalities.table import Column, PageOf, Row
from strandkeeper_demo.plant import Counts
from strandkeeper_demo.sff_pages import Calibration, Identity, encode_pages

__all__ = ["page"]


def _tenths(power: Milliwatt | None) -> int:
    return 0 if power is None else round(power.value * 10_000)


def _counts(port: PortNow) -> Counts:
    light = port.lanes[0]
    return Counts(
        temp=round(port.temperature_c * 256),
        vcc=round(port.supply_v * 10_000),
        bias=round(light.bias_ma * 500),
        tx=_tenths(light.tx),
        rx=_tenths(light.rx),
    )


def _both(port: PortNow, external: Calibration | None) -> tuple[bytes, bytes]:
    optic = OPTICS[port.plan.optic]
    identity = Identity(serial=port.serial, wavelength_nm=optic.wavelength_nm)
    return encode_pages(_counts(port), identity=identity, external=external)


def page(arc: int, of: PageOf, *, octets: int = 256, external: Calibration | None = None) -> Column:
    """A column of pages, of each so many octets; empty without a module that measures."""

    def cut(pages: tuple[bytes, bytes]) -> bytes:
        chosen: dict[PageOf, tuple[bytes, ...]] = {
            PageOf.A0H: pages[:1],
            PageOf.A2H: pages[1:],
            PageOf.BOTH: pages,
        }
        return b"".join(one[:octets] for one in chosen[of])

    def fill(row: Row) -> bytes:
        return cut(_both(row.port, external)) if row.port.measures else b""

    return Column(arc=arc, syntax=Syntax.TEXT, fill=fill, page=of)
