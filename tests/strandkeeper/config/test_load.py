"""The configuration file: from text to settings, and what is said when it cannot be."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.strandkeeper.config.texts import LINK, SWITCHES, VALID, problems, read, without

from strandkeeper.config.load import load, starter_text
from strandkeeper.errors import ConfigError
from strandkeeper.model.link import Thresholds
from strandkeeper.model.names import End
from strandkeeper.model.settings import Address, Intervals, Retention
from strandkeeper.model.switch import CommunityRef, SecretKind, SecretRef, UsmRef
from strandkeeper.optics.units import Db, Dbm


def test_everything_but_switches_and_links_has_a_default() -> None:
    settings = read(VALID)
    assert settings.intervals == Intervals(status_s=10, optics_s=30)
    assert settings.store.path == "/srv/station/strandkeeper.db"
    assert settings.store.retention == Retention(raw_days=30, five_minutes_days=730)
    assert settings.dashboard == Address(host="127.0.0.1", port=8080)
    assert settings.metrics == Address(host="127.0.0.1", port=9470)
    assert settings.thresholds == Thresholds()


def test_credentials_are_places_relative_to_the_file_never_secrets() -> None:
    lab, pump = read(VALID).switches
    assert lab.credentials == CommunityRef(
        version="2c",
        community=SecretRef(kind=SecretKind.FILE, where="/srv/station/lab.community"),
    )
    assert pump.credentials == UsmRef(
        user="watcher",
        auth_protocol="SHA-256",
        auth_key=SecretRef(kind=SecretKind.ENVIRONMENT, where="PUMP_AUTH"),
    )


def test_a_systemd_credential_keeps_its_name() -> None:
    text = without(VALID, 'community_file = "lab.community"', 'community_credential = "lab"')
    ref = read(text).switches[0].credentials
    assert isinstance(ref, CommunityRef)
    assert ref.community == SecretRef(kind=SecretKind.CREDENTIAL, where="lab")


def test_a_link_carries_all_that_was_said_of_it() -> None:
    text = SWITCHES + (
        '[[link]]\nname = "Shore"\nlength_ft = 1000\nfibre = "g657a1"\nmatings = 4\nsplices = 2\n'
        'extra_db = 5\nextra_note = "attenuator"\nnear = "b"\n'
        'a = { name = "Lab", switch = "lab-switch", port = "Gi1", sensitivity_dbm = -21.5, '
        'overload_dbm = -3, wavelength_nm = 1310, strand = "blue" }\n'
        'b = { name = "Jetty", strand = "orange" }\n'
    )
    link = read(text).links[0]
    assert link.length_m == pytest.approx(304.8)  # international foot: 0.3048 m exactly
    assert (link.fibre, link.matings, link.splices) == ("G.657.A1", 4, 2)
    assert (link.extra, link.extra_note, link.near) == (Db(5), "attenuator", End.B)
    assert (link.a.sensitivity, link.a.overload, link.a.wavelength_nm) == (
        Dbm(-21.5),
        Dbm(-3),
        1310,
    )
    assert (link.strand_ab, link.strand_ba) == ("blue", "orange")
    assert (link.b.name, link.b.switch, link.b.port) == ("Jetty", None, None)


def test_a_single_strand_pair_gets_its_wavelengths_from_the_standard() -> None:
    text = without(VALID, 'pmd = "1000BASE-LX10"', 'pmd = "1000BASE-BX10-D", strand = "blue"')
    text = without(text, 'pmd = "1000BASE-LX10"', 'pmd = "1000base bx10 u"') + "strands = 1\n"
    link = read(text).links[0]
    # IEEE 802.3 clause 59.4: D sends 1480 to 1500 nm, U 1260 to 1360 nm
    assert (link.a.wavelength_nm, link.b.wavelength_nm) == (1490, 1310)
    assert (link.b.pmd, link.strand_ab, link.strand_ba) == ("1000BASE-BX10-U", "blue", "blue")


def test_one_end_of_a_single_strand_pair_implies_the_other() -> None:
    text = SWITCHES + (
        '[[link]]\nname = "Jetty"\nstrands = 1\nlength_km = 0.4\n'
        'a = { name = "Lab", switch = "lab-switch", port = "Gi2", pmd = "1000BASE-BX10-U" }\n'
        'b = { name = "Jetty" }\n'
    )
    link = read(text).links[0]
    assert (link.a.wavelength_nm, link.b.wavelength_nm) == (1310, 1490)
    assert link.length_m == pytest.approx(400)


def test_every_threshold_can_be_changed_and_arrives() -> None:
    text = VALID + "[thresholds]\nreserve_warn_db = 7\nadded_loss_warn_s = 60\ntemp_warn_c = 65.5\n"
    thresholds = read(text).thresholds
    assert thresholds.reserve_warn == Db(7)
    assert (thresholds.added_loss_warn_s, thresholds.temp_warn_c) == (60, 65.5)


def test_metrics_can_be_switched_off() -> None:
    assert read(VALID + "[metrics]\nenabled = false\n").metrics is None


def test_switches_without_a_link_can_be_checked_for_their_ports() -> None:
    assert read(SWITCHES).links == ()


def test_the_starter_file_is_valid_and_sets_only_defaults_beside_switches_and_links() -> None:
    settings = read(starter_text())
    assert [s.name for s in settings.switches] == ["lab-switch", "pump-switch"]
    assert [link.name for link in settings.links] == ["Lab to pump house"]
    default = read(VALID)
    assert settings.store == default.store
    assert settings.thresholds == default.thresholds
    assert (settings.intervals, settings.dashboard, settings.metrics) == (
        default.intervals,
        default.dashboard,
        default.metrics,
    )


def test_a_file_that_is_not_there_is_an_error_with_the_way_to_a_first_one(tmp_path: Path) -> None:
    path = tmp_path / "station.toml"
    with pytest.raises(ConfigError) as caught:
        load(path)
    assert str(caught.value) == (
        f"there is no file {path}\n"
        f"start from the commented one: strandkeeper check --starter > {path}"
    )


def test_a_directory_is_not_a_configuration(tmp_path: Path) -> None:
    with pytest.raises(ConfigError) as caught:
        load(tmp_path)
    assert str(caught.value) == (
        f"{tmp_path} cannot be read: Is a directory\nname a readable TOML file"
    )


def test_a_file_of_another_encoding_is_refused_with_the_byte(tmp_path: Path) -> None:
    path = tmp_path / "station.toml"
    path.write_bytes(b'station = "K\xfcste"\n')
    with pytest.raises(ConfigError) as caught:
        load(path)
    assert str(caught.value) == (
        f"{path} is not UTF-8 text (byte 13)\nsave it as UTF-8 in the editor"
    )


def test_a_byte_order_mark_is_no_obstacle(tmp_path: Path) -> None:
    path = tmp_path / "station.toml"
    path.write_bytes(b"\xef\xbb\xbf" + VALID.encode())
    assert load(path).store.path == str(tmp_path / "strandkeeper.db")


def test_all_problems_come_at_once_under_one_heading() -> None:
    text = (
        without(without(VALID, "192.0.2.10", ""), "900", "-1")
        + '[intervals]\nstatus_s = 0\n[dashboard]\nhost = "0.0.0.0"\n'
    )
    with pytest.raises(ConfigError) as caught:
        read(text)
    assert str(caught.value) == (
        "station.toml: 4 problems\n"
        '  - switch "lab-switch" › host: got "", expected some text; write: host = "192.0.2.10"\n'
        '  - link "Shore" › length_m: got -1, expected more than 0; write: length_m = 900\n'
        "  - intervals › status_s: got 0, expected at least 1; write: status_s = 10\n"
        '  - dashboard › host: got "0.0.0.0", but nobody may log in yet; add somebody first '
        "(strandkeeper user add CONFIG NAME), or serve to this machine alone; "
        'write: host = "127.0.0.1"'
    )


def test_an_empty_file_asks_for_a_switch() -> None:
    assert problems("") == ("switch: missing (the switches to ask); write: [[switch]]",)


def test_a_link_to_an_unreadable_switch_is_not_called_unknown() -> None:
    text = without(VALID, 'host = "192.0.2.10"\n')
    assert problems(text) == (
        'switch "lab-switch" › host: missing (address or host name); write: host = "192.0.2.10"',
    )


def test_the_link_alone_is_checked_against_the_switches_there_are() -> None:
    assert problems(LINK) == (
        "switch: missing (the switches to ask); write: [[switch]]",
        'link "Shore" › a › switch: no [[switch]] is called "lab-switch"; there are: none',
        'link "Shore" › b › switch: no [[switch]] is called "pump-switch"; there are: none',
    )
