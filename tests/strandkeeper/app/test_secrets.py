"""Secrets are read late, from the place that was named, and never repeated."""

from __future__ import annotations

from pathlib import Path

import pytest

from strandkeeper.app.secrets import open_to_others, resolve
from strandkeeper.errors import SecretError
from strandkeeper.model.switch import SecretKind, SecretRef


def _file(path: Path) -> SecretRef:
    return SecretRef(kind=SecretKind.FILE, where=str(path))


def _refusal(ref: SecretRef) -> str:
    with pytest.raises(SecretError) as caught:
        resolve(ref)
    return str(caught.value)


@pytest.mark.parametrize("ending", ["", "\n", "\r\n"])
def test_the_line_end_after_a_secret_is_not_part_of_it(tmp_path: Path, ending: str) -> None:
    path = tmp_path / "community"
    path.write_bytes(f" two words {ending}".encode())
    assert resolve(_file(path)) == " two words "


def test_a_secret_file_that_is_missing_comes_with_the_way_to_make_it(tmp_path: Path) -> None:
    path = tmp_path / "community"
    assert _refusal(_file(path)) == (
        f"the secret in {path} cannot be read: No such file or directory\n"
        f"  write the secret into it: install -m 600 /dev/stdin {path}"
    )


def test_a_directory_is_no_secret(tmp_path: Path) -> None:
    assert _refusal(_file(tmp_path)) == (
        f"the secret in {tmp_path} cannot be read: Is a directory\n"
        "  let the user of the service read it (chown), and nobody else (chmod 600)"
    )


def test_an_empty_secret_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "community"
    path.write_text("\n")
    assert _refusal(_file(path)) == (
        f"{path} is empty\n  write the secret into it, one line, nothing else"
    )


def test_two_lines_are_refused_without_repeating_them(tmp_path: Path) -> None:
    path = tmp_path / "community"
    path.write_text("geheim\nanders\n")
    assert _refusal(_file(path)) == (
        f"{path} should hold the secret alone on one line\n"
        "  write the secret into it, one line, nothing else"
    )


def test_bytes_that_are_no_text_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "community"
    path.write_bytes(b"\xff\xfe")
    assert _refusal(_file(path)) == (
        f"the secret in {path} is not UTF-8 text\n  write it anew as plain text"
    )


def test_the_environment_is_read_when_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LAB_COMMUNITY", "geheim")
    assert resolve(SecretRef(kind=SecretKind.ENVIRONMENT, where="LAB_COMMUNITY")) == "geheim"


def test_a_variable_that_is_not_set_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("LAB_COMMUNITY", raising=False)
    assert _refusal(SecretRef(kind=SecretKind.ENVIRONMENT, where="LAB_COMMUNITY")) == (
        "the environment variable LAB_COMMUNITY is not set or empty\n"
        "  set it where the service is started: LAB_COMMUNITY=... (with systemd, EnvironmentFile=)"
    )


def test_a_systemd_credential_is_read_from_its_directory(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "lab").write_text("geheim\n")
    monkeypatch.setenv("CREDENTIALS_DIRECTORY", str(tmp_path))
    assert resolve(SecretRef(kind=SecretKind.CREDENTIAL, where="lab")) == "geheim"


def test_a_systemd_credential_outside_systemd_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CREDENTIALS_DIRECTORY", raising=False)
    assert _refusal(SecretRef(kind=SecretKind.CREDENTIAL, where="lab")) == (
        "the systemd credential lab cannot be read: this was not started by systemd\n"
        "  start it from a unit with LoadCredential=lab:FILE, or name the file itself with ..._file"
    )


def test_a_secret_that_everyone_can_read_is_noticed(tmp_path: Path) -> None:
    path = tmp_path / "community"
    path.write_text("geheim\n")
    path.chmod(0o644)
    assert open_to_others(_file(path))
    path.chmod(0o640)
    assert not open_to_others(_file(path))
    assert not open_to_others(_file(tmp_path / "none"))
