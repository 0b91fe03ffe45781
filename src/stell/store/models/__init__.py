"""The tables, one module per aggregate."""

from stell.store.models.audit import AuditEntry
from stell.store.models.deed import Deed, DeedTakenBack
from stell.store.models.examination import Examination, Judgement, VetOverride
from stell.store.models.flock import Flock, MatingSeason
from stell.store.models.intake import ColumnMapping, SheetImport
from stell.store.models.protocol import ProtocolVersion, RejudgeRun
from stell.store.models.ram import Identifier, Ram

__all__ = [
    "AuditEntry",
    "ColumnMapping",
    "Deed",
    "DeedTakenBack",
    "Examination",
    "Flock",
    "Identifier",
    "Judgement",
    "MatingSeason",
    "ProtocolVersion",
    "Ram",
    "RejudgeRun",
    "SheetImport",
    "VetOverride",
]
