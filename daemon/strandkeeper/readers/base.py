"""What a reader of light figures is: which columns it walks, how it ties them to ports, how it
decodes an answer. Pure: tables in, plans and readings out.

To add a reader: write one module with a class that has the members of `Reader`, and add it to the
table in registry.py.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Protocol

from strandkeeper.model.module import ModuleFacts
from strandkeeper.model.oid import Oid, Value
from strandkeeper.model.reading import OpticalReading

__all__ = ["Binding", "Column", "ModuleState", "PortKey", "PortReader", "Reader", "Sample"]

Column = Mapping[Oid, Value]  # the rows of one table column, by index


@dataclass(frozen=True, slots=True, kw_only=True)
class PortKey:
    """A port as the switch has it now. Empty names: it has none of that kind."""

    if_index: int
    name: str = ""
    descr: str = ""
    alias: str = ""


class ModuleState(Enum):
    """What an answer to an optics request says of the module behind it."""

    PRESENT = "present"
    GONE = "gone"  # its rows are gone while others live: the module was pulled
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """One decoded optics answer. `reading` None: it says nothing, or nothing new.

    `facts` are what the module says of itself, where that came with the answer;
    `sampled_cs` is the switch's own time of the value (its sysUpTime clock), if it tells;
    `rebind`: the rows are not what they were when they were tied to the port.
    """

    reading: OpticalReading | None
    module: ModuleState = ModuleState.UNKNOWN
    module_id: str | None = None
    facts: ModuleFacts | None = None
    sampled_cs: int | None = None
    rebind: bool = False


class PortReader(Protocol):
    """The optics of one port: which objects to ask, and what their values mean."""

    @property
    def oids(self) -> tuple[Oid, ...]:
        """The objects to ask in one optics request."""

    @property
    def remarks(self) -> tuple[str, ...]:
        """What a person should know of this port's figures, as sentences."""

    @property
    def made(self) -> ModuleFacts:
        """What was walked of the module's maker, part number and wavelength, if anything was."""

    @property
    def presence(self) -> Oid | None:
        """An object that is there exactly as long as the module is, its column first; None: none.

        It proves that a module was pulled, where sensors that are gone prove only themselves.
        """

    def decode(self, values: Mapping[Oid, Value]) -> Sample:
        """The reading in an answer. Objects missing from `values` were not answered."""


@dataclass(frozen=True, slots=True)
class Binding:
    """What a reader found: the port readers by ifIndex, and remarks for the whole switch."""

    ports: Mapping[int, PortReader]
    remarks: tuple[str, ...] = ()


class Reader(Protocol):
    """One way in which switches publish optics."""

    @property
    def name(self) -> str:
        """Its name in the registry and on the screen."""

    @property
    def probe(self) -> Oid:
        """A column without which this reader has nothing to read."""

    @property
    def columns(self) -> tuple[Oid, ...]:
        """The columns to walk once `probe` was found."""

    def bind(self, tables: Mapping[Oid, Column], ports: Sequence[PortKey]) -> Binding:
        """Tie what was walked to the ports of the switch."""
