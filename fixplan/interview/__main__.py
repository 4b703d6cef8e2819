"""python -m fixplan.interview [CASE.toml]"""

import sys
from pathlib import Path

from fixplan.interview.dialogue import run

if __name__ == "__main__":
    sys.exit(run(Path(sys.argv[1]) if len(sys.argv) > 1 else None, sys.stdin, sys.stdout))
