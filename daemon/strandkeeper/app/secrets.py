"""The one place where a secret is read: from a file, the environment, or a systemd credential."""

from __future__ import annotations

import os
from pathlib import Path

from strandkeeper.errors import SecretError
from strandkeeper.model.switch import SecretKind, SecretRef

__all__ = ["open_to_others", "resolve", "secret_path"]


def resolve(ref: SecretRef) -> str:
    """The secret, without the line end after it. Raises SecretError, which never repeats it."""
    path = secret_path(ref)
    if path is not None:
        return _from_file(ref, path)
    value = os.environ.get(ref.where, "")
    if not value:
        raise SecretError(
            f"the environment variable {ref.where} is not set or empty",
            hint=f"set it where the service is started: {ref.where}=... "
            "(with systemd, EnvironmentFile=)",
        )
    return value


def secret_path(ref: SecretRef) -> Path | None:
    """The file that holds the secret, None if no file does. Raises SecretError outside systemd."""
    if ref.kind is SecretKind.ENVIRONMENT:
        return None
    if ref.kind is SecretKind.FILE:
        return Path(ref.where)
    directory = os.environ.get("CREDENTIALS_DIRECTORY")
    if not directory:
        raise SecretError(
            f"the systemd credential {ref.where} cannot be read: this was not started by systemd",
            hint=f"start it from a unit with LoadCredential={ref.where}:FILE, or name the file "
            "itself with ..._file",
        )
    return Path(directory) / ref.where


def open_to_others(ref: SecretRef) -> bool:
    """Whether everyone on this machine can read the file that holds it."""
    try:
        path = secret_path(ref)
        return path is not None and bool(path.stat().st_mode & 0o004)
    except (SecretError, OSError):
        return False


def _from_file(ref: SecretRef, path: Path) -> str:
    try:
        text = path.read_text(encoding="utf-8").rstrip("\r\n")
    except OSError as error:
        reason = f"the secret in {path} cannot be read: {error.strerror}"
        hint = _hint(ref, path)
    except UnicodeDecodeError:
        reason, hint = f"the secret in {path} is not UTF-8 text", "write it anew as plain text"
    else:
        if text and "\n" not in text:
            return text
        reason = f"{path} should hold the secret alone on one line" if text else f"{path} is empty"
        hint = "write the secret into it, one line, nothing else"
    raise SecretError(reason, hint=hint)


def _hint(ref: SecretRef, path: Path) -> str:
    if ref.kind is SecretKind.CREDENTIAL:
        return f"add LoadCredential={ref.where}:FILE to the unit"
    if path.exists():
        return "let the user of the service read it (chown), and nobody else (chmod 600)"
    return f"write the secret into it: install -m 600 /dev/stdin {path}"
