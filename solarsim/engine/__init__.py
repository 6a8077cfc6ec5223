"""The hour: numbers only, arrays and one small record of limits in, flows and stored energy out."""
