"""``python -m solarsim``."""

from solarsim.cli import main

main()
