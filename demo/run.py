"""The main job on the demo household: python3 demo/run.py (needs only Python 3.11+)."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from environment import ready_python

HOUSEHOLD = Path(__file__).resolve().parent / "willow-bend"
AS_OF = "2027-03-15"


def main() -> int:
    """Forecast, plan and check the demo household; says where the files are."""
    print("Getting ready (the first time this takes minutes) ...", flush=True)
    python = ready_python()
    for words in (["forecast"], ["plan"], ["check"]):
        dated = [] if words == ["check"] else ["--as-of", AS_OF]
        shown = ["harvestplan", *words, *dated, "--in", str(HOUSEHOLD.relative_to(Path.cwd()))
                 if HOUSEHOLD.is_relative_to(Path.cwd()) else str(HOUSEHOLD)]  # fmt: skip
        print(f"\n$ {' '.join(shown)}", flush=True)
        code = subprocess.run([python, "-m", *shown]).returncode
        if code:
            return code
    count = sum(path.is_file() for path in (HOUSEHOLD / "out").rglob("*"))
    print(f"\n{count} files are in {HOUSEHOLD / 'out'}. Begin with the season as a book:")
    print(f"  {HOUSEHOLD / 'out' / 'book.html'}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
