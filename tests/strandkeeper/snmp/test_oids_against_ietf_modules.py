"""Every OID and enumeration that the daemon uses, taken from its own tables, against the modules
that the IETF and IANA publish, as compiled by the packages pysnmp and pysnmp-mibs.

The daemon's constants are found by looking through its packages, so that a new one cannot be
forgotten here: it must be the object that its name says, or be entered in SAID_OTHERWISE.
"""

from __future__ import annotations

import importlib
import pkgutil
import re
import warnings
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pysnmp_mibs
import pytest
from pysnmp.smi import builder

from strandkeeper.model import reading
from strandkeeper.optics import mau_table
from strandkeeper.readers import entity_sensor, entity_tree, interfaces, sensor_value

MODULES = (
    "SNMPv2-MIB SNMP-FRAMEWORK-MIB SNMP-USER-BASED-SM-MIB IF-MIB EtherLike-MIB MAU-MIB "
    "IANA-MAU-MIB ENTITY-MIB ENTITY-SENSOR-MIB ENTITY-STATE-MIB RMON-MIB BRIDGE-MIB "
    "UPS-MIB SNMP-COMMUNITY-MIB"
).split()

# Constants whose name is not part of the object's name: constant, object.
SAID_OTHERWISE = {
    "_PSE": "pethMainPseEntry",
    "_UPS": "upsObjects",
    "_SENSOR": "entPhySensorEntry",
    "STAMP": "entPhySensorValueTimeStamp",
    "STATUS": "entPhySensorOperStatus",
    "_ENTITY": "entPhysicalEntry",
    "_IF_X_ENTRY": "ifXEntry",
    "_IF": "ifEntry",
    "_IFX": "ifXEntry",
    "_DOT3": "dot3StatsEntry",
    "_DOT3HC": "dot3HCStatsEntry",
    "_MAU": "ifMauEntry",
    "_MIB2": "mib-2",
    "_MAU_TYPES": "dot3MauType",
    "_CLOCK": "sysUpTime",
    "IF_DISCONTINUITY": "ifCounterDiscontinuityTime",
    "IF_MAU_MEDIA": "ifMauMediaAvailable",
}

# Its OIDs are the library's own words for authentication, privacy and transport.
NOT_LOOKED_THROUGH = {"strandkeeper.snmp.engine"}

# In neither package as published: transcribed from IEEE 802.1AB-2005 clause 12, and from RFC 3621
# (the compiled copy of POWER-ETHERNET-MIB is a draft under a private number).
TRANSCRIBED = {
    "1.3.6.1.2.1.105.1.3.1.1": "pethMainPseEntry",
    "1.3.6.1.2.1.105.1.3.1.1.2": "pethMainPsePower",
    "1.3.6.1.2.1.105.1.3.1.1.3": "pethMainPseOperStatus",
    "1.3.6.1.2.1.105.1.3.1.1.4": "pethMainPseConsumptionPower",
    "1.3.6.1.2.1.105.1.1.1.12": "pethPsePortPowerDeniedCounter",
    "1.0.8802.1.1.2.1": "lldpObjects",
    "1.0.8802.1.1.2.1.3.2": "lldpLocChassisId",
    "1.0.8802.1.1.2.1.3.7.1": "lldpLocPortEntry",
    "1.0.8802.1.1.2.1.3.7.1.2": "lldpLocPortIdSubtype",
    "1.0.8802.1.1.2.1.3.7.1.3": "lldpLocPortId",
    "1.0.8802.1.1.2.1.3.7.1.4": "lldpLocPortDesc",
    "1.0.8802.1.1.2.1.4.1.1": "lldpRemEntry",
    "1.0.8802.1.1.2.1.4.1.1.5": "lldpRemChassisId",
    "1.0.8802.1.1.2.1.4.1.1.6": "lldpRemPortIdSubtype",
    "1.0.8802.1.1.2.1.4.1.1.7": "lldpRemPortId",
    "1.0.8802.1.1.2.1.4.1.1.8": "lldpRemPortDesc",
    "1.0.8802.1.1.2.1.4.1.1.9": "lldpRemSysName",
}
SAID_OTHERWISE |= {
    "_MIB": "lldpObjects",
    "LOCAL_CHASSIS": "lldpLocChassisId",
    "_LOCAL": "lldpLocPortEntry",
    "LOCAL_SUBTYPE": "lldpLocPortIdSubtype",
    "LOCAL_ID": "lldpLocPortId",
    "LOCAL_DESCR": "lldpLocPortDesc",
    "_REMOTE": "lldpRemEntry",
    "PORT_SUBTYPE": "lldpRemPortIdSubtype",
    "PORT_DESCR": "lldpRemPortDesc",
    "SYSTEM_NAME": "lldpRemSysName",
}

Oid = tuple[int, ...]


def compiled() -> builder.MibBuilder:
    mibs = builder.MibBuilder()
    mibs.add_mib_sources(builder.DirMibSource(str(Path(pysnmp_mibs.__file__).parent)))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # the compiled files use older names
        mibs.load_modules(*MODULES)
    return mibs


MIBS = compiled()


def named_objects() -> dict[Oid, str]:
    """Every object of the compiled modules by its OID."""
    found: dict[Oid, str] = {}
    for module in MODULES:
        for name, thing in MIBS.mibSymbols[module].items():
            if hasattr(thing, "getName"):
                found[tuple(int(arc) for arc in thing.getName())] = name
    return found | {tuple(map(int, oid.split("."))): name for oid, name in TRANSCRIBED.items()}


OBJECTS = named_objects()


def daemon_modules() -> Iterator[Any]:
    for part in ("model", "readers", "snmp", "jobs"):
        package = importlib.import_module(f"strandkeeper.{part}")
        names = [f"strandkeeper.{part}.{m.name}" for m in pkgutil.iter_modules(package.__path__)]
        yield from (importlib.import_module(n) for n in names if n not in NOT_LOOKED_THROUGH)


def looks_like_an_oid(value: object) -> bool:
    return (
        isinstance(value, tuple)
        and len(value) > 6
        and all(isinstance(arc, int) for arc in value)
        and value[:2] in ((1, 3), (1, 0))
    )


def oids_in(value: object, where: str) -> Iterator[tuple[str, Oid]]:
    """The OIDs in a constant: itself, or what a table of constants holds under names."""
    if looks_like_an_oid(value):
        assert isinstance(value, tuple)
        yield where, value
    elif isinstance(value, Mapping):
        for key, item in value.items():
            if isinstance(key, str):
                yield from oids_in(item, f"{where}.{key}")


def constants() -> list[tuple[str, Oid]]:
    """Every OID constant of the daemon as (module.NAME, OID), each module's own and once."""
    found: dict[tuple[str, Oid], None] = {}
    for module in daemon_modules():
        short = module.__name__.removeprefix("strandkeeper.")
        for name, value in vars(module).items():
            found.update(dict.fromkeys(oids_in(value, f"{short}.{name}")))
    return list(found)


CONSTANTS = constants()


def squeezed(text: str) -> str:
    return re.sub(r"[^a-z0-9]", "", text.lower())


def test_the_daemon_has_constants_to_compare() -> None:
    assert len(CONSTANTS) > 30, CONSTANTS


@pytest.mark.parametrize(("where", "oid"), CONSTANTS, ids=[name for name, _ in CONSTANTS])
def test_a_constant_is_the_object_that_its_name_says(where: str, oid: Oid) -> None:
    name = where.rsplit(".", 1)[-1]
    column = oid[:-1] if oid[-1] == 0 and oid not in OBJECTS else oid
    assert column in OBJECTS, f"{where}: no object of {', '.join(MODULES)} has this OID"
    standard = OBJECTS[column]
    wanted = SAID_OTHERWISE.get(name)
    if wanted is not None:
        assert standard == wanted
    else:
        assert squeezed(name) in squeezed(standard), f"{where} is {standard}"


def test_no_instance_is_missing_or_doubled() -> None:
    """A scalar is asked with .0, a column without; the compiled module knows which is which."""
    for where, oid in CONSTANTS:
        scalar = oid[:-1] if oid[-1] == 0 and oid not in OBJECTS else None
        if scalar is not None and OBJECTS[scalar] not in TRANSCRIBED.values():
            kind = type(symbol(OBJECTS[scalar])).__name__
            assert kind == "MibScalar", f"{where}: .0 was put to a {kind}"


COUNTED = [
    pytest.param(count, columns, bits, id=f"{count} {bits} bits, {len(columns)} added")
    for count, ways in interfaces._COUNTED.items()
    for columns, bits in ways
]
COUNT_WORDS = {
    "in_octets": r"if(HC)?InOctets",
    "out_octets": r"if(HC)?OutOctets",
    "in_frames": r"if(HC)?In(Ucast|Multicast|Broadcast|NUcast)Pkts",
    "fcs_errors": r"dot3(HC)?StatsFCSErrors|ifInErrors",
    "symbol_errors": r"dot3(HC)?StatsSymbolErrors",
}


@pytest.mark.parametrize(("count", "columns", "bits"), COUNTED)
def test_a_count_is_added_up_from_the_right_columns_of_the_right_width(
    count: str, columns: tuple[Oid, ...], bits: int
) -> None:
    names = [OBJECTS[column] for column in columns]
    assert len(set(names)) == len(names)
    for name in names:
        assert re.fullmatch(COUNT_WORDS[count], name), f"{count} counts {name}"
        assert type(symbol(name).getSyntax()).__name__ == f"Counter{bits}"


@pytest.mark.parametrize("way", interfaces._COUNTED["in_frames"], ids=str)
def test_frames_are_all_frames_or_the_unicast_ones_and_none_is_added_twice(
    way: tuple[tuple[Oid, ...], int],
) -> None:
    """ifInNUcastPkts is multicast and broadcast together (RFC 2863): never beside either."""
    kinds = {re.sub(r"^if(HC)?In|Pkts$", "", OBJECTS[column]) for column in way[0]}
    assert kinds in ({"Ucast"}, {"Ucast", "NUcast"}, {"Ucast", "Multicast", "Broadcast"})


@pytest.mark.parametrize("column", interfaces._NAMES)
def test_the_object_shown_as_the_source_of_errors_is_the_one_read(column: Oid) -> None:
    assert OBJECTS[column] == interfaces._NAMES[column]


@pytest.mark.parametrize(
    ("entry", "index"),
    [
        ("ifEntry", ["ifIndex"]),
        ("ifXEntry", ["ifIndex"]),
        ("dot3StatsEntry", ["dot3StatsIndex"]),
        ("ifMauEntry", ["ifMauIfIndex", "ifMauIndex"]),
        ("entPhysicalEntry", ["entPhysicalIndex"]),
        ("entPhySensorEntry", ["entPhysicalIndex"]),
        ("entAliasMappingEntry", ["entPhysicalIndex", "entAliasLogicalIndexOrZero"]),
    ],
)
def test_a_table_has_the_index_that_the_daemon_appends(entry: str, index: list[str]) -> None:
    names = symbol(entry).getIndexNames() or symbol("ifEntry").getIndexNames()
    assert [str(parts[2]) for parts in names] == index


def test_media_values_beyond_the_known_ones_are_read_as_what_iana_means() -> None:
    theirs = {number: word for word, number in enumeration("IANAifMauMediaAvailable").items()}
    assert {theirs[n]: m.name for n, m in interfaces._MEDIA_READ_AS.items()} == {
        "availablereduced": "AVAILABLE"
    }


def symbol(name: str) -> Any:
    for module in MODULES:
        if name in MIBS.mibSymbols[module]:
            return MIBS.mibSymbols[module][name]
    raise KeyError(name)


def enumeration(name: str) -> dict[str, int]:
    """The named values of an object or textual convention, squeezed to lower case."""
    thing = symbol(name)
    syntax = thing.getSyntax() if hasattr(thing, "getSyntax") else thing
    return {squeezed(str(key)): int(value) for key, value in syntax.namedValues.items()}


@pytest.mark.parametrize(
    ("ours", "standard"),
    [
        pytest.param(reading.OperStatus, "ifOperStatus", id="RFC 2863 ifOperStatus"),
        pytest.param(reading.AdminStatus, "ifAdminStatus", id="RFC 2863 ifAdminStatus"),
        pytest.param(reading.Media, "IANAifMauMediaAvailable", id="IANA-MAU-MIB media available"),
    ],
)
def test_an_enumeration_has_the_numbers_of_the_standard(ours: Any, standard: str) -> None:
    theirs = enumeration(standard)
    assert {squeezed(m.name): m.value for m in ours}.items() <= theirs.items()


@pytest.mark.parametrize("ours", [reading.OperStatus, reading.AdminStatus])
def test_a_port_state_leaves_out_no_value_of_the_standard(ours: Any) -> None:
    standard = "ifOperStatus" if ours is reading.OperStatus else "ifAdminStatus"
    assert len(ours) == len(enumeration(standard))


@pytest.mark.parametrize(
    ("constant", "standard", "value"),
    [
        (entity_tree._CHASSIS, "PhysicalClass", "chassis"),
        (entity_tree._SENSOR, "PhysicalClass", "sensor"),
        (entity_tree._PORT, "PhysicalClass", "port"),
        (entity_tree._STACK, "PhysicalClass", "stack"),
        (entity_sensor._OTHER, "EntitySensorDataType", "other"),
        (entity_sensor._UNKNOWN, "EntitySensorDataType", "unknown"),
        (entity_sensor._VOLTS_DC, "EntitySensorDataType", "voltsdc"),
        (entity_sensor._AMPERES, "EntitySensorDataType", "amperes"),
        (entity_sensor._WATTS, "EntitySensorDataType", "watts"),
        (entity_sensor._CELSIUS, "EntitySensorDataType", "celsius"),
        (entity_sensor._OK, "EntitySensorStatus", "ok"),
        (sensor_value._UNITS, "EntitySensorDataScale", "units"),
    ],
)
def test_a_number_of_an_enumeration_is_that_of_the_standard(
    constant: int, standard: str, value: str
) -> None:
    assert enumeration(standard)[value] == constant


def test_underflow_and_overflow_are_the_ends_of_the_standards_range() -> None:
    limits = repr(symbol("EntitySensorValue").subtypeSpec)
    assert f"{sensor_value.UNDERFLOW}, {sensor_value.OVERFLOW}" in limits


@pytest.mark.parametrize("arc", sorted(mau_table.MAU_TYPES))
def test_a_media_type_is_the_class_that_iana_names(arc: int) -> None:
    if arc > mau_table.MAU_VERIFIED_TO:
        assert (*symbol_oid("dot3MauType"), arc) not in OBJECTS, "it can be compared now"
        return
    standard = OBJECTS[*symbol_oid("dot3MauType"), arc]
    said = squeezed(standard.removeprefix("dot3MauType")).replace("10gig", "10g")
    ours = squeezed(mau_table.MAU_TYPES[arc])
    # HD and FD are duplex; the W classes of 10 Gbit/s are the R classes' optics in another frame
    optic = re.sub(r"(hd|fd)$", "", said)
    if re.fullmatch(r"10gbase[els]w", optic):
        optic = optic[:-1] + "r"
    assert optic == ours


def symbol_oid(name: str) -> Oid:
    return tuple(int(arc) for arc in symbol(name).getName())
