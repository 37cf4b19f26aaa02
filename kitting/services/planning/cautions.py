"""Reading cautions: what carries them, and their texts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from sqlalchemy import Select, select, union_all
from sqlalchemy import literal as constant
from sqlalchemy.orm import Session

from kitting.tables.items import ItemCaution
from kitting.tables.units import JointCaution
from kitting.tables.vocabulary import Caution, FluidCaution, KindCaution, SystemCaution
from kitting.tables.work import StepCaution


@dataclass(frozen=True, slots=True)
class CautionFacts:
    """A caution and what it hangs on."""

    code: str
    title: str
    text: str
    word: str | None


@dataclass(frozen=True, slots=True)
class Cautions:
    """Cautions by what carries them: ('fluid', key), ('step', key), … → caution codes."""

    texts: Mapping[str, CautionFacts]
    carried: Mapping[tuple[str, int], tuple[str, ...]]

    def of(self, carrier: str, keys: Iterable[int]) -> list[str]:
        """Codes carried by any of the keys, in order, each once."""
        found = [code for key in keys for code in self.carried.get((carrier, key), ())]
        return list(dict.fromkeys(found))


def read_cautions(
    session: Session,
    *,
    steps: Collection[int],
    joints: Collection[int],
    fluids: Collection[int],
    systems: Collection[int],
    kinds: Collection[int],
    items: Collection[int],
) -> Cautions:
    """What these things carry, in one statement."""
    carriers: list[Select[str, int, int]] = [
        select(constant("step"), StepCaution.step_id, StepCaution.caution_id).where(
            StepCaution.step_id.in_(steps)
        ),
        select(constant("joint"), JointCaution.joint_id, JointCaution.caution_id).where(
            JointCaution.joint_id.in_(joints)
        ),
        select(constant("fluid"), FluidCaution.fluid_id, FluidCaution.caution_id).where(
            FluidCaution.fluid_id.in_(fluids)
        ),
        select(constant("system"), SystemCaution.system_id, SystemCaution.caution_id).where(
            SystemCaution.system_id.in_(systems)
        ),
        select(constant("kind"), KindCaution.kind_id, KindCaution.caution_id).where(
            KindCaution.kind_id.in_(kinds)
        ),
        select(constant("item"), ItemCaution.item_id, ItemCaution.caution_id).where(
            ItemCaution.item_id.in_(items)
        ),
    ]
    links = union_all(*carriers).subquery("links")
    carrier, key, caution = links.c
    carried: dict[tuple[str, int], list[str]] = defaultdict(list)
    texts: dict[str, CautionFacts] = {}
    for kind, owner, row in session.execute(
        select(carrier, key, Caution).join(Caution, Caution.id == caution).order_by(Caution.code)
    ):
        carried[(kind, owner)].append(row.code)
        texts[row.code] = CautionFacts(row.code, row.title, row.text, row.word)
    return Cautions(texts, {place: tuple(codes) for place, codes in carried.items()})
