"""The sections of a case file, each read into its records: tanks, sumps, drains, pumps, returns, settings."""
