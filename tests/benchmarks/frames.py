"""A plan as a script with data frames, and one with a graph library, would make it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from .bulk import fetch, is_sqlite
from .hand import Answer, Work, answer_for, grouped, never_back, rule_of, suits, worn_out

_TABLES = {
    "vehicle": "id, registration_key, model_id, build_date",
    "vehicle_unit": "vehicle_id, unit_id",
    "model_unit": "model_id, unit_id",
    "step": "id, unit_id, code, hours",
    "step_need": "step_id, code",
    "opening": "step_id, joint_id, times, reopened",
    "job": "id, unit_id, code",
    "job_need": "job_id, code",
    "joint": "id, system_id",
    "joint_fluid": "joint_id, fluid_id",
    "fit": "id, joint_id, position, item_id, quantity, option_id, refit_limit, lubricant_id,"
    " lubricant_amount",
    "fit_rule": "fit_id, source, rule",
    "split_option": "id, built_from, built_before",
    "use": "joint_id, step_id, item_id, amount",
    "item": "id, code, kind_id",
    "item_rule": "item_id, source, rule",
    "kind_rule": "kind_id, source, rule, relaxed_by, fluid_id, medium, system_id",
    "fluid": "id, code, medium",
    "system": "id, code",
    "removal": "vehicle_id, joint_id, position, on_date, outcome",
}
Frames = Mapping[str, Any]


def read_frames(engine: Any) -> dict[str, Any]:
    """Every table that a plan needs, whole."""
    import pandas as pd

    with engine.connect() as connection:
        return {
            table: pd.read_sql(f'SELECT {columns} FROM "{table}"', connection)
            for table, columns in _TABLES.items()
        }


def with_frames(frames: Frames, registration: str, jobs: Sequence[str], on: date) -> Answer:
    """The list of items from frames, merged and filtered."""
    vehicles = frames["vehicle"]
    car = vehicles[vehicles.registration_key == registration.replace(" ", "")].iloc[0]
    own, usual = frames["vehicle_unit"], frames["model_unit"]
    units = list(own[own.vehicle_id == car.id].unit_id) or list(
        usual[usual.model_id == car.model_id].unit_id
    )
    steps = frames["step"][frames["step"].unit_id.isin(units)]
    opened, done = _opened(frames, steps, units, jobs)
    of_fits = frames["fit"]
    fits = of_fits[of_fits.joint_id.isin(opened)]
    return _judged(frames, fits, car, opened, done, on, int(steps[steps.id.isin(done)].hours.sum()))


def _opened(
    frames: Frames, steps: Any, units: Sequence[int], jobs: Sequence[str]
) -> tuple[dict[int, int], set[int]]:
    needed = frames["step_need"].merge(steps[["id"]], left_on="step_id", right_on="id")
    of_code = dict(zip(steps.code, steps.id, strict=True))
    needs = needed.groupby("step_id").code.apply(list).to_dict()
    asked = frames["job"][frames["job"].unit_id.isin(units) & frames["job"].code.isin(jobs)]
    waiting = [
        of_code[c]
        for c in frames["job_need"].merge(asked[["id"]], left_on="job_id", right_on="id").code
    ]
    done: set[int] = set()
    while waiting:
        step = waiting.pop()
        if step not in done:
            done.add(step)
            waiting += [of_code[code] for code in needs.get(step, ())]
    openings = frames["opening"][frames["opening"].step_id.isin(done)].groupby("joint_id")
    return (openings.times.max() + openings.reopened.sum()).to_dict(), done


def _rules(frame: Any, owner: str, keys: Any) -> dict[int, list[Sequence[Any]]]:
    found = frame[frame[owner].isin(keys)]
    return grouped(found.itertuples(index=False, name=None))


def _judged(
    frames: Frames, fits: Any, car: Any, opened: Mapping[int, int], done: set[int], on: date,
    hours: int,
) -> Answer:  # fmt: skip
    import pandas as pd

    items = frames["item"].set_index("id")
    wanted = items.loc[list(set(fits.item_id))]
    fluid, system = (
        dict(zip(frames[t].id, frames[t].code, strict=True)) for t in ("fluid", "system")
    )
    joints = frames["joint"][frames["joint"].id.isin(opened)]
    systems = {key: system[code] for key, code in zip(joints.id, joints.system_id, strict=True)}
    medium = dict(zip(frames["fluid"].id, frames["fluid"].medium, strict=True))
    fluids: dict[int, list[tuple[str, str | None]]] = defaultdict(list)
    held = frames["joint_fluid"]
    for row in held[held.joint_id.isin(opened)].itertuples():
        fluids[row.joint_id].append((fluid[row.fluid_id], medium[row.fluid_id]))
    kind_rules = frames["kind_rule"].copy()
    for column, names in (("fluid_id", fluid), ("system_id", system)):
        kind_rules[column] = kind_rules[column].map(names)
    kind_rules = kind_rules.astype(object).where(kind_rules.notna(), None)
    of_kinds = _rules(kind_rules, "kind_id", set(wanted.kind_id))
    of_items = _rules(frames["item_rule"], "item_id", set(fits.item_id))
    of_fits = _rules(frames["fit_rule"], "fit_id", set(fits.id))
    past = frames["removal"]
    past = past[(past.vehicle_id == car.id) & (past.on_date.astype(str) < str(on))]
    refits: dict[tuple[int, str], int] = {}
    for row in past.sort_values("on_date").itertuples():
        place = (row.joint_id, row.position)
        refits[place] = 0 if row.outcome == "renewed" else refits.get(place, 0) + 1
    options = frames["split_option"].set_index("id").loc[list(set(fits.option_id.dropna()))]
    lines: dict[tuple[str, str], int] = defaultdict(int)
    used: dict[str, int] = defaultdict(int)
    built = date.fromisoformat(str(car.build_date))
    for fit in fits.itertuples():
        if pd.notna(fit.option_id):
            span = options.loc[fit.option_id]
            ends = [None if pd.isna(day) else str(day) for day in span]
            if not suits(ends, built):
                continue
        limit = int(fit.refit_limit) if pd.notna(fit.refit_limit) else None
        back, times = refits.get((fit.joint_id, fit.position), 0), opened[fit.joint_id]
        spent = never_back(back, limit, times)
        code, kind = wanted.at[fit.item_id, "code"], wanted.at[fit.item_id, "kind_id"]
        rule = rule_of(
            of_kinds.get(kind, ()), of_items.get(fit.item_id, ()), of_fits.get(fit.id, ()),
            fluids[fit.joint_id], systems[fit.joint_id], spent,
        )  # fmt: skip
        lines[code, rule] += fit.quantity * (times if rule == "renew" else 1)
        worn = worn_out(rule, back, limit, times)
        if worn:
            lines[code, "renew"] += fit.quantity * worn
        if pd.notna(fit.lubricant_id):
            used[items.at[int(fit.lubricant_id), "code"]] += (
                int(fit.lubricant_amount) * (fit.quantity // 1000) * times
            )
    uses = frames["use"]
    for use in uses[uses.joint_id.isin(opened) | uses.step_id.isin(done)].itertuples():
        times = opened[int(use.joint_id)] if pd.notna(use.joint_id) else 1
        used[items.at[use.item_id, "code"]] += int(use.amount) * times
    return Answer(
        {key: int(quantity) for key, quantity in lines.items()},
        {key: int(quantity) for key, quantity in used.items()},
        hours,
    )


def with_graph(connection: Any, registration: str, jobs: Sequence[str], on: date) -> Answer:
    """The work of every unit as one graph, then SQL for what the opened joints carry."""
    import networkx as nx

    graph = nx.DiGraph()
    unit_of = {}
    of_code: dict[tuple[int, str], int] = {}
    for step, unit, code, hours in fetch(connection, "SELECT id, unit_id, code, hours FROM step"):
        graph.add_node(("step", step), hours=hours)
        unit_of[step] = unit
        of_code[unit, code] = step
    for step, code in fetch(connection, "SELECT step_id, code FROM step_need"):
        # The made-up garage names only steps of the own unit.
        graph.add_edge(("step", step), ("step", of_code[unit_of[step], code]))
    for step, joint, times, reopened in fetch(
        connection, "SELECT step_id, joint_id, times, reopened FROM opening"
    ):
        graph.add_edge(("step", step), ("joint", joint), times=times, reopened=reopened)
    of_job: dict[tuple[int, str], int] = {}
    for job, unit, code in fetch(connection, "SELECT id, unit_id, code FROM job"):
        of_job[unit, code] = job
        unit_of["job", job] = unit
    for job, code in fetch(connection, "SELECT job_id, code FROM job_need"):
        graph.add_edge(("job", job), ("step", of_code[unit_of["job", job], code]))
    key = registration.replace(" ", "")
    ((car, model, built),) = fetch(
        connection, "SELECT id, model_id, build_date FROM vehicle WHERE registration_key = ?", key
    )
    units = fetch(
        connection, "SELECT unit_id FROM vehicle_unit WHERE vehicle_id = ?", car
    ) or fetch(connection, "SELECT unit_id FROM model_unit WHERE model_id = ?", model)
    asked = [
        ("job", of_job[unit, job]) for (unit,) in units for job in jobs if (unit, job) in of_job
    ]
    below = set().union(*(nx.descendants(graph, job) for job in asked))
    steps = [number for sort, number in below if sort == "step"]
    opened = {}
    for joint in (node for node in below if node[0] == "joint"):
        edges = [data for step, _, data in graph.in_edges(joint, data=True) if step in below]
        opened[joint[1]] = max(e["times"] for e in edges) + sum(e["reopened"] for e in edges)
    day = date.fromisoformat(built) if is_sqlite(connection) else built
    hours = sum(graph.nodes["step", step]["hours"] for step in steps)
    return answer_for(connection, Work(car, day, opened, steps, hours), on)[0]
