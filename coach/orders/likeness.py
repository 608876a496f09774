"""What a wrong number looks like: the known ways to get a number for the pump wrong.

Owns the ways, and the words for each. It must never say what to set, nor that a number is right:
it names a likeness, so that a person can say it on the telephone.

24 times too little was set by a home patient's pump, and four days' medicine ran in four hours:
PMC3138377 (read). "Wrong units" is hazard 8.14 of the Generic Infusion Pump Hazard Analysis 1.0,
2009 (restated).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from itertools import chain, pairwise

from coach.orders.quantities import UNITS, Quantity, divided, in_unit, number, product, same, shown

TENFOLD = 10
FACTORS = (24, 60, TENFOLD, 100, 1000)
"""How many times too much or too little a number is known to have been set."""

LONGEST_LIKENESS = "28.8 is about 24 times 1.2. Is that an amount for a whole day?"
"""As long as one likeness gets, for measuring the texts that name it."""

PROGRAMME: Mapping[str, str] = {
    "dose": "dose",
    "strength": "strength",
    "volume": "volume",
    "rate": "rate",
    "time": "infusion_time",
}
"""What each of the numbers is called that can be typed in each other's place, and its name."""

_OF_TIME = (24, 60)
_PLACES = 12
_FIGURES = 2
"""A number of fewer figures is not taken for a rounded one."""

_POINT = "Look at the point and each zero."
_LOOK = ""
_A_DAY = "Is that an amount for a whole day?"
_AN_HOUR = "Is that an amount for one hour?"
_A_MINUTE = "Is that an amount for one minute?"
_TOOK_A_DAY = "Was it taken for a whole day?"
_TOOK_AN_HOUR = "Was it taken for one hour?"
_TOOK_A_MINUTE = "Was it taken for one minute?"

_TIMES_MORE = {
    ("mL/h", 24): _A_DAY,
    ("mL/h", 60): _TOOK_A_MINUTE,
    ("mL/day", 24): _TOOK_AN_HOUR,
    ("mL/min", 60): _AN_HOUR,
    ("h", 60): "Is that a number of minutes?",
    ("min", 60): "Is that a number of seconds?",
    ("days", 24): "Is that a number of hours?",
}
"""What to ask where a number in this unit is so many times too much."""
_TIMES_LESS = {
    ("mL/h", 24): _TOOK_A_DAY,
    ("mL/h", 60): _A_MINUTE,
    ("mL/day", 24): _AN_HOUR,
    ("mL/min", 60): _TOOK_AN_HOUR,
    ("h", 24): "Is that a number of days?",
    ("min", 60): "Is that a number of hours?",
    ("s", 60): "Is that a number of minutes?",
}
"""The same, where it is so many times too little."""

_KIND_NAMES = {
    "volume": "a volume",
    "mass": "an amount of medicine",
    "units": "a number of units",
    "duration": "a time",
    "rate": "a rate",
    "mass in a volume": "a strength",
    "units in a volume": "a strength in units",
    "share": "a share",
}


def programme(values: Mapping[str, Quantity | str]) -> dict[str, Quantity]:
    """Return those of an order sheet's *values* that can be typed in each other's place."""
    named = {says: values[name] for says, name in PROGRAMME.items()}
    return {says: value for says, value in named.items() if isinstance(value, Quantity)}


def likeness(expected: Quantity, typed: Quantity, others: Mapping[str, Quantity]) -> str:
    """Return in plain words what *typed* looks like, if it is not *expected*; or ``""``.

    *others* are the numbers of the same order by name, such as those of ``programme``. Of several
    likenesses the first is named: more would not be read. Nothing is said of a number that is
    equal, or like nothing.
    """
    if same(expected, typed) or not expected.amount or not typed.amount:
        return ""
    if UNITS[expected.unit][0] != UNITS[typed.unit][0]:
        return _of_another_kind(expected, typed)
    if expected.unit != typed.unit and expected.amount == typed.amount:
        return f"{shown(typed)} has another unit than the order."
    ways = (
        # A point in the wrong place is likelier than one number among many that happens to be it.
        _so_many_times(expected, typed, (TENFOLD,)),
        _in_its_place(expected, typed, others),
        _so_many_times(expected, typed, FACTORS),
        _by_the_figures(expected, typed),
    )
    return next(chain.from_iterable(ways), "").rstrip()


def _of_another_kind(expected: Quantity, typed: Quantity) -> str:
    found, asked = (_KIND_NAMES[UNITS[one.unit][0]] for one in (typed, expected))
    return f"{shown(typed)} is {found}. The order has {asked} here."


def _in_its_place(
    expected: Quantity, typed: Quantity, others: Mapping[str, Quantity]
) -> Iterator[str]:
    for name, other in others.items():
        if not same(other, expected) and typed.amount in _numbers_of(other):
            yield (f"{number(typed.amount)} is the {name} of this order. Is it in the wrong place?")


def _numbers_of(quantity: Quantity) -> Iterator[Decimal]:
    """Yield the number of *quantity* as written, and in each unit in which it may be shown."""
    yield quantity.amount
    kind = UNITS[quantity.unit][0]
    for unit in ("mg", "g", "mcg", "mL", "h", "min", "mL/h"):
        if UNITS[unit][0] == kind:
            yield in_unit(quantity, unit).amount


def _so_many_times(expected: Quantity, typed: Quantity, factors: Iterable[int]) -> Iterator[str]:
    one, other = _names(expected, typed)
    inner = in_unit(typed, expected.unit).amount
    for factor in factors:
        default, times = _LOOK if factor in _OF_TIME else _POINT, Decimal(factor)
        about = "" if factor not in _OF_TIME or _exact(expected.amount, inner, times) else "about "
        if _comes_to(product(expected.amount, times), inner, about):
            asks = _TIMES_MORE.get((expected.unit, factor), default)
            yield f"{other} is {about}{factor:,} times {one}. {asks}"
        elif _comes_to(divided(expected.amount, times, _PLACES), inner, about):
            asks = _TIMES_LESS.get((expected.unit, factor), default)
            yield f"{other} is {about}{one} divided by {factor:,}. {asks}"


def _exact(one: Decimal, other: Decimal, times: Decimal) -> bool:
    return product(one, times) == other or product(other, times) == one


def _comes_to(worked: Decimal, typed: Decimal, about: str) -> bool:
    """Tell whether *typed* is what was *worked* out, rounded to its own places if only *about*."""
    if not about:
        return worked == typed
    written = _plain(typed)
    places = len(written.partition(".")[2])
    enough = len(written.replace(".", "").lstrip("0")) >= _FIGURES
    return enough and divided(worked, Decimal(1), places, keep=False) == typed


def _by_the_figures(expected: Quantity, typed: Quantity) -> Iterator[str]:
    """Yield what the figures that were typed have to do with those of the order."""
    name, other_name = _names(expected, typed)
    one, other = _plain(expected.amount), _plain(in_unit(typed, expected.unit).amount)
    value = Decimal(other)
    if _aligned(other, one) in set(_swapped(_aligned(one, other))):
        yield f"{other_name} is {name} with two figures swapped."
    elif value in {Decimal(shorter) for shorter in _dropped(one)}:
        yield f"{other_name} is {name} with one figure left out."
    elif value in {Decimal(longer) for longer in _doubled(one)}:
        yield f"{other_name} is {name} with one figure typed twice."


def _names(expected: Quantity, typed: Quantity) -> tuple[str, str]:
    """Return both in safe writing, with their units only where these differ."""
    if expected.unit != typed.unit:
        return shown(expected), shown(typed)
    return number(expected.amount), number(typed.amount)


def _swapped(written: str) -> Iterator[str]:
    places = [place for place, figure in enumerate(written) if figure != "."]
    for first, second in pairwise(places):
        figures = list(written)
        figures[first], figures[second] = figures[second], figures[first]
        yield "".join(figures)


def _dropped(written: str) -> Iterator[str]:
    for place, figure in enumerate(written):
        shorter = written[:place] + written[place + 1 :]
        if figure != "." and shorter not in ("", "."):
            yield shorter


def _doubled(written: str) -> Iterator[str]:
    for place, figure in enumerate(written):
        if figure != ".":
            yield written[: place + 1] + written[place:]


def _plain(amount: Decimal) -> str:
    """Return *amount* as figures and a point, without zeros at its end."""
    written = f"{amount:f}"
    return written.rstrip("0").rstrip(".") if "." in written else written


def _aligned(written: str, other: str) -> str:
    """Return *written* with zeros after its point, so that it has as many places as *other*."""
    places, wanted = (len(one.partition(".")[2]) for one in (written, other))
    if wanted <= places:
        return written
    return (written if places else f"{written}.") + "0" * (wanted - places)
