"""The joint book: all readings of a design as one page that anybody can open and print, and as a JSON file for programs.

The page needs nothing but itself: figures are drawn into it as SVG; it has no script and asks nothing of the network.
"""

from __future__ import annotations

import json
import os
import re
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lutherie_geom.filling import filled
from lutherie_geom.joint.reading import Reading, Readings
from lutherie_geom.show.book_text import STATES, show_table, show_value, show_words, verdict_words

__all__ = ["CHAPTERS", "SYSTEMS", "book_json", "book_page", "schema", "write_book"]

SYSTEMS = ("mm", "inch")
FORMAT, FORMAT_VERSION = "lutherie_geom joint book", 1
UNITS = {"length": "mm", "angle": "deg", "rotation of a screw": "turn", "force": "N", "stress": "MPa", "torque": "N m",
         "pitch interval": "cent", "energy": "J", "frequency": "Hz", "mass": "g", "share": "%", "margin of strength": "times"}


@dataclass(frozen=True)
class Chapter:
    """A chapter: title, first words of the keys of its readings, its figures, what to know, what to take care of.

    ``worst_first``: its readings stand on the page the worst first, not in the order of the file.
    """

    title: str
    groups: tuple[str, ...]
    figures: tuple[str, ...]
    lead: str
    cautions: tuple[str, ...] = ()
    worst_first: bool = False


CHAPTERS = (
    Chapter("Neck set and strings", ("set", "nut", "saddle", "strings", "action", "buzz"), ("side",),
            "How the neck stands with every screw at its nominal place, and where the strings run over it.",
            ("Wear eye protection whenever you work near strings under tension: a string that breaks whips.",)),
    Chapter("Tongue and dome", ("dome", "tongue", "gap", "soundhole"), ("gap",),
            "The fingerboard's extension floats over a domed top. Gap and tongue wood are decided before any wood is cut."),
    Chapter("Turning the tilt screw", ("tilt",), ("action",),
            "One hex key through the soundhole raises or lowers the action.",
            ("Turn in small steps and tune after each: the pitch moves with the neck.",)),
    Chapter("Travel", ("travel",), ("stops",),
            "How far the tilt screw can go either way, and what stops it. Warnings do not end the travel.",
            ("Never force a screw past its stop. Find what touches.",)),
    Chapter("Heel and pocket", ("heel",), ("heel",),
            "The heel must stay off the floor of its pocket, and inside its rim, over the whole travel.",
            ("Slacken all strings before you take the neck off.",)),
    Chapter("Steering", ("steer", "coupling"), ("plan",),
            "Turning the two pivot screws against each other steers the neck sideways; turning both moves it in or out.",
            ("Slacken the clamp screw before you turn a pivot screw, and tighten it before you read or play.",
             "Slacken the strings first: the clamp screw holds the ball heads in their seats.")),
    Chapter("Inside heel and block", ("inside", "hole", "holes"), (),
            "What is hidden in the wood: screws, receivers, seats and the holes that they swing in.",
            ("Drill and tap with the work held fast, and wear eye protection.",)),
    Chapter("Pitch", ("pitch",), (),
            "What turning does to the tuning, and how the strings play in tune along the board."),
    Chapter("Forces in the joint", ("loads",), ("forces", "clamps"),
            "What strings, screws and seats do to each other, what the loads of handling ask, and what lets go if one part "
            "fails.",
            ("Strings at pitch hold some 700 N and more: wear eye protection near them, keep your face out of their line, and "
             "slacken them all, evenly, before a screw of the joint is loosened.",
             "Action that rises or falls by itself, a crack, a gap at the heel, a buzz that was not there: slacken all "
             "strings at once and do not play on to see.")),
    Chapter("Strength", ("strength",), ("margins",),
            "What each part bears over what the worst load asks of it, the worst first. Wood's strength across the grain is "
            "estimated from its weight where no table had it: the sources say so.",
            ("Strengths of clear wood and sound metal stand in for no test. Prove the joint on the bench, bring the strings "
             "up in steps, nobody's face over them, and ask a trained repairer where you doubt.",), worst_first=True),
    Chapter("Tongue, neck and top under load", ("tongue.beam", "tongue.rods", "tongue.top", "neck"), (),
            "How far a finger bends the tongue, what rods bring, how the strings bow the neck, and what a floating tongue "
            "leaves off the top.",
            ("Carbon rods: dust and splinters harm lungs, eyes and skin. Cut wet or with extraction, wear mask, goggles and "
             "gloves, and follow your local rules.",)),
)
LEFT_OUT = (
    "In the chapters on geometry and turning the wood is taken as stiff. How far neck, tongue and joint bend stands in the "
    "last ones.",
    "Seasons are not in these numbers, but where a reading names them.",
    "Strings are straight lines at rest: how wide they swing depends on the player's hand.",
    "Backlash and friction are not in the turns; approach each setting from the same side.",
    "Margins of strength are reckoned, not tested: prove wood, glue and screws on the bench while the box is still open.",
    "Wanted travel and margins are common practice, not a standard.",
    "Where the law of your place asks for a licence, a guard or a certificate, that comes before anything in this book.",
)


# ------------------------------------------------------------------------------------------------------------- JSON
def schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of the JSON file."""
    from importlib.resources import files

    text = files("lutherie_geom.show").joinpath("joint_book.schema.json").read_text("utf-8")
    return dict(json.loads(text))


def book_json(design: Any, readings: Readings) -> dict[str, Any]:
    """The book for programs: every value in mm, deg, turn ..., whatever the reader's units."""
    items = []
    for r in readings:
        item: dict[str, Any] = {"key": r.key, "words": r.words, "value": r.value, "unit": r.unit, "definition": r.definition}
        if r.columns:
            item["columns"] = [{"name": n, "unit": u} for n, u in r.columns]
        if r.verdict:
            v = r.verdict
            item["verdict"] = {"state": v.state, "provided": v.provided, "required": v.required, "margin": v.margin,
                               "room": v.room, "cure": v.cure}
        items.append(item)
    about = {"name": design.name, "about": design.about, "handed": design.handed, "strings": design.count}
    return {"format": FORMAT, "format_version": FORMAT_VERSION, "design": about, "units": UNITS, "readings": items,
            "worst_first": [r.key for r in readings.worst_first]}


# ------------------------------------------------------------------------------------------------------------- page
def inline_svg(text: str, name: str, alt: str) -> str:
    """An SVG text made ready to stand in a page: own ids, no prolog, no fixed size, described by ``alt``."""
    from markupsafe import escape

    text = text[text.index("<svg"):]
    text = re.sub(r"<metadata>.*?</metadata>", "", text, flags=re.DOTALL)
    text = re.sub(r'\bid="', f'id="{name}-', text)
    text = re.sub(r"url\(#", f"url(#{name}-", text)
    text = re.sub(r'href="#', f'href="#{name}-', text)
    head, rest = text.split(">", 1)
    head = re.sub(r'\s(width|height)="[^"]*"', "", head)
    return f'{head} role="img" aria-label="{escape(alt)}">{rest}'


def figures_of(design: Any, system: str) -> dict[str, tuple[str, str]]:
    """Every figure of the book: name to (title, inline SVG)."""
    from lutherie_geom.joint.travel import travel
    from lutherie_geom.mechanics.forces import forces
    from lutherie_geom.mechanics.margins import margins
    from lutherie_geom.show import book_figures as draw
    from lutherie_geom.show import book_forces
    from lutherie_geom.show.panels_strength import margins_picture
    from lutherie_geom.show.style import to_svg

    t, f = travel(design), forces(design)
    made = {"side": draw.side_view(design, system), "gap": draw.gap_along_tongue(design, t, system),
            "action": draw.action_by_turns(design, t, system), "stops": draw.stops_of_travel(t),
            "heel": draw.heel_in_pocket(design, t, system), "plan": draw.plan_of_steering(design, system),
            "forces": book_forces.free_body(design, f, system), "clamps": book_forces.least_clamps(f),
            "margins": margins_picture(margins(design, estimate=True))}
    found = {}
    for name, figure in made.items():
        title = " ".join(figure.axes[0].get_title(loc="left").split())
        found[name] = (title, inline_svg(to_svg(figure), name, title))
    return found


def chapter_of(key: str) -> int:
    """Number of the chapter in which a reading stands: the first words of its key decide, the longest that fit."""
    fits = {g: k for k, chapter in enumerate(CHAPTERS) for g in chapter.groups if f"{key}.".startswith(f"{g}.")}
    return fits[max(fits, key=len)] if fits else chapter_of("inside.other")


def book_page(design: Any, readings: Readings, system: str) -> str:
    """The whole page as HTML text."""
    from markupsafe import Markup

    from lutherie_geom import __version__

    pictures = figures_of(design, system)
    order = {r.key: k for k, r in enumerate(readings.worst_first)}

    def entry(r: Reading) -> dict[str, Any]:
        heads, rows = show_table(r, system) if r.columns else ([], [])
        # A column of words stands left, a column of numbers right.
        words = [k == 0 or any(isinstance(row[k], str) and row[k] != "-" for row in r.value) for k in range(len(heads))]
        told, source = _folded(show_words(r.definition, system))
        return {"key": r.key, "words": show_words(r.words, system), "definition": told, "source": source,
                "heads": heads, "rows": rows, "left": words,
                "value": "" if r.columns else show_value(r.value, r.unit, system),
                "state": r.verdict.state if r.verdict else "", "sign": STATES[r.verdict.state] if r.verdict else "",
                "judged": verdict_words(r, system),
                "cure": show_words(r.verdict.cure, system) if r.verdict and r.verdict.state != "good" else ""}

    def standing(k: int, c: Chapter) -> list[Reading]:
        found = [r for r in readings if chapter_of(r.key) == k]
        return sorted(found, key=lambda r: order.get(r.key, len(order))) if c.worst_first else found

    chapters = [{"title": c.title, "lead": c.lead, "cautions": c.cautions,
                 "figures": [{"title": pictures[f][0], "svg": Markup(pictures[f][1])} for f in c.figures],
                 "readings": [entry(r) for r in standing(k, c)]} for k, c in enumerate(CHAPTERS)]
    worst = [entry(r) for r in readings.worst_first]
    count = {s: sum(1 for w in worst if w["state"] == s) for s in STATES}
    return filled(
        "lutherie_geom.show", "templates", "joint_book.html",
        design=design, chapters=chapters, worst=worst, count=count, system=system, left_out=LEFT_OUT, signs=STATES,
        verdict=_in_short(count), version=__version__, about=_paragraph(design, system))


def _folded(definition: str) -> tuple[str, str]:
    """What stands open, and what is folded away: formulas and sources."""
    cut = re.search(r" (?=(Formula|Source): )", definition)
    return (definition[:cut.start()], definition[cut.end():]) if cut else (definition, "")


def _in_short(count: dict[str, int]) -> str:
    if count["fails"]:
        return f"This joint does not work as drawn: {count['fails']} of its {sum(count.values())} judged readings fail."
    if count["tight"]:
        return f"This joint works. {count['tight']} of its {sum(count.values())} judged readings are tight."
    return f"This joint works, with room in all of its {sum(count.values())} judged readings."


def _paragraph(design: Any, system: str) -> str:
    b, s, t = design.board, design.strings, design.tilt_screw
    # The nearest 64th says nothing about a thread: threads are counted to the inch.
    pitch = f"{t.pitch:.4g} mm pitch" if system == "mm" else f"{25.4 / t.pitch:.4g} threads to the inch"
    return (f"A bolted neck joint that can be re-set with a hex key: {design.count} strings, scale "
            f"{show_value(s.scale, 'mm', system)}, joint at fret {b.joint_fret} of {b.last_fret}, {design.handed}-handed. "
            f"The neck turns on two ball heads {show_value(design.pivot.spacing, 'mm', system)} apart; a tilt screw of "
            f"{pitch} in the heel (receiver: {t.receiver}) sets the action. Top: "
            f"{'flat' if design.body.dome == 'flat' else 'domed, radius ' + show_value(design.body.dome_radius, 'mm', system)}.")


# ------------------------------------------------------------------------------------------------------------ files
def write_book(design: Any, folder: str | Path, name: str, system: str | None = None,
               readings: Readings | None = None) -> tuple[Path, Path]:
    """Write ``name``.html and ``name``.json into ``folder``; lengths on the page in ``system`` (default: the design's).

    Both are made in full before the first is written, and each is moved into place whole.
    """
    from lutherie_geom.readings import read

    readings = readings or read(design)
    page = book_page(design, readings, system or design.units)
    data = json.dumps(book_json(design, readings), indent=1, ensure_ascii=False, allow_nan=False) + "\n"
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    places = folder / f"{name}.html", folder / f"{name}.json"
    waiting: list[tuple[str, Path]] = []
    try:
        for place, text in zip(places, (page, data), strict=True):
            handle, fresh = tempfile.mkstemp(dir=folder, prefix=f".{name}.", suffix=".part")
            waiting.append((fresh, place))
            with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as f:
                f.write(text)
            os.chmod(fresh, 0o644)
        for fresh, place in waiting:
            os.replace(fresh, place)
    finally:
        for fresh, _ in waiting:
            Path(fresh).unlink(missing_ok=True)
    return places
