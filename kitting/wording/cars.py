"""Cars in words."""

from __future__ import annotations

import kitting.wording.plan  # noqa: F401  (why a variant is open)
from kitting.facts.car_facts import CarFact
from kitting.views.cars import CarView, OpenVariantView, ToldView
from kitting.wording.language import _, date_text
from kitting.wording.reasons import say


def facts(view: CarView) -> list[tuple[str, str]]:
    """What is known of a car and what is not, each with its heading."""
    vin = view.vin or _("unknown")
    if view.check_digit is not None:
        vin += _(
            " (position 9 would be {check_digit} if it is a check digit: compare with the plate)",
            check_digit=view.check_digit,
        )
    known = ", ".join(f"{one.code} {_has(one.present)}" for one in view.equipment)
    return [
        (_("model"), view.model),
        (_("VIN"), vin),
        (_("built"), _("unknown") if view.build_date is None else date_text(view.build_date)),
        (_("weight"), _("unknown") if view.weight is None else f"{view.weight}"),
        (_("units"), ", ".join(view.units) or _("none described")),
        (_("equipment"), known or _("none is known, and nothing depends on any")),
    ]


def _has(present: bool | None) -> str:
    return _("unknown") if present is None else _("yes") if present else _("no")


def unknowns(view: CarView) -> list[str]:
    """What is not known and would settle a variant that is open."""
    built = [_("the build date")] if view.build_date_decides else []
    return [*built, *(_("whether it has {code}", code=code) for code in view.unknown)]


def left_open(one: OpenVariantView) -> str:
    """A variant that is open: "grebe/cooler: Which cooler? …: look at …"."""
    return f"{one.variant}: {one.question} {say(one.why)}. {one.check}"


def told(one: ToldView) -> str:
    """What was told: "2026-04-02, Ann: built 2021-03-14 (put right: …)"."""
    what = one.code if one.fact is CarFact.EQUIPMENT else one.fact.value
    by = f", {one.told_by}" if one.told_by else ""
    why = _(" (put right: {why})", why=one.why) if one.why else ""
    return f"{one.at:%Y-%m-%d}{by}: {what} {one.value}{why}"
