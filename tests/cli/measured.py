"""A printer file as somebody would have it, its numbers chosen by hand."""

from __future__ import annotations

DATE = "2026-11-25"
SLOT, OUT_X, A_X = -0.23, 0.10, 0.9976
PRINTER = f"""\
format = 1
[printer]
bed = ["240 mm", "200 mm", "230 mm"]
nozzle = "0.4 mm"
layer = "0.2 mm"
width = "0.44 mm"
material = "PLA"
pattern = "two-way"
rings = 3
[printer.calibration]
date = "{DATE}"
[printer.calibration.outside_x]
a = {A_X}
a_interval = [0.997, 0.9982]
b = "{OUT_X} mm"
b_interval = ["0.06 mm", "0.14 mm"]
spread = "0.03 mm"
n = 9
mean = "40 mm"
[printer.calibration.slot]
a = 1.0
a_interval = [0.996, 1.004]
b = "{SLOT} mm"
b_interval = ["-0.26 mm", "-0.20 mm"]
spread = "0.04 mm"
n = 12
mean = "10 mm"
"""
PIECE = """\
format = 1
[piece]
name = "p"
[stock.case]
readings = ["12.2 mm", "12.2 mm", "12.1 mm", "12.2 mm"]
[case]
width = "300 mm"
height = "240 mm"
depth = "150 mm"
stock = "case"
corner = "mitre"
fixing = "spline"
[[shelf]]
name = "low"
height = "100 mm"
stock = "case"
fixing = "dowel"
"""
