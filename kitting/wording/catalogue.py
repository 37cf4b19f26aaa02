"""Loads and exports in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from kitting.views.catalogue import ExportRemark, LoadRemark, OriginReason, OriginView
from kitting.wording.language import _
from kitting.wording.reasons import register

_NAMED = 12  # so many codes of a section are named in the head of a file

register(
    {
        LoadRemark.OVERWRITTEN: "{sort} {thing} was described otherwise before: {changes}",
        LoadRemark.OVERWRITTEN_TOO: (
            "{count:many other} of sort {sort} were described otherwise before"
        ),
        LoadRemark.WAS_OTHERWISE: "{field} was {was}, is {now}",
        LoadRemark.NO_LONGER_CARRIED: (
            "{sort} {owner} no longer carries unit {unit}. Jobs that go with it: {jobs:, }"
        ),
        LoadRemark.GONE_OF_UNIT: "unit {unit} no longer has {things:, }",
        LoadRemark.PHOTO_OF_NOTHING: (
            "photo {number} is of {place}, which is gone: it stays, but no sheet shows it"
        ),
        LoadRemark.REPLACED_IN_A_RING: (
            "replacements run in a ring: {items: → }. Neither can be trusted as the current part:"
            " ask the supplier which one is"
        ),
        LoadRemark.ODD_TORQUE: "{place}: {text}",
        LoadRemark.TORQUES_NOT_CHECKED: (
            "{count:many figure} cannot be checked, since no thread is stated: {places:, }"
        ),
        LoadRemark.TORQUES_WITHOUT_CLASS: (
            "{count:many figure} cannot be proven, since no property class is stated: {places:, }"
        ),
        LoadRemark.TORQUES_OF_NO_BOLT: (
            "{count:many figure} cannot be checked, since nothing is known here of what such a part"
            " bears, and its maker's figure decides: {places:, }"
        ),
        LoadRemark.TORQUES_INTO_PLASTIC: (
            "{count:many figure} cannot be checked, since the thread is in plastic and the figure"
            " of the maker of the plastic part decides: {places:, }"
        ),
        LoadRemark.TORQUES_NOT_RECKONED: (
            "{count:many figure} cannot be checked, since what such a thread bears is not reckoned"
            " here, and its maker's figure decides: {places:, }"
        ),
        LoadRemark.TORQUES_THAT_MAY_STRIP: (
            "{count:many figure} cannot be proven, since it is not stated what the thread is cut"
            " into, or how far it is engaged there: {places:, }"
        ),
        LoadRemark.BARS_DROPPED: (
            "kind {kind}: a general rule that policy may not relax was taken out or changed."
            " Setting up again brings back those that come with the program"
        ),
        LoadRemark.SETTLED_AGAINST: (
            "{car}: {variant} is settled as {option}, which it cannot have by what is known of it"
            " ({known:, }): look at the car again"
        ),
        LoadRemark.CHECK_DIGIT: (
            "{car}: position 9 of VIN {vin} is {stands}; if it is a check digit, it has to be"
            " {follows}. Not every maker uses one: compare the number with the plate"
        ),
        LoadRemark.TOLD_OTHERWISE: (
            "{car}: the file states {fact} {states}, told at the garage was {told}. The file's word"
            " holds now: look at the car, and put right what is wrong"
        ),
        LoadRemark.STILL_UNKNOWN: "still unknown: {place}: {what:, } of {item}",
        LoadRemark.FLUIDS_UNKNOWN: "still unknown: {place}: the fluids that it holds back",
        LoadRemark.STEP_NEEDS_UNKNOWN: (
            "a step needs step {step}, which no unit describes: it cannot be planned"
        ),
        LoadRemark.JOB_NEEDS_UNKNOWN: (
            "a job needs step {step}, which no unit describes: it cannot be planned"
        ),
        LoadRemark.WRITTEN_BY_ANOTHER: (
            "{thing}: changed {fields:, }. Author before: {was}; author now: {now}"
        ),
        LoadRemark.MORE_BY_ANOTHER: (
            "changed as well: {count:many thing}. Author before: {was}; author now: {now}. Compare"
            " a file with what is there before it is loaded"
        ),
    }
)
register(
    {
        ExportRemark.WRITTEN_ALONG: "also written, since steps of it are needed: {units:, }",
        ExportRemark.MODEL_LEFT_OUT: (
            "model {model} is not written: it also carries {units:, }. Name these too, or let the"
            " other garage add the units to a model of its own"
        ),
    }
)
register(
    {
        OriginReason.AUTHOR: "{author}",
        OriginReason.VERSION: "{author}, version {version}",
        OriginReason.NOBODY: "not stated",
    }
)


def origin_text(origin: OriginView | None) -> str:
    """Who wrote something, with the version: "A. Sample, version 1"."""
    if origin is None:
        return _("no author stated")
    return (
        origin.author
        if origin.version is None
        else _("{author}, version {version}", author=origin.author, version=origin.version)
    )


def origin_line(origin: OriginView | None) -> str:
    """Who wrote something, what it is taken from, and what others may do with it."""
    if origin is None:
        return origin_text(None)
    more = ((_("taken from"), origin.source), ("licence", origin.licence))
    return "; ".join((origin_text(origin), *(f"{what}: {text}" for what, text in more if text)))


def heads_text(origins: Mapping[OriginView | None, Sequence[tuple[str, str]]]) -> list[str]:
    """Who wrote what, a line for each head; nothing where nobody is known to have written any."""
    if set(origins) <= {None}:
        return []
    return [
        _("{listed} by: {origin_line}", listed=_listed(things), origin_line=origin_line(origin))
        for origin, things in origins.items()
    ]


def _listed(things: Sequence[tuple[str, str]]) -> str:
    """ "units grebe-4t; items RING-1, RING-2 and 31 more"."""
    by_section: dict[str, list[str]] = {}
    for section, code in things:
        by_section.setdefault(section, []).append(code)
    return "; ".join(f"{section} {_some(codes)}" for section, codes in by_section.items())


def _some(codes: Sequence[str]) -> str:
    more = _(" and {value} more", value=len(codes) - _NAMED) if len(codes) > _NAMED else ""
    return ", ".join(codes[:_NAMED]) + more
