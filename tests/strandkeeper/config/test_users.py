"""Hashed passwords and their file."""

from __future__ import annotations

import json
import os
import stat
from dataclasses import replace
from pathlib import Path

import pytest

from strandkeeper.config.users import (
    UserBook,
    hashed,
    read_users,
    script_of,
    verified,
    with_token,
    with_user,
    without_user,
    write_users,
)
from strandkeeper.errors import InputError

PASSWORD = "granite harbour lamp"


def test_hash_is_the_scrypt_of_rfc_7914() -> None:
    # RFC 7914, section 12: P="password", S="NaCl", N=1024, r=8, p=16; the first 32 of 64 octets
    found = hashed("password", b"NaCl", n=1024, r=8, p=16)
    assert found.digest.hex() == (
        "fdbabe1c9d3472007856e7190d01e9fe7c6ad7cbc8237830e77376634b373162"
    )


def test_a_password_fits_its_own_user_alone() -> None:
    book = with_user(with_user(UserBook(), "Anna", PASSWORD), "Bert", PASSWORD + "s")
    assert verified(book, "Anna", PASSWORD) is book.users["Anna"]
    assert verified(book, "Bert", PASSWORD) is None
    assert verified(book, "Carl", PASSWORD) is None
    assert verified(book, "Carl", "") is None


def test_one_password_has_another_hash_every_time() -> None:
    first, second = (with_user(UserBook(), "Anna", PASSWORD).users["Anna"] for _ in range(2))
    assert first.digest != second.digest
    assert first.mark != second.mark


def test_a_letter_typed_as_two_characters_is_the_same_letter() -> None:
    book = with_user(UserBook(), "Anna", "Ka\u0308sebro\u0308tchen")
    assert verified(book, "Anna", "K\u00e4sebr\u00f6tchen") is not None


def test_neither_hash_nor_key_is_printed() -> None:
    book = with_user(UserBook(), "Anna", PASSWORD)
    assert book.key.hex() not in repr(book)
    assert repr(book.key) not in repr(book)
    assert repr(book.users["Anna"].salt) not in repr(book)


def test_the_file_holds_everybody_for_its_group_alone(tmp_path: Path) -> None:
    path = tmp_path / "strandkeeper.users"
    book = with_user(with_user(UserBook(), "Anna", PASSWORD), "Bjørn ☂", PASSWORD)
    write_users(path, book)
    assert read_users(path) == book
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert os.listdir(tmp_path) == ["strandkeeper.users"]


def test_the_key_stays_when_somebody_is_added_or_removed() -> None:
    book = with_user(UserBook(), "Anna", PASSWORD)
    assert len(book.key) == 32
    more = with_user(book, "Bert", PASSWORD)
    assert more.key == without_user(more, "Bert").key == book.key


def test_no_file_is_nobody(tmp_path: Path) -> None:
    assert read_users(tmp_path / "strandkeeper.users") == UserBook()


@pytest.mark.parametrize("text", ["", "{}", "[]", '{"format": 2, "key": "", "users": {}}', "\x00"])
def test_a_file_of_somebody_else_is_refused(tmp_path: Path, text: str) -> None:
    path = tmp_path / "strandkeeper.users"
    path.write_text(text)
    with pytest.raises(InputError) as caught:
        read_users(path)
    assert str(caught.value) == (
        f"{path} does not hold users as `strandkeeper user` writes them\n"
        "  remove the file and add the users again"
    )


@pytest.mark.parametrize("name", ["", " Anna", "An\nna", "a" * 65])
def test_a_name_that_cannot_be_typed_is_refused(name: str) -> None:
    with pytest.raises(InputError, match="cannot be a user's name"):
        with_user(UserBook(), name, PASSWORD)


def test_a_file_without_scripts_is_read_and_tokens_come_back_as_they_went(tmp_path: Path) -> None:
    path = tmp_path / "strandkeeper.users"
    book, token = with_token(with_user(UserBook(), "Anna", PASSWORD), "tide gauge")
    write_users(path, book)
    assert read_users(path) == book
    assert script_of(read_users(path), token) == "tide gauge"
    told = json.loads(path.read_text())
    del told["tokens"]
    path.write_text(json.dumps(told))
    assert read_users(path) == replace(book, tokens={})


def test_a_new_user_and_a_new_token_leave_the_others_as_they_are() -> None:
    book, token = with_token(UserBook(), "tide gauge")
    book = with_user(book, "Anna", PASSWORD)
    book, other = with_token(book, "weather")
    assert [script_of(book, one) for one in (token, other, "")] == ["tide gauge", "weather", None]
    assert verified(book, "Anna", PASSWORD) is not None
