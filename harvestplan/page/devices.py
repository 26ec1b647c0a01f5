"""Devices of the home network that may see the page: paired once by a code of six figures, known
by a secret of their own since, and sent away by a tap.

The code is shown on this computer alone, holds for ten minutes and opens for one device. Five wrong
ones end it, and no more than five tries a minute are looked at: of a million codes, somebody at the
door finds it in one pairing of two hundred thousand.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import hmac
import secrets
import time
from collections import deque
from collections.abc import Callable
from http.cookies import CookieError, SimpleCookie
from typing import Any

from harvestplan.page.kept_here import Keep

COOKIE = "household"
HOLDS = 600.0
"""Seconds that a code holds."""
TRIES, MINUTE = 5, 60.0
NAMES, DEVICES = 40, "devices"
MOST_DEVICES = 30


class Devices:
    """Who is paired, and the code by which the next one may be."""

    def __init__(self, keep: Keep, clock: Callable[[], float] = time.monotonic) -> None:
        self.keep, self.clock = keep, clock
        self._code: tuple[str, float] | None = None
        self._wrong = 0
        self._tries: deque[float] = deque(maxlen=TRIES)

    def all(self) -> dict[str, Any]:
        """By id: what each is called, and since when it is paired."""
        found: dict[str, Any] = self.keep.read(DEVICES, {})
        return {key: each for key, each in found.items() if isinstance(each, dict)}

    def new_code(self) -> str:
        """A code of six figures for the next device."""
        code = f"{secrets.randbelow(10**6):06}"
        self._code, self._wrong = (code, self.clock() + HOLDS), 0
        return code

    def code(self) -> str | None:
        """The code that holds now."""
        if self._code is None or self.clock() >= self._code[1]:
            return None
        return self._code[0]

    def pair(self, code: str, name: str) -> str | None:
        """A cookie's value for the device that knows the code, None where it does not."""
        now = self.clock()
        if len(self._tries) == TRIES and now - self._tries[0] < MINUTE:
            return None
        self._tries.append(now)
        known = self.code()
        right = hmac.compare_digest(
            (known or secrets.token_hex(8)).encode(), code.strip().encode("utf-8", "replace")
        )
        if known is None or not right:
            self._wrong += 1
            if self._wrong >= TRIES:
                self._code = None
            return None
        self._code = None
        return self._add(name)

    def _add(self, name: str) -> str:
        key, secret = secrets.token_hex(6), secrets.token_urlsafe(32)
        with self.keep.lock:
            found = self.all()
            while len(found) >= MOST_DEVICES:
                found.pop(next(iter(found)))
            shown = " ".join(name.split())[:NAMES] or "A device"
            today = dt.date.today().isoformat()
            found[key] = {"name": shown, "since": today, "hash": _hash(secret)}
            self.keep.write(DEVICES, found)
        return f"{key}.{secret}"

    def send_away(self, key: str) -> None:
        """Let a device see the page no longer."""
        with self.keep.lock:
            found = self.all()
            if found.pop(key, None) is not None:
                self.keep.write(DEVICES, found)

    def known(self, cookies: str) -> str | None:
        """The id of the device that sent these cookies, where it is a paired one."""
        if len(cookies) > 4000:
            return None
        try:
            sent = SimpleCookie(cookies).get(COOKIE)
        except CookieError:
            return None
        key, _, secret = (sent.value if sent else "").partition(".")
        known = self.all().get(key, {}).get("hash")
        if not isinstance(known, str):
            return None
        return key if hmac.compare_digest(known, _hash(secret)) else None


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()
