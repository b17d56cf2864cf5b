"""Short lists of positions to begin a vehicle with, by its kind: our own.

Common practice, no source: which assemblies a vehicle of a kind has, what of it is seen, what is renewed as
a matter of course and what work on it can touch are as people of the trade would say them, from memory, and
are to be corrected on the vehicle. No significance and no mass is set: both are for whoever looks at the
vehicle herself.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

BASIS = "common practice, no source"
"""To be shown wherever a list is offered."""

SEEN, CLOSE, HIDDEN = "in view", "close inspection", "hidden"
WEAR = True


@dataclass(frozen=True, slots=True)
class StarterPosition:
    """stem: the end of the position's id; parent: the stem of the position above, "" for none; safety: as
    in the exchange format, ";" between."""

    stem: str
    parent: str
    name: str
    visibility: str
    safety: str = ""
    wear: bool = False


@dataclass(frozen=True, slots=True)
class StarterList:
    """name: to ask for it by; title: to choose it by; kind: the kind of vehicle that it is for."""

    name: str
    title: str
    kind: str
    positions: tuple[StarterPosition, ...]
    basis: str = BASIS

    def texts(self, vehicle_id: str, prefix: str) -> Iterator[dict[str, str]]:
        """Rows of the positions table as texts, those above first; ids are the prefix, a hyphen and the
        stem."""
        for one in self.positions:
            yield {
                "position_id": f"{prefix}-{one.stem}",
                "vehicle_id": vehicle_id,
                "parent_id": f"{prefix}-{one.parent}" if one.parent else "",
                "name": one.name,
                "visibility": one.visibility,
                "wear_part": "yes" if one.wear else "no",
                "safety": one.safety,
            }


P = StarterPosition

_WHEELED_UNDERFRAME = (
    P("UF", "", "Underframe", CLOSE, "running gear"),
    P("UF-SOLE-L", "UF", "Solebar, left-hand", SEEN, "running gear"),
    P("UF-SOLE-R", "UF", "Solebar, right-hand", SEEN, "running gear"),
    P("UF-HEAD-1", "UF", "Headstock, end 1", SEEN, "running gear"),
    P("UF-HEAD-2", "UF", "Headstock, end 2", SEEN, "running gear"),
    P("UF-CROSS", "UF", "Cross members and bracing", HIDDEN),
    P("UF-BUFF", "UF", "Buffers", SEEN, "running gear"),
    P("UF-DRAW", "UF", "Drawgear and couplings", SEEN, "running gear"),
    P("RG", "", "Running gear", CLOSE, "running gear;lifting"),
    P("RG-WS-1", "RG", "Wheelset, end 1", SEEN, "running gear;lifting"),
    P("RG-WS-2", "RG", "Wheelset, end 2", SEEN, "running gear;lifting"),
    P("RG-TYRE", "RG", "Tyres", SEEN, "running gear", WEAR),
    P("RG-BOX", "RG", "Axleboxes", SEEN, "running gear"),
    P("RG-BRG", "RG", "Bearings", HIDDEN, "running gear", WEAR),
    P("RG-SPR", "RG", "Springs and their hangers", SEEN, "running gear;lifting"),
    P("RG-GUARD", "RG", "Axleguards", SEEN, "running gear"),
)
_BRAKES = (
    P("BR", "", "Brakes", CLOSE, "brakes"),
    P("BR-CYL", "BR", "Brake cylinders and reservoirs", HIDDEN, "brakes;pressure"),
    P("BR-RIG", "BR", "Brake rigging", CLOSE, "brakes"),
    P("BR-BLOCK", "BR", "Brake blocks", SEEN, "brakes", WEAR),
    P("BR-HAND", "BR", "Hand brake", SEEN, "brakes"),
)
_MARKS = (
    P("PLATES", "", "Number and builder's plates", SEEN),
    P("PAINT", "", "Paint and lettering", SEEN, "", WEAR),
)

_STEAM = (
    P("FR", "", "Frames", CLOSE, "running gear"),
    P("FR-L", "FR", "Main frame plate, left-hand", CLOSE, "running gear"),
    P("FR-R", "FR", "Main frame plate, right-hand", CLOSE, "running gear"),
    P("FR-STR", "FR", "Frame stretchers", HIDDEN),
    P("FR-BEAM-F", "FR", "Buffer beam, leading", SEEN, "running gear"),
    P("FR-BEAM-B", "FR", "Buffer beam, trailing", SEEN, "running gear"),
    P("FR-BUFF", "FR", "Buffers and drawgear", SEEN, "running gear"),
    P("WH", "", "Wheels and axles", SEEN, "running gear;lifting"),
    P("WH-LEAD", "WH", "Leading wheelset", SEEN, "running gear;lifting"),
    P("WH-DRIVE", "WH", "Driving wheelset", SEEN, "running gear;lifting"),
    P("WH-TRAIL", "WH", "Trailing wheelset", SEEN, "running gear;lifting"),
    P("WH-TYRE", "WH", "Tyres", SEEN, "running gear", WEAR),
    P("WH-BOX", "WH", "Axleboxes", CLOSE, "running gear"),
    P("WH-BRG", "WH", "Bearings", HIDDEN, "running gear", WEAR),
    P("WH-SPR", "WH", "Springs and their hangers", CLOSE, "running gear;lifting"),
    P("CM", "", "Cylinders and motion", CLOSE, "pressure;running gear"),
    P("CM-CYL-L", "CM", "Cylinder, left-hand", CLOSE, "pressure;lifting"),
    P("CM-CYL-R", "CM", "Cylinder, right-hand", CLOSE, "pressure;lifting"),
    P("CM-RODS", "CM", "Coupling and connecting rods", SEEN, "running gear"),
    P("CM-GEAR", "CM", "Valve gear", HIDDEN),
    P("BO", "", "Boiler", HIDDEN, "pressure;lifting;fire"),
    P("BO-BARREL", "BO", "Barrel", HIDDEN, "pressure;lifting"),
    P("BO-OUTER", "BO", "Outer firebox", HIDDEN, "pressure;lifting"),
    P("BO-INNER", "BO", "Inner firebox", HIDDEN, "pressure;fire"),
    P("BO-TUBES", "BO", "Tubes", HIDDEN, "pressure", WEAR),
    P("BO-GRATE", "BO", "Firebars", HIDDEN, "fire", WEAR),
    P("BO-SMOKE", "BO", "Smokebox", SEEN, "fire"),
    P("BO-CHIM", "BO", "Chimney", SEEN),
    P("BO-DOME", "BO", "Dome cover", SEEN),
    P("BO-FIT", "BO", "Boiler fittings", CLOSE, "pressure"),
    P("BO-CLEAD", "BO", "Lagging and clothing", SEEN),
    P("CAB", "", "Cab and platework", SEEN),
    P("CAB-SHEET", "CAB", "Cab sheets and roof", SEEN),
    P("CAB-FLOOR", "CAB", "Running plates and splashers", SEEN),
    P("TANK", "", "Tanks and bunker", SEEN, "lifting"),
    P("BR", "", "Brakes", CLOSE, "brakes"),
    P("BR-RIG", "BR", "Brake gear", CLOSE, "brakes"),
    P("BR-BLOCK", "BR", "Brake blocks", SEEN, "brakes", WEAR),
    *_MARKS,
)
_ENGINED = (
    P("FR", "", "Frames", CLOSE, "running gear"),
    P("FR-MAIN", "FR", "Main frames", CLOSE, "running gear"),
    P("FR-BEAM", "FR", "Buffer beams", SEEN, "running gear"),
    P("FR-BUFF", "FR", "Buffers and drawgear", SEEN, "running gear"),
    P("WH", "", "Wheels and axles", SEEN, "running gear;lifting"),
    P("WH-SETS", "WH", "Wheelsets", SEEN, "running gear;lifting"),
    P("WH-TYRE", "WH", "Tyres", SEEN, "running gear", WEAR),
    P("WH-BOX", "WH", "Axleboxes", CLOSE, "running gear"),
    P("WH-SPR", "WH", "Springs and their hangers", CLOSE, "running gear;lifting"),
    P("PW", "", "Power unit and transmission", HIDDEN, "lifting;fire"),
    P("PW-ENG", "PW", "Engine, or main traction supply", HIDDEN, "lifting;fire;electrical"),
    P("PW-TRANS", "PW", "Gearbox, or generator", HIDDEN, "lifting;electrical"),
    P("PW-DRIVE", "PW", "Final drives, or traction motors", HIDDEN, "running gear;lifting;electrical"),
    P("PW-COOL", "PW", "Radiator and cooling gear", CLOSE),
    P("PW-TANK", "PW", "Fuel tank", CLOSE, "fire"),
    P("PW-EXH", "PW", "Exhaust", SEEN, "fire"),
    P("EL", "", "Electrical equipment", HIDDEN, "electrical"),
    P("EL-CTRL", "EL", "Control gear and wiring", HIDDEN, "electrical"),
    P("EL-BATT", "EL", "Batteries", HIDDEN, "electrical", WEAR),
    P("EL-LAMP", "EL", "Lamps", SEEN, "electrical"),
    P("BODY", "", "Bodywork", SEEN),
    P("BODY-BONN", "BODY", "Casings and doors", SEEN),
    P("BODY-CAB", "BODY", "Cab", SEEN),
    P("BODY-DESK", "BODY", "Controls and gauges", CLOSE),
    P("BR", "", "Brakes", CLOSE, "brakes"),
    P("BR-COMP", "BR", "Compressor or exhauster", HIDDEN, "brakes;pressure"),
    P("BR-RES", "BR", "Reservoirs", HIDDEN, "brakes;pressure"),
    P("BR-RIG", "BR", "Brake gear", CLOSE, "brakes"),
    P("BR-BLOCK", "BR", "Brake blocks", SEEN, "brakes", WEAR),
    *_MARKS,
)
_CARRIAGE = (
    *_WHEELED_UNDERFRAME,
    *_BRAKES,
    P("BO", "", "Body", SEEN),
    P("BO-FRAME", "BO", "Body framing", HIDDEN),
    P("BO-SIDE-L", "BO", "Side panels, left-hand", SEEN),
    P("BO-SIDE-R", "BO", "Side panels, right-hand", SEEN),
    P("BO-ENDS", "BO", "End panels", SEEN),
    P("BO-ROOF", "BO", "Roof", SEEN),
    P("BO-ROOFC", "BO", "Roof covering", CLOSE, "", WEAR),
    P("BO-FLOOR", "BO", "Floor", CLOSE),
    P("BO-DOORS", "BO", "Doors", SEEN),
    P("BO-DFURN", "BO", "Door locks, handles and hinges", SEEN),
    P("BO-GLASS", "BO", "Windows and glass", SEEN),
    P("BO-STEP", "BO", "Footboards and grab rails", SEEN),
    P("IN", "", "Interior", CLOSE),
    P("IN-PART", "IN", "Partitions and panelling", CLOSE),
    P("IN-SEAT", "IN", "Seats", CLOSE),
    P("IN-TRIM", "IN", "Seat coverings and blinds", CLOSE, "", WEAR),
    P("IN-LIGHT", "IN", "Lighting and heating", CLOSE, "electrical;fire"),
    *_MARKS,
)
_WAGON = (
    *_WHEELED_UNDERFRAME,
    *_BRAKES,
    P("BO", "", "Body", SEEN),
    P("BO-FLOOR", "BO", "Floor", CLOSE),
    P("BO-SIDES", "BO", "Sides", SEEN),
    P("BO-ENDS", "BO", "Ends", SEEN),
    P("BO-DOORS", "BO", "Doors", SEEN),
    P("BO-IRON", "BO", "Body ironwork", SEEN),
    P("BO-ROOF", "BO", "Roof", SEEN),
    *_MARKS,
)
_TENDER = (
    P("FR", "", "Frames", CLOSE, "running gear"),
    P("FR-MAIN", "FR", "Main frames", CLOSE, "running gear"),
    P("FR-DRAG", "FR", "Dragbox and drawgear to the engine", HIDDEN, "running gear"),
    P("FR-BEAM", "FR", "Buffer beam", SEEN, "running gear"),
    P("FR-BUFF", "FR", "Buffers and drawgear", SEEN, "running gear"),
    P("WH", "", "Wheels and axles", SEEN, "running gear;lifting"),
    P("WH-LEAD", "WH", "Leading wheelset", SEEN, "running gear;lifting"),
    P("WH-MID", "WH", "Middle wheelset", SEEN, "running gear;lifting"),
    P("WH-TRAIL", "WH", "Trailing wheelset", SEEN, "running gear;lifting"),
    P("WH-TYRE", "WH", "Tyres", SEEN, "running gear", WEAR),
    P("WH-BOX", "WH", "Axleboxes", SEEN, "running gear"),
    P("WH-SPR", "WH", "Springs and their hangers", SEEN, "running gear;lifting"),
    P("TK", "", "Tank and bunker", SEEN, "lifting"),
    P("TK-SHELL", "TK", "Tank plates", SEEN, "lifting"),
    P("TK-COAL", "TK", "Coal space", SEEN),
    P("TK-FILL", "TK", "Filler, water pick-up and valves", CLOSE),
    P("TK-FOOT", "TK", "Footplate, steps and handrails", SEEN),
    P("BR", "", "Brakes", CLOSE, "brakes"),
    P("BR-RIG", "BR", "Brake gear", CLOSE, "brakes"),
    P("BR-BLOCK", "BR", "Brake blocks", SEEN, "brakes", WEAR),
    P("BR-HAND", "BR", "Hand brake", SEEN, "brakes"),
    *_MARKS,
)
_OTHER = (
    P("FR", "", "Frame", CLOSE, "running gear"),
    P("FR-MAIN", "FR", "Main members", CLOSE, "running gear"),
    P("FR-ENDS", "FR", "Ends and drawgear", SEEN, "running gear"),
    P("RG", "", "Running gear", CLOSE, "running gear;lifting"),
    P("RG-WS", "RG", "Wheelsets", SEEN, "running gear;lifting"),
    P("RG-BOX", "RG", "Axleboxes and bearings", CLOSE, "running gear", WEAR),
    P("RG-SPR", "RG", "Springs", CLOSE, "running gear"),
    P("PW", "", "Power and working gear", CLOSE, "lifting"),
    P("PW-SRC", "PW", "Engine, boiler or motor", HIDDEN, "lifting;pressure;fire;electrical"),
    P("PW-GEAR", "PW", "Drive or working machinery", CLOSE, "lifting"),
    P("BODY", "", "Body or platform", SEEN),
    P("BODY-STR", "BODY", "Body structure", SEEN),
    P("BODY-FIT", "BODY", "Fittings", CLOSE),
    P("BR", "", "Brakes", CLOSE, "brakes"),
    P("BR-RIG", "BR", "Brake gear", CLOSE, "brakes"),
    P("BR-BLOCK", "BR", "Brake blocks", SEEN, "brakes", WEAR),
    *_MARKS,
)

STARTER_LISTS: dict[str, StarterList] = {
    one.name: one
    for one in (
        StarterList("steam-locomotive", "Locomotive, steam", "locomotive", _STEAM),
        StarterList("engined-locomotive", "Locomotive, diesel or electric", "locomotive", _ENGINED),
        StarterList("carriage", "Carriage", "carriage", _CARRIAGE),
        StarterList("wagon", "Wagon or van", "wagon", _WAGON),
        StarterList("tender", "Tender", "tender", _TENDER),
        StarterList("other", "Another vehicle, such as a crane or a trolley", "other", _OTHER),
    )
}


def lists_for(kind: str) -> tuple[StarterList, ...]:
    """The lists for a kind of vehicle, the usual one first."""
    return tuple(one for one in STARTER_LISTS.values() if one.kind == kind)
