"""Pictures as lines of text: data in, lines out; no screen, no colour, no clock.

Drawn by ourselves rather than by plotext 6, which is kept and good, but too slow for a
live view beside a thread that owns a rig: from 30, 200 and 2,000 points to strips of a
screen of 120 by 40 cells it took 7 to 13, 13 to 17 and 46 to 64 ms, these 2 to 3, 2 to
4 and 2 to 8 ms (medians of three runs of the benchmark `pictures` on two shared cores;
live readings come 50 ms apart). Besides, it draws no larger than the terminal that the
process has, writes tick labels as 3.3e2, and tells series apart by colour first; here
every kind of point has a shape of its own and every axis its unit.
"""
