"""The command line: words in, calls to studies and views, text and files out. It computes nothing."""
