"""What two tanks in one frame share of the camera: how much surer their difference is than each value."""

from __future__ import annotations

SHARED_IN_FRAME = 0.4
"""Share of a single photo's squared error of colour that both tanks of a frame have in common once one camera model was
taken out of it, so that it cancels in their difference. On seven twin frames (draws 1, 2, 4, 5, 7, 9, 11 of
benchmarks/twin_frame.py, 420 differences of single photos) the two tanks' errors are correlated by 0.54 (by 0.15 in two
photos), and the stated 95 % hold 0.976 of the differences without it, 0.957 with 0.3 and 0.933 with 0.5."""
