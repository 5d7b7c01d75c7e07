"""Simulated cars and bays whose truth is known, read by simulated instruments, judged by the engine.

`python -m tests.simulation --cars 10000` prints how often each kind of number was judged wrongly.

`cars` draws a car and puts its limits (`limits`) where being wrong is likeliest; `body`, `rolling`, `ground`, `room`, `hall`
and `area` know what is true, each by formulas of its own or by an outside library; `tools` are what it is read with; `tally`
counts. The truth is never worked out by the engine, and the engine never sees it.
"""
