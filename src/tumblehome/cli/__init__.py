"""The command line: one file a command; each loads what it computes and draws with only when it runs."""
