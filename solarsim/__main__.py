"""``python -m solarsim``."""

from solarsim.cli.app import main

main()
