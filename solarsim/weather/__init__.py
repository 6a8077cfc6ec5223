"""The sky over the site: a weather file in, one year of irradiance, temperature and wind out."""
