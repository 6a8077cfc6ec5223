"""Weather by coordinates: a place and years in, real years of hours from an open data service out.

::

    _nasa_power, _nsrdb, _era5 (pvlib's getters) -> _asking (limits, tries, words) -> UtcYear <-> _kept (cache)
    UtcYear of each year -> real_years -> Weather by one clock, checked as every file is

``service`` names the services and goes the whole way.
"""
