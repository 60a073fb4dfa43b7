"""Tables → :class:`~roundplan.domain.training_round.TrainingRound`, every finding at once; blank tables; snapshot."""

from roundplan.intake.finding import Finding, FindingsError
from roundplan.intake.reading import Reading, read_round
from roundplan.intake.snapshot import snapshot, write_round
from roundplan.intake.tables_out import round_to_tables

__all__ = ["Finding", "FindingsError", "Reading", "read_round", "round_to_tables", "snapshot", "write_round"]
