"""What standards and the trade fix by name: sizes, ratings, losses, guide figures, each with its source and status.

Every look-up returns a row with `title`, `source`, `edition`, `status` ("seen", "from memory", "common practice"),
`notes` (sentences that belong beside the figure) and `conflict` (what other tables say). What is not listed raises
`NotListed(message, choices)`. SI units throughout; sizes are named as the trade names them.
"""

from .choices import NONE, Choices
from .fittings import CouplerRow, FittingRating, fitting_material, fitting_rating, flange_rating, screw_coupler
from .guides import (
    FilterGuide,
    GaugeGuide,
    InletLimits,
    ReservoirGuide,
    TankCooling,
    VelocityGuide,
    filter_guide,
    gauge_guide,
    pump_inlet,
    reservoir_guide,
    tank_cooling,
    velocity_guide,
)
from .hoses import HoseRow, construction, constructions, hose
from .losses import LossRow, RoughnessRow, forms, loss, roughness
from .oils import GradeRow, PropertyRow, Window, grades, iso_vg, oil_property, viscosity_window
from .pipes import PipeRating, PipeRow, pipe, pipe_rating
from .tables import Listed, NotListed, Table, catalogue
from .tubes import TubeRow, tube

__all__ = [
    "NONE",
    "Choices",
    "CouplerRow",
    "FilterGuide",
    "FittingRating",
    "GaugeGuide",
    "GradeRow",
    "HoseRow",
    "InletLimits",
    "Listed",
    "LossRow",
    "NotListed",
    "PipeRating",
    "PipeRow",
    "PropertyRow",
    "ReservoirGuide",
    "RoughnessRow",
    "Table",
    "TankCooling",
    "TubeRow",
    "VelocityGuide",
    "Window",
    "catalogue",
    "construction",
    "constructions",
    "filter_guide",
    "fitting_material",
    "fitting_rating",
    "flange_rating",
    "forms",
    "gauge_guide",
    "grades",
    "hose",
    "iso_vg",
    "loss",
    "oil_property",
    "pipe",
    "pipe_rating",
    "pump_inlet",
    "reservoir_guide",
    "roughness",
    "screw_coupler",
    "tank_cooling",
    "tube",
    "velocity_guide",
    "viscosity_window",
]
