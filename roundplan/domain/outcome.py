"""How a search ends without a plan."""

from __future__ import annotations

from collections.abc import Sequence

from roundplan.domain.counts import counted
from roundplan.domain.decision import Lock
from roundplan.domain.plan import Reason


class ProvenImpossible(Exception):
    """No plan exists under the rules.

    Attributes
    ----------
    reasons : tuple of Reason
        An irreducible set, leave any one out and a plan might exist; then what each facility or person lacks.
    releases : tuple of Lock
        Locks each of which, released alone, would let a plan exist; only a repair looks for them.
    together : tuple of Lock
        Where no single one would: as few as would, released together; none where not found.
    """

    def __init__(self, reasons: Sequence[Reason], releases: Sequence[Lock] = (), together: Sequence[Lock] = ()) -> None:
        self.reasons = tuple(reasons)
        self.releases, self.together = tuple(releases), tuple(together)
        super().__init__("; ".join(f"{reason.who}: {reason.words}" for reason in self.reasons))

    @property
    def causes(self) -> tuple[Reason, ...]:
        """What can be changed: demands, rules, settings."""
        return tuple(reason for reason in self.reasons if reason.team_number is None and not reason.said)

    @property
    def left_out(self) -> tuple[Reason, ...]:
        """What each facility or person lacks as things stand."""
        causes = self.causes
        return tuple(reason for reason in self.reasons if reason not in causes)


class RepairImpossible(ProvenImpossible):
    """No repair keeps all that is settled.

    Attributes
    ----------
    ways : tuple of str
        What could be given up, any one of it or, where ``all_of_them``, all together, and the command that does so.
    """

    def __init__(self, proven: ProvenImpossible, ways: Sequence[str], *, all_of_them: bool = False) -> None:
        self.ways, self.all_of_them = tuple(ways), all_of_them
        super().__init__(proven.reasons, proven.releases, proven.together)


class TimeRanOut(Exception):
    """Neither a plan nor a proof that there is none was found in the time given.

    Attributes
    ----------
    seconds : float
        Time that was given.
    work : float or None
        Deterministic work that was given instead, in the solver's unit, where a search is to be reproducible.
    """

    def __init__(self, seconds: float, work: float | None = None) -> None:
        self.seconds = seconds
        self.work = work
        given = f"in {counted(seconds, 'second')}" if work is None else f"within a work limit of {work:g}"
        super().__init__(f"no team was found {given}")


class InputsRefused(Exception):
    """The inputs hold findings; nothing was planned.

    Attributes
    ----------
    findings, warnings : tuple of str
        One line each, with file, row, column and remedy.
    """

    undone = "nothing was planned"
    """What was not done, in words."""
    remedy = ""
    """What to do beside what each finding says."""

    def __init__(self, findings: Sequence[str], warnings: Sequence[str] = ()) -> None:
        self.findings = tuple(findings)
        self.warnings = tuple(warnings)
        super().__init__("\n".join(self.findings))


class OutputsDamaged(InputsRefused):
    """A written plan, or the snapshot beside it, that cannot be read; nothing was audited."""

    undone = "nothing was audited"
    remedy = (
        "A folder of outputs has been damaged. Take its plan.json and inputs back from a copy, or plan again from your "
        "own tables."
    )


class NotAnnounced(InputsRefused):
    """A plan that cannot be announced; nothing was written."""

    undone = "nothing was announced"


class NotClosed(InputsRefused):
    """A round that cannot be closed yet; no final report was written."""

    undone = "no final report was written"


class FactsRefused(InputsRefused):
    """New facts that cannot be taken; nothing was written."""

    undone = "nothing was taken"


class AuditFailed(Exception):
    """A plan breaks rules; it was not written.

    Attributes
    ----------
    breaches : tuple of str
        One line each, led by the rule's code.
    """

    def __init__(self, breaches: Sequence[str]) -> None:
        self.breaches = tuple(breaches)
        super().__init__("\n".join(self.breaches))


class WrongPlace(Exception):
    """A folder or file that the command cannot work with; the text says why in plain words."""
