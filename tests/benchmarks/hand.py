"""A plan as somebody would write it by hand: SQL through the bare driver, plain dictionaries.

`least` fetches what the list of items needs, `same` also every row that our plan reads besides
(figures, tools, cautions, chemistry, licences). Written apart from `kitting.calc`, so that the
equality of the answers means something. Of what our plan knows, packets, cleared variants and
assumed ones are left out: the made-up garage has none.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from .bulk import fetch, is_sqlite

STRICT = {"keep": 0, "inspect": 1, "renew": 2}
RANK = {"general": 0, "workshop": 1, "leaflet": 2, "maker": 3, "nobody": 4}


@dataclass(frozen=True, slots=True)
class Answer:
    """Quantities in thousandths by (item, rule), of consumables by item; thousandths of hours."""

    lines: Mapping[tuple[str, str], int]
    uses: Mapping[str, int]
    hours: int


Row = Sequence[Any]
Rules = Mapping[int, Sequence[Row]]


def some(connection: Any, statement: str, keys: Collection[Any]) -> list[Row]:
    """The rows of a statement whose %s stands for a list of keys."""
    if is_sqlite(connection):
        marks = f"IN ({', '.join('?' * len(keys))})"
        asked: tuple[str, Any] = (statement % marks, tuple(keys))
    else:
        asked = (statement % "= ANY(%s)", (list(keys),))
    found: list[Row] = connection.execute(*asked).fetchall()
    return found


def rule_of(
    kind_rules: Sequence[Row],
    item_rules: Sequence[Row],
    fit_rules: Sequence[Row],
    fluids: Collection[tuple[str | None, str | None]],
    system: str,
    spent: bool,
) -> str:
    """The rule for one position: the strictest for any of its fluids (code, medium).

    Rows of kinds are (source, rule, relaxed by, fluid, medium, system).
    """
    if spent:
        return "renew"
    voices = [(source, rule) for source, rule in (*fit_rules, *item_rules)]
    found = (
        _rule_for(kind_rules, voices, (fluid, medium, system))
        for fluid, medium in fluids or [(None, None)]
    )
    return max(found, key=lambda rule: STRICT[rule])


def worn_out(rule: str, gone_back: int, limit: int | None, opened: int) -> int:
    """How often what also goes back is new since its limit is reached, of so many openings."""
    if rule == "renew" or limit is None:
        return 0
    return (opened + min(gone_back, limit)) // (limit + 1)


def never_back(gone_back: int, limit: int | None, opened: int) -> bool:
    """Whether it is new at each opening, by its limit."""
    return limit is not None and worn_out("", gone_back, limit, opened) == opened


def _rule_for(
    kind_rules: Sequence[Row], voices: Sequence[Row], here: tuple[str | None, ...]
) -> str:
    held: dict[str, list[tuple[int, str, str]]] = {"general": [], "workshop": []}
    for said, rule, relaxed, *where in kind_rules:
        if all(name in (None, now) for name, now in zip(where, here, strict=True)):
            held[said].append((sum(name is not None for name in where), rule, relaxed))
    says = {
        source: max(
            (
                rule
                for exact, rule, relaxed in rules
                if exact == max(rules)[0] or relaxed != "workshop"
            ),
            key=lambda rule: STRICT[rule],
        )
        for source, rules in held.items()
        if rules
    }
    base = says.get("general", "renew")
    bars = [(rule, RANK[relaxed]) for _, rule, relaxed in held["general"]]
    every = [*voices, *([("workshop", says["workshop"])] if "workshop" in says else [])]
    heard = [
        (source, rule)
        for source, rule in every
        if not any(STRICT[rule] < STRICT[bar] and RANK[source] < rank for bar, rank in bars)
    ]
    if not heard:
        return base
    highest = max(heard, key=lambda voice: (RANK[voice[0]], STRICT[voice[1]]))[1]
    return max([highest, *(rule for _, rule in every)], key=lambda rule: STRICT[rule])


def strip_down(needs: Mapping[int, Iterable[int]], wanted: Iterable[int]) -> set[int]:
    """Every step that the wanted ones need."""
    found: set[int] = set()
    waiting = list(wanted)
    while waiting:
        step = waiting.pop()
        if step not in found:
            found.add(step)
            waiting.extend(needs.get(step, ()))
    return found


@dataclass(frozen=True, slots=True)
class Work:
    """The car, and what the jobs open: joint → times; steps and their hours."""

    vehicle: int
    built: date | None
    opened: Mapping[int, int]
    steps: Collection[int]
    hours: int


def read_work(connection: Any, registration: str, jobs: Sequence[str]) -> Work:
    """The union of the strip-downs of the jobs."""
    key = registration.replace(" ", "").upper()
    ((vehicle, model, built),) = fetch(
        connection,
        "SELECT v.id, v.model_id, v.build_date FROM vehicle v JOIN model m ON m.id = v.model_id"
        " WHERE v.registration_key = ?",
        key,
    )
    units = [
        u
        for (u,) in fetch(
            connection,
            "SELECT unit_id FROM vehicle_unit WHERE vehicle_id = ? ORDER BY seq",
            vehicle,
        )
    ]
    units = units or [
        u
        for (u,) in fetch(
            connection, "SELECT unit_id FROM model_unit WHERE model_id = ? ORDER BY seq", model
        )
    ]
    steps = {
        row[0]: row
        for row in some(
            connection,
            "SELECT id, unit_id, code, name, seq, hours, licence_id FROM step WHERE unit_id %s",
            units,
        )
    }
    places: dict[str, dict[int, int]] = defaultdict(dict)
    for step, unit, code, *_ in steps.values():
        places[code][unit] = step

    def find(code: str, unit: int) -> int:
        return places[code].get(unit) or next(iter(places[code].values()))

    needs: dict[int, list[int]] = defaultdict(list)
    for step, code in some(
        connection,
        "SELECT n.step_id, n.code FROM step_need n JOIN step s ON s.id = n.step_id WHERE s.unit_id %s",
        units,
    ):
        needs[step].append(find(code, steps[step][1]))
    opens: dict[int, list[Row]] = defaultdict(list)
    for step, *opening in some(
        connection,
        "SELECT o.step_id, o.joint_id, o.times, o.reopened FROM opening o JOIN step s ON s.id = o.step_id WHERE s.unit_id %s",
        units,
    ):
        opens[step].append(opening)
    described = {
        (code, unit): job
        for job, unit, code, *_ in some(
            connection, "SELECT id, unit_id, code, name, seq FROM job WHERE unit_id %s", units
        )
    }
    asked = {job: unit for (code, unit), job in described.items() if code in jobs}
    ends = [
        find(code, asked[job])
        for job, code in some(
            connection,
            "SELECT n.job_id, n.code FROM job_need n JOIN job j ON j.id = n.job_id WHERE j.unit_id %s",
            units,
        )
        if job in asked
    ]
    done = strip_down(needs, ends)
    times: dict[int, int] = {}
    again: dict[int, int] = defaultdict(int)
    for step in done:
        for joint, often, reopened in opens[step]:
            times[joint] = max(times.get(joint, 0), often)
            again[joint] += reopened
    opened = {joint: often + again[joint] for joint, often in times.items()}
    day = date.fromisoformat(built) if isinstance(built, str) else built
    return Work(vehicle, day, opened, done, sum(steps[step][5] for step in done))


def grouped(rows: Iterable[Row]) -> dict[int, list[Row]]:
    """Rows by their first column, without it."""
    found: dict[int, list[Row]] = defaultdict(list)
    for key, *rest in rows:
        found[key].append(rest)
    return found


def least(connection: Any, registration: str, jobs: Sequence[str], on: date) -> Answer:
    """The list of items with their rules and quantities."""
    work = read_work(connection, registration, jobs)
    return answer_for(connection, work, on)[0]


def answer_for(
    connection: Any, work: Work, on: date
) -> tuple[Answer, Collection[int], Collection[int], Collection[int]]:
    """What the opened joints carry, judged; with the keys of fits, items and kinds."""
    joints = list(work.opened)
    systems = dict(
        some(
            connection,
            "SELECT j.id, s.code FROM joint j JOIN system s ON s.id = j.system_id WHERE j.id %s",
            joints,
        )
    )
    fluids = {
        key: [tuple(row) for row in rows]
        for key, rows in grouped(
            some(
                connection,
                "SELECT j.joint_id, f.code, f.medium FROM joint_fluid j JOIN fluid f ON f.id = j.fluid_id WHERE j.joint_id %s",
                joints,
            )
        ).items()
    }
    fits = some(
        connection,
        "SELECT id, joint_id, position, item_id, quantity, option_id, refit_limit, lubricant_id, lubricant_amount FROM fit WHERE joint_id %s ORDER BY joint_id, seq",
        joints,
    )
    keys = [fit[0] for fit in fits]
    fit_rules = grouped(
        some(connection, "SELECT fit_id, source, rule FROM fit_rule WHERE fit_id %s", keys)
    )
    options = {
        row[0]: row
        for row in some(
            connection,
            "SELECT id, built_from, built_before FROM split_option WHERE id %s",
            {fit[5] for fit in fits if fit[5]},
        )
    }
    uses = some(connection, "SELECT joint_id, item_id, amount FROM use WHERE joint_id %s", joints)
    step_uses = some(
        connection, "SELECT step_id, item_id, amount FROM use WHERE step_id %s", work.steps
    )
    named = (
        {fit[3] for fit in fits}
        | {fit[7] for fit in fits if fit[7]}
        | {use[1] for use in (*uses, *step_uses)}
    )
    items = {
        row[0]: row
        for row in some(
            connection,
            "SELECT i.id, i.code, i.kind_id FROM item i JOIN kind k ON k.id = i.kind_id WHERE i.id %s",
            named,
        )
    }
    kinds = {item[2] for item in items.values()}
    item_rules = grouped(
        some(connection, "SELECT item_id, source, rule FROM item_rule WHERE item_id %s", named)
    )
    kind_rules = grouped(
        some(
            connection,
            "SELECT r.kind_id, r.source, r.rule, r.relaxed_by, f.code, r.medium, s.code FROM kind_rule r LEFT JOIN fluid f ON f.id = r.fluid_id LEFT JOIN system s ON s.id = r.system_id WHERE r.kind_id %s",
            kinds,
        )
    )
    refits: dict[tuple[int, str], int] = {}
    for joint, position, outcome in fetch(
        connection,
        "SELECT joint_id, position, outcome FROM removal WHERE vehicle_id = ? AND on_date < ? ORDER BY on_date",
        work.vehicle,
        str(on),
    ):
        refits[joint, position] = (
            0 if outcome == "renewed" else refits.get((joint, position), 0) + 1
        )
    lines: dict[tuple[str, str], int] = defaultdict(int)
    used: dict[str, int] = defaultdict(int)
    for fit, joint, position, item, quantity, option, limit, lubricant, amount in fits:
        if option and not suits(options[option][1:], work.built):
            continue
        opened, back = work.opened[joint], refits.get((joint, position), 0)
        spent = never_back(back, limit, opened)
        rule = rule_of(
            kind_rules.get(items[item][2], ()), item_rules.get(item, ()), fit_rules.get(fit, ()),
            fluids.get(joint, ()), systems[joint], spent,
        )  # fmt: skip
        lines[items[item][1], rule] += quantity * (opened if rule == "renew" else 1)
        worn = worn_out(rule, back, limit, opened)
        if worn:
            lines[items[item][1], "renew"] += quantity * worn
        if lubricant:
            used[items[lubricant][1]] += amount * (quantity // 1000) * opened
    for joint, item, amount in uses:
        used[items[item][1]] += amount * work.opened[joint]
    for _, item, amount in step_uses:
        used[items[item][1]] += amount
    return Answer(dict(lines), dict(used), work.hours), keys, named, kinds


def suits(span: Row, built: date | None) -> bool:
    """Whether a car built on a day lies within a span (from, before), either end perhaps open."""
    first, before = (date.fromisoformat(day) if isinstance(day, str) else day for day in span)
    return built is not None and (first or built) <= built and (before is None or built < before)


# What our plan reads besides, by what the keys are of.
_REST = {
    "fits": (
        "SELECT * FROM tightening WHERE fit_id %s",
        "SELECT * FROM stage WHERE fit_id %s ORDER BY fit_id, seq",
        "SELECT f.fit_id, l.code FROM fit_fluid f JOIN fluid l ON l.id = f.fluid_id WHERE f.fit_id %s",
        "SELECT id, criterion, reference FROM fit_rule WHERE fit_id %s",
        "SELECT * FROM fit WHERE id %s",
    ),
    "items": (
        "SELECT i.*, k.*, s.* FROM item i JOIN kind k ON k.id = i.kind_id LEFT JOIN succession s ON s.item_id = i.id WHERE i.id %s",
        "SELECT s.item_id, i.code, s.quantity FROM successor s JOIN item i ON i.id = s.by_item_id WHERE s.item_id %s",
        "SELECT packet_id, item_id, quantity FROM item_content WHERE packet_id IN (SELECT packet_id FROM item_content WHERE item_id %s)",
        "SELECT item_id, criterion, reference FROM item_rule WHERE item_id %s",
        "SELECT * FROM item_medium WHERE item_id %s",
        "SELECT c.item_id, a.code, a.title, a.text, a.word FROM item_caution c JOIN caution a ON a.id = c.caution_id WHERE c.item_id %s",
    ),
    "kinds": (
        "SELECT k.kind_id, t.name FROM kind_tool k JOIN general_tool t ON t.id = k.tool_id WHERE k.kind_id %s",
        "SELECT kind_id, elastomer FROM kind_dry WHERE kind_id %s",
        "SELECT kind_id, criterion, reference FROM kind_rule WHERE kind_id %s",
        "SELECT c.kind_id, a.code, a.title, a.text, a.word FROM kind_caution c JOIN caution a ON a.id = c.caution_id WHERE c.kind_id %s",
    ),
    "joints": (
        "SELECT * FROM joint WHERE id %s",
        "SELECT joint_id, thing FROM joint_near WHERE joint_id %s",
        "SELECT j.joint_id, f.* FROM joint_fluid j JOIN fluid f ON f.id = j.fluid_id WHERE j.joint_id %s",
        "SELECT c.joint_id, a.code, a.title, a.text, a.word FROM joint_caution c JOIN caution a ON a.id = c.caution_id WHERE c.joint_id %s",
        "SELECT j.id, a.code, a.title, a.text, a.word FROM joint j JOIN system_caution c ON c.system_id = j.system_id JOIN caution a ON a.id = c.caution_id WHERE j.id %s",
        "SELECT j.joint_id, a.code, a.title, a.text, a.word FROM joint_fluid j JOIN fluid_caution c ON c.fluid_id = j.fluid_id JOIN caution a ON a.id = c.caution_id WHERE j.joint_id %s",
        "SELECT * FROM use WHERE joint_id %s",
    ),
    "steps": (
        "SELECT s.step_id, t.name FROM step_tool s JOIN general_tool t ON t.id = s.tool_id WHERE s.step_id %s",
        "SELECT c.step_id, a.code, a.title, a.text, a.word FROM step_caution c JOIN caution a ON a.id = c.caution_id WHERE c.step_id %s",
        "SELECT s.id, l.code, l.name, l.text FROM step s JOIN licence l ON l.id = s.licence_id WHERE s.id %s",
    ),
    "vehicle": (
        "SELECT code, present FROM equipment WHERE vehicle_id %s",
        "SELECT split_id, option_id FROM settled_variant WHERE vehicle_id %s",
        "SELECT f.code, v.medium, v.lubricant_id, v.reference FROM vehicle_fluid v JOIN fluid f ON f.id = v.fluid_id WHERE v.vehicle_id %s",
        "SELECT f.code, m.medium, m.lubricant_id, m.reference FROM vehicle v JOIN model_fluid m ON m.model_id = v.model_id JOIN fluid f ON f.id = m.fluid_id WHERE v.id %s",
        "SELECT s.id, s.code, s.question, s.check_text, o.* FROM vehicle v JOIN model_unit m ON m.model_id = v.model_id JOIN split s ON s.unit_id = m.unit_id JOIN split_option o ON o.split_id = s.id WHERE v.id %s",
        "SELECT s.*, l.* FROM vehicle v JOIN model_unit m ON m.model_id = v.model_id JOIN job j ON j.unit_id = m.unit_id JOIN job_service s ON s.job_id = j.id LEFT JOIN licence l ON l.id = s.licence_id WHERE v.id %s",
    ),
}  # fmt: skip


def same(connection: Any, registration: str, jobs: Sequence[str], on: date) -> Answer:
    """The same list, having fetched every other row that our plan puts into words too."""
    work = read_work(connection, registration, jobs)
    answer, fits, items, kinds = answer_for(connection, work, on)
    owners: Mapping[str, Collection[int]] = {
        "fits": fits, "items": items, "kinds": kinds, "joints": work.opened,
        "steps": work.steps, "vehicle": [work.vehicle],
    }  # fmt: skip
    kept = [
        grouped(some(connection, statement, owners[owner]))
        for owner, statements in _REST.items()
        for statement in statements
    ]
    assert any(kept)
    return answer
