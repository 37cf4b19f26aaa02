"""Which kinds of threaded parts are not reckoned as a solid bolt: hollow, stretched, loose, none.

Common practice, no source; the maker's data come first. A bore is the widest that is usual, so that
what such a screw bears is reckoned low.
"""

from __future__ import annotations

from collections.abc import Mapping

# The bore as a share of the nominal diameter.
BORES: Mapping[str, float] = {
    "bleed-screw": 0.5,
    "banjo-bolt": 0.6,
    "union": 0.6,
    "spark-plug": 0.75,
    "glow-plug": 0.75,
    # The thread of a pipe or a hose is that of its end.
    "brake-hose": 0.6,
    "brake-pipe": 0.6,
    "high-pressure-fuel-pipe": 0.6,
}
# A cap is a thin ring, a plug of plastic no steel, and the screw of a band clamp pulls a band: of
# none of them the thread and a property class tell what it bears.
NO_BOLTS = frozenset({"screw-cap", "plastic-drain-plug", "worm-drive-clamp"})
# What is meant to be taken to its yield point.
STRETCHED = frozenset({"stretch-bolt"})
# What is turned until a bearing has its play or its preload, however little that takes.
ADJUSTED = frozenset({"bearing-adjuster"})
# A plug is tightened for its seal: beyond this thread no larger one takes more.
PLUGS = frozenset({"drain-plug", "captive-washer-plug"})
LARGEST_PLUG = "M14 x 1.5"
