"""How much may be asked before a search gives up: questions counted, or seconds of work.

A budget is handed on, never looked up: who has none asks without end. Counted in questions the same budget ends at
the same question every time, on every machine; in seconds it does not. What was not reached is told as not sought.
"""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from math import inf
from typing import Final

__all__ = ["STANDARD", "STANDARD_MOVES", "Budget", "BudgetError", "read_budget"]

STANDARD: Final = 20_000
"""Questions of a check that nobody gave a budget: ten times what a dozen motions take, about a minute."""

STANDARD_MOVES: Final = 1_500
"""Of these, what may be asked to find moves: some seconds. Verdicts do not hang on them."""

_WRITTEN: Final = re.compile(r"(\d+(?:\.\d+)?)\s*(s|min)?")


class BudgetError(ValueError):
    """What was written is no budget."""


@dataclass(slots=True)
class Budget:
    """What is left to be asked. `questions` in all, `seconds` of the processor's time from the first question on.

    Once spent it stays spent: `spend` and `spent` never say again that there is something left.
    """

    questions: float = inf
    seconds: float = inf
    clock: Callable[[], float] = time.process_time
    asked: int = 0
    _until: float | None = field(default=None, repr=False)
    _over: bool = field(default=False, repr=False)

    def spend(self, count: int = 1) -> bool:
        """Ask `count` questions more, all or none of them. False when there is no budget for that."""
        if self.spent or self.asked + count > self.questions:
            self._over = True
            return False
        self.asked += count
        return True

    def begin(self) -> Budget:
        """Let the time run from now on, and not only from the first question."""
        if self._until is None:
            self._until = self.clock() + self.seconds
        return self

    def left(self, most: int) -> int:
        """How many questions of `most` may still be asked: 0 when nothing more may."""
        return 0 if self.spent else int(min(most, self.questions - self.asked))

    def take(self, count: int) -> None:
        """Count questions that were asked already."""
        self.asked += count

    @property
    def spent(self) -> bool:
        """Whether nothing more may be asked."""
        if not self._over and self.seconds < inf:
            now = self.clock()
            self._until = now + self.seconds if self._until is None else self._until
            self._over = now >= self._until
        return self._over or self.asked >= self.questions

    @property
    def counted(self) -> bool:
        """Whether it ends at the same question every time."""
        return self.seconds == inf

    def at_most(self, questions: float) -> Budget:
        """A budget of so many questions of what is left, until the same time; not taken off this one."""
        own = Budget(min(questions, self.questions - self.asked), self.seconds, self.clock)
        own._until, own._over = self._until, self.spent
        return own

    def said(self) -> str:
        """What it is, in words: for what was not reached within it."""
        if self.questions < inf:
            return f"{self.questions:g} question{'' if self.questions == 1 else 's'}"
        return f"{self.seconds:g} s" if self.seconds < inf else "no limit"


def read_budget(text: str) -> Budget:
    """A budget as written: `30s`, `2 min`, or a whole number of questions.

    Raises BudgetError with what is wrong.
    """
    found = _WRITTEN.fullmatch(text.strip())
    if found is None:
        raise BudgetError(f"{text!r} is no budget, needs seconds (30s, 2min) or a number of questions (20000)")
    number, unit = float(found[1]), found[2]
    if number <= 0 or number > 1e12:
        raise BudgetError(f"{text!r} is no budget, needs more than nothing, and an end")
    if unit:
        return Budget(seconds=number * (60.0 if unit == "min" else 1.0))
    if not number.is_integer():
        raise BudgetError(f"{text!r} is no budget: questions are whole; write {found[1]}s for seconds")
    return Budget(questions=number)
