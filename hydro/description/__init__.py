"""A build as it was described: frozen records and the heights they are measured from. Nothing computes."""
