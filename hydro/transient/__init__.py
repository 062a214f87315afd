"""The same laws through time: state, step, events, and what is done to a running loop (disturbances)."""
