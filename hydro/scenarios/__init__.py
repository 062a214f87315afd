"""The questions asked of one build: running, stopped, blocked, through time. Numbers only, no verdicts."""
