"""Exact conversion factors and tolerances. Physical constants live where they are used, with their source."""

INCH_M = 0.0254  # exact: international inch, NIST SP 811 (2008), appendix B.8
FOOT_M = 0.3048  # exact: international foot, NIST SP 811 (2008), appendix B.8

MEET_M = 1e-6  # two ends meet, two faces are one: positions are compared to this
ANGLE_RAD = 1e-6  # two directions are one: directions are compared to this
