"""What `python tests/mutate MODULE…` runs."""

import sys
from pathlib import Path

# As for the benchmarks: the installed program is mutated, not what lies beside this folder.
_HERE = Path(__file__).resolve().parent
_HIDING = {_HERE, _HERE.parent, _HERE.parent.parent}
sys.path[:] = [str(_HERE.parent), *(p for p in sys.path if Path(p).resolve() not in _HIDING)]

if __name__ == "__main__":
    from mutate.command import main

    sys.exit(main(sys.argv[1:]))
