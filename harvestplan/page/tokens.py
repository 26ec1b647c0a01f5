"""Form tokens: a form that is sent was shown by this server, to this device, for this action.

A token is an HMAC-SHA256 over device, action and the form's own code. The code is at the same time
the one under which what the form records will stand in the diary: a form that is sent twice, after
a kill too, writes one line.
"""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets

from harvestplan.records.diary import LETTERS

CODE = re.compile(r"[a-z0-9]{8}")
LENGTH = 8


def new_code() -> str:
    """A form's code; of 31 letters eight times, so that no two forms ever draw the same."""
    return "".join(secrets.choice(LETTERS) for _ in range(LENGTH))


def token_for(secret: str, device: str, action: str, code: str) -> str:
    """The token of one form."""
    told = "\n".join((device, action, code)).encode("utf-8", "replace")
    return hmac.new(secret.encode(), told, hashlib.sha256).hexdigest()


def is_sound(secret: str, device: str, action: str, code: str, token: str) -> bool:
    """Whether the token is the form's, compared in constant time."""
    known = token_for(secret, device, action, code)
    return CODE.fullmatch(code) is not None and hmac.compare_digest(
        known.encode(), token.encode("utf-8", "replace")
    )
