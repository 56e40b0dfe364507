"""The currencies of ISO 4217 in use, and how many decimals their smallest unit has.

List one of the standard as published on 2026-01-01. Rows are added, never taken away: an old valuation in
a currency that has gone must still be repeatable. Metals and other codes without a minor unit are not money.
"""

from __future__ import annotations

_CODES = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    2: """
        AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BOV BRL BSD BTN BWP BYN BZD CAD
        CDF CHE CHF CHW CNY COP COU CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS
        GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD
        LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MXV MYR MZN NAD NGN NIO NOK NPR NZD PAB
        PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP
        SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD USN UYU UZS VED VES WST XAD XCD XCG YER ZAR ZMW
        ZWG
    """,
    3: "BHD IQD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}

MINOR_UNITS: dict[str, int] = {code: digits for digits, codes in _CODES.items() for code in codes.split()}
"""Currency code -> decimals of its minor unit: JPY 0, USD 2, KWD 3, CLF 4."""

WITHOUT_MINOR_UNIT = frozenset(
    {"XAG", "XAU", "XBA", "XBB", "XBC", "XBD", "XDR", "XPD", "XPT", "XSU", "XTS", "XUA", "XXX"}
)
"""Codes of the standard that are no money to be paid out in: metals, drawing rights, tests."""
