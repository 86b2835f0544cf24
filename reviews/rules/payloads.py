"""Which payload each deed writes, and whether what is about to be written is one.

An entry is kept for ever: a key that is misspelt in one cannot be corrected, so each is checked before it is written.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import (
    Annotated,
    Any,
    NotRequired,
    Protocol,
    TypeVar,
    cast,
    get_args,
    get_origin,
    get_type_hints,
    is_typeddict,
)

from reviews.rules.agreement_payloads import AgreePauseData, ConfirmTermsData, EndProposalData, ProposeData
from reviews.rules.brief_payloads import (
    AddReferencesData,
    ChangeBriefData,
    ReadReferenceData,
    RemoveReferenceData,
    SetTextData,
)
from reviews.rules.letter_payloads import (
    AgreeData,
    AnswerNoteData,
    DropAnswerData,
    LookOverData,
    MarkOptionData,
    NoteData,
    ObjectData,
    PinNoteData,
    PlaceNoteData,
    ReplyData,
    SendLetterData,
    SetAnswerData,
    UnmarkOptionData,
    WeighNoteData,
    WordLetterData,
)
from reviews.rules.money_payloads import (
    HoursData,
    InvoiceData,
    PaymentData,
    TakeBackLetterData,
    WithdrawInvoiceData,
    WithdrawPaymentData,
)
from reviews.rules.moving_payloads import MoveSpreadsData, RepageData
from reviews.rules.naming_payloads import NameStagesData
from reviews.rules.payload_shapes import (
    LATER,
    AddPictureData,
    AnnounceSilenceData,
    ApproveBySilenceData,
    AskConsentData,
    ChangeBookData,
    ChangeTermsData,
    ChooseDerivedData,
    DerivePictureData,
    EndConsentData,
    EndSeatData,
    GiveConsentData,
    HandInData,
    InviteData,
    LayOutData,
    LetAgentAnswerData,
    MakeBookData,
    MakeDerivedData,
    MoveDueDateData,
    OrderPicturesData,
    ReadPictureData,
    RemovePictureData,
    RevokeInvitationData,
    TakeSeatData,
    TryAgainData,
    WithdrawHandInData,
    WordHandInData,
)
from reviews.rules.plan_payloads import ChangePlanData
from reviews.rules.portal_payloads import GiveToPrinterData, HoldRowsData
from reviews.rules.print_payloads import BringProfileData, SetPrintData, TellPlateData
from reviews.rules.proof_payloads import JudgeProofData, TakeOnFaultData
from reviews.rules.seat_payloads import AskToReadData, StopAskingData
from reviews.rules.states import Deed
from reviews.rules.vote_payloads import CastBallotData, CloseVoteData, DecideVoteData, OpenVoteData

Payload = TypeVar("Payload")

PAYLOADS: dict[Deed, type] = {
    Deed.CHANGE_BRIEF: ChangeBriefData,
    Deed.ADD_REFERENCES: AddReferencesData,
    Deed.REMOVE_REFERENCE: RemoveReferenceData,
    Deed.READ_REFERENCE: ReadReferenceData,
    Deed.LOOK_OVER: LookOverData,
    Deed.MAKE_BOOK: MakeBookData,
    Deed.CHANGE_BOOK: ChangeBookData,
    Deed.LAY_OUT: LayOutData,
    Deed.MOVE_SPREADS: MoveSpreadsData,
    Deed.REPAGE: RepageData,
    Deed.CHANGE_PLAN: ChangePlanData,
    Deed.NAME_STAGES: NameStagesData,
    Deed.INVITE: InviteData,
    Deed.REVOKE_INVITATION: RevokeInvitationData,
    Deed.TAKE_SEAT: TakeSeatData,
    Deed.END_SEAT: EndSeatData,
    Deed.LET_AGENT_ANSWER: LetAgentAnswerData,
    Deed.ASK_TO_READ: AskToReadData,
    Deed.STOP_ASKING: StopAskingData,
    Deed.MOVE_DUE_DATE: MoveDueDateData,
    Deed.AGREE_PAUSE: AgreePauseData,
    Deed.PROPOSE: ProposeData,
    Deed.DECLINE_PROPOSAL: EndProposalData,
    Deed.WITHDRAW_PROPOSAL: EndProposalData,
    Deed.ADD_PICTURE: AddPictureData,
    Deed.REMOVE_PICTURE: RemovePictureData,
    Deed.ORDER_PICTURES: OrderPicturesData,
    Deed.WORD_HAND_IN: WordHandInData,
    Deed.READ_PICTURE: ReadPictureData,
    Deed.MAKE_DERIVED: MakeDerivedData,
    Deed.DERIVE_PICTURE: DerivePictureData,
    Deed.CHOOSE_DERIVED: ChooseDerivedData,
    Deed.HAND_IN: HandInData,
    Deed.WITHDRAW_HAND_IN: WithdrawHandInData,
    Deed.PIN_NOTE: PinNoteData,
    Deed.EDIT_NOTE: NoteData,
    Deed.WITHDRAW_NOTE: NoteData,
    Deed.RESTORE_NOTE: NoteData,
    Deed.REPLY: ReplyData,
    Deed.MARK_OPTION: MarkOptionData,
    Deed.UNMARK_OPTION: UnmarkOptionData,
    Deed.OPEN_VOTE: OpenVoteData,
    Deed.CAST_BALLOT: CastBallotData,
    Deed.CLOSE_VOTE: CloseVoteData,
    Deed.DECIDE_VOTE: DecideVoteData,
    Deed.WEIGH_NOTE: WeighNoteData,
    Deed.SET_ANSWER: SetAnswerData,
    Deed.DROP_ANSWER: DropAnswerData,
    Deed.WORD_LETTER: WordLetterData,
    Deed.SEND_LETTER: SendLetterData,
    Deed.AGREE: AgreeData,
    Deed.OBJECT: ObjectData,
    Deed.ANSWER_NOTE: AnswerNoteData,
    Deed.PLACE_NOTE: PlaceNoteData,
    Deed.CHANGE_TERMS: ChangeTermsData,
    Deed.CONFIRM_TERMS: ConfirmTermsData,
    Deed.ASK_CONSENT: AskConsentData,
    Deed.GIVE_CONSENT: GiveConsentData,
    Deed.DECLINE_CONSENT: EndConsentData,
    Deed.WITHDRAW_CONSENT: EndConsentData,
    Deed.ANNOUNCE_SILENCE: AnnounceSilenceData,
    Deed.APPROVE_BY_SILENCE: ApproveBySilenceData,
    Deed.TAKE_BACK_LETTER: TakeBackLetterData,
    Deed.INVOICE: InvoiceData,
    Deed.WITHDRAW_INVOICE: WithdrawInvoiceData,
    Deed.SAY_PAID: PaymentData,
    Deed.CONFIRM_PAYMENT: PaymentData,
    Deed.WITHDRAW_PAYMENT: WithdrawPaymentData,
    Deed.TELL_HOURS: HoursData,
    Deed.AGREE_HOURS: HoursData,
    Deed.TRY_AGAIN: TryAgainData,
    Deed.GIVE_TO_PRINTER: GiveToPrinterData,
    Deed.HOLD_ROWS: HoldRowsData,
    Deed.SET_PRINT: SetPrintData,
    Deed.JUDGE_PROOF: JudgeProofData,
    Deed.TAKE_ON_FAULT: TakeOnFaultData,
    Deed.TELL_PLATE: TellPlateData,
    Deed.BRING_PROFILE: BringProfileData,
    Deed.SET_TEXT: SetTextData,
}


class Written(Protocol):
    """An entry, or the row that stores one."""

    @property
    def data(self) -> Any: ...


def payload_of(entry: Written, kind: type[Payload]) -> Payload:
    """Give an entry's data as the payload of its deed; the caller has looked at the deed."""
    return cast(Payload, entry.data)


def misfits(deed: Deed, data: Mapping[str, object]) -> list[str]:
    """Name every key that a new entry of this deed lacks or should not have; none is right."""
    return _misfits(PAYLOADS[deed], data, "")


def _misfits(kind: type, data: Mapping[str, object], path: str) -> list[str]:
    fields = _fields(kind)
    wrong = [f"{path}{key} is not declared" for key in data if key not in fields]
    for key, (is_owed, inner) in fields.items():
        if key not in data:
            wrong += [f"{path}{key} is missing"] if is_owed else []
        elif inner is not None:
            wrong += [line for one in _parts(data[key]) for line in _misfits(inner, one, f"{path}{key}.")]
    return wrong


def _parts(value: object) -> list[Mapping[str, object]]:
    """List the payloads inside a list, or inside a mapping by name."""
    inside = value.values() if isinstance(value, Mapping) else value if isinstance(value, list) else ()
    return [one for one in inside if isinstance(one, Mapping)]


@cache
def _fields(kind: type) -> dict[str, tuple[bool, type | None]]:
    """Say for every key whether a new entry owes it, and which shape the entries of its list or mapping have."""
    fields = {}
    for key, hint in get_type_hints(kind, include_extras=True).items():
        is_owed = get_origin(hint) is not NotRequired
        if not is_owed:
            (hint,) = get_args(hint)
            is_owed = get_origin(hint) is Annotated and LATER in hint.__metadata__
        inner = next((one for one in get_args(hint) if is_typeddict(one)), None)
        fields[key] = (is_owed, inner)
    return fields
