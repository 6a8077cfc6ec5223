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
PRODUCED = _set("solar pv production produced erzeugung")  # by the panels: neither import nor export
ENERGY = _set("kwh wh kw w watt watts kilowatt kilowatts energy value reading energie wert valeur volume")
OTHER = _set(  # no energy, whatever else is in the name
    "cost costs price currency usd eur gbp kosten preis betrag cout prix montant temp"
    " temperature temperatur voltage volt amps kvarh kvar kvah kva reactive blindarbeit co $ € £ carbon mwh"
)
ASIDE = _set(  # no energy, unless another word is of energy
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
    """Return the words of a column's name in lower case without accents; a unit is one word."""
    plain = "".join(each for each in unicodedata.normalize("NFKD", name) if not unicodedata.combining(each))
    plain = _LONG_UNIT.sub(lambda unit: " kwh " if unit[0][0] in "kK" else " wh ", plain)
    plain = _SHORT_UNIT.sub(lambda unit: f" {unit[1].lower()} ", plain)
    plain = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", plain)
    return re.findall(r"[a-z]+|[$€£]", plain.lower())


def unit_in(*texts: str) -> str | None:
    """Return the one unit that names or cells state: ``kwh``, ``wh``, ``kw`` or ``w``; None for none or several."""
    found = {_UNITS[word] for text in texts for word in words_of(text) if word in _UNITS}
    return found.pop() if len(found) == 1 else None


def is_unit_row(cells: list[str]) -> bool:
    """Return whether a row has nothing but units, as some files have below their column names."""
    bare = [cell.strip("[]() ").lower() for cell in cells if cell]
    units = [cell for cell in bare if cell in _UNITS]
    return bool(units) and all(cell in _UNITS or _NO_NAME.fullmatch(cell) for cell in bare)


def direction_of(name: str) -> Literal["import", "export", "unclear"] | None:
    """Return the direction that a column's name states: ``unclear`` for both or for production, None for none."""
    words = words_of(name)
    text = " ".join(words)
    to_grid, from_grid = bool(_TO_GRID.search(text)), bool(_FROM_GRID.search(text))
    if to_grid != from_grid:
        return "export" if to_grid else "import"
    imports, exports = bool(IMPORT & set(words)), bool(EXPORT & set(words))
    if imports == exports and (imports or PRODUCED & set(words)):
        return "unclear"
    return "import" if imports else "export" if exports else None


def set_key(key: str, *values: str) -> str:
    """Return the end of a message that names the key of the scenario to set, and the values it may have."""
    choices = " or ".join(f'"{value}"' for value in values)
    return f"; set {key}{' = ' * bool(choices)}{choices} next to the file's name in the scenario"
