"""A spot check: readings of a job taken again by somebody who does not see the first ones.

`candidates` says which readings can be, and how likely each is drawn; `blind` what is shown of one before it is taken
again; `compare` what came of it; `words` tells it, for every face. Nothing here changes a verdict.
"""
