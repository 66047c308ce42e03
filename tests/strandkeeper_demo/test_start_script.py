"""`deploy/start`, with `environment.sh`: finds Python, installs once, passes arguments on."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest

SCRIPT = Path(__file__).parents[2] / "deploy" / "start"
TOOLS = ("sh", "dirname", "basename", "cksum", "cat")


@pytest.fixture
def clone(tmp_path: Path) -> Path:
    """A clone in a directory with a blank in its name, and a PATH with nothing but small tools."""
    root = tmp_path / "my clone"
    (root / "deploy").mkdir(parents=True)
    for name in ("start", "environment.sh"):
        shutil.copy(SCRIPT.with_name(name), root / "deploy" / name)
    (root / "pyproject.toml").write_text("[project]\n")
    (root / "deploy" / "constraints.txt").write_text("one==1\n")
    tools = tmp_path / "bin"
    tools.mkdir()
    for name in TOOLS:
        found = shutil.which(name)
        assert found, name
        (tools / name).symlink_to(found)
    return root


def start(clone: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [str(clone / "deploy" / "start"), *arguments],
        env={"PATH": str(clone.parent / "bin")},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def put_python(directory: Path, script: str, name: str = "python3") -> None:
    """A stand-in for Python: reality would need several versions of it on this machine."""
    directory.mkdir(parents=True, exist_ok=True)
    path = directory / name
    path.write_text(f"#!/bin/sh\n{script}\n")
    path.chmod(0o755)


def answers(**by_word: str) -> str:
    cases = "\n".join(f"*{word}*) {action} ;;" for word, action in by_word.items())
    return f'case "$*" in\n{cases}\nesac'


PRINT_ARGUMENTS = 'for a in "$@"; do printf "<%s>" "$a"; done'


def install_environment(clone: Path, script: str = PRINT_ARGUMENTS) -> None:
    """What a first start leaves behind: a Python in .venv and the stamp."""
    put_python(clone / ".venv" / "bin", script, "python")
    text = ""
    for file in ("pyproject.toml", "deploy/constraints.txt"):
        with (clone / file).open() as opened:
            text += subprocess.run(
                ["cksum"], stdin=opened, capture_output=True, text=True, check=True
            ).stdout
    (clone / ".venv" / "strandkeeper-installed").write_text(f"{clone}\n{text}")


def test_the_script_is_executable_and_plain_sh() -> None:
    assert os.access(SCRIPT, os.X_OK)
    assert SCRIPT.read_text().startswith("#!/bin/sh\n")
    subprocess.run(["sh", "-n", str(SCRIPT)], check=True)


def test_without_python_it_says_what_to_install(clone: Path) -> None:
    done = start(clone)
    assert done.returncode == 1
    assert "Python 3.11 or later is needed" in done.stderr
    assert "sudo apt install python3 python3-venv" in done.stderr


def test_a_python_that_is_too_old_is_not_taken(clone: Path) -> None:
    put_python(clone.parent / "bin", answers(version_info="exit 1"))
    assert "Python 3.11 or later is needed" in start(clone).stderr


def test_a_missing_venv_module_is_named_with_its_package(clone: Path) -> None:
    script = answers(ensurepip="exit 1", print="echo 3.12; exit 0", version_info="exit 0")
    put_python(clone.parent / "bin", script)
    done = start(clone)
    assert done.returncode == 1
    assert "its venv module is not installed" in done.stderr
    assert "sudo apt install python3.12-venv" in done.stderr


def test_a_later_start_installs_nothing_and_starts_the_demo(clone: Path) -> None:
    install_environment(clone)
    done = start(clone)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == "<-m><strandkeeper><demo>"


@pytest.mark.parametrize(
    ("given", "passed"),
    [
        (["--port", "8090"], "<-m><strandkeeper><demo><--port><8090>"),
        (["--dir", "a b"], "<-m><strandkeeper><demo><--dir><a b>"),
        (["my station.toml"], "<-m><strandkeeper><run><my station.toml>"),
        (["s.toml", "--no-dashboard"], "<-m><strandkeeper><run><s.toml><--no-dashboard>"),
    ],
)
def test_arguments_are_passed_on_whole(clone: Path, given: list[str], passed: str) -> None:
    install_environment(clone)
    assert start(clone, *given).stdout == passed


@pytest.mark.parametrize("file", ["pyproject.toml", "deploy/constraints.txt"])
def test_changed_dependencies_are_installed_again(clone: Path, file: str) -> None:
    log = clone.parent / "pip.log"
    script = f'case "$*" in *"-m pip"*) echo "$PIP_CONSTRAINT $*" >>"{log}" ;; esac'
    install_environment(clone, script)
    put_python(clone.parent / "bin", "exit 0")
    with (clone / file).open("a") as opened:
        opened.write("# changed\n")
    assert start(clone).returncode == 0
    assert start(clone).returncode == 0
    (line,) = log.read_text().splitlines()
    assert line.startswith("deploy/constraints.txt -m pip install ")
    assert line.endswith(f"--editable {clone}")


def test_a_failed_installation_is_tried_again_next_time(clone: Path) -> None:
    script = 'case "$*" in *"-m pip"*) echo no network >&2; exit 1 ;; *demo*) echo started ;; esac'
    install_environment(clone, script)
    (clone / ".venv" / "strandkeeper-installed").unlink()
    put_python(clone.parent / "bin", "exit 0")
    for _ in range(2):
        done = start(clone)
        assert done.returncode == 1
        assert "could not be installed" in done.stderr
        assert "started" not in done.stdout
