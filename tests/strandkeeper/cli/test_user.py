"""`strandkeeper user` on a real terminal and through a pipe: what it writes, what it says."""

from __future__ import annotations

import os
import re
import stat
import subprocess
import sys
import time
from pathlib import Path

import pytest
from tests.strandkeeper.config.texts import VALID

from strandkeeper.config.users import read_users, script_of, verified

PASSWORD = "granite harbour lamp"
COMMAND = [sys.executable, "-m", "strandkeeper", "user"]


@pytest.fixture
def config(tmp_path: Path) -> Path:
    path = tmp_path / "station.toml"
    path.write_text(VALID + '[dashboard]\nhost = "0.0.0.0"\n')
    return path


def piped(act: str, config: Path, name: str, text: str = "") -> tuple[int, str, str]:
    done = subprocess.run(
        [*COMMAND, act, str(config), name],
        input=text,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    return done.returncode, done.stdout, done.stderr


def typed(config: Path, *lines: str) -> tuple[int, str]:
    """Run `user add` on a terminal of its own and type each line when it is asked for."""
    near, far = os.openpty()
    # A session leader without a terminal gets the first one it opens.
    shell = ["sh", "-c", 'tty=$0; exec "$@" <"$tty" >"$tty" 2>&1', os.ttyname(far)]
    running = subprocess.Popen(
        [*shell, *COMMAND, "add", str(config), "Anna"],
        start_new_session=True,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
    )
    said = ""
    for line in lines:
        said += _until_asked(near)
        os.write(near, f"{line}\n".encode())
    code = running.wait(timeout=60)
    os.set_blocking(near, False)
    said += os.read(near, 4096).decode()
    os.close(near)
    os.close(far)
    return code, said


def _until_asked(terminal: int) -> str:
    said = ""
    ends = time.monotonic() + 30
    while not re.search(r": $", said) and time.monotonic() < ends:
        said += os.read(terminal, 4096).decode()
    return said


def test_the_password_is_asked_twice_on_the_terminal_and_not_shown(config: Path) -> None:
    code, said = typed(config, PASSWORD, PASSWORD)
    assert code == 0, said
    assert "Password for Anna: " in said
    assert "Once more: " in said
    assert "Anna may log in now" in said
    assert PASSWORD not in said
    book = read_users(config.with_name("strandkeeper.users"))
    assert verified(book, "Anna", PASSWORD) is not None


def test_two_passwords_that_differ_add_nobody(config: Path) -> None:
    code, said = typed(config, PASSWORD, "granite harbour lump")
    assert code == 1
    assert "the two passwords differ" in said
    assert not config.with_name("strandkeeper.users").exists()


def test_a_pipe_gives_the_password_as_one_line(config: Path) -> None:
    code, said, told = piped("add", config, "Anna", f"{PASSWORD}\nmore\n")
    assert (code, said) == (0, "Anna may log in now\n")
    assert told == "from now on everybody has to log in, on this computer too\n"
    path = config.with_name("strandkeeper.users")
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert PASSWORD not in path.read_text()
    assert piped("add", config, "Anna", f"{PASSWORD}!\n")[1] == "Anna has a new password\n"


def test_a_short_password_is_refused_with_how_long_it_must_be(config: Path) -> None:
    assert piped("add", config, "Anna", "harbour\n") == (
        1,
        "",
        "strandkeeper: that password has 7 characters\n  give at least 10\n",
    )


def test_removing_the_last_says_what_that_means(config: Path) -> None:
    piped("add", config, "Anna", f"{PASSWORD}\n")
    assert piped("remove", config, "Anna") == (
        0,
        "Anna may not log in any more; open sessions are over\n",
        "that was the last: nobody can see the pages now\n",
    )
    assert read_users(config.with_name("strandkeeper.users")).users == {}


def test_removing_somebody_unknown_names_who_is_there(config: Path) -> None:
    piped("add", config, "Anna", f"{PASSWORD}\n")
    assert piped("remove", config, "Bert") == (
        1,
        "",
        "strandkeeper: there is no user 'Bert'\n  there is: Anna\n",
    )


def test_a_script_gets_a_token_that_is_printed_once_and_taken_back_by_name(config: Path) -> None:
    users = config.with_name("strandkeeper.users")
    code, token, said = piped("token", config, "tide gauge")
    assert code == 0, said
    assert re.fullmatch(r"[\w-]{43}\n", token)  # 256 bits, RFC 4648 section 5
    assert "Authorization: Bearer TOKEN" in said
    assert token.strip() not in said + users.read_text()
    assert script_of(read_users(users), token.strip()) == "tide gauge"
    again = piped("token", config, "tide gauge")
    assert "the old one is void" in again[2]
    assert script_of(read_users(users), token.strip()) is None
    assert piped("remove", config, "tide gauge")[1] == "the token of tide gauge is void\n"
    assert script_of(read_users(users), again[1].strip()) is None


def test_a_script_and_a_person_never_share_a_name(config: Path) -> None:
    assert piped("add", config, "Anna", f"{PASSWORD}\n")[0] == 0
    code, _said, trouble = piped("token", config, "Anna")
    assert code == 1
    assert "'Anna' is a user with a password" in trouble
    assert piped("token", config, "tide gauge")[0] == 0
    code, _said, trouble = piped("add", config, "tide gauge", f"{PASSWORD}\n")
    assert code == 1
    assert "'tide gauge' is a script with a token" in trouble
