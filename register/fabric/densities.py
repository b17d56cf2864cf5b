"""What materials weigh: densities as ranges, each with its source.

A casting, a forging or a plank is never quite the material of a table, so a density has a low and a high, and a mass
worked out with it has them too. "From memory" is said where no printed table was at hand.
"""

from __future__ import annotations

from typing import NamedTuple

from register.fabric.interval import Interval


class Material(NamedTuple):
    """density: kg/m³, low, best, high."""

    key: str
    words: str
    density: Interval
    source: str


TABLES = "general engineering tables of densities"
MEMORY = "from memory, no printed table at hand"
EUROCODE = "EN 1991-1-1, table A.4 (from memory)"

_ROWS = (
    ("steel", "Steel, rolled", 7750, 7850, 8050, f"7.85 kg/dm³: EN 10220; spread of the alloys: {TABLES}"),
    ("cast-steel", "Cast steel", 7750, 7800, 7850, f"7,800: {TABLES}; the spread {MEMORY}"),
    ("wrought-iron", "Wrought iron", 7600, 7700, 7800,
     f"480 lb/ft³ is 7,689: engineers' handbooks (from memory); 76.0 kN/m³ is 7,750: {EUROCODE}; the spread is our own"),
    ("grey-iron", "Cast iron, grey", 6600, 7200, 7400, f"{TABLES}; 450 lb/ft³ is 7,208: engineers' handbooks (from memory)"),
    ("cast-iron", "Cast iron, not known which", 6800, 7200, 7800, TABLES),
    ("malleable-iron", "Cast iron, malleable", 7200, 7300, 7400, TABLES),
    ("copper", "Copper", 8870, 8930, 8940, f"8,930 to 8,940: {TABLES}; 87 kN/m³ is 8,872: {EUROCODE}"),
    ("brass", "Brass", 8400, 8500, 8730, f"cast 8,400 to 8,700, rolled 8,430 to 8,730: {TABLES}"),
    ("gunmetal", "Gunmetal (88/10/2)", 8700, 8750, 8800, MEMORY),
    ("bronze", "Bronze, not known which", 7400, 8800, 8900, f"8 to 14 % tin: {TABLES}"),
    ("phosphor-bronze", "Phosphor bronze", 8780, 8850, 8920, TABLES),
    ("lead-bronze", "Lead bronze", 7700, 8200, 8700, TABLES),
    ("white-metal-tin", "White metal, tin base", 7100, 7272, 7400, f"7,100 and 7,272: {TABLES}; the high {MEMORY}"),
    ("white-metal-lead", "White metal, lead base", 9130, 10000, 10600, TABLES),
    ("lead", "Lead", 11340, 11340, 11430, f"11,340: {TABLES}; 112 kN/m³ is 11,421: {EUROCODE}"),
    ("tin", "Tin", 7280, 7280, 7280, TABLES),
    ("zinc", "Zinc", 7135, 7135, 7340, f"7,135: {TABLES}; 72 kN/m³ is 7,342: {EUROCODE}"),
    ("aluminium", "Aluminium", 2700, 2712, 2760, f"2,712: {TABLES}; 27.0 kN/m³ is 2,753: {EUROCODE}"),
    ("grp", "Glass-reinforced plastic", 1500, 1800, 1900, MEMORY),
    ("teak", "Teak, seasoned", 610, 660, 750, MEMORY),
    ("oak", "Oak, seasoned", 600, 720, 770, MEMORY),
    ("ash", "Ash, seasoned", 610, 680, 750, f"{MEMORY}; the spread is our own"),
    ("mahogany", "Mahogany, seasoned", 500, 560, 620, f"{MEMORY}; the spread is our own"),
    ("pitch-pine", "Pitch pine, seasoned", 600, 670, 740, f"{MEMORY}; the spread is our own"),
    ("glass", "Glass", 2450, 2500, 2600, f"{MEMORY}; the spread is our own"),
    ("firebrick", "Firebrick", 1800, 2000, 2200, f"{MEMORY}; the spread is our own"),
    ("mineral-wool", "Mineral wool", 60, 100, 150, f"{MEMORY}; the spread is our own"),
)  # fmt: skip

MATERIALS: dict[str, Material] = {
    key: Material(key, words, Interval(low, best, high), source)
    for key, words, low, best, high, source in _ROWS
}
"""A further material is a row. Masses from these are estimates for the record, never for lifting."""
