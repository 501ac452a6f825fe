"""Pictures as lines of text: data in, lines out; no screen, no colour, no clock.

Drawn by ourselves rather than by plotext 6, which is kept and good, but too slow for a
live view: at 120 by 40 cells the benchmark `terminal_pictures` found 16, 26 and 57 ms
from 30, 200 and 2,000 points to strips of the screen, and 1 to 3 ms for these (two
shared cores). Besides, plotext draws no larger than the terminal that the process has,
writes its tick labels as 3.3e2, and tells series apart by colour first; here every kind
of point has a shape of its own and every axis its unit.
"""
