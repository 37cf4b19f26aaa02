"""Names: which known one is near, and the order in which people expect codes."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from difflib import SequenceMatcher, get_close_matches
from functools import cache

_MOST_COMPARED = 2_000
_DIGITS = re.compile(r"([0-9]+)")
_NUMBER = re.compile(r"([A-Z]?)([0-9]{1,18})")


# Words that tell one thing from its counterpart, each with what it says (common practice of part
# and workshop lists, no source). A wrong one is another part.
_SIDES: Mapping[str, str] = {
    **dict.fromkeys(("l", "lh", "left", "lhs"), "left"),
    **dict.fromkeys(("r", "rh", "right", "rhs"), "right"),
    **dict.fromkeys(("fl", "lf"), "front left"),
    **dict.fromkeys(("fr", "rf"), "front right"),
    **dict.fromkeys(("rl", "lr"), "rear left"),
    "rr": "rear right",
    **dict.fromkeys(("ns", "nearside"), "nearside"),
    **dict.fromkeys(("os", "offside"), "offside"),
    **dict.fromkeys(("front", "fwd"), "front"),
    "rear": "rear",
    **dict.fromkeys(("upper", "top", "upr"), "upper"),
    **dict.fromkeys(("lower", "bottom", "lwr"), "lower"),
    **dict.fromkeys(("inner", "inboard"), "inner"),
    **dict.fromkeys(("outer", "outboard"), "outer"),
    **{word: word for word in ("inlet", "outlet", "feed", "return", "early", "late")},
}
_TOKEN = re.compile(r"[0-9]+(?:[.,][0-9]+)?|[^\W\d_]+")
_MISSPELT = 0.65  # how like a word a token is that may be it, misspelt
_LONG_ENOUGH = 3  # letters of a word that can be told when misspelt
_MOST_COMPLETED = 4  # names that complete a short one and are told
_LOOKED_AT = 8  # times as many near names are looked at as are wanted


def may_be_meant(name: str, other: str) -> bool:
    """Whether two names say the same numbers, sides and rubbers, as far as either says any.

    A side or rubber that is misspelt in `name` may be the one of `other`, not its counterpart.

    >>> may_be_meant("SEAL-SHAFT-RR", "SEAL-SHAFT-L"), may_be_meant("sael-l", "SEAL-L")
    (False, True)
    """
    (numbers, sides, words), (others, their_sides, _) = _said(name), _said(other)
    if numbers != others or sides - their_sides:
        return False
    left = list(words.elements())
    for side in (their_sides - sides).elements():
        meant = [word for word in left if _may_be(word, side)]
        if not meant:
            return False
        left.remove(meant[0])
    return True


def _said(name: str) -> tuple[Counter[str], Counter[str], Counter[str]]:
    """The numbers, the sides and the other words of a name."""
    tokens = [token.casefold() for token in _TOKEN.findall(name)]
    numbers = Counter(_plain(token) for token in tokens if token[0].isdigit())
    known = _telling()
    sides = Counter(known[token] for token in tokens if token in known)
    words = Counter(t for t in tokens if not t[0].isdigit() and t not in known)
    return numbers, sides, words


@cache
def _telling() -> Mapping[str, str]:
    """The words that tell one thing from another, with what each says: sides and rubbers."""
    from kitting.facts.elastomers import ELASTOMERS

    return {**{code.casefold(): code for code in ELASTOMERS}, **_SIDES}


def _plain(number: str) -> str:
    """A number as it is compared: 2.50 and 2,5 are one."""
    whole, _, part = number.replace(",", ".").partition(".")
    part = part.rstrip("0")
    return f"{whole.lstrip('0') or '0'}.{part}" if part else whole.lstrip("0") or "0"


def _may_be(word: str, side: str) -> bool:
    """Whether a word may be a side or rubber, misspelt: liker to it than to any other."""
    like: dict[str, float] = {}
    for written, said in _telling().items():
        if len(written) >= _LONG_ENOUGH:
            alike = SequenceMatcher(None, word, written).ratio()
            like[said] = max(alike, like.get(said, 0.0))
    best = max(like.values())
    return like.get(side, 0.0) == best >= _MISSPELT and list(like.values()).count(best) == 1


def nearest(name: str, names: Iterable[str], n: int = 3, *, loosely: bool = False) -> list[str]:
    """Up to `n` known names that look like `name`, best first, capitals not minded.

    None of another side, size or rubber: what bears another number is another thing, but where
    numbers only count (`loosely`: registrations, bookings).

    Among very many names only those that begin like `name` are compared: a long list of wrong names
    has to be refused soon, too.
    """
    known: dict[str, str] = {}
    for candidate in names:
        known.setdefault(candidate.casefold(), candidate)
    asked, alike = name.casefold(), list(known)
    for length in range(1, len(asked) + 1):
        if len(alike) <= _MOST_COMPARED:
            break
        alike = [folded for folded in alike if folded.startswith(asked[:length])]
    alike = alike[:_MOST_COMPARED]
    most = n if loosely else n * _LOOKED_AT
    near = [known[folded] for folded in get_close_matches(asked, alike, n=most, cutoff=0.6)]
    return [one for one in near if loosely or may_be_meant(name, one)][:n]


def _named_shorter(name: str, known: Iterable[str]) -> list[str]:
    """Known names that say all of a name, and besides only a unit (UNIT/NAME) or one of some sides.

    One side alone completes nothing: the other hand may be meant, and not be known.

    >>> _named_shorter("hose", ["axle/hose-left", "axle/hose-right", "axle/hose-clip"])
    ['axle/hose-left', 'axle/hose-right']
    """
    asked = name.casefold()
    whole, sided = [], []
    for one in known:
        unit, _, code = one.casefold().rpartition("/")
        short = one.casefold() if "/" in name else code
        rest = short.removeprefix(asked)
        if rest == short:
            continue
        if unit and not rest:
            whole.append(one)
        elif rest.startswith("-") and all(word in _SIDES for word in _TOKEN.findall(rest)):
            sided.append(one)
    return [*whole, *(sided if len(sided) > 1 else [])][:_MOST_COMPLETED]


def hint(name: str, known: Iterable[str], otherwise: str) -> str:
    """ "Did you mean …?" with the near names, else what to do instead.

    What is only of another side, size or rubber is named as that, and never proposed. A name that
    only lacks its unit, or the side that a code ends in, is completed.
    """
    listed = list(known)
    if whole := _named_shorter(name, listed):
        return f"Which is meant: {' or '.join(whole)}?" if len(whole) > 1 else f"Say {whole[0]}"
    near = nearest(name, listed)
    if near:
        return f"Did you mean {' or '.join(near)}?"
    others = nearest(name, listed, loosely=True)
    are = "is" if len(others) == 1 else "are"
    unlike = f" {' and '.join(others)} {are} of another side, size or rubber"
    return f"{otherwise}.{unlike}" if others else otherwise


def as_said(word: str) -> str:
    """A word as it is compared with others: without capitals, dashes and plural.

    >>> as_said("Hub-Nuts") == as_said("hub nut")
    True
    """
    folded = " ".join(re.sub(r"[-_/]", " ", word).split()).casefold()
    return folded.removesuffix("s")


def also_called(word: str, words: Iterable[tuple[str, str]]) -> list[str]:
    """The codes that people call so; `words` are pairs of a word and its code."""
    asked = as_said(word)
    return list(dict.fromkeys(code for said, code in words if as_said(said) == asked))


def natural_key(text: str) -> tuple[tuple[int, int, str], ...]:
    """A sort key that puts A2 before A10 and minds no capitals; different texts never tie.

    >>> sorted(["A10", "A2", "B1"], key=natural_key)
    ['A2', 'A10', 'B1']
    """
    return (*(_part(part) for part in _DIGITS.split(text) if part), (-1, 0, text))


def _part(part: str) -> tuple[int, int, str]:
    if not _DIGITS.fullmatch(part):
        return (1, 0, part.casefold())
    digits = part.lstrip("0")  # compared by length first: as numbers, however long
    return (0, len(digits), digits)


def ending_so(asked: str, numbers: Iterable[str]) -> list[str]:
    """The numbers that end with some digits, with or without their letter, in the order given.

    One whose digits are all of them is the only one that is meant.

    >>> ending_so("1", ["B0001", "B0011"]), ending_so("B0001", ["B0001", "B10001"])
    (['B0001', 'B0011'], ['B0001'])
    """
    short = _NUMBER.fullmatch(asked)
    if short is None:
        return []
    letter, digits = short.groups()
    known = [number for text in numbers if (number := _NUMBER.fullmatch(text)) is not None]
    found = [
        number
        for number in known
        if letter in ("", number[1]) and int(number[2]) % 10 ** len(digits) == int(digits)
    ]
    whole = [number for number in found if number[2] == digits]
    return [number[0] for number in whole or found]


def same_number(one: str, other: str) -> bool:
    """Whether two numbers of papers are the same, however they are spaced and in whichever case.

    >>> same_number("CN-88 a", " cn-88A")
    True
    """
    return "".join(one.split()).casefold() == "".join(other.split()).casefold()
