"""What the words of the joint mean: the one table that the glossary is made from. No code here.

A row: word, quantity of ``theory.words`` (its symbol and unit are read there) or a unit or nothing, meaning, sign.
"""

from __future__ import annotations

__all__ = ["TITLES", "VIEWS"]

TITLES: dict[str, str] = {
    "joint": "The joint from the side, cut open on the centreline",
    "seat": "A ball head in its seat",
    "strings": "Strings, nut and saddle",
    "pocket": "The heel in its pocket",
    "tongue": "The tongue over the dome",
    "motions": "The three motions of the neck",
    "screw": "What a screw does",
}

VIEWS: dict[str, tuple[tuple[str, ...], ...]] = {
    "joint": (
        ("heel", "", "the deep end of the neck that stands in the pocket"),
        ("neck block", "", "the block inside the body that carries all three screws; its outer face is the pocket's floor"),
        ("pivot screw", "", "one of two set screws in the block, bass and treble, with a hollow end toward the heel"),
        ("pivot axis", "", "the line through the middles of the two ball heads; the neck tilts about it"),
        ("clamp screw", "", "the upper screw, level with the pivot axis: it draws the ball heads into their seats"),
        ("tilt screw", "", "the lower screw: turned, it lets the foot of the heel out or draws it in"),
        ("captive head", "", "the tilt screw's head: it turns in the block, and cannot leave it"),
        ("washer spring", "", "a spring behind the captive head that holds it on its face when the force reverses"),
        ("cover", "", "glued behind the spring, with a hole for the key; after that the head is captive for good"),
        ("receiver", "", "what the tilt screw is threaded into, in the heel: a dowel across (as here), or a rod along the heel"),
        ("arm", "arm", "distance of the tilt screw's line from the pivot axis; pitch over arm is the tilt for a turn"),
        ("fret plane", "", "the plane through the crowns of fret 1 and of the joint fret, on the centreline"),
        ("joint fret", "", "the fret that stands over the joint"),
        ("soundboard", "", "the top: domed, glued to the block"),
        ("joint face", "", "the block's outer face; body x is counted from it toward the tail"),
    ),
    "seat": (
        ("ball head", "", "a round-headed screw in the heel, or a true ball, that rests in a seat"),
        ("seat", "", "the hollow end of a pivot screw: cup rim, cone, hex socket or vee groove"),
        ("rim", "", "the edge of the hollow, on which a ball rests when the seat is a cup"),
        ("cone", "", "a seat hollowed to 90 degrees: the ball touches a ring inside it"),
        ("vee groove", "", "a seat that holds the ball in one direction and lets it slide in the other"),
        ("insert", "", "threaded sleeve in the block in which a pivot screw turns"),
        ("preload", "N", "pull of the clamp screw before the strings are on: it holds the balls down", "always positive"),
    ),
    "strings": (
        ("scale length", "scale", "twice the distance from nut to fret 12; frets are laid out from it"),
        ("nut", "", "where the strings leave the headstock; the board's zero"),
        ("saddle", "", "where they end on the bridge"),
        ("compensation", "mm", "how far the saddle stands behind the scale length, string by string", "positive: longer string"),
        ("neck angle", "alpha", "rise of the fret plane toward the bridge, against the line square to z",
         "positive: rises toward the bridge"),
        ("action", "action", "from a fret's crown to the underside of the string, square to the fret plane",
         "negative: the string lies on the fret"),
        ("relief", "mm", "hollow of the frets between fret 1 and the joint fret, at its middle", "positive: hollow"),
        ("crown", "", "top of a fret wire; crowns on the centreline make the fret plane"),
        ("nut height", "h_nut", "underside of the string at the nut, over the fret plane's crown arc there", "positive: above"),
    ),
    "pocket": (
        ("pocket", "", "shallow mortise through the sides in which the heel stands"),
        ("floor", "", "the pocket's ground, the block's outer face"),
        ("pocket's rim", "", "its edge at the outside of the body; past it a gap shows"),
        ("floor clearance", "clearance", "how far the heel's end face stands off the floor, at a height",
         "negative: the heel meets the floor"),
        ("reveal", "mm", "how much of the heel is still inside the pocket, at a height", "negative: a gap shows"),
        ("foot", "", "lowest point of the heel's end face"),
        ("cheek", "", "side of the heel inside the pocket"),
        ("side gap", "mm", "from a cheek to the pocket's wall", "negative: they meet"),
    ),
    "tongue": (
        ("tongue", "", "the neck past the joint, that floats over the top with the end of the board"),
        ("fingerboard", "", "the board that carries the frets"),
        ("tongue wood", "mm", "neck wood under the board, at a place along the tongue", "negative: cut through"),
        ("gap", "gap", "free height between soundboard and the tongue's underside, along the body's z",
         "positive when free, negative: the tongue is in the top"),
        ("dome", "", "the soundboard's curve; of radius R, highest at the apex"),
        ("taper", "taper", "slope of the tongue's underside along the body", "positive: rises toward the bridge"),
        ("tongue rod", "", "carbon-fibre rod let in at the glue line, half in the neck wood and half in the board"),
        ("glue line", "", "where board and neck wood meet"),
        ("fret slot", "", "saw cut for a fret: there the board's upper part carries no pull"),
    ),
    "motions": (
        ("tilt", "theta", "turn of the neck about the pivot axis", "positive: nut up, action up, tongue down"),
        ("yaw", "psi", "turn of the neck seen from above", "positive: nut to the bass side"),
        ("advance", "advance", "shift of the pivot axis out of the body", "positive: away from the tail"),
        ("spacing", "spacing", "distance of the two pivot screws"),
        ("centreline", "", "the middle of the body, from above; y is counted from it"),
        ("bass side", "", "the side of the lowest string; left when you look from the tail, right for a left-handed instrument"),
        ("treble side", "", "the side of the highest string; y is positive there"),
        ("edge margin", "mm", "from an outer string to the board's edge, at a fret", "negative: off the board"),
    ),
    "screw": (
        ("pitch", "pitch_tilt", "advance of a thread in one turn"),
        ("backlash", "mm", "play in a thread: the screw turns that far before it takes hold the other way", "always positive"),
        ("engagement", "mm", "length of thread that is held"),
        ("turn", "tilt", "one whole turn of the key, counted from the nominal place",
         "tilt screw: positive, action up; pivot screw: positive, its seat goes out toward the neck"),
        ("travel", "turn", "from the lowest to the highest turn at which nothing is violated"),
        ("stop", "turn", "what ends the travel on one side, at a turn of its own"),
        ("dead band", "N", "range of the tilt screw's force within which friction holds the neck still",
         "half its width either way"),
    ),
}
