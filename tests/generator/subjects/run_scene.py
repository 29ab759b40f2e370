"""A small description of a run, in SI, in which every part can be worked by hand."""

from __future__ import annotations

import re

VENUE = "venue: {pressure: 100 kPa, temperature: 20 °C, humidity: 0 %}\n"
BASE = (
    VENUE
    + """
wheels:
  positions:
    - {id: front_left, x: 0 m, y: -0.6 m, radius: 0.3 m, steered: true}
    - {id: front_right, x: 0 m, y: 0.6 m, radius: 0.3 m, steered: true}
    - {id: rear_left, x: 4 m, y: -0.6 m, radius: 0.3 m, driven: true}
    - {id: rear_right, x: 4 m, y: 0.6 m, radius: 0.3 m, driven: true}
mass:
  items:
    - {id: all, name: Everything, mass: 900 kg, x: 2.4 m, z: 0.4 m, basis: measured}
    - {id: fuel, name: Fuel, fluid: true, mass: 20 kg, x: 2 m, z: 0.3 m, basis: measured}
  conditions: [{id: start}, {id: end, fill: {fuel: 20 %}}]
  design_condition: start
aero: {drag_area: 0.36 m², drag_height: 0.4 m, basis: measured}
course:
  run_up: 3 km
  timed: [{id: km, title: timed kilometre, length: 1 km}]
  shut_down: 4 km
  friction: {value: 0.6, source: made up}
  rolling: {coefficient: 0.02}
drive: {power: 300 kW}
"""
)
CHUTES = """
parachutes:
  canopies:
    - id: main
      title: Main parachute
      type: conical_ribbon
      diameter: 2 m
      wake_loss: 0 %
      snatch_load: 1 kN
      lines: {count: 16, length: 2 m, strength: 9 kN}
      riser: {length: 10 m, webbing: MIL-W-4088K type XXVI}
      losses: {seam: 80 %, knot: 100 %, abrasion: 95 %, age: 95 %, heat: 100 %}
      shackle: 120 kN
      factor: 2
      attach: {x: 5 m, z: 0.4 m}
      cone: 5°
      delay: 0.8 s
      most_speed: 120 m/s
  speed: 90 m/s
"""
STOP = """
stopping:
  speed: 90 m/s
  throttle_delay: 0.5 s
  deploy: [{id: first, parachute: main, after: 1 s}]
  brakes: {below: 40 m/s, delay: 0.3 s, torque: 1000 N·m, wheels: [rear_left, rear_right],
           rotor_mass: 10 kg, specific_heat: 450 J/(kg·K), most_temperature: 450 °C}
  factor: 1.2
"""
SHAPE = """
shape:
  reference_area: 1 m²
  length: 6 m
  bodies: [{id: nose, start: -1 m, length: 2 m, front_height: 0 m, rear_height: 0.8 m}]
  fins: [{id: fin, start: 4 m, root: 1 m, tip: 0.6 m, sweep: 0.3 m, height: 0.7 m, body_radius: 0.3 m}]
  steering_stop: 5°
  limits: {static_margin: 5 %, front_load: 2 kN, factor: 1.5}
"""


def scene(*parts: str, **changes: str) -> str:
    """The parts, each `old` replaced by `new` where `changes` says so; what is replaced must be there.

    A keyword stands for itself with its value: `friction="0.4"` changes `friction: …` wherever it stands.
    """
    text = "".join(parts or (BASE,))
    for key, value in changes.items():
        text, count = re.subn(rf"\b{key}: (\{{[^}}]*\}}|[^,}}\n]+)", f"{key}: {value}", text)
        assert count, key
    return text
