"""The words in a list's column of "is it original?", and what each may mean.

A word says at most what somebody wrote down: ``original`` becomes a draft that waits for review, and a plain
"no" says nothing yet of replica or modern, of a donor or of a historic renewal, so it is asked.
"""

from __future__ import annotations

from dataclasses import dataclass

from register.exchange.flat_list.roles import fold

ORIGINAL, RESTORED, REPLICA, MODERN = "original", "restored", "replica", "modern substitute"
NOT_ASSESSED, WEAR, GONE, NEVER_HAD, ASK = "not assessed", "wear part", "gone", "never had", "ask"


@dataclass(frozen=True, slots=True)
class Meaning:
    name: str
    about: str
    words: str = ""


MEANINGS: dict[str, Meaning] = {
    meaning.name: meaning
    for meaning in (
        Meaning(
            ORIGINAL,
            "a draft, original, where nothing in the line speaks against it",
            "y|yes|orig|original|o|old|true|genuine|as built|first|ours|✓|✔",
        ),
        Meaning(
            RESTORED, "a draft, restored; how much survives is asked", "restored|repaired|rebuilt|refurbished"
        ),
        Meaning(REPLICA, "a draft, replica", "replica|made to pattern|new to pattern"),
        Meaning(MODERN, "a draft, modern substitute", "modern|modern substitute|substitute"),
        Meaning(
            NOT_ASSESSED,
            "no statement: it is looked at later",
            "?|??|y?|yes?|orig?|original?|n?|no?|prob|probably|poss|possibly|maybe|perhaps|unknown|not "
            "known|dk|tbc|not sure|unsure",
        ),
        Meaning(
            WEAR,
            "a position renewed as a matter of course; no statement is wanted",
            "wear|wear part|wearing|consumable|consumables",
        ),
        Meaning(GONE, "it was on the vehicle, and is lost", "gone|lost|missing|scrapped"),
        Meaning(NEVER_HAD, "it was never on the vehicle: no part", "never had|never fitted|never|not fitted"),
        Meaning(
            ASK,
            "it says too little: asked",
            "n|no|new|rep|repl|copy|replaced|not orig|not original|false|part|partly|some|mixed|half|both|x",
        ),
    )
}
_DEFAULT = {word: meaning.name for meaning in MEANINGS.values() for word in meaning.words.split("|") if word}
HINTS = {"rep": REPLICA, "repl": REPLICA, "copy": REPLICA}
"""What a word that must be asked about probably means."""
PARTLY = frozenset({"part", "partly", "some", "mixed", "half", "both"})
"""Words that say: old and new in one line."""


def meaning_of(word: str) -> str:
    """The meaning that a word has unless somebody says otherwise; a word that is not known is asked about."""
    plain = fold(word)
    if not plain:
        return NOT_ASSESSED
    return (
        _DEFAULT.get(plain)
        or _DEFAULT.get(plain.rstrip("!."))
        or (NOT_ASSESSED if plain.endswith("?") else ASK)
    )


VISIBLE = {
    "y": "in view",
    "yes": "in view",
    "in view": "in view",
    "visible": "in view",
    "outside": "in view",
    "seen": "in view",
    "close": "close inspection",
    "close inspection": "close inspection",
    "if you look": "close inspection",
    "n": "hidden",
    "no": "hidden",
    "hidden": "hidden",
    "not visible": "hidden",
    "inside": "hidden",
    "unseen": "hidden",
}
SAID_AS_BUILT = frozenset(
    {
        "as blt",
        "as built",
        "as-built",
        "when built",
        "since built",
        "from new",
        "built",
        "ex works",
        "ex-works",
    }
)
NO_ANSWER = frozenset({"?", "??", "-", "–", "n/a", "na", "n/k", "unknown", "not known", "dk", "tbc"})
ON_THE_VEHICLE = frozenset(
    {
        "fitted",
        "on",
        "on vehicle",
        "on wagon",
        "on loco",
        "on engine",
        "on coach",
        "in place",
        "in use",
        "y",
        "yes",
    }
)
"""In a column of places: it is where it belongs."""
SAFETY_OF_SECTION = (
    ("brak", "brakes"),
    ("running gear", "running gear"),
    ("wheel", "running gear"),
    ("axle", "running gear"),
    ("boiler", "pressure"),
    ("steam", "pressure"),
    ("electric", "electrical"),
    ("gas", "fire"),
)
"""What work on the things of an assembly can touch, by its name."""
