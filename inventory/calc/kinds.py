"""The kinds of things that can happen to stock, in the words of the bench.

`balanced`: a transformation, whose masses sum to zero with named losses.
`uses`: takes from lots for the work or for sale, so that those lots must be released (or serve that work).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Kind:
    word: str
    balanced: bool = False
    uses: bool = False


KINDS: dict[str, Kind] = {
    "received": Kind("Received"),
    "adopted": Kind("Found on the shelf"),
    "harvested": Kind("Harvested"),
    "moved": Kind("Moved"),
    "counted": Kind("Put right"),
    "written_off": Kind("Written off"),
    "made_up": Kind("Made up", balanced=True, uses=True),
    "prepared": Kind("Prepared", balanced=True, uses=True),
    "charged": Kind("Charged", balanced=True, uses=True),
    "topped_up": Kind("Topped up", balanced=True, uses=True),
    "sampled": Kind("Sampled", balanced=True),
    "split": Kind("Split", balanced=True),
    "joined": Kind("Joined", balanced=True, uses=True),
    "spilled": Kind("Spilled", balanced=True),
    "broken": Kind("Broken", balanced=True),
    "gone_bad": Kind("Gone bad", balanced=True),
    "percolated": Kind("Percolated", balanced=True, uses=True),
    "pressed": Kind("Pressed", balanced=True, uses=True),
    "simmered": Kind("Simmered", balanced=True, uses=True),
    "reduced": Kind("Reduced", balanced=True, uses=True),
    "combined": Kind("Combined", balanced=True, uses=True),
    "adjusted": Kind("Adjusted", balanced=True, uses=True),
    "settled": Kind("Settled", balanced=True, uses=True),
    "filtered": Kind("Filtered", balanced=True, uses=True),
    "laid_out": Kind("Laid out to dry", balanced=True),
    "dried": Kind("Dried", balanced=True),
    "measured": Kind("Measured"),
    "weighed": Kind("Weighed", balanced=True),
    "bottled": Kind("Bottled", balanced=True, uses=True),
    "reserved": Kind("Kept as reserve"),
    "dispatched": Kind("Dispatched", uses=True),
    "returned": Kind("Came back"),
    "undone": Kind("Undone"),
}

LOSSES: dict[str, str] = {
    "evaporated": "evaporated",
    "dried_off": "water dried off",
    "sample": "taken as a sample",
    "spilled": "spilled",
    "broken": "lost with a broken vessel",
    "gone_bad": "thrown away",
    "spent": "spent herb",
    "spent_and_steam": "spent herb and steam, not told apart",
    "sludge": "sludge and filter",
    "transfer": "left in vessel and funnel",
    "overfill": "overfill",
    "dust": "dust and grinding",
    "unexplained": "unexplained",
}
