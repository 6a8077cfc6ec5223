"""The ledger: flows and a rate plan in, kilowatt-hours and money out. Nothing here changes a flow."""
