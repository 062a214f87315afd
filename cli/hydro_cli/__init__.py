"""The command `sumpwright`: parse, call, print. Nothing is computed here, and nothing heavy is imported until it is needed."""
