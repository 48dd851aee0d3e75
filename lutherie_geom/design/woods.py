"""Woods: what a species is like on average, each number with its source, its edition and how far it can be trusted.

The numbers stand in ``data/tables/woods.toml``. Where two editions of a handbook disagree, both are kept as two entries.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from lutherie_geom.design.catalogue import CatalogueError, find, read_table
from lutherie_geom.theory import climate

__all__ = ["Number", "Wood", "creep_factor", "creep_names", "wood", "wood_names"]

_TO_MPA = {"kPa": 1000.0, "MPa": 1.0}
"""What a unit of stress is divided by to give MPa."""


@dataclass(frozen=True)
class Number:
    """One number: ``value`` in ``unit`` (MPa, % or 1), with where it comes from."""

    value: float
    unit: str
    source: str
    edition: str
    mark: str
    note: str = ""

    def __str__(self) -> str:
        note = f"; {self.note}" if self.note else ""
        unit = "" if self.unit == "1" else f" {self.unit}"
        return f"{self.value:g}{unit} ({self.source}; edition: {self.edition}; {self.mark}{note})"


@dataclass(frozen=True)
class Wood:
    """A species: clear wood at 12 % moisture content, averages. Strengths and moduli in MPa, shrinkage in %, ratios in 1.

    ``wood["modulus"]`` is the :class:`Number` with its source, ``wood.value("modulus")`` the value alone.
    """

    name: str
    numbers: Mapping[str, Number] = field(repr=False)
    caution: str = ""

    def __getitem__(self, what: str) -> Number:
        try:
            return self.numbers[find(what, self.numbers, f"number of {self.name}")]
        except CatalogueError as error:
            raise CatalogueError(f"{error} What is not there was not found in a source; write your own number.") from None

    def __contains__(self, what: object) -> bool:
        return what in self.numbers

    def value(self, what: str) -> float:
        """The number called ``what``, in MPa, % or as a pure number."""
        return self[what].value

    @property
    def modulus(self) -> float:
        """Young's modulus along the grain, in MPa, as bending tests give it (shear included: some 10 % low, from memory)."""
        return self.value("modulus")

    @property
    def specific_gravity(self) -> float:
        """Specific gravity, ovendry mass on the volume that the number's note names (else at 12 % moisture), a pure number."""
        return self.value("specific_gravity")

    def density(self, moisture: float = 12.0) -> float:
        """Density in kg/m^3 at a moisture content in %, from the gravity as it stands: rough when that is on green volume."""
        return 1000 * self.specific_gravity * (1 + moisture / 100)

    def swelling(self, direction: str = "tangential", moisture: float = 10.0) -> float:
        """Swelling in 1/% of moisture content, ``radial`` or ``tangential``, starting from ``moisture`` (in %)."""
        way = find(direction, ("radial", "tangential"), "direction")
        return float(climate.swelling_coefficient(shrinkage=self.value(f"shrinkage_{way}"), moisture_from=moisture))

    def __str__(self) -> str:
        lines = [f"  {k.replace('_', ' ')}: {n}" for k, n in self.numbers.items()]
        return "\n".join([self.name, *lines] + ([f"  mind: {self.caution}"] if self.caution else []))


def wood_names() -> list[str]:
    """The woods that the table holds."""
    return list(read_table("woods")["woods"])


def wood(name: str) -> Wood:
    """The wood of that name; blanks and capitals do not matter."""
    table = read_table("woods")
    found = find(name, table["woods"], "wood")
    numbers = {}
    for key, row in table["woods"][found].items():
        if key == "caution":
            continue
        source = table["sources"][row["source"]]
        parts = _TO_MPA.get(row["unit"], 1.0)
        unit = "MPa" if row["unit"] in _TO_MPA else row["unit"]
        numbers[key] = Number(row["value"] / parts, unit, source["text"], source["edition"], source["mark"], row.get("note", ""))
    return Wood(found, MappingProxyType(numbers), table["woods"][found].get("caution", ""))


def creep_names() -> list[str]:
    """The kinds of load and wood for which a factor of creep or of time under load is known."""
    return list(read_table("woods")["creep"])


def creep_factor(name: str = "seasoned, long load") -> Number:
    """What a short-term deflection (or strength) is multiplied by under long load, a pure number; its note says which."""
    known = read_table("woods")["creep"]
    row = known[find(name, known, "kind of creep")]
    return Number(row["value"], "1", row["source"], "as its source says", row["mark"], row["what"])
