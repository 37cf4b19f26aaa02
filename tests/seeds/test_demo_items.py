"""The items of the demo garage: standard heads, planted faults, packets."""

from __future__ import annotations

import pytest
from catalogues import read

from kitting.facts.heads import STANDARDS, Head, standard_size
from kitting.facts.units import Quantity
from kitting.files.catalogue.item_shapes import Item

ITEMS: dict[str, Item] = {i.code: i for i in read("demo_items.yaml").items}


def test_the_demo_has_about_sixty_items() -> None:
    assert 50 <= len(ITEMS) <= 75


# Item → standard that gives its head, and the head written out. Sizes of ISO 4014 (ISO 4032 for
# nuts: the same ISO 272 widths), ISO 4162 (small flange) and ISO 14579; external six-lobe drives
# after DIN 34800 are from memory.
STANDARD_HEADS = {
    "BOLT-FLANGE-M6X25": ("ISO 4162", "hexagon", "8 mm"),
    "BOLT-FLANGE-M8X40": ("ISO 4162", "hexagon", "10 mm"),
    "BOLT-HEX-M8X30": ("ISO 4014", "hexagon", "13 mm"),
    "BOLT-GUIDE-M8X25": ("ISO 4014", "hexagon", "13 mm"),
    "NUT-EXH-M8": ("ISO 4014", "hexagon", "13 mm"),
    "NUT-SHIELD-M6": ("ISO 4014", "hexagon", "10 mm"),
    "BOLT-SIXLOBE-M8X35": ("ISO 14579", "six-lobe", "T45"),
    "BOLT-EXT-M6X20": ("DIN 34800", "external six-lobe", "E8"),
    "BOLT-EXT-M8X25": ("DIN 34800", "external six-lobe", "E10"),
    "BOLT-HUB-M10X60": ("DIN 34800", "external six-lobe", "E12"),
}
# Heads that no table here gives: maker's own choice of drive.
OWN_HEADS = {"BOLT-MOUNT-M10X70"}


@pytest.mark.parametrize("code", STANDARD_HEADS)
def test_a_standard_fastener_has_the_head_its_standard_gives_its_thread(code: str) -> None:
    standard, profile, size = STANDARD_HEADS[code]
    item = ITEMS[code]
    assert item.thread is not None
    assert item.head == Head(profile, size)
    assert standard_size(standard, item.thread.name) == size.removesuffix(" mm")


def test_no_bolt_or_nut_of_the_demo_escapes_the_check_of_heads() -> None:
    kinds = {"bolt", "nut", "locking-nut", "exhaust-nut", "patch-bolt", "stretch-bolt"}
    assert {i.code for i in ITEMS.values() if i.kind in kinds} == {*STANDARD_HEADS, *OWN_HEADS}
    assert {standard for standard, _, _ in STANDARD_HEADS.values()} <= set(STANDARDS)


def test_two_green_rings_of_one_size_are_two_items_of_different_rubber() -> None:
    same = [
        i
        for i in ITEMS.values()
        if (i.ring_inside, i.ring_section, i.colour) == (10_800, 1_800, "green")
    ]
    assert {(i.code, i.elastomer) for i in same} == {
        ("RING-FKM-10.8X1.8", "FKM"),
        ("RING-HNBR-10.8X1.8", "HNBR"),
    }


def test_an_inch_ring_stands_beside_the_metric_one_it_is_mistaken_for() -> None:
    # 17.12 × 2.62 mm is dash size 115 of SAE AS568 (0.674 × 0.103 in).
    inch, metric = ITEMS["RING-FKM-17.12X2.62"], ITEMS["RING-FKM-17X2.5"]
    assert (inch.ring_inside, inch.ring_section) == (17_120, 2_620)
    assert (metric.ring_inside, metric.ring_section) == (17_000, 2_500)


def test_two_belts_are_said_to_replace_each_other() -> None:
    by = {c: [s.item for s in i.replaced.by] for c, i in ITEMS.items() if i.replaced is not None}
    assert by["BELT-ACC-A"] == ["BELT-ACC-B"]
    assert by["BELT-ACC-B"] == ["BELT-ACC-A"]


def test_packs_and_lives_that_the_demo_turns_on() -> None:
    ring, sealant = ITEMS["RING-NBR-11X2"], ITEMS["SEALANT-COVER-70"]
    # ISO 2230:2002 puts NBR into group B: 7 years.
    assert (ring.pack, ring.shelf_life) == (Quantity(10_000, "each"), 84)
    assert (sealant.pack, sealant.opened_life) == (Quantity(70_000, "ml"), 60)
    assert sealant.nozzle_waste == Quantity(5_000, "ml")


def test_caliper_seals_come_only_in_a_kit_for_the_axle() -> None:
    kit = {part.item: part.quantity.thousandths for part in ITEMS["KIT-CALIPER-AXLE"].contents}
    assert kit == {"SEAL-CALIPER-PISTON": 2000, "BOOT-CALIPER": 2000}
    assert {c for c, item in ITEMS.items() if not item.sold_singly} == set(kit)


def test_every_item_that_is_sold_singly_has_a_home_bin_of_its_own() -> None:
    bins = [item.bin for item in ITEMS.values() if item.sold_singly]
    assert None not in bins
    assert len(set(bins)) == len(bins)
