"""Circuits and fences that tests of several hosts share; needs no host itself."""

from __future__ import annotations

GOOD = """\
machine: test clamp
oil: {grade: ISO VG 46, temperature: 45 °C}

parts:
  tank:  {kind: reservoir, volume: 30 L}
  pump:  {kind: pump, displacement: 10 cc/rev, speed: 2400 rpm, rating: 210 bar}
  valve: {kind: directional valve, centre: open, spools: [clamp], relief: 150 bar, rating: 210 bar}
  ram:   {kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm, rating: 210 bar}

lines:
  suction: {route: tank > pump.inlet, hose: suction, bore: 19 mm, length: 1 m}
  feed:    {route: pump.outlet > valve.P, hose: two-wire, size: -8, length: 0.8 m,
            fittings: [malleable iron tee 1/2 in class 150]}
  close:   {route: valve.clamp.A > ram.cap, hose: two-wire, size: -6, length: 1.5 m}
  open:    {route: valve.clamp.B > ram.rod, hose: two-wire, size: -6, length: 1.5 m}
  return:  {route: valve.T > tank, hose: one-wire, size: -8, length: 1 m}

states:
  idling: {}
  at its stop: {clamp: A, at stop: {ram: extended}}
"""
TYPO = GOOD.replace("10 cc/rev", "10 ccc/rev").replace("valve.P", "valve.Q")


def fenced(text: str = GOOD, indent: str = "", header: str = "circuit") -> str:
    lines = [f"```{header}", *text.rstrip("\n").split("\n"), "```"]
    return "\n".join(indent + line for line in lines) + "\n"
