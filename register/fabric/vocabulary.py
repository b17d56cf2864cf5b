"""The words a field may hold. The exchange format and the database borrow the same tuples."""

from __future__ import annotations

VEHICLE_KINDS = ("locomotive", "carriage", "wagon", "tender", "other")
VISIBILITY = ("in view", "close inspection", "hidden")
SIGNIFICANCE = ("exceptional", "considerable", "some", "little", "intrusive")
SAFETY = ("pressure", "brakes", "running gear", "lifting", "electrical", "fire")
HAZARDS = ("asbestos", "lead paint", "chromate", "mercury", "pcb", "radioactive paint", "other")
MASS_BASIS = ("weighed", "calculated", "estimated")
DISPOSAL = ("none", "scrapped", "destroyed", "lost", "transferred")
ACCESS = ("public", "restricted")
STATES = ("draft", "accepted", "withdrawn")
STATUSES = ("original", "restored", "replica", "modern substitute")
PATTERN_BASIS = ("survivor", "drawing", "photograph", "conjecture")
SOURCE_KINDS = (
    "mark",
    "drawing",
    "ledger",
    "test report",
    "photograph",
    "publication",
    "testimony",
    "inference",
)
EVENT_KINDS = (
    "rebuilt",
    "overhaul",
    "withdrawn",
    "preserved",
    "accident",
    "owner",
    "renumbered",
    "livery",
    "examination",
    "other",
)
