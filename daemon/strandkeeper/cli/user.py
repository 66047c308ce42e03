"""`strandkeeper user`: who may log in to the pages, and which scripts may read the JSON."""

from __future__ import annotations

import argparse
import getpass
import sys
from pathlib import Path

from strandkeeper.config.listening import is_loopback
from strandkeeper.config.load import load
from strandkeeper.config.users import (
    SHORTEST,
    read_users,
    users_path,
    with_token,
    with_user,
    without_user,
    write_users,
)
from strandkeeper.errors import ExitCode, InputError
from strandkeeper.model.settings import Settings

__all__ = ["EXAMPLE", "add_arguments", "run"]

EXAMPLE = "strandkeeper user add station.toml anna"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What to do, the configuration, and whom it concerns."""
    parser.add_argument(
        "act",
        choices=("add", "remove", "token"),
        help="let somebody in (or give a new password), no longer, or give a script a token",
    )
    parser.add_argument("config", type=Path, help="the configuration file (TOML)")
    parser.add_argument(
        "name",
        help=f"the name to log in with; the password (at least {SHORTEST} characters) is asked on "
        "the terminal, or read as one line from a pipe. With token: what the script is called; its "
        "token is printed once",
    )


def run(arguments: argparse.Namespace) -> int:
    """Write the users' file beside the record. Raises InputError."""
    settings = load(arguments.config, user_comes=True)
    path = users_path(Path(settings.store.path))
    if arguments.act == "add":
        _add(path, arguments.name)
    elif arguments.act == "token":
        _give_token(path, arguments.name)
    else:
        _remove(path, arguments.name, settings)
    return ExitCode.DONE


def _add(path: Path, name: str) -> None:
    book = read_users(path)
    known = name in book.users
    write_users(path, with_user(book, name, _password(name)))
    print(f"{name} has a new password" if known else f"{name} may log in now")
    if not book.users:
        print("from now on everybody has to log in, on this computer too", file=sys.stderr)


def _give_token(path: Path, name: str) -> None:
    book = read_users(path)
    known = name in book.tokens
    changed, token = with_token(book, name)
    write_users(path, changed)
    print(token)
    done = "has a new token, the old one is void" if known else "may read the JSON with this token"
    print(
        f"{name} {done}. It is not kept: put it into a file that only the script reads, and send "
        "it as the header 'Authorization: Bearer TOKEN'.",
        file=sys.stderr,
    )


def _remove(path: Path, name: str, settings: Settings) -> None:
    before = read_users(path)
    book = without_user(before, name)
    write_users(path, book)
    if name in before.tokens:
        print(f"the token of {name} is void")
        return
    print(f"{name} may not log in any more; open sessions are over")
    if book.users:
        return
    if is_loopback(settings.dashboard.host) and not settings.behind_proxy:
        print("that was the last: on this computer nobody has to log in now", file=sys.stderr)
    else:
        print("that was the last: nobody can see the pages now", file=sys.stderr)


def _password(name: str) -> str:
    """Asked twice on a terminal; from a pipe one line, for whoever sets up many computers."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\r\n")
    first = getpass.getpass(f"Password for {name}: ")
    if getpass.getpass("Once more: ") != first:
        raise InputError("the two passwords differ", hint="run the command again")
    return first
