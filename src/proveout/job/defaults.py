"""What is taken where a person leaves a field out, each with the reason. Lengths in mm."""

from collections.abc import Mapping
from typing import Final

from proveout.quantity import System

# Sheets come with bruised and out-of-square edges, and a cutter breaks out of a narrow rim. Common practice.
EDGE_MARGIN: Final = 6.0

# Half an inch between the highest thing on the bed and a cutter that travels. Common practice.
SAFE_ABOVE: Final = 12.7

# The least that may be asked for: bolts and readings are off by that much. The project's own choice.
LEAST_SAFE_ABOVE: Final = 2.0

# Through cuts go 0.1 to 0.5 mm below the thickest reading: enough for an uneven plate, short of a furrow.
# Common practice.
THROUGH_ALLOWANCE: Final = 0.3

# A plate that is skimmed now and then stands this much. Common practice.
CUT_ALLOWANCE: Final = 0.5

# Metal that is level with the plate's face is the unfavourable end: nothing may be cut above it.
DEPTH_BELOW_FACE: Final = 0.0

# What a light gantry's controller is commonly left at. Common practice.
CORNER_DEVIATION: Final = 0.02

# Small controllers take lines of 80 characters and less room than that in their buffers: a cautious length.
LINE_LIMIT: Final = 72

# From standing to full speed, small spindles and routers. Common practice; a longer wait never hurts.
SPIN_UP: Final = 3.0

# A knob looks the same each lobe on, so turning it wins no room; a bar or block may lie along or across.
# Degrees.
KNOB_ROTATIONS: Final = (0.0,)
BAR_ROTATIONS: Final = (0.0, 90.0)

# A coupon's recesses shall lie to the grain as the knobs' do, so it is not turned. Degrees.
COUPON_ROTATIONS: Final = (0.0,)

# Where nothing is said of a flat cutter's end, it is taken not to cut at its centre, and is never plunged.
# A drill always does.
CENTRE_CUTTING: Final = False

# The jobber drill's point. Common practice; a brad point is flatter and says so. Degrees.
DRILL_POINT: Final = 118.0

# Most small router cutters are.
MADE_OF: Final = "carbide"

# An up-cut spiral lifts the work, which is the unfavourable end for the hold-down.
SPIRAL: Final = "up"

# Where the zero is set, if only its height is stated.
CORNER: Final = "left front"

# A hole that a bolt drops through without a search. ISO 273 calls it medium.
CLEARANCE: Final = "normal"

# Pressed in with a vice, taken out with a tap. The project's own choice.
FIT: Final = "light press"
PIN_FIT: Final = "snug"

# A stop is a block of so much along the edge, and away from it. The project's own choice.
STOP_WIDTH: Final = 20.0
STOP_DEPTH: Final = 20.0

# Inch shops say so; everything else is metric.
UNITS: Final = "mm"

# What a drawing's place on the sheet is said of: its own zero, which is most programs' zero too.
ANCHOR: Final = "zero"

# How far walls and floors of somebody's program may stray: as for walls that only let something through.
TOLERANCE: Final = 0.1

# Sizes on a coupon and what lies between them: a twentieth of a millimetre can be felt in a fit and cut by a
# light gantry, and five of them span two fit classes. The project's own choice.
STEPS: Final = 5
STEP: Final[Mapping[System, float]] = {"mm": 0.05, "in": 0.002 * 25.4}

# Thin coats of a finish that is wiped on. Common practice; the tin knows better.
COATS: Final = 2

# A light gantry comes back to a place within a few hundredths. Common practice, no source.
REPEATABILITY: Final = 0.02

# Over 300 mm: what one sees with a good square and a feeler gauge. Common practice, no source.
OUT_OF_SQUARE: Final = 0.1

# Air of a workshop indoors, and of heated rooms, where nothing was said of it; per cent and deg C. The
# project's own choice.
CUT_HUMIDITY: Final = 50.0
USE_HUMIDITY: Final = (40.0, 60.0)
AIR_TEMPERATURE: Final = 20.0

# The shop book's file, beside the shop file. The project's own choice.
BOOK: Final = "shop-book.sqlite"

# A flaw that nobody named; a part that a person put somewhere lies as it was drawn.
FLAW: Final = "flaw"
PLACE_TURN: Final = 0.0
