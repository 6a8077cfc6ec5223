"""What the home uses, step by step: a file, a meter, bills or parts of the house in, kilowatts out.

::

    load file -> _load_file ------------------+
    utility meter -> meter/ ------------------+-> household: load of each step, and of what stays on in an outage
    twelve bills -> shapes, _bdew_h0 ---------+
    parts of the house -> _parts -------------+
        (_electric_car, _heating_cooling, _water; what has to wait: _part_load)
"""
