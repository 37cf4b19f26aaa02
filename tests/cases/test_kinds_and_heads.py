"""What the trade meets weekly: kinds, media, rubbers and heads, each case by its number.

Rules are common practice, no source, where none is named; all data are invented.
"""

from __future__ import annotations

from datetime import date

import pytest
from sqlalchemy import Engine

from helpers import load, planned
from kitting.calc.rubber.compatibility import stands
from kitting.facts.heads import parse_head
from kitting.facts.rubber_media import compatibility
from kitting.facts.shelf_life import best_before
from kitting.facts.words import Certainty
from kitting.services.rubber.storage_life import ring_age
from kitting.wording.reasons import say

# Kind → what becomes of one where nobody speaks, and who may say otherwise.
KINDS = {
    "hub-nut": ("renew", "maker"), "restraint-bolt": ("renew", "maker"),
    "suspension-bolt": ("renew", "maker"), "caliper-bolt": ("renew", "maker"),
    "timing-belt": ("renew", "maker"), "elastic-belt": ("renew", "maker"),
    "high-pressure-fuel-pipe": ("renew", "maker"), "fuel-quick-connector": ("renew", "maker"),
    "fuel-connector-retainer": ("renew", "maker"), "injector-washer": ("renew", "nobody"),
    "wheel-nut": ("keep", "workshop"), "wheel-bolt": ("keep", "workshop"),
    "brake-pipe": ("inspect", "maker"), "brake-hose": ("inspect", "maker"),
    "exhaust-gasket": ("renew", "workshop"), "hot-metal-gasket": ("renew", "maker"),
    "valve-stem-seal": ("renew", "maker"), "injector-seal": ("renew", "nobody"),
    "plug-tube-seal": ("renew", "workshop"), "coolant-connector-ring": ("renew", "workshop"),
    "air-conditioning-seal": ("renew", "nobody"), "valve-core": ("renew", "maker"),
    "core-plug": ("renew", "nobody"), "captive-washer-plug": ("renew", "maker"),
    "plastic-drain-plug": ("renew", "maker"), "crush-sleeve": ("renew", "nobody"),
    "boot-kit": ("renew", "workshop"), "brake-pad": ("inspect", "maker"),
    "brake-disc": ("inspect", "maker"), "brake-shoe": ("inspect", "maker"),
    "brake-fitting-kit": ("renew", "workshop"), "tensioner": ("inspect", "workshop"),
    "idler": ("inspect", "workshop"), "shim": ("keep", "workshop"),
    "thermostat": ("inspect", "workshop"), "water-pump": ("inspect", "workshop"),
    "spark-plug": ("inspect", "workshop"), "glow-plug": ("inspect", "workshop"),
    "air-filter": ("renew", "workshop"), "cabin-filter": ("renew", "workshop"),
    "fuel-filter": ("renew", "workshop"), "receiver-drier": ("renew", "maker"),
    "wheel-bearing": ("renew", "maker"), "v-band-clamp": ("inspect", "workshop"),
    "exhaust-clamp": ("renew", "workshop"), "exhaust-hanger": ("inspect", "workshop"),
    "cable-tie": ("renew", "nobody"), "rivet": ("renew", "nobody"),
    "grommet": ("inspect", "workshop"), "spring-washer": ("renew", "workshop"),
    "plain-washer": ("keep", "workshop"), "thread-insert": ("renew", "workshop"),
    "adhesive-tape": ("renew", "nobody"), "fuse": ("inspect", "workshop"),
    "bulb": ("inspect", "workshop"),
}  # fmt: skip
CONSUMABLES = (
    "transmission-fluid", "power-steering-fluid", "refrigerant", "leak-dye", "reductant",
    "screen-wash", "joint-grease", "bearing-grease", "anti-seize", "contact-spray", "wax",
    "glass-adhesive",
)  # fmt: skip


def test_kinds_met_weekly_have_the_careful_rule(lite: Engine) -> None:
    items = "".join(f"\n  - {{code: X-{kind}, name: x, kind: {kind}}}" for kind in KINDS)
    fits = "".join(f"\n          - {{item: X-{kind}, position: {kind}}}" for kind in KINDS)
    load(
        lite,
        f"""
items:{items}
units:
  - code: u
    name: U
    joints:
      - code: j
        name: J
        system: engine
        fits:{fits}
    steps: [{{code: S, name: s, hours: 1 h, opens: [j]}}]
    jobs: [{{code: J, name: job, needs: [S]}}]
models: [{{code: m, name: M, units: [u]}}]
vehicles: [{{registration: C 1, model: m}}]
""",
    )
    view = planned(lite, "C 1", "J")
    found = {line.item[2:]: (line.rule, line.relaxed_by) for line in view.lines}
    assert found == KINDS
    assert {line.source for line in view.lines} == {"general"}


def test_consumables_met_weekly_are_kinds(lite: Engine) -> None:
    items = "".join(
        f"\n  - {{code: X-{kind}, name: x, kind: {kind}, unit: ml}}" for kind in CONSUMABLES
    )
    assert load(lite, f"items:{items}\n").remarks == ()


@pytest.mark.parametrize(
    ("elastomer", "medium", "rating"),
    [
        # Tests of seals in biofuels (NACE Corrosion 2015, paper 5535), abstract.
        ("FVMQ", "e85", "suitable"), ("FKM", "biodiesel", "suitable"),
        ("NBR", "biodiesel", "not suitable"), ("EPDM", "biodiesel", "not suitable"),
        # 49 CFR 571.116, definitions of brake fluid and of hydraulic system mineral oil.
        ("EPDM", "silicone-brake-fluid", "suitable"), ("SBR", "silicone-brake-fluid", "suitable"),
        ("EPDM", "mineral-hydraulic-oil", "not suitable"),
        # Encyclopaedia article "O-ring": unsuitable with mineral-oil products.
        ("EPDM", "gl-5-gear-oil", "not suitable"),
        # From memory.
        ("EPDM", "urea-solution", "suitable"), ("HNBR", "r134a-ester", "suitable"),
        ("FKM", "r1234yf-ester", "not suitable"),
    ],
)  # fmt: skip
def test_fluids_and_media_that_had_no_rating_have_one(
    elastomer: str, medium: str, rating: str
) -> None:
    assert stands(elastomer, medium).rating == rating


@pytest.mark.parametrize(
    "medium",
    [
        "e85", "biodiesel", "urea-solution", "silicone-brake-fluid", "r134a-ester", "r1234yf-ester",
    ],
)  # fmt: skip
def test_none_of_the_new_opinions_is_certain(medium: str) -> None:
    rows = [row for (of, _), row in compatibility().items() if of == medium]
    assert len(rows) >= 7
    assert {row.certainty for row in rows} <= {Certainty.MEDIUM, Certainty.LOW}


@pytest.mark.parametrize("elastomer", ["CR", "SBR", "NR", "AEM", "ECO", "IIR", "FFKM"])
def test_rubbers_of_hoses_and_boots_are_rated(elastomer: str) -> None:
    assert stands(elastomer, "engine-oil").rating != "unknown"


@pytest.mark.parametrize(
    ("elastomer", "years"),
    [("XNBR", 7), ("CO", 7), ("CIIR", 7), ("BIIR", 7), ("CM", 10), ("PVMQ", 10)],
)
def test_storage_is_told_as_from_memory_and_else_as_unknown(elastomer: str, years: int) -> None:
    """ISO 2230:2002, groups B and C, from memory; nothing of them was found for ARP5316."""
    iso, arp = ring_age(elastomer, "2Q20", date(2026, 4, 15)).policies
    assert (iso.limit, iso.source) == (
        date(2020 + years, 6, 30), "ISO 2230:2002, group from memory",
    )  # fmt: skip
    assert (arp.limit, arp.fit) == (None, "not known")
    told = say(best_before(date(2020, 6, 30), elastomer, "ARP5316").reason)
    assert told == f"not known: ARP5316 gives no years for {elastomer}"
    assert stands(elastomer, "engine-oil").rating == "unknown"


HEADS = [
    "square 8 mm", "square socket 8 mm", "square 3/8 in", "square socket 3/8 in",
    "hexagon socket 5/32 in", "hexagon socket 3/8 in", "splined M8", "splined M10", "cross PH4",
    "six-lobe T47", "pinned six-lobe T30", "hexagon 37 mm", "hexagon 39 mm", "hexagon 42 mm",
    "hexagon 43 mm", "hexagon 1 1/16 in", "hexagon 1 1/4 in", "hexagon 2 in",
]  # fmt: skip


@pytest.mark.parametrize("head", HEADS)
def test_heads_of_plugs_hubs_and_old_cars_are_read(head: str) -> None:
    assert str(parse_head(head)) == head
