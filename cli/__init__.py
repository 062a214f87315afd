"""The command `sumpwright`: parse, call, print."""
