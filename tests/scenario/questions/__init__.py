"""Tests of the questions of new."""
