"""The household's page as the real command serves it, asked over HTTP."""

from __future__ import annotations

import contextlib
import datetime as dt
import http.client
import os
import signal
import subprocess
import sys
from pathlib import Path
from urllib.parse import urlencode

from page.served import Form, FormsOf


class Running:
    """The real command, begun anew after each kill at the same port."""

    def __init__(self, folder: Path, keeps: Path, today: dt.date) -> None:
        self.folder, self.today = folder, today
        self.environment = os.environ | {"HARVESTPLAN_KEEPS": str(keeps), "PYTHONUNBUFFERED": "1"}
        self.port = 0
        self.process: subprocess.Popen[str] | None = None

    def begin(self) -> None:
        words = [sys.executable, "-m", "harvestplan", "open", str(self.folder), "--no-browser"]
        words += ["--as-of", f"{self.today}", *(["--port", str(self.port)] if self.port else [])]
        self.process = subprocess.Popen(
            words, stdout=subprocess.PIPE, encoding="utf-8", env=self.environment
        )
        assert self.process.stdout is not None
        self.port = int(self.process.stdout.readline().rsplit(":", 1)[1].strip(" /\n"))

    @property
    def pid(self) -> int:
        """The process that serves."""
        assert self.process is not None
        return self.process.pid

    def kill(self) -> None:
        assert self.process is not None
        self.process.send_signal(signal.SIGKILL)
        self.process.communicate()

    def ask(self, method: str, path: str, body: str = "") -> tuple[int, str]:
        """An answer that came whole, or OSError."""
        to = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        own = {"Origin": f"http://127.0.0.1:{self.port}"}
        kind = {"Content-Type": "application/x-www-form-urlencoded"}
        with contextlib.closing(to):
            to.request(method, path, body or None, own | kind if body else {})
            answer = to.getresponse()
            return answer.status, answer.read().decode()

    def takes(self, form: Form) -> bool | None:
        """Whether the form was taken; None where no answer came."""
        try:
            return self.ask("POST", form.action, urlencode(form.fields))[0] == 303
        except (OSError, http.client.HTTPException):
            return None

    def forms(self, path: str) -> list[Form]:
        found = FormsOf()
        found.feed(self.ask("GET", path)[1])
        return found.forms
