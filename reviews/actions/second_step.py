"""The second step at signing in: set up, confirmed by a first code, asked for, taken away. Personal."""

from __future__ import annotations

import secrets

import pyotp
from django.db import transaction
from django.utils.crypto import constant_time_compare, salted_hmac

from reviews.actions.clock import moment
from reviews.models import Person, RecoveryCode, SecondStep
from reviews.rules.states import Refused

N_RECOVERY_CODES = 10
#: Without letters and figures that look alike on paper; ten of these thirty are 49 bits.
_LETTERS = "abcdefghjkmnpqrstuvwxyz2345678"
#: A telephone's clock may be off by this many half-minutes.
_HALF_MINUTES_OFF = 1


def begin_second_step(person: Person) -> SecondStep:
    """Make a new secret to be put into a telephone; nothing is asked for until it is confirmed.

    Raises:
        Refused: "second-step-stands" where one is in force: it is taken away first.
    """
    with transaction.atomic(durable=True):
        step = SecondStep.objects.select_for_update().filter(person=person).first() or SecondStep(person=person)
        if step.confirmed_at:
            raise Refused("second-step-stands")
        step.seed = secrets.token_urlsafe(32)
        step.save()
    return step


def confirm_second_step(person: Person, typed: str) -> list[str]:
    """Turn the second step on by a first right code, and give the recovery codes, which nobody can read again.

    Raises:
        Refused: "second-step-code" where the code is not the telephone's, "second-step-none" where none was begun.
    """
    with transaction.atomic(durable=True):
        step = SecondStep.objects.select_for_update().filter(person=person, confirmed_at=None).first()
        if step is None:
            raise Refused("second-step-none")
        if not _take_code(step, typed):
            raise Refused("second-step-code")
        step.confirmed_at = moment()
        step.save(update_fields=["confirmed_at"])
        return _fresh_codes(person)


def new_recovery_codes(person: Person) -> list[str]:
    """Give new recovery codes; the old ones end."""
    with transaction.atomic(durable=True):
        if not SecondStep.objects.filter(person=person).exclude(confirmed_at=None).exists():
            raise Refused("second-step-none")
        return _fresh_codes(person)


def drop_second_step(person: Person) -> None:
    """Ask for the password alone from now on."""
    with transaction.atomic(durable=True):
        RecoveryCode.objects.filter(person=person).delete()
        SecondStep.objects.filter(person=person).delete()


def take_second_step(person: Person, typed: str) -> bool:
    """Take a code of the telephone or a recovery code, each once; say whether it was right."""
    with transaction.atomic(durable=True):
        step = SecondStep.objects.select_for_update().filter(person=person).exclude(confirmed_at=None).first()
        if step is None:
            return False
        if _take_code(step, typed):
            return True
        unused = RecoveryCode.objects.filter(person=person, mac=_mac(person, typed), used_at=None)
        return unused.update(used_at=moment()) == 1


def _take_code(step: SecondStep, typed: str) -> bool:
    digits = typed.replace(" ", "")
    if not (digits.isascii() and digits.isdigit() and len(digits) == 6):
        return False
    totp = pyotp.TOTP(step.secret)
    now = int(moment().timestamp()) // totp.interval
    for counter in range(now - _HALF_MINUTES_OFF, now + _HALF_MINUTES_OFF + 1):
        if constant_time_compare(totp.generate_otp(counter), digits):
            # Compare and set: of the same code twice at once, one is right.
            newer = SecondStep.objects.filter(pk=step.pk, last_counter__lt=counter)
            return newer.update(last_counter=counter) == 1
    return False


def _fresh_codes(person: Person) -> list[str]:
    RecoveryCode.objects.filter(person=person).delete()
    codes = ["".join(secrets.choice(_LETTERS) for _ in range(10)) for _ in range(N_RECOVERY_CODES)]
    RecoveryCode.objects.bulk_create(RecoveryCode(person=person, mac=_mac(person, code)) for code in codes)
    return [f"{code[:5]}-{code[5:]}" for code in codes]


def _mac(person: Person, typed: str) -> str:
    plain = "".join(letter for letter in typed.lower() if letter.isalnum())
    return salted_hmac("roughproof.recovery-code", f"{person.pk}:{plain}", algorithm="sha256").hexdigest()
