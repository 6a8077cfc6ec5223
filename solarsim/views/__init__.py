"""Something to look at: results in, tables, pictures, CSV and JSON out."""
