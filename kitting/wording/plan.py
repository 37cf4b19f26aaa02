"""A plan in words: who decided and why, what touches what, how amounts arose, what stops a line."""

from __future__ import annotations

from kitting.facts.conditions import ConditionReason
from kitting.facts.plan_reasons import (
    AmountReason,
    Answer,
    ChangeReason,
    ContactPlace,
    ContactReason,
    DecidedBy,
    InsteadReason,
    LubricantReason,
    NoteReason,
    RuleReason,
    StopReason,
    VariantReason,
)
from kitting.facts.reasons import Reason
from kitting.facts.words import EntryKind, RelaxedBy, Source
from kitting.views.explanations import AdditionView, ChainView, NotRankedView, WhyView
from kitting.wording.figures import NO_SOURCE, day, money, percent, times
from kitting.wording.language import N_, _
from kitting.wording.reasons import register, register_names, say

COMMON_PRACTICE = N_("(common practice, no source)")

register_names(
    {
        Source.GENERAL: "the general rule for the kind",
        Source.WORKSHOP: "workshop policy",
        Source.LEAFLET: "the leaflet in the packet",
        Source.MAKER: "the vehicle maker",
        Source.HISTORY: "this car's history",
        Source.FINDING: "what was found at the car",
        Source.JOB: "the job itself",
        Source.PACKET: "packet",
        Source.NONE: "nobody",
    }
)
register_names(
    {
        RelaxedBy.WORKSHOP: "the vehicle maker, the leaflet or the workshop",
        RelaxedBy.LEAFLET: "the vehicle maker or the leaflet",
        RelaxedBy.MAKER: "the vehicle maker",
        RelaxedBy.NOBODY: "nobody",
    }
)
register(
    {
        RuleReason.NOBODY_ALLOWS: "no source says that it may go back",
        RuleReason.NOT_SOLD_SINGLY: "its contents are not sold singly",
        RuleReason.WENT_BACK: "has gone back {times:times}, limit {limit:times}",
        RuleReason.FOUND_FAILED: "the inspection at {position} failed",
        RuleReason.FOUND_SOME_FAILED: (
            "{failed} of {all} at {position} failed the inspection, the rest goes back"
        ),
        RuleReason.JOB_RENEWS: "renewing it is what {jobs:, } is for",
        RuleReason.LIMIT_IN_PLAN: "opened {times:times} here, may go back {limit:times}",
        RuleReason.LIMIT_BY_PLAN: (
            "has gone back {before:times} before, opened {times:times} here,"
            " may go back {limit:times}"
        ),
        RuleReason.LIMIT_REACHED: "the limit on going back is reached",
        RuleReason.RELAXED_BY_NOBODY: "{source:called} may not be relaxed by anybody",
        RuleReason.RELAXED_ONLY_BY: "{source:called} may be relaxed only by {above:called}",
        RuleReason.STRICTER: "{source:called} is stricter, which it may be",
        RuleReason.RANKS_ABOVE: "{source:called} ranks above it",
        RuleReason.SPEAKS_OF_THIS_CASE: "{source:called} speaks of this very case",
    }
)
register(
    {
        ConditionReason.BUILT: "built {day}",
        ConditionReason.BUILD_DATE_UNKNOWN: "the build date is not known",
        ConditionReason.WITH: "with {equipment}",
        ConditionReason.WITHOUT: "without {equipment}",
        ConditionReason.EQUIPMENT_UNKNOWN: "whether the car has {equipment} is not known",
        ConditionReason.OPTION: "by the variant that it has",
        ConditionReason.OPTION_UNKNOWN: "the variant is not settled",
    }
)
register(
    {
        VariantReason.SEEN: "seen at the car",
        VariantReason.CHOSEN: "the customer chose it",
        VariantReason.NOT_CHOSEN: "the customer has not chosen",
        VariantReason.MATCHES: "{known:, }",
        VariantReason.NO_OPTION_FITS: "no option fits what is known of this car ({known:, })",
        VariantReason.NO_OPTION_FITS_NOTHING_KNOWN: (
            "no option fits what is known of this car (nothing)"
        ),
        VariantReason.SEVERAL_FIT: "more than one option fits ({known:, })",
        VariantReason.NOT_KNOWN: "{missing: and }",
        VariantReason.ONLY_INSPECTION: "only a look at the car decides",
    }
)
register(
    {
        AmountReason.STATED: "{amount}",
        AmountReason.BEAD: "bead {diameter} × {length} × {allowance} + {nozzle} nozzle",
        AmountReason.BEAD_OF_TUBES: (
            "bead {diameter} × {length} × {allowance} + {tubes} × {nozzle} nozzle, one for each"
            " tube"
        ),
        AmountReason.NOZZLE_SHARED: (
            "{how}, less {fewer} × {nozzle}: the nozzle of the bead before is still open"
        ),
        AmountReason.NOZZLE_OF_ITS_OWN: (
            "{how}, a nozzle of its own: whether that of another bead here is still open is not"
            " known"
        ),
        AmountReason.FILM: "film {square_mm} mm² × {thickness}",
        AmountReason.DROPS: "{threads} × {drops:many drop} on {thread}",
        AmountReason.LUBRICANT: "{pieces} × lubricant at {position}",
        AmountReason.NOTED: "{how} ({note})",
        AmountReason.SEVERAL_TIMES: "{how}, {times} times",
        AmountReason.AT_JOINT: "{how} (joint {joint})",
        AmountReason.AT_STEP: "{how} (step {step})",
        AmountReason.COMES_TO: "{how} → {amount:rounded}",
        AmountReason.PUT_ON: "{place}: {product}, {amount}: {times}",
    },
    entries={
        AmountReason.NOZZLE_OF_ITS_OWN: "times: open and laying of the item",
    },
)
_TABLE = "general table, {source}, certainty {certainty}"
_LIMITS = (
    "{rubber} at {celsius} °C ({source}): general-purpose grades serve from {coldest} to"
    " {hottest} °C. {said_by}"
)
_RATED = "{rubber} in {medium:general}: {rating}"
register(
    {
        ContactReason.TABLE: _TABLE,
        ContactReason.TABLE_AND_OTHERS: _TABLE + "; also {others}",
        ContactReason.NOBODY_RATES: "no source rates it",
        ContactReason.REFERENCE: "{source}: {reference}",
        ContactReason.RATED: _RATED + ". {said_by}",
        ContactReason.RATED_WITH_NOTE: _RATED + " ({note}). {said_by}",
        ContactReason.RATED_AGAINST: (
            _RATED + ". {said_by}, AGAINST {other} by the {other_said_by}"
        ),
        ContactReason.MEDIUM_UNKNOWN: "nobody says what medium {what:general} is",
        ContactReason.PRODUCT_UNKNOWN: "nobody says what medium {what} is",
        ContactReason.MEDIA_SETTLE: "{why}. What its maker says settles it",
        ContactReason.HEAT_SETTLES: "{why}. Ask its maker",
        ContactReason.GOES_ON_DRY: (
            "{rubber} lips go on dry unless the maker names a lubricant " + COMMON_PRACTICE
        ),
        ContactReason.TEMPERATURE_UNKNOWN: "no service temperature of {rubber} is held",
        ContactReason.TEMPERATURE: _LIMITS,
        ContactReason.TEMPERATURE_FAR_BEYOND: (
            _LIMITS + ". Beyond {margin} °C more no grade is taken to last (our assumption)"
        ),
        ContactReason.PLACE_NOT_STATED: "where {item} goes is not stated; {why}",
        ContactReason.BROUGHT: "{packet} brings {item}; {why}",
        ContactReason.MAY_BE_BROUGHT: (
            "{packet}, which comes if old stock is not enough, brings {item}; {why}"
        ),
    },
    entries={
        ContactReason.MEDIUM_UNKNOWN: "medium: of the fluid, or fluids: of the car",
        ContactReason.PRODUCT_UNKNOWN: "medium: of the item",
        ContactReason.MEDIA_SETTLE: "media: of {item}",
        ContactReason.HEAT_SETTLES: "or name a rubber for that heat: item: of the fit",
        ContactReason.PLACE_NOT_STATED: "uses: of the joint, or lubricant: of the fit",
    },
)
_IN_FLUID = "{rubber} in {what:general} at {position} ({item}): {why}"
_ON_RUBBER = "{what} on {rubber} at {position} ({item}): {why}"
_AT_HEAT = "{rubber} at {what}, {position} ({item}): {why}"
_INSTEAD = ". Instead: {instead: or }"
register(
    {
        ContactPlace.IN_FLUID: _IN_FLUID,
        ContactPlace.IN_FLUID_INSTEAD: _IN_FLUID + _INSTEAD,
        ContactPlace.ON_RUBBER: _ON_RUBBER,
        ContactPlace.ON_RUBBER_INSTEAD: _ON_RUBBER + _INSTEAD,
        ContactPlace.AT_HEAT: _AT_HEAT,
        ContactPlace.AT_HEAT_INSTEAD: _AT_HEAT + _INSTEAD,
        ContactPlace.AS_RECORDED: "{text}",
        ContactPlace.LEFT_OFF: "LEFT OFF: {contact}",
        ContactPlace.STOPS_BOOKING: "{contact}. Correct the catalogue",
        ContactPlace.NOT_READY: "NOT READY: {lack}",
    }
)
register(
    {
        NoteReason.GROUP: "group {group}: if one fails, all {all} are renewed",
        NoteReason.GROUP_CLOSED: (
            "group {group}: the rest of it stays as it is, for no job opens {places:, }"
        ),
        NoteReason.REFIT_LIMIT: "may go back {times:many time} at most",
        NoteReason.REFIT_LIMIT_WITHOUT_SOURCE: (
            "may go back {times:many time} at most (" + NO_SOURCE + ")"
        ),
        NoteReason.AMOUNT_WITHOUT_SOURCE: "amount: " + NO_SOURCE,
        NoteReason.AMOUNTS_WITHOUT_SOURCE: "amount at {places:, }: " + NO_SOURCE,
        NoteReason.NOT_SOLD_SINGLY: "not sold singly",
        NoteReason.BRINGS: "each brings {contents:, }",
        NoteReason.CONTENT: "{amount} × {item}",
        NoteReason.REPLACED: "replaced by {by: + }; old stock: {old_stock}",
        NoteReason.REPLACED_WITH_NOTE: "replaced by {by: + }; old stock: {old_stock} ({note})",
        NoteReason.STANDS_FOR: "stands in for {asked}",
        NoteReason.ONLY_WITH: "only with {options: or }",
    }
)
register(
    {
        InsteadReason.CERTAIN: "{item}",
        InsteadReason.OF_MEDIUM_CERTAINTY: "{item} (of medium certainty: ask)",
    }
)
register(
    {
        LubricantReason.DRY: "FIT DRY, no lubricant",
        LubricantReason.PRODUCT: "{name} ({item}), {amount}",
        LubricantReason.CLASH: "NOT {clash}: {instead: or } instead",
        LubricantReason.CLASH_ASK_MAKER: "NOT {clash}: ask the maker instead",
    }
)
register(
    {
        StopReason.VARIANT: "{variant}",
        StopReason.RUBBER_IN_FLUID: "{rubber} in {what:general}",
        StopReason.RUBBER_AT_HEAT: "{rubber} at {what}",
        StopReason.LUBRICANT_ON_RUBBER: "{what} on {rubber}",
    }
)
register(
    {
        Answer.LINE: "{rule} {amount}",
        Answer.LINE_WITH_CRITERION: "{rule} {amount}, if {criterion:general}",
        Answer.USED: "{amount:rounded} used",
        Answer.DONE_ONCE: "{hours} h, done once",
        Answer.OPENED: "opened {times:times}",
        Answer.OF_TOOLBOX: "asked of the toolbox",
    }
)
register(
    {
        DecidedBy.SOURCE: "{source:called}: {said_by:general}",
        DecidedBy.SUM: "the sum of {parts:; }",
        DecidedBy.JOBS: "asked for by {jobs}",
        DecidedBy.STEPS: "opened by step {steps}",
        DecidedBy.PLACES: "{places:; }",
    }
)
register(
    {
        ChangeReason.STOPPED_UNTIL: "stopped until {by:, } is settled",
        ChangeReason.IN_PACKET: "{amount} comes in {packet}, not ordered separately",
        ChangeReason.ABOVE_GENERAL: "a rule of {by:called} would go before this one",
        ChangeReason.NEEDS_A_RULE: (
            "give the kind '{kind}' a general rule, or this position a rule of its own"
        ),
        ChangeReason.RENEWED_IF_FAILED: "renewed if it fails the inspection",
        ChangeReason.SHARED: "shared: {jobs} jobs need it and it is done once",
        ChangeReason.CLASH: "CLASH: {contact}",
        ChangeReason.CONTACT: "{state}: {why}",
    }
)


def waits_text(stopped_by: tuple[str, ...]) -> str:
    """What a step or a service waits for, to stand behind its name; empty where for nothing."""
    return _(" [waits for {listed}]", listed=", ".join(stopped_by)) if stopped_by else ""


def stopped_text(stopped_by: tuple[Reason, ...]) -> str:
    """What stops a line, to stand before its reason; empty where nothing does."""
    return _("STOPPED by {listed}. ", listed=", ".join(map(say, stopped_by))) if stopped_by else ""


def subject(entry: WhyView) -> str:
    """What an explanation is of: "RING-1 O-ring", "step A1 intake off", "angle gauge"."""
    kind = f"{entry.kind} " if entry.kind in (EntryKind.STEP, EntryKind.JOINT) else ""
    return f"{kind}{entry.code} {entry.name}" if entry.code else entry.name


def chain_text(chain: ChainView) -> str:
    """ "J1 → step P1 → step A1 → joint intake (opened once) → port 1, port 2"."""
    parts = [chain.job, *(_("step {step}", step=step) for step in chain.steps)]
    if chain.joint:
        parts.append(
            _("joint {joint} (opened {opened})", joint=chain.joint, opened=times(chain.opened))
        )
    if chain.positions:
        parts.append(", ".join(chain.positions))
    return " → ".join(parts)


def not_ranked(job: NotRankedView) -> str:
    """Why a job cannot be ranked."""
    steps = ", ".join(job.missing)
    return _(
        "{code} {name}: needs step {steps}, which no unit of this car describes",
        code=job.code,
        name=job.name,
        steps=steps,
    )


def addition_notes(other: AdditionView) -> list[str]:
    """What else is worth knowing of a job that could be done as well."""
    notes = (
        [_("settle {listed} first", listed=", ".join(other.stopped_by))] if other.stopped_by else []
    )
    notes += [text] if (text := weighing(other)) else []
    if other.declined is not None:
        why = f": {other.declined.reason}" if other.declined.reason else ""
        notes.append(_("declined {on}{why}", on=day(other.declined.on), why=why))
    return notes


def weighing(other: AdditionView) -> str | None:
    """What a job costs now and later, and the chance of failing above which now costs less."""
    if other.cost_now is None or other.cost_back is None:
        return None
    costs = _(
        "{cost_now} now, {cost_back} for coming back",
        cost_now=money(other.cost_now),
        cost_back=money(other.cost_back),
    )
    if other.unpriced:
        return _(
            "{costs}, without a price for {listed}", costs=costs, listed=", ".join(other.unpriced)
        )
    if other.worth_above is None:
        return costs
    above = percent(other.worth_above)
    return _(
        "{costs}: worth it if it fails before the next visit with more than {above}",
        costs=costs,
        above=above,
    )
