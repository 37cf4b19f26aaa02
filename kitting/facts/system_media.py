"""What the systems hold in which a wrong fluid hurts somebody.

Common practice, no source. A joint of such a system may have other fluids on its far side (a fuel
pump is driven in the engine oil, a servo works by vacuum), so that these are named too.
"""

from __future__ import annotations

from collections.abc import Mapping

# Brake fluids that do not mix: common practice, no source.
NEVER_MIXED = frozenset({"glycol-brake-fluid", "silicone-brake-fluid"})
_FUELS = frozenset({"petrol", "e85", "diesel", "biodiesel", "engine-oil", "air"})
_REFRIGERANTS = frozenset(
    {"refrigerant", "r134a-pag", "r1234yf-pag", "r134a-ester", "r1234yf-ester", "r744-pag"}
)
# By the codes of systems and of media; of a system that is not named nothing is said.
MEDIA_OF_SYSTEM: Mapping[str, frozenset[str]] = {
    "brakes": frozenset(
        {"glycol-brake-fluid", "silicone-brake-fluid", "mineral-hydraulic-oil", "air"}
    ),
    "steering": frozenset({"mineral-hydraulic-oil", "transmission-fluid", "gear-oil", "air"}),
    "fuel": _FUELS,
    "high-pressure-fuel": _FUELS,
    "air-conditioning": _REFRIGERANTS,
}
