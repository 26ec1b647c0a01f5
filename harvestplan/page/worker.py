"""The process beside the server that does long work: `python -m harvestplan.page.worker`.

One line of JSON on stdin is the job. A line "enough" after it ends a search with the best so far,
as Ctrl-C does on the command line; when stdin closes, the server is gone and the process ends.
"""

from __future__ import annotations

import _thread
import json
import os
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any, TextIO

from harvestplan.errors import HarvestPlanError
from harvestplan.page import worker_tasks

TASKS: dict[str, Callable[..., dict[str, Any]]] = {
    "plan": worker_tasks.plan,
    "adopt": worker_tasks.adopt,
    "forecast": worker_tasks.forecast,
    "places": worker_tasks.places,
    "meaning": worker_tasks.meaning,
    "what-if": worker_tasks.what_if,
}


def main() -> None:
    """Do the job that stands on stdin."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    out, sys.stdout = sys.stdout, sys.stderr
    job: dict[str, Any] = json.loads(sys.stdin.readline() or "{}")
    try:
        threading.Thread(target=_listen, daemon=True).start()
        task, folder = TASKS[job.pop("kind")], Path(job.pop("folder"))
        _tell(out, result=task(folder, say=lambda text: _tell(out, say=text), **job))
    except HarvestPlanError as error:
        _tell(out, trouble=str(error))
    except KeyboardInterrupt:
        _tell(out, trouble="It was stopped before there was anything to keep.")
    except OSError as error:
        _tell(out, trouble=f"The computer refused: {error.strerror or error}.")
    except MemoryError:
        _tell(out, trouble="The computer is out of memory. Close other programs and try again.")
    except Exception:
        if os.environ.get("HARVESTPLAN_DEBUG"):
            raise
        _tell(out, trouble="Something went wrong inside harvestplan. This is our fault, not yours.")
    os._exit(0)


def _tell(out: TextIO, **told: Any) -> None:
    out.write(json.dumps(told, ensure_ascii=True) + "\n")
    out.flush()


def _listen() -> None:
    for line in sys.stdin:
        if line.strip() == "enough":
            _thread.interrupt_main()
    os._exit(3)


if __name__ == "__main__":
    main()
