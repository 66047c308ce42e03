"""One demo a directory; the story goes on only if its history is whole."""

from __future__ import annotations

from pathlib import Path

import pytest

from strandkeeper.errors import OperatorError
from strandkeeper_demo.directory import DemoDirectory, Told, usual_directory


def test_a_second_demo_in_the_same_directory_is_told_so(tmp_path: Path) -> None:
    with DemoDirectory(tmp_path).held(), pytest.raises(OperatorError) as caught:
        with DemoDirectory(tmp_path).held():
            pass
    assert str(caught.value) == (
        f"a demo is already running in {tmp_path}\n"
        "  end it with Ctrl-C, or start another with --dir DIRECTORY --port NUMBER"
    )


def test_a_directory_is_free_again_when_its_demo_has_ended(tmp_path: Path) -> None:
    for _ in range(2):
        with DemoDirectory(tmp_path).held():
            pass


def test_a_place_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(OperatorError, match="cannot be used") as caught:
        with DemoDirectory(tmp_path / "file" / "demo").held():
            pass
    assert "--dir" in caught.value.hint


def test_the_story_goes_on_where_the_last_start_left_it(tmp_path: Path) -> None:
    directory = DemoDirectory(tmp_path)
    told = Told(now_s=1_767_268_800, utc_offset_s=3600, imported=True)
    directory.record.write_text("a record")
    directory.remember(told)
    assert directory.told() == told


def test_somebody_elses_files_are_left_alone(tmp_path: Path) -> None:
    (tmp_path / "record.db").write_text("a year of readings")
    with pytest.raises(OperatorError) as caught:
        with DemoDirectory(tmp_path).held():
            pass
    assert str(caught.value) == (
        f"{tmp_path} has files in it that no demo made\n"
        "  give an empty or a new directory: --dir DIRECTORY"
    )
    assert [file.name for file in tmp_path.iterdir()] == ["record.db"]


@pytest.mark.parametrize("left", ["half imported", "no record", "damaged memory"])
def test_a_story_that_was_not_brought_in_whole_is_told_anew(tmp_path: Path, left: str) -> None:
    directory = DemoDirectory(tmp_path)
    if left != "no record":
        directory.record.write_text("a record")
    directory.remember(Told(now_s=1, utc_offset_s=0, imported=left != "half imported"))
    if left == "damaged memory":
        (tmp_path / "demo.json").write_text("{")
    assert directory.told() is None


def test_forgetting_removes_the_record_with_its_companions_and_nothing_else(
    tmp_path: Path,
) -> None:
    for name in ("record.db", "record.db-wal", "record.db-shm", "demo.toml"):
        (tmp_path / name).write_text("")
    DemoDirectory(tmp_path).forget()
    assert [file.name for file in tmp_path.iterdir()] == ["demo.toml"]


def test_the_usual_place_is_the_users_own_cache(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", "/somewhere/cache")
    assert usual_directory() == Path("/somewhere/cache/strandkeeper-demo")
