"""The books: flows and a tariff in, kilowatt-hours and money out. Nothing here changes a flow."""
