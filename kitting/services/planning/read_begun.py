"""Reading what was begun on a car: joints that are open, whether a job still asks for them or not.

A joint that somebody counted seals out of, or looked into, is open. It has to be closed again with
all that it needs, and so have the steps that led to it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Set

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.planning.access import Access, StepNode, closure
from kitting.services.planning.facts import Car
from kitting.services.planning.rows import among
from kitting.services.planning.work_facts import Work
from kitting.tables.units import Joint

_joint = Joint.__table__.c
_JOINTS = select(_joint.id, _joint.code, _joint.unit_id).where(
    among(_joint.unit_id, "units"), _joint.code.in_(bindparam("codes", expanding=True))
)


def read_begun(
    session: Session, car: Car, work: Work, now: Access, opened: Set[str]
) -> tuple[int, ...]:
    """The steps that opened some joints (named as a plan names them), where no job opens them now.

    One statement, where there is any joint. A joint that the catalogue knows no longer is left out.
    """
    if not opened:
        return ()
    units = {unit.key: unit.code for unit in car.units}
    codes = sorted({name.rpartition("/")[2] for name in opened})
    rows = session.connection().execute(_JOINTS, {"units": list(units), "codes": codes})
    called: dict[str, set[int]] = defaultdict(set)
    for row in rows:
        called[row.code].add(row.id)
        called[f"{units[row.unit_id]}/{row.code}"].add(row.id)
    begun: list[int] = []
    for name in sorted(opened):
        joints = called.get(name, set())
        # Of two joints of one name, one was open then: that which still is.
        if joints & now.opened.keys():
            continue
        ways = [_way_to(work, now, joint) for joint in sorted(joints)]
        begun += [step for step in ways if step is not None]
    return tuple(dict.fromkeys(begun))


def _way_to(work: Work, now: Access, joint: int) -> int | None:
    """The step that opens a joint with the fewest further steps; the first of equals."""
    done = frozenset(now.order)

    def further(node: StepNode) -> int:
        return len(closure(work.nodes, [node.key]) - done)

    ways = [node for node in work.nodes.values() if any(one.joint == joint for one in node.opens)]
    return min(ways, key=further).key if ways else None
