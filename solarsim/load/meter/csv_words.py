"""The words in the names of a meter CSV's columns, in English, German and French: names in, meanings out."""

import re
import unicodedata
from typing import Literal


def _set(words: str) -> frozenset[str]:
    return frozenset(words.split())


ASIDE_TIMES = _set("revision revised update updated create created modified post posted retrieved download downloaded")
START = _set("start starts starting started begin begins beginning beginn anfang from von ab debut")
END = _set("end ends ending ended ende to until till bis fin he")
OF_DAY = _set("time hour hours zeit uhrzeit stunde heure clock")
IMPORT = _set(
    "import imported imports delivered delivery consumption consumed usage used bezug netzbezug bezogen"
    " verbrauch entnahme consommation soutirage soutiree"
)
EXPORT = _set(
    "export exported exports received generation generated feedin surplus einspeisung"
    " eingespeist netzeinspeisung rucklieferung ruckspeisung injection injectee"
)
PRODUCED = _set("solar pv production produced erzeugung")  # by the panels: neither what was bought nor what was sold
ENERGY = _set("kwh wh kw w watt watts kilowatt kilowatts energy value reading energie wert valeur volume")
OTHER = _set(  # no energy, whatever else the name says
    "cost costs price currency usd eur gbp kosten preis betrag cout prix montant temp"
    " temperature temperatur voltage volt amps kvarh kvar kvah kva reactive blindarbeit co $ € £ carbon mwh"
)
ASIDE = _set(  # no energy, unless another word says so
    "amount charge charges year month day days week weekday hour hours minute minutes duration interval period length"
    " season jahr monat tag dauer annee mois jour id no nr number index row latitude longitude"
)
METER = _set(
    "meter meters esiid esid nmi mpan mprn serial account customer zahler zahlernummer zahlpunkt"
    " zahlpunktbezeichnung messlokation marktlokation compteur pdl prm ean pod"
)
QUALITY = _set("quality status flag type art estimated estimate qualitat qualite ersatzwert")
UNITS_COLUMN = _set("unit units uom einheit unite")
_TO_GRID = re.compile(r"\b(?:(?:to|into|zum|ins|au|vers)(?: the| le)? (?:grid|network|netz|reseau)|feed in)\b")
_FROM_GRID = re.compile(r"\b(?:from|vom|aus|du)(?: the| dem)? (?:grid|network|utility|netz|reseau)\b")
_LONG_UNIT = re.compile(r"(?:kilo)?watt[- ]?(?:hours?|stunden?|heures?)|kW[·. *]h(?![a-z])", re.IGNORECASE)
_SHORT_UNIT = re.compile(r"(?<![A-Z])([kM]?Wh?|k[Vv][Aa](?:rh?)?)(?![A-Za-z])")
_NO_NAME = re.compile(r"h|-|%|v|a|°?c|eur|usd|[dmyhst.:/ -]{5,}")  # other units, and patterns of dates
_UNITS = {
    "kwh": "kwh",
    "wh": "wh",
    "kw": "kw",
    "w": "w",
    "watt": "w",
    "watts": "w",
    "kilowatt": "kw",
    "kilowatts": "kw",
}


def words_of(name: str) -> list[str]:
    """Take a column's name apart into words.

    Parameters
    ----------
    name : str
        For example ``"Netzbezug_kWh"`` or ``"usageStart"``.

    Returns
    -------
    list of str
        Lower case without accents; a unit is one word.
    """
    plain = "".join(each for each in unicodedata.normalize("NFKD", name) if not unicodedata.combining(each))
    plain = _LONG_UNIT.sub(lambda unit: " kwh " if unit[0][0] in "kK" else " wh ", plain)
    plain = _SHORT_UNIT.sub(lambda unit: f" {unit[1].lower()} ", plain)
    plain = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", plain)
    return re.findall(r"[a-z]+|[$€£]", plain.lower())


def unit_in(*texts: str) -> str | None:
    """Find a unit of energy or power in words.

    Parameters
    ----------
    texts : str
        Names or cells.

    Returns
    -------
    str or None
        ``kwh``, ``wh``, ``kw`` or ``w``; None where none or several are named.
    """
    found = {_UNITS[word] for text in texts for word in words_of(text) if word in _UNITS}
    return found.pop() if len(found) == 1 else None


def is_unit_row(cells: list[str]) -> bool:
    """Say whether a row holds nothing but units, as some files have under their header.

    Parameters
    ----------
    cells : list of str
        Without blanks around them.

    Returns
    -------
    bool
        True for cells ``dd.mm.yyyy``, ``kWh``, ``kWh``; false for ``Date``, ``kWh``.
    """
    bare = [cell.strip("[]() ").lower() for cell in cells if cell]
    units = [cell for cell in bare if cell in _UNITS]
    return bool(units) and all(cell in _UNITS or _NO_NAME.fullmatch(cell) for cell in bare)


def direction_of(name: str) -> Literal["import", "export", "unclear"] | None:
    """Say which way a column's name says that energy goes.

    Parameters
    ----------
    name : str
        The column's name.

    Returns
    -------
    str or None
        ``import`` (from the grid), ``export`` (to it), ``unclear`` (both, or a production that may
        be used at home), or None where it says nothing of a direction.
    """
    words = words_of(name)
    text = " ".join(words)
    to_grid, from_grid = bool(_TO_GRID.search(text)), bool(_FROM_GRID.search(text))
    if to_grid != from_grid:
        return "export" if to_grid else "import"
    imports, exports = bool(IMPORT & set(words)), bool(EXPORT & set(words))
    if imports == exports and (imports or PRODUCED & set(words)):
        return "unclear"
    return "import" if imports else "export" if exports else None
