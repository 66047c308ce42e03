"""Who may look at the pages: names and hashed passwords, in a file beside the record.

`strandkeeper user` writes the file, the pages read it, and nothing else does. A password is kept as
its scrypt hash only; `key` signs the sessions, so that they outlive a restart. A script has a token
instead of a password, 256 random bits, of which SHA-256 is kept: there is nothing to guess in it,
so a slow hash would only slow every question down.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import os
import secrets
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from strandkeeper.errors import InputError

__all__ = [
    "SHORTEST",
    "Hashed",
    "UserBook",
    "hashed",
    "read_users",
    "script_of",
    "users_path",
    "verified",
    "with_token",
    "with_user",
    "without_user",
    "write_users",
]

SHORTEST: Final = 10
_LONGEST_NAME: Final = 64
_LONGEST_PASSWORD: Final = 1000
_FORMAT: Final = 1
# RFC 7914: cost N, block r, parallel p. 16 MB and about a fifth of a second on a small computer.
_N, _R, _P = 16_384, 8, 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Hashed:
    """A password's scrypt hash with the costs it was made at; never printed."""

    n: int
    r: int
    p: int
    salt: bytes = field(repr=False)
    digest: bytes = field(repr=False)

    @property
    def mark(self) -> str:
        """Changes when the password does; a session holds it, and ends with it."""
        return hashlib.sha256(self.salt + self.digest).hexdigest()[:24]


@dataclass(frozen=True, slots=True, kw_only=True)
class UserBook:
    """Everyone who may log in, the key that signs their sessions, and scripts by name."""

    key: bytes = field(default=b"", repr=False)
    users: Mapping[str, Hashed] = field(default_factory=dict)
    tokens: Mapping[str, bytes] = field(default_factory=dict, repr=False)


_NOBODY: Final = Hashed(n=_N, r=_R, p=_P, salt=b"nobody", digest=bytes(32))


def users_path(record: Path) -> Path:
    """Where the users of that record are kept: `strandkeeper.db` has `strandkeeper.users`."""
    return record.with_suffix(".users")


def hashed(password: str, salt: bytes, *, n: int = _N, r: int = _R, p: int = _P) -> Hashed:
    """The scrypt hash of `password`, which is composed first (NFKC), as keyboards differ."""
    text = unicodedata.normalize("NFKC", password).encode()
    digest = hashlib.scrypt(text, salt=salt, n=n, r=r, p=p, maxmem=2 * 128 * n * r, dklen=32)
    return Hashed(n=n, r=r, p=p, salt=salt, digest=digest)


def verified(book: UserBook, name: str, password: str) -> Hashed | None:
    """The hash of that user if the password fits, else None; takes as long for unknown names."""
    known = book.users.get(name)
    told = known or _NOBODY
    fits = hmac.compare_digest(_again(password[:_LONGEST_PASSWORD], told), told.digest)
    return known if fits else None


def _again(password: str, like: Hashed) -> bytes:
    return hashed(password, like.salt, n=like.n, r=like.r, p=like.p).digest


def with_user(book: UserBook, name: str, password: str) -> UserBook:
    """The book with that user, or that user's new password. Raises InputError."""
    _check_name(name)
    if len(password) < SHORTEST:
        raise InputError(
            f"that password has {len(password)} characters", hint=f"give at least {SHORTEST}"
        )
    if len(password) > _LONGEST_PASSWORD:
        raise InputError(
            f"that password is longer than {_LONGEST_PASSWORD} characters", hint="give a shorter"
        )
    if name in book.tokens:
        raise InputError(f"{name!r} is a script with a token", hint="give the user another name")
    key = book.key or secrets.token_bytes(32)
    users = {**book.users, name: hashed(password, secrets.token_bytes(16))}
    return replace(book, key=key, users=users)


def with_token(book: UserBook, name: str) -> tuple[UserBook, str]:
    """The book with that script, and its new token, which is nowhere else. Raises InputError."""
    _check_name(name)
    if name in book.users:
        raise InputError(
            f"{name!r} is a user with a password", hint="give the script a name of its own"
        )
    token = secrets.token_urlsafe(32)
    key = book.key or secrets.token_bytes(32)
    return replace(book, key=key, tokens={**book.tokens, name: _token_digest(token)}), token


def script_of(book: UserBook, token: str) -> str | None:
    """The name of the script whose token that is, None if it is nobody's."""
    digest = _token_digest(token)
    found = [name for name, kept in book.tokens.items() if hmac.compare_digest(kept, digest)]
    return found[0] if found else None


def _token_digest(token: str) -> bytes:
    return hashlib.sha256(token.encode(errors="replace")).digest()


def without_user(book: UserBook, name: str) -> UserBook:
    """The book without that user or script. Raises InputError where there is none of that name."""
    if name not in book.users and name not in book.tokens:
        known = ", ".join(sorted([*book.users, *book.tokens])) or "nobody"
        raise InputError(f"there is no user {name!r}", hint=f"there is: {known}")
    return replace(
        book,
        users={n: h for n, h in book.users.items() if n != name},
        tokens={n: h for n, h in book.tokens.items() if n != name},
    )


def _check_name(name: str) -> None:
    if not name or len(name) > _LONGEST_NAME or not name.isprintable() or name != name.strip():
        raise InputError(
            f"{name!r} cannot be a user's name",
            hint=f"use 1 to {_LONGEST_NAME} printable characters, no blank first or last",
        )


def read_users(path: Path) -> UserBook:
    """The book in that file; an empty one where there is no file. Raises InputError."""
    try:
        return _from_json(json.loads(path.read_text("utf-8")))
    except FileNotFoundError:
        return UserBook()
    except OSError as error:
        raise InputError(
            f"the users in {path} cannot be read: {error.strerror}",
            hint="let the user that serves the pages read the file",
        ) from error
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise InputError(
            f"{path} does not hold users as `strandkeeper user` writes them",
            hint="remove the file and add the users again",
        ) from error


def write_users(path: Path, book: UserBook) -> None:
    """Put the book in that file, whole or not at all; nobody beyond its group reads it.

    Written by root, it is given to the owner and the group of its directory, who keep the record
    and serve the pages. Raises InputError.
    """
    new = path.with_name(f"{path.name}.new")
    text = json.dumps(_to_json(book), indent=1, ensure_ascii=False)
    try:
        new.unlink(missing_ok=True)
        handle = os.open(new, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o640)
        with os.fdopen(handle, "w", encoding="utf-8") as out:
            out.write(f"{text}\n")
            out.flush()
            os.fsync(out.fileno())
        if os.geteuid() == 0:
            owner = path.parent.stat()
            os.chown(new, owner.st_uid, owner.st_gid)
        new.replace(path)
    except OSError as error:
        raise InputError(
            f"the users cannot be written to {path}: {error.strerror}",
            hint="run this as the user that keeps the record",
        ) from error


def _to_json(book: UserBook) -> dict[str, Any]:
    users = {
        name: {"scrypt": [h.n, h.r, h.p], "salt": h.salt.hex(), "hash": h.digest.hex()}
        for name, h in sorted(book.users.items())
    }
    tokens = {name: {"sha256": digest.hex()} for name, digest in sorted(book.tokens.items())}
    return {"format": _FORMAT, "key": book.key.hex(), "users": users, "tokens": tokens}


def _from_json(data: Any) -> UserBook:
    if data["format"] != _FORMAT:
        raise ValueError(data["format"])
    return UserBook(
        key=bytes.fromhex(data["key"]),
        users={str(name): _hash_from_json(one) for name, one in data["users"].items()},
        tokens={
            str(name): bytes.fromhex(one["sha256"]) for name, one in data.get("tokens", {}).items()
        },
    )


def _hash_from_json(one: Mapping[str, Any]) -> Hashed:
    n, r, p = (int(cost) for cost in one["scrypt"])
    return Hashed(n=n, r=r, p=p, salt=bytes.fromhex(one["salt"]), digest=bytes.fromhex(one["hash"]))
