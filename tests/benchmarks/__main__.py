"""What `python tests/benchmarks` runs; `soak` after it keeps clients busy, `keystrokes` counts keys."""

import sys
from pathlib import Path

# What it measures is the installed program: not the folder kitting/ of a checkout, which lies
# beside this one and is not the whole of it. Processes that are started from here take this path.
_HERE = Path(__file__).resolve().parent
_HIDING = {_HERE, _HERE.parent, _HERE.parent.parent}
sys.path[:] = [str(_HERE.parent), *(p for p in sys.path if Path(p).resolve() not in _HIDING)]


def run() -> int:
    """The command, the soak or the keystrokes, by the first word."""
    if sys.argv[1:2] == ["soak"]:
        from benchmarks.soak import main as soak

        return soak(sys.argv[2:])
    if sys.argv[1:2] == ["keystrokes"]:
        from benchmarks.keystrokes import main as keystrokes

        return keystrokes(sys.argv[2:])
    from benchmarks.command import main

    return main(sys.argv[1:])


if __name__ == "__main__":
    sys.exit(run())
