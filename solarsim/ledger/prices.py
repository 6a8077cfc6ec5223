"""The tariff on the timeline: rates and windows in, the price of every step out."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.scenario.errors import ScenarioError
from solarsim.scenario.tariff import Tariff
from solarsim.scenario.timeline import Timeline
from solarsim.scenario.windows import steps_in_window


@dataclass(frozen=True, eq=False)
class Prices:
    """What energy costs and earns, one entry for each step.

    Attributes
    ----------
    rate : array of int
        Index into the tariff's rates.
    import_price, export_price : arrays of float
        [currency/kWh].
    """

    rate: NDArray[np.int64]
    import_price: NDArray[np.float64]
    export_price: NDArray[np.float64]

    def with_tariff(self, tariff: Tariff) -> "Prices":
        """Give the prices of the same plan at other prices.

        Parameters
        ----------
        tariff : Tariff
            With the same rates and windows.

        Returns
        -------
        Prices
            One entry for each step.
        """
        return _priced(self.rate, tariff)


def prices_from(tariff: Tariff, timeline: Timeline) -> Prices:
    """Find the one rate that holds in each step.

    Parameters
    ----------
    tariff : Tariff
        Rates with their windows.
    timeline : Timeline
        The year.

    Returns
    -------
    Prices
        One entry for each step.

    Raises
    ------
    ScenarioError
        Two rates hold in one hour, or none does.
    """
    rate = np.full(len(timeline), -1)
    for number, each in enumerate(tariff.rates):
        for window in each.windows:
            inside = steps_in_window(window, timeline)
            both = np.flatnonzero(inside & (rate >= 0) & (rate != number))
            if both.size:
                raise ScenarioError(
                    f"tariff {tariff.name!r}: rates {tariff.rates[rate[both[0]]].name!r} and {each.name!r} overlap"
                    f" in {both.size} hours, first at {_when(timeline, int(both[0]))}"
                )
            rate[inside] = number
    others = [number for number, each in enumerate(tariff.rates) if not each.windows]
    bare = np.flatnonzero(rate < 0)
    if bare.size and not others:
        raise ScenarioError(
            f"tariff {tariff.name!r}: no rate holds in {bare.size} hours, first at {_when(timeline, int(bare[0]))};"
            " leave the windows of one rate out to make it hold in all other hours"
        )
    if bare.size:
        rate[bare] = others[0]

    return _priced(rate, tariff)


def _priced(rate: NDArray[np.int64], tariff: Tariff) -> Prices:
    import_price = np.array([each.import_price for each in tariff.rates])
    export_price = {
        "none": np.zeros(import_price.size),
        "flat": np.full(import_price.size, tariff.export.price or 0.0),
        "by_rate": np.array([each.export_price or 0.0 for each in tariff.rates]),
        "same_as_import": import_price,
    }[tariff.export.pay]
    return Prices(rate=rate, import_price=import_price[rate], export_price=export_price[rate])


def _when(timeline: Timeline, place: int) -> str:
    return str(timeline.wall[place].astype("datetime64[m]")).replace("T", " ")
