"""Settling variants: recording what was seen at a car, or assuming it for one answer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from sqlalchemy import Engine

from kitting.actions import Action, next_step
from kitting.calc.planning.variants import SplitFacts, speaks_against
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.conditions import ConditionReason
from kitting.facts.names import nearest
from kitting.facts.reasons import Reason
from kitting.services.planning.facts import Car
from kitting.services.planning.read_car import read_car
from kitting.store import writing
from kitting.tables.editions import CatalogueEdition
from kitting.tables.vehicles import SettledVariant


@dataclass(frozen=True, slots=True)
class Settling:
    """What was recorded: the split, its option now and the one before (None: first time)."""

    split: str
    option: str
    before: str | None
    despite: str | None = None


def settle_variant(
    engine: Engine,
    registration: str,
    split: str,
    option: str,
    dry_run: bool = False,
    *,
    despite: str | None = None,
) -> Settling:
    """Record which option of a split was seen at a car; `dry_run` does everything but keep it.

    What is known of the car may speak against it: then it is recorded only with a reason
    (`despite`). Raises UnknownNameError for a car, split or option that the catalogue lacks,
    KittingError where a reason is lacking.
    """
    with writing(engine) as session:
        car = read_car(session, registration, date.max)
        facts = find_split(car, split)
        chosen = find_option(facts, option)
        _refuse_choice(car, facts, option)
        reason = _reason(car, facts, chosen, despite)
        codes = {known.key: known.code for known in facts.options}
        before = session.get(SettledVariant, (car.key, facts.key))
        result = Settling(
            car.split_called(facts), option, codes[before.option_id] if before else None, reason
        )
        if before is None:
            session.add(
                SettledVariant(
                    vehicle_id=car.key, split_id=facts.key, option_id=chosen, reason=reason
                )
            )
        else:
            before.option_id, before.reason = chosen, reason
        if result.before != option:
            session.add(CatalogueEdition(what=f"{registration}: {facts.code}={option}"))
        session.flush()
        if not dry_run:
            session.commit()
    return result


def assume(car: Car, assumed: Mapping[str, str], chosen: Mapping[int, int] | None = None) -> Car:
    """The car with splits settled for this answer only: by code, and by key what was chosen.

    What was chosen of a split that by now a look at the car settles counts no more.
    Raises UnknownNameError for a split or option that the car's units do not have.
    """
    facts = car.facts
    customers = {split.key for split in car.splits if split.by_customer}
    for split_key, option in (chosen or {}).items():
        if split_key in customers:
            facts = facts.settling(split_key, option)
    for name, option_code in assumed.items():
        split = find_split(car, name)
        facts = facts.settling(split.key, find_option(split, option_code))
    return replace(car, facts=facts)


def chosen_options(car: Car, chosen: Mapping[str, str]) -> dict[int, int]:
    """What a customer chose (split → option by code), by key.

    Raises UnknownNameError for what the car's units do not have, KittingError for a split that a
    look at the car settles.
    """
    found = {}
    for name, code in chosen.items():
        split = find_split(car, name)
        option = find_option(split, code)
        if not split.by_customer:
            called = car.split_called(split)
            raise KittingError(
                "{called} is not for the customer to choose: a look at the car settles it. {check}",
                called=called,
                check=split.check,
                then=[
                    next_step(
                        Action.SETTLE_VARIANT,
                        registration=f'"{car.registration}"',
                        variant=called,
                        option=code,
                    )
                ],
            )
        found[split.key] = option
    return found


def _refuse_choice(car: Car, split: SplitFacts, option: str) -> None:
    """Nothing is recorded at a car of what its customer chooses for each booking anew."""
    if split.by_customer:
        called = car.split_called(split)
        raise KittingError(
            "{called} is what the customer chooses: it is kept with the booking, not with the"
            " car. Name it where it is booked",
            called=called,
            then=[next_step(Action.CHOOSE, variant=called, option=option)],
        )


def _reason(car: Car, split: SplitFacts, option: int, despite: str | None) -> str | None:
    """The reason to record; none where nothing speaks against the option."""
    against = speaks_against(split, option, car.facts)
    if not against:
        return None
    if despite is not None and despite.strip():
        return despite.strip()
    code = next(one.code for one in split.options if one.key == option)
    known = ", ".join(map(_known_text, against))
    raise KittingError(
        "{registration} cannot have {code} {option} by what is known of it ({known}). Correct"
        " what is wrong, or say why it was seen all the same",
        registration=car.registration,
        code=split.code,
        option=code,
        known=known,
        then=(
            next_step(
                Action.SETTLE_DESPITE,
                registration=f'"{car.registration}"',
                variant=car.split_called(split),
                option=code,
            ),
        ),
    )


def _known_text(reason: Reason) -> str:
    values = dict(reason.values)
    if reason.code == ConditionReason.BUILT:
        return f"built {values['day']}"
    return f"{reason.code} {values.get('equipment', '')}".strip()


def find_split(car: Car, name: str) -> SplitFacts:
    """The split called CODE or UNIT/CODE among the car's units."""
    unit, _, code = name.rpartition("/")
    found = [
        split
        for split in car.splits
        if split.code == code and unit in ("", car.unit(split.unit).code)
    ]
    if len(found) == 1:
        return found[0]
    known = [f"{car.unit(split.unit).code}/{split.code}" for split in car.splits]
    if found:
        ways = " or ".join(map(car.split_called, found))
        raise UnknownNameError(
            "variant {name!r} is asked by more than one unit. Say {ways}", name=name, ways=ways
        )
    near = nearest(name, [*known, *(split.code for split in car.splits)]) or known
    hint = f"Known for this car: {', '.join(near)}" if near else "None is described for its units"
    raise UnknownNameError(
        "no variant {name!r} for {registration}. {hint}",
        name=name,
        registration=car.registration,
        hint=hint,
    )


def find_option(split: SplitFacts, code: str) -> int:
    """The key of an option of a split."""
    for option in split.options:
        if option.code == code:
            return option.key
    known = ", ".join(option.code for option in split.options)
    raise UnknownNameError(
        "variant {code!r} has no option {option!r}. Its options: {known}",
        code=split.code,
        option=code,
        known=known,
    )
