"""What a command of the owner's says of the light, as JSON.

    {"ports": {"Gi1": {"rx_dbm": -7.1, "tx_dbm": -5.9, "bias_ma": 16.2, "temp_c": 31.0,
                       "vcc_v": 3.29, "module_id": "SN 0815", "part": "LX-10",
                       "wavelength_nm": 1310}}}

A power is a number in `..._dbm` or `..._mw`, `"no-light"`, or null or left out: not reported.
Instead of figures a port may have `"a0"` and `"a2"`: raw pages (SFF-8472) in hexadecimal. `"at"` is
any text that changes with every new reading; while it stays, nothing new is recorded: so may a file
be given that a person types readings into. Other keys are an error by name.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, NoReturn

from strandkeeper.errors import DecodeError
from strandkeeper.model.module import ModuleFacts
from strandkeeper.model.plain_text import one_line
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured, Power
from strandkeeper.model.reading import OpticalReading
from strandkeeper.optics.sff8472 import decode_module
from strandkeeper.optics.units import Dbm, Milliwatt
from strandkeeper.readers.base import ModuleState, Sample
from strandkeeper.readers.module_cells import facts_of_page
from strandkeeper.readers.raw_pages import reading_of_module

__all__ = ["MOST_CHARACTERS", "CommandAnswer", "CommandPort", "decode_command"]

NO_LIGHT_WORD: Final = "no-light"
_SHOWN: Final = 40  # characters of a name that nobody configured
MOST_CHARACTERS = 1 << 20  # the pages of 48 modules in hexadecimal are 60 kB
_POSSIBLE_DBM = 20.0
_DARKEST_DBM = -40.0
_POWERS: Final = ("rx_dbm", "rx_mw", "tx_dbm", "tx_mw")
_NUMBERS: Final = {"bias_ma": (0.0, 2000.0), "temp_c": (-60.0, 150.0), "vcc_v": (0.0, 60.0)}
_RANGES: Final = {**_NUMBERS, "wavelength_nm": (700.0, 1700.0)}
_KEYS: Final = (*_POWERS, *_RANGES, "module_id", "maker", "part", "at", "a0", "a2")


@dataclass(frozen=True, slots=True)
class CommandPort:
    """One port's part. `at`: the mark of this reading, empty if there is none."""

    sample: Sample
    at: str = ""


@dataclass(frozen=True, slots=True)
class CommandAnswer:
    """The ports by the names that the command gives them; `problems` are those not understood."""

    ports: Mapping[str, CommandPort]
    problems: tuple[str, ...] = ()


def decode_command(text: str) -> CommandAnswer:
    """Read what a command wrote to its stdout.

    Raises DecodeError when it is no JSON or not of this shape; a port that is wrong in itself costs
    itself only.
    """
    ports = _ports(text)
    found: dict[str, CommandPort] = {}
    problems: list[str] = []
    for name, said in ports.items():
        try:
            found[name] = _port(said)
        except DecodeError as error:
            problems.append(one_line(f"port {name[:_SHOWN]}: {error.message}"))
    return CommandAnswer(found, tuple(problems))


def _ports(text: str) -> dict[str, Any]:
    if len(text) > MOST_CHARACTERS:
        raise DecodeError(f"more than {MOST_CHARACTERS} characters", hint="write JSON alone")
    try:
        whole = json.loads(text, parse_constant=_no_constant)
    except (ValueError, RecursionError) as error:
        reason = str(error) if isinstance(error, json.JSONDecodeError) else "not understood"
        raise DecodeError(
            f"its stdout is no JSON: {reason}", hint='write {"ports": {"Gi1": {"rx_dbm": -7.1}}}'
        ) from None
    ports = whole.get("ports") if isinstance(whole, dict) else None
    if not isinstance(ports, dict) or len(whole) != 1:
        raise DecodeError(
            'its JSON is not an object with the one key "ports"',
            hint='write {"ports": {"Gi1": {"rx_dbm": -7.1}}}',
        )
    return ports


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no figure")


def _port(said: object) -> CommandPort:
    if not isinstance(said, dict):
        raise DecodeError("it is not an object")
    unknown = [key for key in said if key not in _KEYS]
    if unknown:
        raise DecodeError(f'no such key: "{unknown[0][:40]}"; there are: {", ".join(_KEYS)}')
    at, module_id = _text(said, "at"), _text(said, "module_id")
    if "a0" in said or "a2" in said:
        return CommandPort(_of_pages(said, module_id), at)
    reading = OpticalReading(
        rx=_power(said, "rx"),
        tx=_power(said, "tx"),
        bias_ma=_number(said, "bias_ma"),
        temp_c=_number(said, "temp_c"),
        vcc_v=_number(said, "vcc_v"),
    )
    facts = ModuleFacts(
        serial=module_id,
        maker=_text(said, "maker"),
        part=_text(said, "part"),
        wavelength_nm=_number(said, "wavelength_nm"),
    )
    return CommandPort(Sample(reading=reading, module_id=facts.module_id, facts=facts), at)


def _text(said: Mapping[str, object], key: str) -> str:
    value = said.get(key)
    if value is None:
        return ""
    if not isinstance(value, str) or len(value) > 100:
        raise DecodeError(f'"{key}" is not a text of at most 100 characters')
    return one_line(value)


def _power(said: Mapping[str, object], side: str) -> Power:
    given = [(k, said[k]) for k in (f"{side}_dbm", f"{side}_mw") if said.get(k) is not None]
    if len(given) > 1:
        raise DecodeError(f"{side}_dbm and {side}_mw are the same figure; give one of them")
    if not given:
        return NOT_REPORTED
    key, value = given[0]
    if value == NO_LIGHT_WORD:
        return NO_LIGHT
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise DecodeError(f'"{key}" is neither a number, nor "{NO_LIGHT_WORD}", nor null')
    return _from_dbm(key, value) if key.endswith("_dbm") else _from_mw(key, value)


def _from_dbm(key: str, value: float) -> Power:
    if not value <= _POSSIBLE_DBM:
        raise DecodeError(f'"{key}" of {value:.6g} dBm is more than any module sends or survives')
    return NO_LIGHT if value <= _DARKEST_DBM else Measured(Dbm(float(value)))


def _from_mw(key: str, value: float) -> Power:
    if not 0 <= value <= 100:
        raise DecodeError(f'"{key}" of {value:.6g} mW is no power of a module')
    if value <= Dbm(_DARKEST_DBM).to_milliwatt().value:
        return NO_LIGHT
    return Measured(Milliwatt(float(value)).to_dbm())


def _number(said: Mapping[str, object], key: str) -> float | None:
    value = said.get(key)
    if value is None:
        return None
    low, high = _RANGES[key]
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        raise DecodeError(f'"{key}" is no number from {low:g} to {high:g}')
    return float(value)


def _of_pages(said: Mapping[str, object], module_id: str) -> Sample:
    figures = [key for key in (*_POWERS, *_NUMBERS) if key in said]
    if figures:
        raise DecodeError(f'"{figures[0]}" and raw pages are two ways; give one of them')
    module = decode_module(_octets(said, "a0"), _octets(said, "a2"))
    facts = facts_of_page(module.identity)
    return Sample(
        reading=reading_of_module(module),
        module=ModuleState.PRESENT,
        module_id=module_id or (None if facts is None else facts.module_id),
        facts=facts,
    )


def _octets(said: Mapping[str, object], key: str) -> bytes | None:
    text = said.get(key)
    if text is None:
        return None
    try:
        return bytes.fromhex(text) if isinstance(text, str) else _refuse(key)
    except ValueError:
        return _refuse(key)


def _refuse(key: str) -> NoReturn:
    raise DecodeError(f'"{key}" is not a page in hexadecimal digits')
