"""The ladder: what each smarter way to control a battery would save, from solar alone to perfect foresight."""
