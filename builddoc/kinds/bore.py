"""A smooth line of a given bore, whatever it is made of."""

from __future__ import annotations

from pydantic import Field

from .. import quantities
from ..circuit import Conduit
from ..fields import Length
from ..standards import NONE, Choices
from .conduit import ConduitKind, ConduitParams


class BoreParams(ConduitParams):
    bore: Length = Field(description="Inside diameter.")


class Bore(ConduitKind[BoreParams]):
    key = "bore"
    summary = "Smooth line of a given bore, made of something no table knows; its rating must be given to be checked."
    example = "{route: bank.T > tank, bore: 19 mm, length: 1.2 m, rating: 16 bar}"
    Params = BoreParams

    def resolve(self, params: BoreParams, choices: Choices = NONE) -> Conduit:
        label = f"line, bore {quantities.show(params.bore, 'length')}"
        return Conduit("bore", label, params.bore, params.roughness or 0.0, params.rating)


CONDUIT = Bore()
