"""`deploy/install` below a directory of its own: no service manager runs here, so what is left out
is what it would be told (daemon-reload, enable, restart) and the sandbox itself.

The environments are real; the packages they would download are those of the tests' own.
"""

from __future__ import annotations

import os
import shutil
import site
import subprocess
from pathlib import Path
from stat import S_IMODE

import pytest

ROOT = Path(__file__).parents[2]
COPIED = ("daemon", "dashboard", "config_demo", "deploy", "pyproject.toml", "README.md")

pytestmark = [
    pytest.mark.slow,
    pytest.mark.timeout(300),
    pytest.mark.skipif(
        os.geteuid() != 0 or shutil.which("systemd-sysusers") is None,
        reason="NOT RUN: needs root and systemd-sysusers",
    ),
]


@pytest.fixture
def clone(tmp_path: Path) -> Path:
    clone = tmp_path / "my clone"
    clone.mkdir()
    for name in COPIED:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, clone / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(ROOT / name, clone / name)
    return clone


def install(clone: Path, root: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [clone / "deploy" / "install", *arguments],
        capture_output=True,
        text=True,
        check=False,
        env={
            "PATH": os.environ["PATH"],
            "HOME": str(root.with_name("home")),
            "DESTDIR": str(root),
            "PYTHONPATH": site.getsitepackages()[0],
            "PIP_NO_DEPS": "1",
            "PIP_NO_BUILD_ISOLATION": "false",  # pip's word for: no isolation
            "PIP_NO_INDEX": "1",
            "PYTHONWARNINGS": "ignore",
            "STRANDKEEPER_PYTHON": shutil.which("python3.11") or "python3",
        },
    )


def tree(root: Path) -> dict[str, int]:
    """Every file but compiled ones, with the time it was last written."""
    return {
        str(p.relative_to(root)): p.lstat().st_mtime_ns
        for p in root.rglob("*")
        if p.is_file() and "__pycache__" not in p.parts
    }


def configure(root: Path) -> Path:
    config = root / "etc" / "strandkeeper" / "station.toml"
    text = config.read_text().replace("/var/lib/strandkeeper", str(root / "var/lib/strandkeeper"))
    config.write_text(text)
    return config


def keep_a_record(root: Path) -> None:
    subprocess.run(
        [
            root / "opt/strandkeeper/current/bin/python",
            "-c",
            "import sys, strandkeeper.store as s; s.open_writer(sys.argv[1]).close()",
            root / "var/lib/strandkeeper/record.db",
        ],
        check=True,
        env={"PYTHONPATH": site.getsitepackages()[0]},
    )


def test_install_twice_upgrade_and_uninstall(clone: Path, tmp_path: Path) -> None:
    root = tmp_path / "root"
    first = install(clone, root)
    assert first.returncode == 0, first.stderr
    assert "systemctl enable --now strandkeeper.service" in first.stderr
    assert S_IMODE((root / "etc/strandkeeper/secrets").stat().st_mode) == 0o700
    assert S_IMODE((root / "var/lib/strandkeeper").stat().st_mode) == 0o2770
    config = root / "etc/strandkeeper/station.toml"
    assert S_IMODE(config.stat().st_mode) == 0o640
    assert 'path = "/var/lib/strandkeeper/record.db"' in config.read_text()
    users = (root / "etc/passwd").read_text()
    assert "strandkeeper:x" in users
    assert "strandkeeper-dashboard:x" in users

    before = tree(root)
    again = install(clone, root)
    assert again.returncode == 0, again.stderr
    assert "installed already" in again.stderr
    assert tree(root) == before, "running it again changes nothing"

    configure(root)
    keep_a_record(root)
    (clone / "daemon/strandkeeper/__init__.py").write_text('"""Later."""\n\n__version__ = "0.2"\n')
    old = (root / "opt/strandkeeper/current").readlink()
    upgraded = install(clone, root)
    assert upgraded.returncode == 0, upgraded.stderr
    assert (root / "opt/strandkeeper/current").readlink() != old
    assert (root / "opt/strandkeeper" / old).is_dir(), "the release before is kept"
    (copy,) = (root / "var/backups/strandkeeper").iterdir()
    assert S_IMODE(copy.stat().st_mode) == 0o600
    assert f"{copy}: " in upgraded.stderr

    gone = install(clone, root, "--uninstall")
    assert gone.returncode == 0, gone.stderr
    left = {p for p in tree(root) if not p.startswith(("etc/passwd", "etc/group", "etc/.pwd"))}
    left -= {p for p in left if p.startswith(("etc/shadow", "etc/gshadow"))}
    assert {p.rsplit(".reserve", 1)[0] for p in left} == {
        "etc/strandkeeper/station.toml",
        "var/lib/strandkeeper/record.db",
        f"var/backups/strandkeeper/{copy.name}",
    }
    assert install(clone, root, "--uninstall").returncode == 0


def test_without_a_copy_of_the_record_there_is_no_upgrade(clone: Path, tmp_path: Path) -> None:
    root = tmp_path / "root"
    assert install(clone, root).returncode == 0
    configure(root)
    (root / "var/lib/strandkeeper/record.db").write_bytes(b"damaged" * 1000)
    (clone / "daemon/strandkeeper/__init__.py").write_text('"""Later."""\n\n__version__ = "0.2"\n')
    old = (root / "opt/strandkeeper/current").readlink()
    refused = install(clone, root)
    assert refused.returncode == 1
    assert "so nothing was changed" in refused.stderr
    assert (root / "opt/strandkeeper/current").readlink() == old
    assert install(clone, root, "--no-backup").returncode == 0


def test_a_release_that_cannot_be_made_leaves_the_one_before(clone: Path, tmp_path: Path) -> None:
    root = tmp_path / "root"
    assert install(clone, root).returncode == 0
    old = (root / "opt/strandkeeper/current").readlink()
    (clone / "pyproject.toml").write_text("[project]\nname = 1\n")
    failed = install(clone, root)
    assert failed.returncode == 1
    assert "what was installed before is as it was" in failed.stderr
    assert (root / "opt/strandkeeper/current").readlink() == old
    assert len(list((root / "opt/strandkeeper/releases").iterdir())) == 1


def test_an_option_that_does_not_exist_is_usage(clone: Path, tmp_path: Path) -> None:
    assert install(clone, tmp_path / "root", "--purge").returncode == 2
