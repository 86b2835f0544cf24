"""Enter or amend the terms: a form for each subject, and the whole that reads them together."""

from reviews.forms.terms.fields import CURRENCIES
from reviews.forms.terms.whole import ConfirmForm, ConsentForm, SeenForm, TermsForm

__all__ = ["CURRENCIES", "ConfirmForm", "ConsentForm", "SeenForm", "TermsForm"]
