"""Commissions for the tests: the smallest that is enough, and one that sets most keys. Both are invented."""

FIVE_LINES = """\
title = "Alder by the gate"
canopy.height = "3 m"
growth.limbs = 3
growth.branches = 14
growth.twigs = 120
"""

FULL = """\
title = "Reading-garden rowan"
seed = 20261
units = "inch"                      # what the shop reads on paper

[canopy]
habit = "spreading"
height = "16 ft"
spread = ["13 ft", "12 ft"]
clear_stem = "7 ft"
keep_out = [{ name = "window", min = ["-1 m", "0 mm", "1 m"], max = ["1 m", "2 m", "2 m"] }]

[growth]
limbs = 5
branches = 34
twigs = 420
pipe_exponent = 2.2
clearance = "1/4 in"

[growth.branch]
insertion_angle = "50 deg"
insertion_angle_sd = "14 deg"
sinuosity = 1.10

[steel]
grade = "A36"
bars = ["4 in", "1/4 in", "3/8 in", "1/2 in", "3/4 in", "1 1/4 in", "2 in", "2 1/2 in", "3 in", "1/4 in"]
pipes = [{ outside = "4 1/2 in", wall = "1/4 in" }]

[leaves]
count = 1260
metal = "copper"
sheet = "24 oz"
designs = 9

[site]
standard = "ASCE 7-16"
wind_speed = "115 mph"
exposure = "C"
corrosivity = "C3"
years = 200
"""
