"""Days on which a country or a part of it is closed: its public holidays."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from kitting.errors import FigureError
from kitting.facts.names import nearest


def country_closures(
    country: str, subdivision: str | None, years: Iterable[int]
) -> dict[date, str]:
    """Public holidays by day, in order, with their names, in English where there are such.

    `country` is a code of ISO 3166-1 ("GB", "DEU"), `subdivision` the part of ISO 3166-2 without
    the country ("ENG", "BY"); None gives what the whole country keeps. Days are those that the
    Python package `holidays` holds: which of them a supplier keeps, the supplier has to say.

    Raises FigureError for an unknown country or subdivision, naming near ones.
    """
    import holidays

    code = _country(country)
    part = None if subdivision is None else _subdivision(code, subdivision)
    found: dict[date, str] = {}
    wanted = sorted(set(years))
    if not wanted:  # the package would otherwise fill in years as they are asked for
        return found
    kept = holidays.country_holidays(
        code, subdiv=part, years=wanted, expand=False, language=_english(code)
    )
    for day, name in sorted(kept.items()):
        found[day] = name
    return found


def _country(text: str) -> str:
    import holidays
    from holidays.registry import COUNTRIES

    code = text.strip().upper()
    if code in holidays.list_supported_countries(include_aliases=True):
        return code
    # The registry gives per country its class and its codes: ("Germany", "DE", "DEU").
    names = {module.replace("_", " ").title(): codes[1] for module, codes in COUNTRIES.items()}
    near = [f"{names[name]} ({name})" for name in nearest(text.strip(), names, loosely=True)]
    near += nearest(code, [c for codes in COUNTRIES.values() for c in codes[1:3]], loosely=True)
    hint = f"Near: {', '.join(near)}" if near else "Write two letters, for example GB, DE or FR"
    raise FigureError(
        "{text!r} is no country code of ISO 3166-1 with known holidays. {hint}",
        text=text,
        hint=hint,
    )


def _subdivision(code: str, text: str) -> str:
    import holidays

    parts = holidays.list_supported_countries(include_aliases=True)[code]
    folded = {part.casefold(): part for part in parts}
    found = folded.get(text.strip().casefold())
    if found is not None:
        return found
    near = nearest(text.strip(), parts, loosely=True) or list(parts)[:8]
    hint = f"Near: {', '.join(near)}" if near else "It has none; leave the subdivision out"
    raise FigureError(
        "{text!r} is no part of {code} with holidays of its own. {hint}",
        text=text,
        code=code,
        hint=hint,
    )


def _english(code: str) -> str | None:
    """The English that the package has for a country; None where it speaks one language only."""
    import holidays

    entity = getattr(holidays, code)
    if str(entity.default_language or "").startswith("en"):
        return str(entity.default_language)
    english = sorted(tongue for tongue in entity.supported_languages if tongue.startswith("en"))
    return english[-1] if english else None
