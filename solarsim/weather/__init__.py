"""The weather of the site: a file or monthly means in, one year of irradiance, temperature and wind out.

::

    weather file -> read (_formats, _repairs, _faults) ------+-> Weather, hour by hour -> _steps -> on the timeline
    monthly means -> _monthly_means (_clearness) ------------+   (typical_year)

``source`` goes the whole way for a scenario. ``sun`` is the position of the sun in each step.
"""
