"""Writes small Green Button feeds for tests."""

from collections.abc import Iterable

SINCE = 1_704_067_200  # 2024-01-01T00:00 UTC
HOME = "https://utility.example/espi/UsagePoint"
CODES = {"uom": 72, "flowDirection": 1, "accumulationBehaviour": 4, "intervalLength": 3600}


def entry(resource: str, own: str = "", up: str = "", related: Iterable[str] = (), title: str = "") -> str:
    """Put a resource into an Atom entry; its links stand behind it, as Atom allows."""
    links = [("self", own), ("up", up), *(("related", each) for each in related)]
    atom = "".join(f'<link rel="{relation}" href="{place}"/>' for relation, place in links if place)
    return f'<entry><title>{title}</title><content xmlns="http://naesb.org/espi">{resource}</content>{atom}</entry>'


def point(number: int = 1, service: int = 0, title: str = "") -> str:
    resource = f"<UsagePoint><ServiceCategory><kind>{service}</kind></ServiceCategory></UsagePoint>"
    return entry(resource, f"{HOME}/{number}", related=[f"{HOME}/{number}/MeterReading"], title=title)


def meter(number: int = 1, kind: int = 1, home: int = 1) -> str:
    own = f"{HOME}/{home}/MeterReading"
    return entry("<MeterReading/>", f"{own}/{number}", own, [f"ReadingType/{kind}", f"{own}/{number}/IntervalBlock"])


def numbers(**codes: int) -> str:
    return "".join(f"<{name}>{code}</{name}>" for name, code in codes.items())


def kind(number: int = 1, **codes: int) -> str:
    return entry(f"<ReadingType>{numbers(**CODES | codes)}</ReadingType>", f"/ReadingType/{number}")


def reading(hour: float, value: object, duration_s: int | None = 3600, quality: int | None = None) -> str:
    length = "" if duration_s is None else f"<duration>{duration_s}</duration>"
    flag = "" if quality is None else f"<ReadingQuality><quality>{quality}</quality></ReadingQuality>"
    return (
        f"<IntervalReading>{flag}<timePeriod>{length}<start>{SINCE + hour * 3600:.0f}</start></timePeriod>"
        f"<value>{value}</value></IntervalReading>\n"
    )


def block(*readings: str, number: int = 1, home: int = 1) -> str:
    up = f"{HOME}/{home}/MeterReading/{number}/IntervalBlock"
    return entry(f"<IntervalBlock>{''.join(readings)}</IntervalBlock>", f"{up}/77", up)


def summary(value: int, period: str = "", home: int = 1, name: str = "UsageSummary") -> str:
    total = f"<overallConsumptionLastPeriod>{numbers(uom=72, value=value)}</overallConsumptionLastPeriod>"
    return entry(f"<{name}>{period}{total}</{name}>", f"{HOME}/{home}/{name}/1")


LOCAL_TIME = entry("<LocalTimeParameters><tzOffset>-28800</tzOffset></LocalTimeParameters>")


def feed(*entries: str) -> str:
    return '<feed xmlns="http://www.w3.org/2005/Atom">\n' + "\n".join(entries) + "\n</feed>\n"


def one_meter(*readings: str, **codes: int) -> str:
    return feed(point(), meter(), kind(**codes), block(*readings), LOCAL_TIME)


def both_ways(delivered: list[str], received: list[str], **codes: int) -> str:
    """Write a home with two reading types, and no note due."""
    types = kind(1), kind(2, flowDirection=19, **codes)
    blocks = block(*delivered), block(*received, number=2)
    return feed(point(), meter(1, 1), meter(2, 2), *types, *blocks, LOCAL_TIME)
