"""What the judge says."""

from __future__ import annotations

from dataclasses import dataclass, field

from .protection import Verdict


@dataclass
class Judgement:
    """``wrong`` is certain; of ``open`` the words do not say whether it is."""

    wrong: set[tuple[str, str]] = field(default_factory=set)
    open: set[tuple[str, str]] = field(default_factory=set)
    conductors: dict[str, Verdict] = field(default_factory=dict)

    def say(self, rule: str, element: str, wrong: bool | None = True) -> None:
        if wrong is None:
            self.open.add((rule, element))
        elif wrong:
            self.wrong.add((rule, element))
