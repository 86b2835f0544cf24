"""Tables. Django needs every model imported when the app loads, so this one package lists them."""

from reviews.models.books import Book, Spread, Stage, StagePlan
from reviews.models.briefs import Brief, Reference
from reviews.models.comparisons import CarriedNote, Comparison
from reviews.models.derived import Derivation, Sheet
from reviews.models.digests import Digest
from reviews.models.doors import Attempt, LiveSession, RecoveryCode, SecondStep
from reviews.models.feeds import CalendarLink
from reviews.models.forecasts import Forecast
from reviews.models.hand_ins import HandIn, OpenedTable, Picture
from reviews.models.invoices import Invoice, Payment, RoundHours
from reviews.models.jobs import Job
from reviews.models.ledger import LedgerEntry, LedgerIsKept, Notice
from reviews.models.letters import Agreement, Letter, LetterAnswer
from reviews.models.looking import Looking
from reviews.models.measured_proofs import MeasuredProof, ReferenceSet
from reviews.models.notes import AnsweredThere, Look, Note, OptionMark, Reply
from reviews.models.passages import Passage
from reviews.models.people import Person
from reviews.models.plates import PlateCheck, PlateTold
from reviews.models.portal import KeyedPress, PortalFact
from reviews.models.print_checks import InkCheck
from reviews.models.print_profiles import PrintProfile, SoftProof
from reviews.models.print_set_ups import KeptPrinter, PrintSetUp
from reviews.models.proposals import Proposal
from reviews.models.seats import Invitation, ReadingAsk, Seat
from reviews.models.seen_proofs import SeenProof
from reviews.models.store_checks import StoreCheck
from reviews.models.taken_faults import TakenFault
from reviews.models.terms import OverConsent, TermsVersion
from reviews.models.text_blocks import SpreadText, TextGround
from reviews.models.time_stamps import TimeStamp
from reviews.models.votes import OptionVote, VoteBallot

__all__ = [
    "Agreement",
    "AnsweredThere",
    "Attempt",
    "Book",
    "Brief",
    "CalendarLink",
    "CarriedNote",
    "Comparison",
    "Derivation",
    "Digest",
    "Forecast",
    "HandIn",
    "InkCheck",
    "Invitation",
    "Invoice",
    "Job",
    "KeptPrinter",
    "KeyedPress",
    "LedgerEntry",
    "LedgerIsKept",
    "Letter",
    "LetterAnswer",
    "LiveSession",
    "Look",
    "Looking",
    "MeasuredProof",
    "Note",
    "Notice",
    "OpenedTable",
    "OptionMark",
    "OptionVote",
    "OverConsent",
    "Passage",
    "Payment",
    "Person",
    "Picture",
    "PlateCheck",
    "PlateTold",
    "PortalFact",
    "PrintProfile",
    "PrintSetUp",
    "Proposal",
    "ReadingAsk",
    "RecoveryCode",
    "Reference",
    "ReferenceSet",
    "Reply",
    "RoundHours",
    "Seat",
    "SecondStep",
    "SeenProof",
    "Sheet",
    "SoftProof",
    "Spread",
    "SpreadText",
    "Stage",
    "StagePlan",
    "StoreCheck",
    "TakenFault",
    "TermsVersion",
    "TextGround",
    "TimeStamp",
    "VoteBallot",
]
