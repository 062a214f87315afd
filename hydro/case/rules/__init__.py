"""What a case file has to obey beyond the form of each value: geometry, connections, keys in the wrong place."""
