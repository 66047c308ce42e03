"""The rarer answers of a switch, as lines; no agent here gives them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from strandkeeper.cli.check_offline import offline_notes
from strandkeeper.cli.check_text import link_lines, port_problems, switch_lines
from strandkeeper.jobs.ask_switch import PortReport, SwitchReport
from strandkeeper.model.link import Link, PortEnd
from strandkeeper.model.names import LinkName, PortName, SwitchName
from strandkeeper.model.poll import PortIdentity, SwitchIdentity
from strandkeeper.model.power import NO_LIGHT, Measured
from strandkeeper.model.reading import AdminStatus, OperStatus, OpticalReading
from strandkeeper.model.settings import Settings, StoreSettings
from strandkeeper.model.switch import SecretKind, SecretRef, SwitchTarget, UsmRef
from strandkeeper.optics.units import Dbm

LAB = SwitchName("lab-switch")
GI1 = PortName("Gi1")
TARGET = SwitchTarget(
    name=LAB,
    host="192.0.2.10",
    credentials=UsmRef(
        user="watcher",
        auth_protocol="SHA-256",
        auth_key=SecretRef(kind=SecretKind.FILE, where="/nowhere/at/all"),
    ),
)
FOUND = PortIdentity(port=GI1, if_index=7, reader="entity-sensor")
LINK = Link(
    name=LinkName("Shore"),
    a=PortEnd(name="Lab", switch=LAB, port=GI1, sensitivity=Dbm(-20)),
    b=PortEnd(name="Jetty"),
)


def settings(path: str = "/srv/x.db", link: Link = LINK) -> Settings:
    return Settings(
        station="Shore", switches=(TARGET,), links=(link,), store=StoreSettings(path=path)
    )


def report(**port: object) -> SwitchReport:
    given: dict[str, object] = {"port": GI1, "identity": FOUND, "oper": OperStatus.UP, **port}
    return SwitchReport(
        switch=LAB,
        answered=True,
        identity=SwitchIdentity(),
        known_ports=(GI1,),
        ports=(PortReport(**given),),  # type: ignore[arg-type]
    )


def test_a_switch_that_names_nothing_of_itself_is_still_said_to_answer() -> None:
    assert switch_lines(TARGET, report(), "") == [
        'Switch lab-switch (192.0.2.10 port 161, SNMP v3, user "watcher")',
        "  answers, without a name",
        "  port Gi1: found, up; light is reported (the standard sensors), but no figure came",
    ]


def test_a_port_known_by_another_name_says_by_which_and_remarks_follow() -> None:
    named = replace(FOUND, named_by="ifAlias", reader="none", remarks=("It counts no errors.",))
    lines = switch_lines(TARGET, report(identity=named, oper=None), "")
    assert lines[2:] == [
        "  port Gi1: found by ifAlias, state not known; the switch reports no light for it: "
        "state, errors and flaps can be watched",
        "    It counts no errors.",
    ]


@pytest.mark.parametrize(
    ("port", "sentence"),
    [
        (
            {"admin": AdminStatus.DOWN, "oper": OperStatus.DOWN},
            "shut by somebody; switch it on there if the link shall be up",
        ),
        (
            {"oper": OperStatus.NOT_PRESENT},
            "without a module; put it back in, or name another port",
        ),
        (
            {"oper": OperStatus.DOWN},
            "down; is this the port that the fibre is in, and is the far end on?",
        ),
    ],
)
def test_a_port_that_cannot_carry_light_is_something_to_mend(
    port: dict[str, object], sentence: str
) -> None:
    assert list(port_problems(TARGET, report(**port))) == [
        f'switch "lab-switch" › port Gi1: {sentence}'
    ]


def test_a_port_that_is_up_is_nothing_to_mend() -> None:
    assert list(port_problems(TARGET, report())) == []


def test_many_ports_are_cut_short_with_their_number() -> None:
    many = replace(
        report(identity=None), known_ports=tuple(PortName(f"Gi{n}") for n in range(1, 49))
    )
    assert switch_lines(TARGET, many, "")[-1].endswith("Gi39, Gi40 and 8 more")


def test_no_light_is_no_light_and_an_unmanaged_end_is_unknown() -> None:
    lines, mend = link_lines(LINK, settings(), {LAB: report(reading=OpticalReading(rx=NO_LIGHT))})
    assert lines == [
        "Link Shore",
        "  Lab → Jetty: Jetty is on no switch that can be asked, so nothing is known of it",
        "  Jetty → Lab: no light arrives at Lab",
    ]
    assert mend == ['link "Shore" › Jetty → Lab: no light arrives']


def test_the_owners_own_sensitivity_is_said_to_be_his() -> None:
    reading = OpticalReading(rx=Measured(Dbm(-12.34)))
    lines, mend = link_lines(LINK, settings(), {LAB: report(reading=reading)})
    # -12.34 - (-20) = 7.66
    assert lines[2] == (
        "  Jetty → Lab: 7 dB to spare (±3 dB): receives −12.3 dBm, can use light down to "
        "−20.0 dBm; your figure from the data sheet"
    )
    assert mend == []


def test_a_limit_that_nobody_named_is_asked_for() -> None:
    unknown = replace(LINK, a=replace(LINK.a, sensitivity=None))
    reading = OpticalReading(rx=Measured(Dbm(-12.34)))
    lines, mend = link_lines(unknown, settings(link=unknown), {LAB: report(reading=reading)})
    assert lines[2] == (
        "  Jetty → Lab: receives −12.3 dBm; how much is to spare is not known (name the module "
        "type or its sensitivity)"
    )
    assert mend == [
        'link "Shore" › a: Lab reports its light, but how weak it may become is not known; '
        'write pmd = "1000BASE-LX10" (its module type) or sensitivity_dbm = -20.0'
    ]


def test_what_was_left_out_is_remarked_on_and_what_cannot_work_is_to_mend(tmp_path: Path) -> None:
    notes = offline_notes(settings(str(tmp_path)))
    assert notes.problems == [f"store › path: {tmp_path} is a directory; name a file in it"]
    assert notes.remarks == [
        'link "Shore": without a length there is no planned loss to compare with'
    ]


def test_a_folder_that_the_service_can_make_itself_is_no_problem(tmp_path: Path) -> None:
    assert offline_notes(settings(str(tmp_path / "new" / "x.db"))).problems == []


def test_the_near_end_is_asked_for_where_it_matters() -> None:
    two = replace(settings(), switches=(TARGET, replace(TARGET, name=SwitchName("other"))))
    assert any('near = "a"' in r for r in offline_notes(two).remarks)
    assert not any('near = "a"' in r for r in offline_notes(settings()).remarks)
