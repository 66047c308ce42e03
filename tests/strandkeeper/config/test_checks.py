"""How the parts of a configuration belong together: each contradiction is one sentence."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.strandkeeper.config.texts import LINK, SWITCHES, VALID, problems, read, without

from strandkeeper.config.load import loads
from strandkeeper.config.users import UserBook, with_user, write_users
from strandkeeper.model.names import End, LinkName


def _link(name: str = "Jetty", body: str = "", a: str = "", b: str = "") -> str:
    return (
        f'[[link]]\nname = "{name}"\n{body}'
        f'a = {{ name = "Lab", switch = "lab-switch", port = "Gi2"{a} }}\n'
        f'b = {{ name = "Jetty"{b} }}\n'
    )


def test_two_links_on_one_port_are_told_which_was_first() -> None:
    assert problems(VALID + without(_link(), "Gi2", "Gi1")) == (
        'link "Jetty" › a › port: port Gi1 of switch "lab-switch" is link "Shore" › a already; '
        "a port has one fibre link",
    )


def test_both_ends_on_one_port_are_refused() -> None:
    text = without(VALID, 'switch = "pump-switch"', 'switch = "lab-switch"')
    assert problems(text) == (
        'link "Shore" › b › port: port Gi1 of switch "lab-switch" is link "Shore" › a already; '
        "a port has one fibre link",
    )


def test_an_unknown_switch_is_told_with_the_nearest() -> None:
    text = without(VALID, 'switch = "pump-switch"', 'switch = "pumpswitch"')
    assert problems(text) == (
        'link "Shore" › b › switch: no [[switch]] is called "pumpswitch"; there are: '
        '"lab-switch", "pump-switch"; write: switch = "pump-switch"',
    )


def test_an_unknown_module_type_is_told_with_the_nearest() -> None:
    text = without(VALID, '"1000BASE-LX10"', '"1000BASE-LX11"')
    (sentence,) = problems(text)
    assert sentence.startswith(
        "link \"Shore\" › a › pmd: there is no module type '1000BASE-LX11'; nearest: 1000BASE-LX"
    )
    assert "1000BASE-LX10" in sentence


def test_a_switch_without_a_port_and_a_port_without_a_switch() -> None:
    text = without(VALID, ', port = "Gi1"')
    text = without(text, ', switch = "pump-switch"')
    assert problems(text) == (
        'link "Shore" › a › port: missing: which port of the switch (`strandkeeper check` lists '
        'them); write: port = "Gi1"',
        'link "Shore" › b › switch: missing: whose port it is; write: switch = "lab-switch"',
    )


def test_a_link_that_nobody_can_ask_is_refused() -> None:
    text = without(SWITCHES + _link(), ', switch = "lab-switch", port = "Gi2"')
    assert problems(text) == (
        'link "Jetty" › a › switch: neither end is on a switch, so nothing can be read; '
        'write: switch = "lab-switch", port = "Gi1"',
    )


def test_two_ends_of_one_name_cannot_be_told_apart() -> None:
    assert problems(without(VALID, '"Pump house"', '"Lab"')) == (
        'link "Shore" › b › name: both ends are called "Lab"; directions could not be told apart',
    )


def test_names_must_be_unique() -> None:
    text = without(VALID + LINK, '"pump-switch"\nhost', '"lab-switch"\nhost')
    found = problems(text)
    assert found[0] == ('switch "lab-switch": 2 of this name; every switch needs a name of its own')
    assert 'link "Shore": 2 of this name; every link needs a name of its own' in found


def test_one_agent_under_two_names_is_refused() -> None:
    assert problems(without(VALID, "192.0.2.20", "192.0.2.10")) == (
        'switch "pump-switch" › host: 192.0.2.10, port 161 is switch "lab-switch" already; '
        "name that one in the links and remove this one",
    )


@pytest.mark.parametrize(
    ("host", "sentence"),
    [
        (
            "192.0.2.10:1161",
            'got "192.0.2.10:1161", expected the host alone; the port has a key of its own; '
            'write: host = "192.0.2.10", and port = 1161',
        ),
        (
            "snmp://lab",
            'got "snmp://lab", expected an address or a host name alone; '
            'write: host = "192.0.2.10"',
        ),
        (
            "lab switch",
            'got "lab switch", expected an address or a host name alone; '
            'write: host = "192.0.2.10"',
        ),
    ],
)
def test_a_host_is_a_host_alone(host: str, sentence: str) -> None:
    assert problems(without(VALID, "192.0.2.10", host)) == (
        f'switch "lab-switch" › host: {sentence}',
    )


@pytest.mark.parametrize(
    "host", ["2001:db8::161", "::1", "fe80::1%eth0", "fe80::1%2", "fe80::a:b%br-lan.7"]
)
def test_an_address_of_the_sixth_version_is_a_host(host: str) -> None:
    """With the interface where RFC 4007, section 11 has it; with the port in its own key."""
    read_in = read(without(VALID, '"192.0.2.10"', f'"{host}"\nport = 1161')).switches[0]
    assert (read_in.host, read_in.port) == (host, 1161)


@pytest.mark.parametrize(
    ("host", "expected", "instead"),
    [
        ("[2001:db8::1]", "the address without brackets", 'host = "2001:db8::1"'),
        (
            "[2001:db8::1]:1161",
            "the address without brackets",
            'host = "2001:db8::1", and port = 1161',
        ),
        ("[fe80::1%eth0]", "the address without brackets", 'host = "fe80::1%eth0"'),
        (
            "fe80::1",
            "the interface of this computer too, behind a %: such an address is one of each "
            "network (`ip -6 address` names the interfaces)",
            'host = "fe80::1%eth0"',
        ),
        (
            "2001:db8::1%eth0",
            "no interface behind this address: it is one of all networks",
            'host = "2001:db8::1"',
        ),
        ("::ffff:192.0.2.7", "the IPv4 address itself", 'host = "192.0.2.7"'),
        *(
            (text, "an address or a host name alone", 'host = "192.0.2.10"')
            for text in (
                "2001:db8:::1",
                "[2001:db8::1",
                "[lab]",
                "fe80::1%",
                "192.0.2.10%eth0",
                "lab:snmp",
                ":161",
            )
        ),
    ],
)
def test_an_address_of_the_sixth_version_is_written_in_one_way(
    host: str, expected: str, instead: str
) -> None:
    assert problems(without(VALID, "192.0.2.10", host)) == (
        f'switch "lab-switch" › host: got "{host}", expected {expected}; write: {instead}',
    )


def test_a_length_in_two_units_is_refused() -> None:
    text = without(VALID, "length_m = 900", "length_m = 900\nlength_ft = 2950")
    assert problems(text) == (
        'link "Shore" › length_ft: the length is given 2 times (length_m, length_ft); keep one; '
        "write: length_m = 900",
    )


def test_a_sensitivity_with_its_sign_forgotten_is_noticed() -> None:
    text = without(
        VALID, 'port = "Gi1", pmd', 'port = "Gi1", sensitivity_dbm = 9.5, overload_dbm = -3, pmd'
    )
    assert problems(text) == (
        'link "Shore" › a › sensitivity_dbm: the weakest light it can use (9.5 dBm) is not weaker '
        "than the strongest (-3 dBm); both are negative for most modules; "
        "write: sensitivity_dbm = -9.5",
    )


def test_speeds_that_differ_can_never_link() -> None:
    text = without(VALID, 'pmd = "1000BASE-LX10" }\nb', 'pmd = "100BASE-LX10" }\nb')
    assert problems(text) == (
        'link "Shore" › b › pmd: 1000BASE-LX10 and 100BASE-LX10 at end a run at different speeds '
        'and can never link; write: pmd = "100BASE-LX10"',
    )


def test_a_multimode_module_on_single_mode_fibre_is_noticed() -> None:
    text = VALID.replace("1000BASE-LX10", "1000BASE-SX")
    assert problems(text) == (
        'link "Shore" › fibre: G.652.D is single-mode, but 1000BASE-SX at end a is for multimode '
        'fibre; write: fibre = "OM3"',
    )


def test_an_unknown_fibre_is_told_with_the_nearest() -> None:
    text = without(VALID, "length_m = 900", 'fibre = "G652X"')
    (sentence,) = problems(text)
    assert sentence.startswith("link \"Shore\" › fibre: there is no fibre 'G652X'; nearest: G.652")


@pytest.mark.parametrize(
    ("a", "b", "sentence"),
    [
        pytest.param(
            ', pmd = "1000BASE-BX10-D"',
            ', pmd = "1000BASE-BX10-D"',
            'link "Jetty" › b › pmd: both ends are 1000BASE-BX10-D; on one strand the two must be '
            'unlike; write: pmd = "1000BASE-BX10-U"',
            id="two like ones",
        ),
        pytest.param(
            ', pmd = "1000BASE-LX10"',
            "",
            'link "Jetty" › a › pmd: 1000BASE-LX10 needs two strands, and strands is 1; '
            "write: strands = 2",
            id="a module for two strands",
        ),
        pytest.param(
            ", wavelength_nm = 1310",
            "",
            'link "Jetty" › b › wavelength_nm: missing: on one strand each end sends its own '
            "wavelength; say which, or name the module type; write: wavelength_nm = 1310",
            id="one wavelength",
        ),
        pytest.param(
            ", wavelength_nm = 1310",
            ", wavelength_nm = 1310",
            'link "Jetty" › b › wavelength_nm: both ends send 1310 nm; on one strand the two must '
            "be unlike; write: wavelength_nm = 1490",
            id="twice the same wavelength",
        ),
        pytest.param(
            ', wavelength_nm = 1310, strand = "blue"',
            ', wavelength_nm = 1550, strand = "white"',
            'link "Jetty" › b › strand: there is one strand, and it is called "blue" at end a; '
            'write: strand = "blue"',
            id="two names for one strand",
        ),
    ],
)
def test_a_single_strand_link_needs_two_wavelengths(a: str, b: str, sentence: str) -> None:
    assert problems(SWITCHES + _link(body="strands = 1\n", a=a, b=b)) == (sentence,)


def test_a_single_strand_module_on_two_strands_is_noticed() -> None:
    assert problems(SWITCHES + _link(a=', pmd = "1000BASE-BX10-U"')) == (
        'link "Jetty" › strands: got 2, but 1000BASE-BX10-U at end a sends and receives on one '
        "strand; write: strands = 1",
    )


def test_a_single_strand_module_without_its_letter_is_not_guessed() -> None:
    found = problems(SWITCHES + _link(body="strands = 1\n", a=', pmd = "1000BASE-BX10"'))
    assert found[0].startswith("link \"Jetty\" › a › pmd: the module type '1000BASE-BX10' is not")


def test_a_link_behind_another_is_accepted_with_its_near_end() -> None:
    text = VALID + _link(body='near = "a"\nbehind = "Shore"\n')
    link = read(text).links[1]
    assert (link.near, link.behind) == (End.A, LinkName("Shore"))


@pytest.mark.parametrize(
    ("body", "sentence"),
    [
        (
            'near = "a"\nbehind = "Jetty"\n',
            'link "Jetty" › behind: a link cannot be reached through itself; take the line out',
        ),
        (
            'near = "a"\nbehind = "Shor"\n',
            'link "Jetty" › behind: no [[link]] is called "Shor"; there are: "Shore"; '
            'write: behind = "Shore"',
        ),
        (
            'behind = "Shore"\n',
            'link "Jetty" › near: missing: which end is towards this computer, behind link '
            '"Shore"; write: near = "a"',
        ),
    ],
)
def test_behind_must_lead_somewhere(body: str, sentence: str) -> None:
    assert problems(VALID + _link(body=body)) == (sentence,)


def test_links_behind_each_other_in_a_circle_are_refused() -> None:
    text = without(VALID, "length_m = 900", 'near = "a"\nbehind = "Jetty"')
    found = problems(text + _link(body='near = "a"\nbehind = "Shore"\n'))
    circle = (
        "the links are reached through each other in a circle; take the line out of the one next "
        "to this computer"
    )
    assert found == (f'link "Shore" › behind: {circle}', f'link "Jetty" › behind: {circle}')


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        pytest.param(
            ', auth_key_env = "PUMP_AUTH"',
            "",
            "snmp › auth_key: missing; one of auth_key_file, auth_key_env or auth_key_credential; "
            'write: auth_key_file = "the-switch.auth"',
            id="a protocol without its key",
        ),
        pytest.param(
            'auth = "SHA-256", ',
            "",
            'snmp › auth: missing, but auth_key_env is there; write: auth = "SHA-256"',
            id="a key without its protocol",
        ),
        pytest.param(
            'auth = "SHA-256", auth_key_env = "PUMP_AUTH"',
            'priv = "AES-128", priv_key_env = "X"',
            "snmp › auth: missing: SNMPv3 has no privacy without authentication; "
            'write: auth = "SHA-256"',
            id="privacy without authentication",
        ),
        pytest.param(
            'auth_key_env = "PUMP_AUTH"',
            'auth_key_env = "PUMP_AUTH", auth_key_file = "x"',
            "snmp: auth_key_file and auth_key_env name the same secret; keep one of them",
            id="one secret in two places",
        ),
    ],
)
def test_snmp_v3_parts_that_do_not_go_together(old: str, new: str, sentence: str) -> None:
    assert problems(without(VALID, old, new)) == (f'switch "pump-switch" › {sentence}',)


def test_a_community_needs_a_place() -> None:
    assert problems(without(VALID, ', community_file = "lab.community"')) == (
        'switch "lab-switch" › snmp › community: missing; one of community_file, community_env or '
        'community_credential; write: community_file = "the-switch.community"',
    )


OPEN_HOSTS = ["0.0.0.0", "::", "192.0.2.1", "lab.example"]


@pytest.mark.parametrize("host", OPEN_HOSTS)
def test_nobody_else_may_look_in_before_somebody_may_log_in(host: str) -> None:
    assert problems(VALID + f'[dashboard]\nhost = "{host}"\n') == (
        f'dashboard › host: got "{host}", but nobody may log in yet; add somebody first '
        "(strandkeeper user add CONFIG NAME), or serve to this machine alone; "
        'write: host = "127.0.0.1"',
    )


@pytest.mark.parametrize("host", OPEN_HOSTS)
def test_figures_without_a_log_in_are_for_this_machine_alone(host: str) -> None:
    assert problems(VALID + f'[metrics]\nhost = "{host}"\n') == (
        f'metrics › host: got "{host}", expected an address of this machine alone: these figures '
        'have no log-in; write: host = "127.0.0.1"',
    )


def test_behind_a_proxy_somebody_has_to_log_in_too() -> None:
    assert problems(VALID + '[dashboard]\nbehind_proxy = "station.example"\n') == (
        'dashboard › behind_proxy: got "station.example", but nobody may log in yet; add somebody '
        "first (strandkeeper user add CONFIG NAME), or serve to this machine alone",
    )


@pytest.mark.parametrize("key", ['host = "0.0.0.0"', 'behind_proxy = "station.example"'])
def test_with_a_user_the_pages_may_be_served_to_others(key: str, tmp_path: Path) -> None:
    text = VALID + f"[dashboard]\n{key}\n"
    assert loads(text, base=tmp_path, user_comes=True)
    book = with_user(UserBook(), "Anna", "granite harbour lamp")
    write_users(tmp_path / "strandkeeper.users", book)
    settings = loads(text, base=tmp_path)
    assert "example" in settings.behind_proxy or settings.dashboard.host == "0.0.0.0"


def test_a_proxys_name_is_a_host_name_alone() -> None:
    (said,) = problems(VALID + '[dashboard]\nbehind_proxy = "https://a.example/x"\n')[:1]
    assert said == (
        'dashboard › behind_proxy: got "https://a.example/x", expected a host name alone; '
        'write: behind_proxy = "station.example"'
    )


@pytest.mark.parametrize("host", ["127.0.0.1", "127.9.9.9", "::1", "localhost"])
def test_every_address_of_this_machine_will_do(host: str) -> None:
    assert read(VALID + f'[dashboard]\nhost = "{host}"\n').dashboard.host == host


def test_two_servers_cannot_share_a_port() -> None:
    assert problems(VALID + "[metrics]\nport = 8080\n") == (
        "metrics › port: port 8080 is the dashboard's already; write: port = 9470",
    )


def test_any_free_port_may_be_asked_for_twice() -> None:
    settings = read(VALID + "[dashboard]\nport = 0\n[metrics]\nport = 0\n")
    assert settings.dashboard.port == 0


@pytest.mark.parametrize(
    ("section", "sentence"),
    [
        (
            "[intervals]\nstatus_s = 60\n",
            "intervals › optics_s: got 30, expected at least status_s (60): light is asked for "
            "together with the state; write: optics_s = 60",
        ),
        (
            "[retention]\nraw_days = 365\nfive_minutes_days = 30\n",
            "retention › five_minutes_days: got 30, expected at least raw_days (365): summaries "
            "outlive the readings; write: five_minutes_days = 730",
        ),
        (
            "[thresholds]\nreserve_urgent_db = 6\n",
            "thresholds › reserve_warn_db: got 6, expected more than reserve_urgent_db (6); "
            "write: reserve_warn_db = 7",
        ),
        (
            "[thresholds]\ntemp_warn_c = 90\n",
            "thresholds › temp_urgent_c: got 80, expected more than temp_warn_c (90); "
            "write: temp_urgent_c = 91",
        ),
    ],
)
def test_figures_that_must_stand_in_an_order(section: str, sentence: str) -> None:
    assert problems(VALID + section) == (sentence,)


def test_a_link_is_pinged_from_one_side_and_with_a_switchs_polls() -> None:
    text = SWITCHES + _link(a=', ping = "192.0.2.10"', b=', ping = "192.0.2.20"')
    assert problems(text) == (
        'link "Jetty" › b › ping: both ends have one, and a link is pinged from one side; take one '
        "of them out",
        'link "Jetty" › b › ping: this end is on no switch with whose polls it could be pinged; '
        'write: switch = "pump-switch", port = "Gi1"',
    )


def test_a_ping_goes_with_the_switch_of_its_end() -> None:
    settings = loads(SWITCHES + _link(a=', ping = "192.0.2.10"'), base=Path("/srv"))
    told = {
        s.name: [(p.link, p.end, p.address, p.octets) for p in s.pings] for s in settings.switches
    }
    assert told == {
        "lab-switch": [("Jetty", End.A, "192.0.2.10", 1400)],
        "pump-switch": [],
    }
