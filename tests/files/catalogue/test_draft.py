"""A draft of what was found is a catalogue file that says what it lacks. All invented."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from kitting.files.catalogue.draft import DraftCar, DraftPart, draft_unit
from kitting.files.catalogue.source import parse_catalogue

NUT = DraftPart(
    "rear hub left", "hub nut", "hub-nut", 1, "M22×1.5", "hexagon 30 mm", ("180 N·m", "90°"),
    "page 12", None, "staked", threaded=True,
)  # fmt: skip
RING = DraftPart(
    "rear hub left", "ring", "o-ring", 1, None, None, (), None, "70 x 3", None, False, ring=True
)
BARE = DraftPart("drain", "plug", None, None, None, None, (), None, None, None)
texts = st.text(
    st.characters(categories=["L", "N", "P", "S", "Zs"], exclude_characters="\x85"), min_size=1,
    max_size=60,
).filter(str.strip)  # fmt: skip


def read(text: str) -> dict[str, object]:
    found: dict[str, object] = YAML(typ="safe", pure=True).load(text)
    return found


def test_what_is_known_is_written_and_what_is_not_stands_empty() -> None:
    draft = draft_unit("axle", DraftCar("AB 123"), [NUT, RING, BARE])
    raw = read(draft.text)
    nut, ring, plug = raw["items"]  # type: ignore[misc]
    assert nut == {  # type: ignore[has-type]
        "code": "REAR-HUB-LEFT-HUB-NUT", "name": "rear hub left, hub nut", "kind": "hub-nut",
        "thread": "M22×1.5", "head": "hexagon 30 mm",
    }  # fmt: skip
    assert (ring["ring_inside"], ring["ring_section"]) == ("70 mm", "3 mm")  # type: ignore[has-type]
    assert plug["kind"] is None  # type: ignore[has-type]
    assert "# seen: staked" in draft.text
    asked = [f"{thing}: {what}" for thing, what in draft.unknown]
    assert asked == [
        "item REAR-HUB-LEFT-RING: elastomer", "item DRAIN-PLUG: kind",
        "joint rear-hub-left: system", "joint rear-hub-left: fluids", "joint drain: system",
        "joint drain: fluids", "joint drain: plug: quantity", "step rear-hub-left-off: hours",
        "step drain-off: hours", "model of AB 123: code", "model of AB 123: name",
        "vehicle AB 123: model",
    ]  # fmt: skip
    assert f"# Still unknown: {len(asked)} things." in draft.text


def test_every_empty_entry_is_a_fault_of_check_that_says_so() -> None:
    draft = draft_unit("axle", DraftCar("AB 123"), [NUT, RING, BARE])
    empty = sum(
        ": #" in line.replace(":  #", ": #") and "# still" in line
        for line in draft.text.split("\n")
    )
    _, problems = parse_catalogue("draft.yaml", draft.text)
    assert len(problems) == empty
    assert {(one.reason, one.next_step) for one in problems} == {
        ("nothing is written here, so it is unknown", "Write what it is")
    }


def test_the_draft_of_a_known_car_names_its_model_and_makes_none() -> None:
    draft = draft_unit("axle", DraftCar("AB 123", "kite"), [NUT])
    assert "models" not in read(draft.text)
    assert "# AB 123 is a kite: add axle to the units of that model." in draft.text


@given(texts, texts, texts, texts)
def test_any_text_is_read_back_as_it_was_noted(
    joint: str, position: str, seen: str, size: str
) -> None:
    part = DraftPart(
        joint.strip(), position.strip(), "bolt", 2, None, None, ("20 N·m",), seen, size, seen,
        threaded=True,
    )  # fmt: skip
    draft = draft_unit("axle", DraftCar(position.strip()[:20].strip()), [part, BARE])
    raw = read(draft.text)
    (first, *_) = raw["units"][0]["joints"]  # type: ignore[index]
    assert first["name"] == joint.strip()
    assert first["fits"][0]["position"] == position.strip()
    assert first["fits"][0]["tightening"]["source"] == seen
    codes = [item["code"] for item in raw["items"]]  # type: ignore[attr-defined]
    assert len(set(codes)) == 2


@given(
    st.lists(
        texts, min_size=1, max_size=6, unique_by=lambda text: " ".join(text.split()).casefold()
    )
)
def test_no_code_is_given_twice(names: list[str]) -> None:
    parts = [DraftPart(name, name, None, 1, None, None, (), None, None, None) for name in names]
    raw = read(draft_unit("axle", DraftCar("AB 1", "kite"), parts).text)
    items = [item["code"] for item in raw["items"]]  # type: ignore[attr-defined]
    joints = [joint["code"] for joint in raw["units"][0]["joints"]]  # type: ignore[index]
    assert (len(set(items)), len(set(joints))) == (len(names), len(names))
