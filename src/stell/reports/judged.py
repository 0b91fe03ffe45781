"""One judged ram as services gather him for a report."""

from __future__ import annotations

from dataclasses import dataclass

from stell.core.comparison import Comparison
from stell.core.lasting import FoundEarlier
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Examination, Ram
from stell.core.verdict import Decision, Outcome, Reason


@dataclass(frozen=True, slots=True)
class JudgedRam:
    """One ram with his standing examination of the season.

    Attributes
    ----------
    ram : Ram
    exam : Examination
    decision : Decision
        The judge's proposal, with the vet's own verdict where there is one.
    before : Examination or None
        The examination to set beside this one, as a rule last season's.
    protocol : ReadyProtocol or None
        The version that judged him, where it is not the one the report is written by.
    compared : Comparison or None
        His examination and `before`, side by side.
    found_earlier : tuple of FoundEarlier
        Lasting faults of earlier examinations that this one does not have.
    """

    ram: Ram
    exam: Examination
    decision: Decision
    before: Examination | None = None
    protocol: ReadyProtocol | None = None
    compared: Comparison | None = None
    found_earlier: tuple[FoundEarlier, ...] = ()

    @property
    def outcome(self) -> Outcome:
        """The outcome that counts."""
        return self.decision.outcome

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """The rules that spoke, worst first."""
        return self.decision.proposed.reasons
