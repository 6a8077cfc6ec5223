"""How many units of a currency make about one US dollar, so that a price can be judged: names in, numbers out.

From memory, and rounded: whether a price is in cents or in whole units is a factor of 100. Currencies that lose value
fast, and those that are not listed, are left out: their prices are not judged.
"""

_ABOUT = {
    0.3: "BHD JOD KWD OMR",
    1.0: "AUD BBD BMD BSD BZD CAD CHF EUR FKP GBP GIP KYD NZD PAB SGD SHP USD",
    2.0: "ANG AWG AZN BAM BGN BND FJD GEL TOP WST XCD",
    4.0: "AED BRL ILS LYD MYR PEN PGK PLN QAR RON SAR TND",
    8.0: "BOB BWP CNY DKK GTQ HKD MOP MVR NOK SCR SEK TTD",
    20.0: "CZK GHS LSL MAD MDL MXN NAD SZL THB TWD UAH ZAR ZMW",
    50.0: "EGP HNL KGS MKD MUR NIO PHP TRY UYU DOP",
    100.0: "ALL BDT BTN CVE INR ISK JMD JPY KES NPR RSD RUB VUV XPF",
    300.0: "AMD DZD HUF KMF LKR PKR",
    600.0: "CRC KZT XAF XOF",
    1500.0: "CLP KRW MNT RWF TZS NGN IQD",
    4500.0: "COP KHR MGA UGX PYG UZS",
    20000.0: "GNF IDR LAK VND",
}
UNITS_PER_DOLLAR = {code: about for about, codes in _ABOUT.items() for code in codes.split()}
