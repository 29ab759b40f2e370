"""The space-frame engine: linear statics, second order and elastic buckling of tubes in 3-D.

Arrays in SI go in, arrays in SI come out. Nothing here knows a vehicle, a description or a unit.
The order of use: `model` describes, `plan` numbers, `solve` solves, `recover` reads forces,
`second_order` and `buckling` take a frame split by `subdivide`, which `tubes` sees from the whole
frame's joints, `figures` says whether the answer
can be trusted. A frame that cannot be solved gives a `Refusal`, never a number.
"""
