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
    def whole_name(self) -> str:
        """Registration and model, for sheets and labels that stay in the house."""
        if not self.registration:
            return self.called
        return f"{self.registration} · {self.model}"

    @property
    def public_name(self) -> str:
        """Model and the last three characters of the registration, for what is seen by anyone."""
        if not self.registration:
            return self.called
        return f"{self.model} {self.plate_end}"

    @property
    def plate_end(self) -> str:
        """The last three characters of the registration, for what is seen by anyone."""
        return f"…{self.registration.replace(' ', '')[-3:]}" if self.registration else ""

    @property
    def called(self) -> str:
        """The registration, or what stands for it: "any Ulvander Pell"."""
        return self.registration or f"any {self.model}"
