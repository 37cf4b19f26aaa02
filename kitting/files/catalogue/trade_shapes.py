"""The shape of branches and suppliers in a catalogue file."""

from __future__ import annotations

import re
from typing import Annotated

from pydantic import BeforeValidator, Field, WithJsonSchema, model_validator

from kitting.facts.language import told_tag
from kitting.facts.money import Money, parse_money
from kitting.facts.tax_rates import parse_rate
from kitting.facts.time_zones import zone_of
from kitting.facts.words import ShelfPolicy
from kitting.files.catalogue.shapes import Code, Day, Entry, Name, Text, figure

_TIME = re.compile(r"(?:[01][0-9]|2[0-3]):[0-5][0-9]")
_SHARE = re.compile(r"\s{,9}([0-9]{1,3})\s{,9}%\s{,9}")


def _time(value: object) -> object:
    if not isinstance(value, str) or not _TIME.fullmatch(value):
        raise ValueError(f'{value!r} is no time of day; write for example "15:30", in quotes')
    return value


def _share(text: str) -> int:
    match = _SHARE.fullmatch(text)
    if match is None or int(match[1]) > 100:
        raise ValueError(f"{text[:40]!r} is no share; write for example 15 %")
    return int(match[1]) * 1000


def _zone(text: str) -> str:
    zone_of(text)
    return text


Price = Annotated[Money, *figure(parse_money, "6.95 GBP")]
Share = Annotated[int, *figure(_share, "15 %")]
TaxRate = Annotated[int, *figure(parse_rate, "20 %")]
Zone = Annotated[str, *figure(_zone, "Europe/London")]
Language = Annotated[str, *figure(told_tag, "de")]
TimeOfDay = Annotated[
    str, BeforeValidator(_time), WithJsonSchema({"type": "string", "examples": ["15:30"]})
]
WorkDays = Annotated[int, Field(ge=0, le=365)]
Country = Annotated[str, Field(pattern=r"^[A-Z]{2}$", description="ISO 3166, for its holidays")]

Currency = Annotated[str, Field(pattern=r"^[A-Z]{3}$")]


class Tax(Entry):
    """A rate of tax, and the first day on which it holds."""

    rate: TaxRate
    valid_from: Day


class Branch(Entry):
    """A place that keeps stock and does jobs: a yard, a van."""

    code: Code
    name: Name
    country: Country | None = None
    subdivision: Code | None = None
    van_cutoff: TimeOfDay | None = Field(
        None, description="when goods for other branches leave; they arrive the same working day"
    )
    zone: Zone | None = Field(None, description="its time zone (IANA)")
    language: Language | None = Field(
        None, description="of its screens and sheets: de, or de-AT, en-US"
    )
    address: Text | None = Field(None, description="where goods are delivered; several lines")
    invoice_address: Text | None = Field(None, description="where the bill goes; several lines")
    tax: tuple[Tax, ...] = Field((), description="on what it buys, where the supplier has none")
    licences: tuple[Code, ...] = Field((), description="what its people are qualified for")
    currency: Currency = Field("GBP", description="what it plans and counts in (ISO 4217)")
    shelf_policy: ShelfPolicy = Field(
        ShelfPolicy.ISO_2230, description="the table by which storage life of rubber is judged"
    )


class Closing(Entry):
    """A day on which a supplier is closed beside its holidays."""

    day: Day
    reason: Name


class Supplier(Entry):
    """A supplier and its terms; its prices come as a list of their own."""

    code: Code
    name: Name
    currency: Currency = "GBP"
    carriage: Price | None = Field(None, description="per order")
    carriage_free: Price | None = Field(None, description="goods value from which it is free")
    minimum_order: Price | None = None
    lead_days: WorkDays = Field(description="working days from order to arrival, usually")
    late_days: WorkDays = Field(description="working days within which nine of ten arrive")
    cutoffs: Annotated[tuple[TimeOfDay, ...], Field(min_length=1)]
    country: Country | None = None
    subdivision: Code | None = None
    closed: tuple[Closing, ...] = ()
    zone: Zone | None = Field(
        None, description="the time zone of its cut-offs and days (IANA); else the branch's"
    )
    tax: tuple[Tax, ...] = Field((), description="on what it sells; else the branch's")
    tax_included: bool | None = Field(None, description="whether its prices have tax in them")
    address: Text | None = Field(None, description="as on orders; several lines")
    account: Name | None = Field(None, description="our account number with it, as on orders")
    restocking: Share | None = Field(None, description="kept of what is sent back")
    note: Text | None = None

    @model_validator(mode="after")
    def _terms_agree(self) -> Supplier:
        if self.late_days < self.lead_days:
            raise ValueError("late_days is less than lead_days; nine of ten cannot come earlier")
        for price in (self.carriage, self.carriage_free, self.minimum_order):
            if price is not None and price.currency != self.currency:
                raise ValueError(f"{price} is not in the supplier's currency, {self.currency}")
        return self
