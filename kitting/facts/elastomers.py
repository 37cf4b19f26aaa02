"""Elastomers by their codes (ISO 1629)."""

from __future__ import annotations

from kitting.errors import FigureError
from kitting.facts.names import nearest

ELASTOMERS: dict[str, str] = {
    "NR": "natural rubber",
    "IR": "synthetic isoprene rubber",
    "BR": "butadiene rubber",
    "SBR": "styrene-butadiene rubber",
    "AU": "polyester urethane",
    "EU": "polyether urethane",
    "NBR": "acrylonitrile-butadiene rubber (nitrile)",
    "HNBR": "hydrogenated nitrile rubber",
    "XNBR": "carboxylated nitrile rubber",
    "ACM": "acrylic rubber (polyacrylate)",
    "AEM": "ethylene-acrylic rubber",
    "CR": "chloroprene rubber",
    "CO": "epichlorohydrin rubber",
    "ECO": "epichlorohydrin copolymer",
    "IIR": "butyl rubber",
    "CIIR": "chlorobutyl rubber",
    "BIIR": "bromobutyl rubber",
    "CM": "chlorinated polyethylene",
    "CSM": "chlorosulfonated polyethylene",
    "EPDM": "ethylene-propylene-diene rubber",
    "EPM": "ethylene-propylene rubber",
    "FKM": "fluorocarbon rubber",
    "FFKM": "perfluorocarbon rubber",
    "VMQ": "silicone rubber",
    "PVMQ": "silicone rubber with phenyl groups",
    "FVMQ": "fluorosilicone rubber",
    "FEPM": "tetrafluoroethylene-propylene rubber",
    "PTFE": "polytetrafluoroethylene",
}

# What people say for a rubber, from memory: names of the trade, and names under which more than one
# compound is sold. They are answered with the code, and never taken for it.
ALSO_CALLED: dict[str, str] = {
    "nitrile": "NBR",
    "buna": "NBR",
    "buna-n": "NBR",
    "hydrogenated nitrile": "HNBR",
    "neoprene": "CR",
    "chloroprene": "CR",
    "butyl": "IIR",
    "epr": "EPM",
    "viton": "FKM",
    "fpm": "FKM",
    "fluorocarbon": "FKM",
    "fluoroelastomer": "FKM",
    "silicone": "VMQ",
    "fluorosilicone": "FVMQ",
    "acrylic": "ACM",
    "polyacrylate": "ACM",
    "polyurethane": "AU",
    "natural rubber": "NR",
    "teflon": "PTFE",
}
# Names that were written from memory, without a copy to compare them with.
FROM_MEMORY = frozenset({"XNBR", "CO", "CIIR", "BIIR", "CM", "PVMQ"})
# A plastic, not a rubber: not in ISO 1629; its ISO 1043-1 code stands on lip seals.
PLASTICS = frozenset({"PTFE"})


def require_elastomer(code: str) -> str:
    """The code in capitals; raises FigureError if there is none such."""
    folded = code.strip().upper()
    if folded not in ELASTOMERS:
        said = ALSO_CALLED.get(" ".join(code.split()).casefold())
        if said is not None:
            raise FigureError(
                "{code!r} is no elastomer code of ISO 1629; people mean {said} by it"
                " ({elastomers}). Write {said} where the packet or its data sheet says so; a"
                " trade name is not a material",
                code=code,
                said=said,
                elastomers=ELASTOMERS[said],
            )
        near = nearest(folded, ELASTOMERS, loosely=True)
        look = "looks like it, and is" if len(near) == 1 else "look like it, and each is"
        told = f": {', '.join(near)} {look} a rubber of its own" if near else ", such as NBR"
        raise FigureError(
            "{code!r} is no elastomer code of ISO 1629. Write the one that the packet or its data"
            " sheet names{told}. A colour or a trade name is not a material",
            code=code,
            told=told,
        )
    return folded
