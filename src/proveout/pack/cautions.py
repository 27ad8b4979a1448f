"""The usual cautions, in one place: they stand on the setup sheet and in the report."""

from typing import Final

FIRST: Final = (
    "The maker's manuals of machine and cutters, local rules and a trained supervisor come before this "
    "sheet. The proof proves the programs against the model that was described, not against the real bench."
)

CAUTIONS: Final[tuple[str, ...]] = (
    "Eyes and ears: wear protection from the first turn of the spindle to the last.",
    "Dust: extract at the cutter; a respirator for fibreboard and irritating woods.",
    "Fire: a rubbing cutter starts smouldering. Watch the spoilboard and the dust bag, during and after.",
    "Loose pieces: clear offcuts and chips only when the spindle stands still.",
    "Never leave a running machine. Keep hands well away; no gloves, loose clothing or jewellery.",
    "Know where the emergency stop is, and that the cutter coasts after it.",
    "Isolate the machine before touching cutter, collet or clamps.",
    "If anything moves that should not: stop, don't reach in, redo the hold-down before going on.",
)
