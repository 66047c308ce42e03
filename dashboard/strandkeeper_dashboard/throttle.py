"""How long somebody who guessed wrong has to wait before the next guess."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import Final

__all__ = ["Throttle"]

_FREE: Final = 4
_LONGEST_S: Final = 300.0
_FORGOTTEN_S: Final = 3600.0
_KEYS: Final = 10_000


class Throttle:
    """Counts wrong guesses by key (a name, an address).

    Four are free, then the wait doubles from one second to five minutes; an hour without a wrong
    guess forgets. Own design, no source. `clock` is monotonic, in seconds.
    """

    def __init__(self, clock: Callable[[], float]) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._wrong: OrderedDict[str, tuple[int, float]] = OrderedDict()

    def wait_s(self, *keys: str) -> float:
        """How long until any of the keys may guess again, 0 for now."""
        now = self._clock()
        with self._lock:
            return max((self._wait(key, now) for key in keys), default=0.0)

    def _wait(self, key: str, now: float) -> float:
        count, last = self._wrong.get(key, (0, now))
        if count < _FREE or now - last > _FORGOTTEN_S:
            return 0.0
        pause = min(_LONGEST_S, 2.0 ** min(count - _FREE, 20))
        return max(0.0, last + pause - now)

    def failed(self, *keys: str) -> None:
        """Each of the keys guessed wrong just now."""
        now = self._clock()
        with self._lock:
            for key in keys:
                count, last = self._wrong.pop(key, (0, now))
                self._wrong[key] = (1 if now - last > _FORGOTTEN_S else count + 1, now)
            while len(self._wrong) > _KEYS:
                self._wrong.popitem(last=False)

    def forgive(self, *keys: str) -> None:
        """Each of the keys proved itself."""
        with self._lock:
            for key in keys:
                self._wrong.pop(key, None)
