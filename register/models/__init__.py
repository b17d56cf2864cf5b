"""One noun a file."""

from register.models.account_change import AccountChange
from register.models.act import Act, RegisterState, RetiredId, RowNumber
from register.models.assessment import Assessment
from register.models.change_set import ChangeSet, ReviewEntry
from register.models.drawing import Drawing
from register.models.find import FindDraft
from register.models.finding_note import FindingNote
from register.models.installation import Installation
from register.models.list_mapping import ListMapping
from register.models.part import Part, Treatment
from register.models.person import Person
from register.models.photograph import Photograph, PictureLot, RemovedPicture
from register.models.place import Movement, Place
from register.models.position import Position
from register.models.proposal import Alternative, Proposal, ProposalAct
from register.models.seal import Seal
from register.models.significance_text import SignificanceText
from register.models.source import Citation, Source
from register.models.statement import Entry, IssueRequest, Statement, StatementFile
from register.models.user import User
from register.models.vehicle import Event, ReferencePeriod, Vehicle
from register.models.vehicle_policy import VehiclePolicy
from register.models.vehicle_version import VehicleVersion

__all__ = [
    "AccountChange",
    "Act",
    "Alternative",
    "Assessment",
    "ChangeSet",
    "Citation",
    "Drawing",
    "Entry",
    "Event",
    "FindDraft",
    "FindingNote",
    "Installation",
    "IssueRequest",
    "ListMapping",
    "Movement",
    "Part",
    "Person",
    "Photograph",
    "PictureLot",
    "Place",
    "Position",
    "Proposal",
    "ProposalAct",
    "ReferencePeriod",
    "RegisterState",
    "RemovedPicture",
    "RetiredId",
    "ReviewEntry",
    "RowNumber",
    "Seal",
    "SignificanceText",
    "Source",
    "Statement",
    "StatementFile",
    "Treatment",
    "User",
    "Vehicle",
    "VehiclePolicy",
    "VehicleVersion",
]
