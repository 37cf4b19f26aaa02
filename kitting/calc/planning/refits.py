"""How often an item may go back, and what that asks for where its joint is opened several times."""

from __future__ import annotations

from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Refits:
    """How often the item now fitted has gone back before, and how often it may at most."""

    before: int = 0
    limit: int | None = None

    @property
    def spent(self) -> bool:
        """Whether it may not go back once more."""
        return self.limit is not None and self.before >= self.limit

    def looked_at(self, opened: int) -> tuple[int, ...]:
        """How often it has gone back at each look, if a joint is opened so often and it passes.

        At the other openings the limit is reached, and a new one goes in.
        """
        before, looks = self.before, []
        for _ in range(opened):
            if replace(self, before=before).spent:
                before = 0
            else:
                looks.append(before)
                before += 1
        return tuple(looks)

    def since_renewed(self, opened: int) -> int | None:
        """How often what is fitted in the end has gone back, if it passes whenever it is looked at.

        None where nothing was renewed: the one that was there has gone back `opened` times more.
        """
        new, back = self._followed(opened)
        return back if new else None

    def since_failed(self, opened: int) -> int:
        """As `since_renewed`, if a look failed and nobody says which: the most that it can be."""
        return max(self._followed(opened, at)[1] for at in range(opened))

    def renewed_if_failed(self, opened: int) -> int:
        """How many are put in if a look fails, and nobody says which: the most that it can be."""
        return max(self._followed(opened, at)[0] for at in range(opened))

    def renewed_if_some_failed(self, opened: int, failed: int, there: int) -> int:
        """How much is put in if only so much `failed` of what is there: the rest by its limit."""
        by_limit = self._followed(opened)[0]
        return failed * self.renewed_if_failed(opened) + (there - failed) * by_limit

    def renewed_at_first(self, opened: int) -> int:
        """How many are put in if it is renewed at the first opening, whatever a look would say."""
        return self._followed(opened, 0)[0]

    def since_renewed_at_first(self, opened: int) -> int:
        """How often the last one has gone back, if it is renewed at the first opening."""
        return self._followed(opened, 0)[1]

    def _followed(self, opened: int, fails_at: int | None = None) -> tuple[int, int]:
        """How many new ones go in, and how often the last of them goes back."""
        new, back = 0, self.before
        for opening in range(opened):
            if opening == fails_at or replace(self, before=back).spent:
                new, back = new + 1, 0
            else:
                back += 1
        return new, back


NO_REFITS = Refits()
