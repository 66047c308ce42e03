"""The configuration read by a short-lived process, so that what reads it does not stay in memory.

The checking library and our tables for it weigh 19 MB, are needed once, and cannot be unloaded. The
programs that run for months read the configuration here; everything else calls `load` itself.
"""

from __future__ import annotations

import pickle
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from strandkeeper.errors import StrandkeeperError
from strandkeeper.model.settings import Settings

__all__ = ["load_aside"]


def load_aside(path: Path) -> Settings:
    """The settings in that file, or the error that `load` raises for it.

    Raises RuntimeError if the reading process failed by our own mistake; it has said why.
    """
    done = subprocess.run(
        [sys.executable, "-m", "strandkeeper.config.aside", str(path)],
        stdout=subprocess.PIPE,
        check=False,
    )
    if done.returncode:
        raise RuntimeError(f"reading {path} ended with {done.returncode}")
    answer = pickle.loads(done.stdout)  # from our own process, never from a file
    if isinstance(answer, StrandkeeperError):
        raise answer
    if not isinstance(answer, Settings):
        raise TypeError(f"reading {path} gave {type(answer).__name__}")
    return answer


def main(arguments: Sequence[str]) -> None:
    """Read, and hand over on stdout."""
    from strandkeeper.config.load import load  # the other process must not

    answer: Settings | StrandkeeperError
    try:
        answer = load(Path(arguments[0]))
    except StrandkeeperError as error:
        answer = error
    sys.stdout.buffer.write(pickle.dumps(answer))


if __name__ == "__main__":
    main(sys.argv[1:])
