"""Money over years: amounts by year in; present value, rate of return, payback and levelized cost out.

An array of amounts begins with year 0, the purchase; the others are paid at the end of their year. Money received is
positive. Rates are a year's, as shares.
"""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
_SAME = 1e-7
_REAL = 1e-6


def discount_factors(rate: float, years: int) -> Floats:
    """Return the present value of one unit paid at the end of each year.

    Parameters
    ----------
    rate : float
        Discount rate, above -1.
    years : int
        Of the last entry; the first is year 0.

    Returns
    -------
    array of float
        1 / (1 + rate)^year.
    """
    return np.asarray((1.0 + rate) ** -np.arange(years + 1.0), np.float64)


def present_value(amounts: Floats, rate: float) -> float:
    """Return the net present value: the sum of amounts discounted to year 0; the first is not discounted.

    Parameters
    ----------
    amounts : array of float
        From year 0 on [currency].
    rate : float
        Discount rate, above -1.

    Returns
    -------
    float
        Net present value [currency]. A spreadsheet's NPV discounts the first amount too.
    """
    return float(amounts @ discount_factors(rate, amounts.size - 1))


def internal_rates_of_return(amounts: Floats) -> tuple[float, ...]:
    """Return every rate above -1 at which the net present value is 0.

    Parameters
    ----------
    amounts : array of float
        From year 0 on [currency].

    Returns
    -------
    tuple of float
        In rising order: none where all amounts have one sign, one where the sign changes once (Descartes'
        rule), none to several where it changes more often.
    """
    scaled = amounts / max(1e-300, float(np.abs(amounts).max(initial=0.0)))
    signs = np.sign(scaled[np.abs(scaled) > 0.0])
    changes = int((np.diff(signs) != 0.0).sum())
    if changes == 0:
        return ()
    if changes == 1:
        return (_only_rate(scaled),)
    # The net present value is a polynomial of 1 / (1 + rate). numpy wants the highest power first.
    roots = np.roots(scaled[::-1])
    kept = roots.real[(np.abs(roots.imag) < _REAL * np.abs(roots)) & (roots.real > 0.0)]
    rates: list[float] = []
    for rate in sorted((1.0 / kept - 1.0).tolist()):
        if not rates or rate - rates[-1] > _SAME * (1.0 + rate):
            rates.append(rate)
    return tuple(rates)


def _only_rate(amounts: Floats) -> float:
    """Return the one rate, by bisection of log(1 + rate): the net present value changes its sign once."""
    last_sign = np.sign(amounts[np.flatnonzero(amounts)[-1]])

    def above(log_growth: float) -> bool:
        # Scaled by the growth's power of the middle, so that neither end overflows.
        years = np.arange(amounts.size) - (amounts.size - 1) / 2.0
        return bool(last_sign * (amounts @ np.exp(-log_growth * years)) > 0.0)

    low, high = -1.0, 1.0  # late amounts weigh more at low rates: "above" holds there
    while not above(low) and low > -600.0:
        low *= 2.0
    while above(high) and high < 600.0:
        high *= 2.0
    for _ in range(80):
        middle = (low + high) / 2.0
        low, high = (middle, high) if above(middle) else (low, middle)
    return float(np.expm1((low + high) / 2.0))


def irr(amounts: Floats) -> float | None:
    """Return the one rate at which the net present value is 0.

    Parameters
    ----------
    amounts : array of float
        From year 0 on [currency].

    Returns
    -------
    float or None
        None where there is no such rate, or more than one: then none of them means anything.
    """
    rates = internal_rates_of_return(amounts)
    return rates[0] if len(rates) == 1 else None


def payback_years(amounts: Floats, rate: float = 0.0) -> float | None:
    """Return when the sum of amounts first reaches zero.

    Parameters
    ----------
    amounts : array of float
        From year 0 on [currency].
    rate : float
        Discount rate, at least 0; 0 gives simple payback.

    Returns
    -------
    float or None
        Interpolated within the year, as if its amount came evenly [years]; 0 where nothing is paid at
        year 0; None where the sum stays below zero.
    """
    worth = amounts * discount_factors(rate, amounts.size - 1)
    balance = np.cumsum(worth)
    reached = np.flatnonzero(balance >= 0.0)
    if not reached.size:
        return None
    year = int(reached[0])
    return 0.0 if year == 0 else year - float(balance[year] / worth[year])


def below_zero_again(amounts: Floats) -> int | None:
    """Return the first year at whose end the sum of amounts is below zero after it had reached zero.

    Parameters
    ----------
    amounts : array of float
        From year 0 on [currency].

    Returns
    -------
    int or None
        A large replacement does that; None where the sum stays above zero.
    """
    up = np.cumsum(amounts) >= 0.0
    fallen = np.flatnonzero(up[:-1] & ~up[1:])
    return int(fallen[0]) + 1 if fallen.size else None


def loan_payment(amount: float, rate: float, payments: int) -> float:
    """Return the equal payment at each period's end that pays a loan off.

    Parameters
    ----------
    amount : float
        Borrowed [currency].
    rate : float
        Interest for one period, at least 0.
    payments : int
        How many.

    Returns
    -------
    float
        [currency].
    """
    return amount * capital_recovery_factor(rate, payments)


def loan_rate(received: float, payment: float, payments: int) -> float:
    """Return the interest of a period at which equal payments pay off what was received: fees are in it.

    Parameters
    ----------
    received : float
        What the loan pays out, less any fee [currency].
    payment : float
        At each period's end [currency].
    payments : int
        How many.

    Returns
    -------
    float
        For one period; twelve times that of a month is the nominal rate of a year.

    Examples
    --------
    >>> payment = loan_payment(10_000.0, 0.06 / 12, 120)
    >>> round(12 * loan_rate(10_000.0, payment, 120), 6)
    0.06
    """
    return internal_rates_of_return(np.array([received, *[-payment] * payments]))[0]


def capital_recovery_factor(rate: float, years: int) -> float:
    """Return the equal yearly amount with a present value of 1 (Short, Packey & Holt, NREL/TP-462-5173, 1995).

    Parameters
    ----------
    rate : float
        Discount rate, at least 0.
    years : int
        How many amounts.

    Returns
    -------
    float
        rate / (1 - (1 + rate)^-years); 1 / years where the rate is 0.
    """
    return 1.0 / years if rate == 0.0 else float(rate / -np.expm1(-years * np.log1p(rate)))


def levelized_cost(costs: Floats, energy_kwh: Floats, rate: float) -> float | None:
    """Return the price of a kilowatt-hour that pays the costs (Short, Packey & Holt, NREL/TP-462-5173, 1995).

    Parameters
    ----------
    costs : array of float
        From year 0 on; what is paid is positive [currency].
    energy_kwh : array of float
        Of the same years, 0 in year 0 [kWh].
    rate : float
        Discount rate, above -1, of costs and energy alike.

    Returns
    -------
    float or None
        [currency/kWh]; None where there is no energy. Costs that grow with prices in general (``real`` money)
        give a real levelized cost, others a nominal one.
    """
    energy = present_value(energy_kwh, rate)
    return present_value(costs, rate) / energy if energy > 0.0 else None
