"""A car as sheets and screens name it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class VehicleView:
    """One car as the sheets name it; `registration` is empty where only a model was named."""

    registration: str
    model: str
    vin: str | None
    build_date: date | None
    units: tuple[str, ...]

    @property
    def public_name(self) -> str:
        """Model and the last three characters of the registration, for labels seen by anyone."""
        if not self.registration:
            return self.called
        return f"{self.model} …{self.registration.replace(' ', '')[-3:]}"

    @property
    def called(self) -> str:
        """The registration, or what stands for it: "any Ulvander Pell"."""
        return self.registration or f"any {self.model}"
