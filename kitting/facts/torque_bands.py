"""Torques with a tolerance as they are published: "4 ± 0.3 N·m"."""

from __future__ import annotations

import re
from decimal import Decimal

from kitting.errors import FigureError
from kitting.facts.units import LONGEST_TEXT, Torque, parse_torque, plain, show_torque

_RANGE = re.compile(
    r"\s*([0-9]{1,9}(?:\.[0-9]{1,6})?)\s*(?:([A-Za-z][^0-9–…]*?)\s*)??(?:-|–|…|\.\.\.?|to)\s*"
    r"([0-9]{1,9}(?:\.[0-9]{1,6})?)\s*([A-Za-z].*?)\s*"
)
# One side of a band, or both with their signs: "28 +5 N·m", "28 N·m +5", "28 -2/+5 N·m".
_SIDE = r"([+\-−])\s*([0-9]{1,9}(?:\.[0-9]{1,6})?)"
_SIDED = re.compile(
    rf"\s*([0-9]{{1,9}}(?:\.[0-9]{{1,6}})?)\s*([A-Za-z][^0-9+−-]*?)??\s*\(?\s*{_SIDE}"
    rf"(?:\s*/?\s*{_SIDE})?\s*\)?\s*([A-Za-z].*?)?\s*"
)
_MINUS = re.compile(r"\s[-−][0-9]")
_BARE = re.compile(r"[0-9]{1,15}(?:\.[0-9]{1,15})?")
# A torque and the same again in brackets: "25 N·m (18 lbf·ft)".
_TWICE = re.compile(r"\s*([^()]*[A-Za-z][^()]*?)\s*\(\s*([0-9][^()]*[A-Za-z][^()]*)\)\s*")
# How far two figures may be apart that mean one torque, where neither is the other one rounded. Our
# choice: makers round either figure to an even one.
_APART = Decimal("0.03")
_PERCENT = re.compile(rf"({_BARE.pattern})\s*%")


def parse_torque_band(text: str) -> tuple[Torque, Decimal | None]:
    """Read "4 ± 0.3 N·m" (or "4 N·m ± 0.3", "+/-") as torque and tolerance in the same unit.

    One that is printed in two units, "25 N·m (18 lbf·ft)", is read as the first where both agree.
    Raises FigureError as parse_torque does, for two units in one text, for two figures of which one
    is a misprint, and for a range or a tolerance of other sides: those are told as the band that
    they are.
    """
    twice = _TWICE.fullmatch(text) if len(text) <= LONGEST_TEXT else None
    if twice is not None:
        return _agreed(text, _one_band(twice[1]), _one_band(twice[2]))
    return _one_band(text)


def _agreed(
    text: str, first: tuple[Torque, Decimal | None], again: tuple[Torque, Decimal | None]
) -> tuple[Torque, Decimal | None]:
    """The first of two bands that mean the same."""
    (torque, band), (other, other_band) = first, again
    if torque.unit == other.unit:
        raise FigureError(
            "{text!r} has two figures in {unit}; give the one that holds",
            text=text,
            unit=torque.unit,
        )
    pairs = [(torque, other)]
    if band is not None and other_band is not None:
        pairs.append((Torque(band, torque.unit), Torque(other_band, other.unit)))
    for one, same in pairs:
        if not _mean_the_same(one, same):
            raise FigureError(
                "{text!r}: {one} is {torque}, not {same}: one of the two is a misprint. Find out"
                " which figure holds, and give that one",
                text=text,
                one=one,
                torque=show_torque(one, same.unit),
                same=same,
            )
    return first


def _mean_the_same(one: Torque, other: Torque) -> bool:
    return _rounded(one, other) or _rounded(other, one) or _near(one, other)


def _rounded(one: Torque, other: Torque) -> bool:
    """Whether a torque is another one in its own unit, rounded to its own last figure."""
    half = Decimal(1).scaleb(int(one.figure.as_tuple().exponent)) / 2
    return abs(other.to(one.unit) - one.figure) <= half


def _near(one: Torque, other: Torque) -> bool:
    in_both = (one.newton_metres, other.newton_metres)
    return abs(in_both[0] - in_both[1]) <= _APART * max(in_both)


def _one_band(text: str) -> tuple[Torque, Decimal | None]:
    middle, sign, rest = text.replace("+/-", "±").partition("±")
    if not sign:
        _not_one_sided(text)
        _no_range(text)
        return parse_torque(text), None
    _no_share(text, middle.strip(), rest.strip())
    sides = [middle.strip(), rest.strip()]
    bare = [side for side in sides if not re.search(r"[A-Za-z]", side)]
    if len(bare) == 1:
        (with_unit,) = (side for side in sides if side not in bare)
        unit = parse_torque(with_unit).unit
        sides = [f"{side} {unit}" if side in bare else side for side in sides]
    elif all(map(_BARE.fullmatch, sides)):
        raise FigureError(
            f"{text!r} is a figure without unit; write for example '{text.strip()} N·m' or"
            f" '{text.strip()} lbf·in'"
        )
    centre, band = map(parse_torque, sides)
    if centre.unit != band.unit:
        raise FigureError("{text!r} mixes two units; give figure and tolerance in one", text=text)
    return centre, band.figure


def _no_share(text: str, middle: str, rest: str) -> None:
    """Refuse "50 N·m ± 10 %", with the same band written in the unit of the figure."""
    share = _PERCENT.fullmatch(rest)
    if share is None:
        return
    centre = parse_torque(middle)
    spread = f"{plain(centre.figure)} ± {plain(centre.figure * Decimal(share[1]) / 100)}"
    raise FigureError(
        "{text!r} has its tolerance in percent; write it in the unit of the figure: '{spread}"
        " {unit}'",
        text=text,
        spread=spread,
        unit=centre.unit,
    )


def _no_range(text: str) -> None:
    """Refuse "30-40 N·m": the maker says what is set; nothing here picks a figure of it."""
    match = _RANGE.fullmatch(text) if len(text) <= LONGEST_TEXT else None
    if match is None:
        return
    first, of_first, second, unit = match.groups()
    least, most = Decimal(first), Decimal(second)
    if least < most and of_first in (None, unit):
        middle, half = plain((least + most) / 2), plain((most - least) / 2)
        raise FigureError(
            "{text!r} is a range; write the figure that the maker says to set, with its"
            " tolerance; where only the range is published, '{middle} ± {half} {unit}' says the"
            " same",
            text=text,
            middle=middle,
            half=half,
            unit=unit,
        )


def _not_one_sided(text: str) -> None:
    """Refuse "28 +5 N·m" and "28 -2/+5 N·m", with the same band written round its middle."""
    match = _SIDED.fullmatch(text) if len(text) <= LONGEST_TEXT else None
    if match is None:
        return
    figure, before, *sides, after = match.groups()
    unit = (after or before or "").strip()
    ends = {"+": Decimal(0), "-": Decimal(0)}
    signs = ["+" if sign == "+" else "-" for sign in sides[::2] if sign]
    if not unit or (before and after) or len(set(signs)) < len(signs):
        return
    # A single minus that stands between two figures is that of a range: '30-40 N·m'.
    if signs == ["-"] and not _MINUS.search(text):
        return
    for sign, amount in zip(signs, (one for one in sides[1::2] if one), strict=True):
        ends[sign] = Decimal(amount)
    least, most = Decimal(figure) - ends["-"], Decimal(figure) + ends["+"]
    if not 0 < least < most:
        return
    middle, half = plain((least + most) / 2), plain((most - least) / 2)
    raise FigureError(
        "{text!r} has a tolerance that is not the same on both sides; if it is {least} to {most}"
        " {unit}, write it round its middle: '{middle} ± {half} {unit}'",
        text=text,
        least=plain(least),
        most=plain(most),
        unit=unit,
        middle=middle,
        half=half,
    )
