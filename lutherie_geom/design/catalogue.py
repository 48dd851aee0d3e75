"""The catalogue: threads, screws, classes of strength, string sets and usual ranges, each with its source.

The numbers stand in ``data/tables``, beside where they came from. What follows from a number by a formula (pitch diameter,
stress area) is computed by :mod:`lutherie_geom.theory.fasteners`, not stored.
"""

from __future__ import annotations

import difflib
import math
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from lutherie_geom.design.files import data_folder
from lutherie_geom.theory import fasteners

__all__ = ["CatalogueError", "Range", "Screw", "StrengthClass", "StringSpec", "Thread", "names", "screw", "steel",
           "strength_class", "string_set", "thread", "usual_range"]

KPSI = 6.894757293168361
"""MPa in a thousand pounds-force to the square inch."""


class CatalogueError(LookupError):
    """Something that is not in the catalogue. The message says what is, and what was probably meant."""


@dataclass(frozen=True)
class Thread:
    """A screw thread, lengths in mm; ``tpi`` is None for a metric thread.

    ``screw_limits`` and ``nut_limits`` are the least and largest pitch diameter in mm of screw (6g) and nut (6H), if known.
    """

    name: str
    kind: str
    diameter: float
    pitch: float
    tpi: int | None
    source: str
    mark: str
    screw_limits: tuple[float, float] | None = None
    nut_limits: tuple[float, float] | None = None

    @property
    def _geometry(self) -> Any:
        if self.tpi is None:
            return fasteners.metric_thread(diameter=self.diameter, pitch=self.pitch)
        return fasteners.unified_thread(diameter=self.diameter, tpi=self.tpi)

    @property
    def pitch_diameter(self) -> float:
        """Pitch diameter d2, three quarters of the triangle's height less than the nominal one, in mm."""
        return float(self._geometry.pitch_diameter)

    @property
    def stress_area(self) -> float:
        """Tensile stress area, in mm^2."""
        return float(self._geometry.stress_area)

    @property
    def tan_lead(self) -> float:
        """Tangent of the lead angle, P / (pi d2), a pure number."""
        return float(fasteners.lead_slope(pitch=self.pitch, pitch_diameter=self.pitch_diameter, starts=1))

    @property
    def largest_play(self) -> float:
        """Largest axial play of a centred screw within the limits of size, in mm; nan when the limits are not known."""
        if self.screw_limits is None or self.nut_limits is None:
            return math.nan
        return float(fasteners.axial_play(nut_pitch_diameter=self.nut_limits[1], pitch_diameter=self.screw_limits[0]))

    def __str__(self) -> str:
        inch = f" ({self.tpi} to the inch)" if self.tpi else ""
        return (f"{self.name}, {self.kind}: diameter {self.diameter:g} mm, pitch {self.pitch:.4g} mm{inch}, "
                f"stress area {self.stress_area:.3g} mm^2\nsource: {self.source}\nmark: {self.mark}")


@dataclass(frozen=True)
class Screw:
    """Head, socket and point of a screw, in mm; what a kind of screw does not have is None."""

    standard: str
    what: str
    thread: str
    key: float
    source: str
    mark: str
    note: str = ""
    head_diameter: float | None = None
    head_diameter_least: float | None = None
    head_height: float | None = None
    point_diameter: float | None = None
    dog_length: float | None = None

    def __str__(self) -> str:
        shown = {"head diameter": self.head_diameter, "head height": self.head_height, "point diameter": self.point_diameter,
                 "dog length": self.dog_length, "key": self.key}
        sizes = ", ".join(f"{k} {v:g} mm" for k, v in shown.items() if v is not None)
        return f"{self.thread} {self.what} ({self.standard}): {sizes}\nsource: {self.source}\nmark: {self.mark}"


@dataclass(frozen=True)
class StrengthClass:
    """Strength of a screw's steel, in MPa: proof, yield (0.2 %), least tensile. nan where no number was found."""

    name: str
    proof: float
    yield_: float
    tensile: float
    source: str
    mark: str
    note: str = ""


@dataclass(frozen=True)
class StringSpec:
    """One string: mass in kg/m, core diameter in mm, Young's modulus of the core in GPa with its spread, pitch in Hz."""

    name: str
    mass: float
    core_diameter: float
    wound: bool
    pitch: float
    modulus: float
    modulus_low: float
    modulus_high: float
    source: str
    mark: str

    @property
    def stiffness(self) -> float:
        """Axial stiffness EA of the core, in N: modulus times the core's area. As uncertain as the modulus."""
        return self.modulus * 1000 * math.pi / 4 * self.core_diameter**2


@dataclass(frozen=True)
class Range:
    """A usual range of the trade: for defaults and a word of doubt, never for pass or fail."""

    name: str
    low: float
    high: float
    unit: str
    note: str
    mark: str


@cache
def read_table(name: str) -> Mapping[str, Any]:
    with open(data_folder() / "tables" / f"{name}.toml", "rb") as file:
        return tomllib.load(file)


_SHELVES = {"threads": ("threads", "threads"), "screws": ("screws", "standards"), "classes": ("screws", "classes"),
            "string sets": ("strings", "sets"), "ranges": ("practice", "ranges")}


def names(shelf: str = "threads") -> list[str]:
    """What the catalogue holds of ``threads``, ``screws`` (their standards), ``classes``, ``string sets`` or ``ranges``."""
    file, key = _SHELVES[find(shelf, _SHELVES, "shelf")]
    return list(read_table(file)[key])


def _plain(text: str) -> str:
    return "".join(text.split()).casefold().removesuffix("unf").removesuffix("unc")


def find(wanted: object, known: Iterable[str], what: str) -> str:
    """The catalogue's own spelling of ``wanted``; blanks and capitals do not matter."""
    known = list(known)
    spelled = {_plain(k): k for k in known}
    if isinstance(wanted, str):
        if _plain(wanted) in spelled:
            return spelled[_plain(wanted)]
        near = difflib.get_close_matches(_plain(wanted), spelled, 3, 0.5)
        if near:
            raise CatalogueError(f"no {what} {wanted!r} in the catalogue; did you mean {', '.join(spelled[n] for n in near)}?")
    raise CatalogueError(f"no {what} {wanted!r} in the catalogue; it has {', '.join(known)}.")


def thread(name: str) -> Thread:
    """The thread of that name: ``M6``, ``1/4-28``, ``#10-32``. A metric pitch may be written behind it: ``M6x1``."""
    table = read_table("threads")
    known = table["threads"]
    size, cross, pitch = name.lower().replace("×", "x").partition("x") if isinstance(name, str) else (name, "", "")
    found = find(size, known, "thread") if cross else find(name, known, "thread")
    row = known[found]
    if cross and pitch.strip() not in (f"{row.get('pitch', 0):g}", f"{row.get('pitch')}"):
        here = f"a pitch of {row['pitch']:g} mm here (coarse)" if "pitch" in row else f"{row['tpi']} threads to the inch"
        raise CatalogueError(f"no thread {name!r} in the catalogue; {found} has {here}. Write another pitch as a length.")
    source = table["sources"][row["source"]]
    tpi = row.get("tpi")
    pitch_mm = float(row["pitch"]) if tpi is None else float(fasteners.unified_thread(diameter=row["diameter"], tpi=tpi).pitch)

    def pair(key: str) -> tuple[float, float] | None:
        return (float(row[key][0]), float(row[key][1])) if key in row else None

    texts = [source["text"]] + ([table["sources"][row["limits_source"]]["text"]] if "limits_source" in row else [])
    return Thread(found, row["kind"], float(row["diameter"]), pitch_mm, tpi, "; limits: ".join(texts), source["mark"],
                  pair("screw_pitch_diameter"), pair("nut_pitch_diameter"))


def screw(standard: str, size: str) -> Screw:
    """Head, socket and point of a screw: ``screw("ISO 7380-1", "M5")``."""
    known = read_table("screws")["standards"]
    found = find(standard, known, "kind of screw")
    row = known[found]
    thread_name = find(size, row["sizes"], f"{found} size")
    return Screw(found, row["what"], thread_name, source=row["source"], mark=row["mark"], note=row.get("note", ""),
                 **row["sizes"][thread_name])


def strength_class(name: str) -> StrengthClass:
    """A class of strength: ``8.8``, ``A2-70``, ``SAE 8``. All strengths in MPa, whatever the source used."""
    known = read_table("screws")["classes"]
    found = find(name, known, "class of strength")
    row = known[found]
    factor = {"MPa": 1.0, "kpsi": KPSI}[row["unit"]]
    proof, yield_, tensile = (row.get(k, math.nan) * factor for k in ("proof", "yield", "tensile"))
    return StrengthClass(found, proof, yield_, tensile, row["source"], row["mark"], row.get("note", ""))


def steel() -> tuple[float, float]:
    """Young's modulus [MPa] and Poisson's ratio [1] of the steel of screws and balls."""
    row = read_table("metals")["metals"]["screw steel"]
    return float(row["modulus"]), float(row["poisson"])


def string_set(name: str = "evening class light") -> tuple[StringSpec, ...]:
    """The strings of a set, bass to treble."""
    table = read_table("strings")
    row = table["sets"][find(name, table["sets"], "string set")]
    e = table["modulus"]
    return tuple(StringSpec(modulus=e["middle"], modulus_low=e["low"], modulus_high=e["high"], source=row["source"],
                            mark=row["mark"], **s) for s in row["strings"])


def usual_range(name: str) -> Range:
    """A usual range of the trade, for example ``relief`` or ``action12-bass``."""
    table = read_table("practice")
    found = find(name, table["ranges"], "usual range")
    return Range(found, mark=table["mark"], **table["ranges"][found])
