"""Text that means harm or merely carelessness, and a small catalogue that uses every shape."""

from __future__ import annotations

import os
import re

from hypothesis import HealthCheck, settings

# By hand, much longer and with other examples every time: KITTING_FUZZ=deep pytest …/test_fuzz.py
DEEP = os.environ.get("KITTING_FUZZ") == "deep"
COMMON = {
    "deadline": None,
    "suppress_health_check": [
        HealthCheck.function_scoped_fixture, HealthCheck.too_slow, HealthCheck.data_too_large,
        HealthCheck.filter_too_much,
    ],
}  # fmt: skip


def runs(suite: int, deep: int) -> settings:
    """How often a property is tried: the same examples every time in the suite."""
    if DEEP:
        return settings(max_examples=deep, **COMMON)  # type: ignore[arg-type]
    return settings(max_examples=suite, derandomize=True, database=None, **COMMON)  # type: ignore[arg-type]


LONG = "x" * 10_000
# What may stand in a cell or entry where something else was expected.
TOKENS = (
    "", " ", "0", "-1", "1", "999999999", "9" * 400, "1e400", "NaN", "inf", "-0", "0x10", "1_0",
    "٣ each", "½", "1/0", "0 each", "-1 each", "1 each", "999999999999 each", "0.0001 each",
    "1e9 each", "9999999999999999 ml", "1 parsec", "2026-04-15", "2026-02-30", "0001-01-01",
    "9999-12-31", "20260415", "2026-W16-3", "5Q26", "1Q99", "0.00 GBP", "1 GBP", "-1 GBP",
    "999999999999.99 GBP", "1 XXX", "100 %", "101 %", "yes", "no", "=1+1", "@x", "a/b", "../../x",
    "[red]", "<b>", "'", '"', "a,b", "a;b", "a\tb", "a\nb", "a\rb", "\0", "\x1b[31m", "\x9b31m",
    "\u202ea", "\u2028", "\u200b", "\ufeff", "\ufffe", "e\u0301" * 30, "\U0001f600", LONG,
)  # fmt: skip

CATALOGUE = """\
cautions:
  - {code: hot, title: Hot, text: Let it cool; the maker's data decide., word: HOT}
fluids:
  - {code: brew, name: Brew, medium: glycol-coolant, cautions: [hot]}
systems:
  - {code: still, name: Still, general_torque: false}
licences:
  - {code: brewer, name: Brewer, text: Ask a brewer.}
tools:
  - {code: trestle, name: Trestle}
kinds:
  - code: gland
    name: Gland
    family: ring
    chance: 0.25
    rules: [{rule: inspect, criterion: whole, fluid: brew}, {rule: renew}]
    dry: [PTFE]
    tools: [trestle]
items:
  - {code: RING, name: Ring, kind: o-ring, elastomer: FKM, hardness: 75, ring_inside: 17 mm,
     ring_section: 2 mm, shelf_life: 7 years, colour: black, bin: A-1, pack: 10 each,
     media: [{medium: glycol-coolant, rating: suitable, source: maker, reference: r}],
     rules: [{rule: renew, source: maker, reference: r}]}
  - {code: NEWER, name: Newer ring, kind: o-ring, elastomer: FKM}
  - {code: OLD, name: Old ring, kind: o-ring, elastomer: FKM,
     replaced: {by: [{item: NEWER, quantity: 1 each}], old_stock: scrap, since: 2026-01-01},
     alternatives: [{item: RING, note: in need}]}
  - {code: BOLT, name: Bolt, kind: bolt, thread: M6 x 1.0, property_class: "8.8",
     head: hexagon 8 mm, length: 25 mm}
  - {code: KIT, name: Packet, kind: gland, contents: [{item: NEWER, quantity: 2 each}]}
  - {code: PASTE, name: Paste, kind: sealant, unit: ml, pack: 70 ml, nozzle_waste: 2 ml,
     opened_life: 60 days, cautions: [hot], times: {open: 10 min, cure: 24 h, source: r}}
units:
  - code: boiler
    name: Boiler
    splits:
      - {code: lid, question: Which lid?, check: Look., options: [
          {code: flat, name: Flat lid, built_before: 2020-01-01, seen: flat},
          {code: high, name: High lid, built_from: 2020-01-01}]}
    joints:
      - code: top
        name: Top
        system: still
        fluids: [brew]
        cautions: [hot]
        temperature: {hottest: 110 °C, source: r}
        near: [paint]
        front: door
        order: [2, 1]
        fits:
          - {item: RING, position: groove, end: short leg, heat: hot, refit_limit: 2,
             group: g, lubricant: {item: PASTE, amount: 0.2 ml, source: maker, reference: r},
             rules: [{rule: inspect, source: workshop, criterion: c, reference: r}]}
          - {item: BOLT, position: bolts, quantity: 2 each, into: aluminium, access: side,
             recess: 3 mm, protrusion: 4 mm, holes: [[0, 0], [10.5, -2]],
             tightening: {stages: [4 ± 0.3 N·m, +90°], thread: dry, stage_order: s, source: r}}
          - {item: BOLT, position: side bolts, quantity: 2 each,
             tightening: {stages: [4 N·m], thread: dry, pattern: cross, source: r}}
          - {item: NEWER, positions: [left, right], option: lid/high, lubricant: dry}
        uses:
          - {item: PASTE, bead: {diameter: 2 mm, length: 640 mm}, note: n}
          - {item: PASTE, drops: {thread: M6, threads: 2}, option: lid/flat}
    steps:
      - {code: S1, name: Top off, hours: 45 min, opens: [{joint: top, times: 1, reopened: 1}],
         tools: [trestle], cautions: [hot], licence: brewer, uses: [{item: PASTE, amount: 1 ml}]}
    jobs:
      - {code: J1, name: Seal the top, needs: [S1], services: [{name: Brew, licence: brewer}]}
models:
  - {code: urn, name: Urn, units: [boiler],
     fluids: [{fluid: brew, medium: glycol-coolant, lubricant: PASTE, reference: r}]}
vehicles:
  - {registration: URN 1, model: urn, vin: 1M8GDM9AXKP042788, build_date: 2021-03-14,
     equipment: {tap: true}, settled: {boiler/lid: high},
     history: [{joint: boiler/top, position: groove, on: 2025-01-01, outcome: refitted}]}
branches:
  - {code: attic, name: Attic, country: GB, subdivision: ENG, van_cutoff: "15:00",
     licences: [brewer]}
suppliers:
  - {code: cooper, name: Cooper, carriage: 6.95 GBP, carriage_free: 50 GBP, lead_days: 1,
     late_days: 2, cutoffs: ["16:00"], country: GB, closed: [{day: 2026-05-01, reason: fair}],
     restocking: 15 %, note: n}
"""


# What must never reach a screen: control characters but the line feed, marks that turn the line
# round, separators of lines, halves of signs.
CONTROL = re.compile(
    "[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]"
)
