"""How many decimals each currency has, so that no amount is entered that nobody could pay.

ISO 4217, list one ("current currency and funds codes", column "minor unit"), as published on 1 January 2026;
``tests/published/test_currencies.py`` holds it against that list. Units that are no money to be paid in (metals,
accounting units, testing codes) have no minor unit there and are not listed. What a list of later years adds is a
line here.
"""

from __future__ import annotations

_BY_DECIMALS = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    2: "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BOV BRL BSD BTN BWP BYN BZD CAD CDF CHE CHF CHW "
    "CNY COP COU CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR "
    "ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MXV "
    "MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD "
    "SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD USN UYU UZS VED VES WST XAD XCD XCG YER ZAR ZMW ZWG",
    3: "BHD IQD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}

#: The decimals of every currency in use.
DECIMALS = {code: places for places, codes in _BY_DECIMALS.items() for code in codes.split()}

#: No currency has more.
MOST_DECIMALS = max(_BY_DECIMALS)

#: What a book may have been entered with before its code left the list.
_USUAL = 2


def decimals_of(currency: str) -> int:
    """Give a currency's decimals; a code that is not, or no longer, in the list is taken as hundredths."""
    return DECIMALS.get(currency, _USUAL)
