"""A bay survey being taken: which places, in which order, what is found so far, and what comes of it.

`surveying` what is asked and kept, `room` the bay's floor, `places` which places to read, `order` how to walk
them, `net` which level runs to read, `so_far` what is found as answers come in, `finish` the survey made of
them, `result` what it says of the floor.
"""
